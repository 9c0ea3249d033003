"""What wires on a face keep away from."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from layout_engine.checks.scene import Scene
from layout_engine.checks.standing import Standing
from layout_engine.geometry.frames import other_face
from layout_engine.geometry.shapes import Disc, Shape, shape_of
from layout_engine.geometry.wire_ground import circle_about
from layout_engine.model.job import Job
from layout_engine.model.plate import FACES
from layout_engine.tables.sourced import COMMON_PRACTICE, Sourced

RUN_TOP = Sourced(10.0, "mm", COMMON_PRACTICE, "height up to which runs lie on a face")
NOT_UNDER = frozenset({"fuse_block", "fuse_holder", "main_switch", "stop_button"})
SIDE_MM = 1.0  # ground that is kept beside the middle of a wire in its straight first part


@dataclass(frozen=True, slots=True)
class Obstacle:
    """Something that stands in the way of wires: whose it is, whether it is a bare zone, or low:
    no higher than a nut, so that a wire on its way down from a terminal passes over it.
    """

    shape: Shape
    owner: str
    zone: bool = False
    low: bool = False


def wires_under(standing: Standing) -> bool:
    """Whether wires may pass beneath a part: it allows it, stands off, and is none of those
    that must be got at (fuse, switch).
    """
    kind = standing.type
    return kind.wires_under and kind.standoff > 2 * SIDE_MM and kind.kind not in NOT_UNDER


def obstacles_of(job: Job, scene: Scene) -> dict[str, list[Obstacle]]:
    """What is in the way of wires on each face, in plate coordinates."""
    found: dict[str, list[Obstacle]] = {"front": [], "back": []}
    for standing in scene.standing.values():
        for face, obstacle in (*_own_face(standing), *_other_face(standing)):
            found[face].append(obstacle)
    for index, keep_out in enumerate(job.plate.keep_outs):
        for face in keep_out.faces if keep_out.max_height < RUN_TOP.value else ():
            label = keep_out.label or f"keep_outs[{index}]"
            found[face].append(Obstacle(shape_of(keep_out.outline), label))
    for mount in job.plate.mounts:
        circle = circle_about(mount.x, mount.y, max(mount.head_diameter, mount.diameter) / 2)
        for face in FACES:
            found[face].append(Obstacle(circle, mount.id, low=True))
    return found


def _own_face(standing: Standing) -> Iterator[tuple[str, Obstacle]]:
    """The part itself, or its heat sink where wires may pass beneath; its low keep-free zones."""
    beneath = wires_under(standing)
    for solid in standing.solids:
        if solid.behind or not beneath:
            yield solid.face, Obstacle(solid.shape, standing.id)
    sink = standing.type.heat.sink if standing.type.heat else None
    if sink is not None and beneath:
        yield standing.face, Obstacle(standing.shape(sink), standing.id)
    for zone in standing.zones:
        if zone.low < RUN_TOP.value:
            yield zone.face, Obstacle(zone.shape, standing.id, zone=True)


def _other_face(standing: Standing) -> Iterator[tuple[str, Obstacle]]:
    """Heads or nuts of its fixings and its cut-outs, as they show on the other face."""
    behind = other_face(standing.face)
    for counter in standing.counters:
        circle = circle_about(counter.x, counter.y, counter.diameter / 2)
        yield behind, Obstacle(circle, standing.id, low=True)
    for cut in standing.cut_outs:
        shape = circle_about(cut.x, cut.y, cut.diameter / 2) if isinstance(cut, Disc) else cut
        yield behind, Obstacle(shape, standing.id)

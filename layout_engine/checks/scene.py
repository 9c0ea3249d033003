"""What touches what: the one judge of placement, for the drag, the checks and the optimiser.

A scene holds every placed part of a job ready for questions. `conflicts` compares one part, where
it stands or where it is held, with all others.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import chain
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from layout_engine.checks.standing import Solid, Standing, Zone
from layout_engine.geometry.cavity import Cavity
from layout_engine.geometry.frames import EPS_MM, Points
from layout_engine.geometry.plate_shape import PlateShape
from layout_engine.geometry.shapes import (
    MIN_OVERLAP_MM2,
    Ground,
    Shape,
    Shapes,
    circle_meets,
    circle_shape,
    gap,
    overlap_area,
    overlaps,
    shape_of,
)
from layout_engine.model.job import Job
from layout_engine.model.part import Placement

Kind = Literal[
    "outlines", "too near", "keep-free zone", "plate keep-free zone", "plate fixing", "off plate",
    "too deep",
]


@dataclass(frozen=True, eq=False)
class Touch:
    """Two things that come into each other's way.

    Attributes:
        other: id of the other part, label or id of the plate's keep-out or mount, "plate" or
            "wall".
        kind: what is the matter.
        value: the figure found: shared area in mm2 ("outlines"), gap, height or distance in mm.
        limit: what it should be.
        mine, theirs: the two shapes, for showing the place.
        why: the reason that a keep-out gives.
    """

    other: str
    kind: Kind
    value: float
    limit: float
    mine: Shape
    theirs: Shape | None = None
    why: str = ""

    @property
    def of_plate(self) -> bool:
        """Whether `other` names a keep-out or a mount of the plate: a part may have its name."""
        return self.kind in ("plate keep-free zone", "plate fixing")


@dataclass(frozen=True, eq=False)
class _Face:
    """Everything on one face, ready for questions."""

    solids: tuple[Solid, ...]
    ground: Ground
    clearances: NDArray[np.float64]
    zones: tuple[Zone, ...]


class Scene:
    """The placed parts of a job, the plate and the cavity, prepared once per revision."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.standing = {part.id: Standing.of(job, part) for part in job.placed}
        self.cavity = Cavity.of(job.body, job.plate)

    @cached_property
    def plate(self) -> PlateShape:
        """The plate's shape."""
        return PlateShape.of(self.job.plate)

    @cached_property
    def _faces(self) -> dict[str, _Face]:
        solids = [solid for s in self.standing.values() for solid in s.solids]
        zones = [zone for s in self.standing.values() for zone in s.zones]
        return {face: _face(face, solids, zones) for face in ("front", "back")}

    @cached_property
    def _plate_zones(self) -> tuple[tuple[str, Shape, tuple[str, ...], float], ...]:
        return tuple(
            (zone.label or f"keep_outs[{index}]", shape_of(zone.outline), zone.faces,
             zone.max_height)
            for index, zone in enumerate(self.job.plate.keep_outs)
        )

    def verdict(self, part_id: str, placement: Placement) -> list[Touch]:
        """What one part would meet if it stood at `placement`: other parts, plate, wall.

        Raises:
            KeyError: no such part.
        """
        standing = Standing.of(self.job, self.job.part(part_id), placement)
        return [*self.conflicts(standing), *self.margins(standing)]

    def is_clear(self, part_id: str, placement: Placement) -> bool:
        """Whether a part would meet nothing at `placement`; the first touch ends the search.

        Raises:
            KeyError: no such part.
        """
        standing = Standing.of(self.job, self.job.part(part_id), placement)
        touches = chain(self.edge_touches(standing), self.depth_touches(standing),
                        self._touches(standing))
        return next(touches, None) is None

    def free_height(self, x: float, y: float) -> tuple[float, float]:
        """Free height, mm, over a plate point on the front and on the back, up to the wall."""
        return self.cavity.free_height(x, y, "front"), self.cavity.free_height(x, y, "back")

    def solids_on(self, face: str) -> tuple[Solid, ...]:
        """Every prism on a face."""
        return self._faces[face].solids

    def solids_near(self, shape: Shape, face: str) -> list[Solid]:
        """The prisms on a face whose ground meets a shape."""
        on_face = self._faces[face]
        if not on_face.solids:
            return []
        return [on_face.solids[i] for i in on_face.ground.met_by(shape)]

    def lanes_met(self, lanes: Shapes, face: str) -> Iterator[tuple[int, Solid]]:
        """(number of lane, prism) wherever one of many lanes over a face meets a prism."""
        on_face = self._faces[face]
        for lane, index in on_face.ground.pairs(lanes).T:
            yield int(lane), on_face.solids[index]

    def circles_met(self, centres: Points, radii: NDArray[np.float64], face: str
                    ) -> Iterator[tuple[int, Solid]]:
        """(number of circle, prism) wherever one of many circles on a face meets a prism."""
        on_face = self._faces[face]
        for circle, index in on_face.ground.circle_pairs(centres, radii).T:
            yield int(circle), on_face.solids[index]

    def conflicts(self, standing: Standing) -> list[Touch]:
        """One touch for each other part, plate keep-out or mount that is in the way."""
        worst: dict[tuple[bool, str], Touch] = {}
        for touch in self._touches(standing):
            worst.setdefault((touch.of_plate, touch.other), touch)
        return list(worst.values())

    def margins(self, standing: Standing) -> list[Touch]:
        """Whether the part leaves the plate, comes too near its edge, or is too deep."""
        return [*self.edge_touches(standing), *self.depth_touches(standing)]

    def edge_touches(self, standing: Standing) -> Iterator[Touch]:
        """The part's outline against the plate's edge, its margin and the cut-outs."""
        edge = self.plate.edge_distance(standing.outline)
        yield from self.edge_touch(standing, edge)

    def edge_touch(self, standing: Standing, edge: float) -> Iterator[Touch]:
        """The same, with the distance to the plate's edge known."""
        margin = self.job.plate.edge_margin
        if edge < margin - EPS_MM or not self.plate.clears_holes(standing.outline, margin):
            over = self.plate.over_holes(standing.outline)
            free = min(edge, -over if over else self.plate.hole_distance(standing.outline))
            yield Touch("plate", "off plate", free, margin, standing.outline)

    def depth_touches(self, standing: Standing) -> Iterator[Touch]:
        """The part's prisms against wall and obstructions."""
        for solid in standing.solids:
            free = self.cavity.height_over(solid.shape, solid.face)
            if free < solid.high - EPS_MM:
                yield Touch("wall", "too deep", solid.high, max(free, 0.0), solid.shape)

    def _touches(self, standing: Standing) -> Iterator[Touch]:
        for solid in standing.solids:
            yield from self._solid_touches(solid)
            yield from self._zone_touches(solid)
            yield from self._plate_touches(solid)
        for zone in standing.zones:
            yield from self._entered(zone)

    def _solid_touches(self, solid: Solid) -> Iterator[Touch]:
        face = self._faces[solid.face]
        if not face.solids:
            return
        needed = np.maximum(face.clearances, solid.clearance)
        for index in face.ground.within(solid.shape, needed):
            other = face.solids[index]
            if other.owner != solid.owner:
                free = gap(solid.shape, other.shape)
                yield from _pair(solid, other, free, float(needed[index]))

    def _zone_touches(self, solid: Solid) -> Iterator[Touch]:
        for zone in self._faces[solid.face].zones:
            if zone.owner != solid.owner and _enters(solid, zone):
                yield Touch(zone.owner, "keep-free zone", overlap_area(solid.shape, zone.shape),
                            0.0, solid.shape, zone.shape, zone.why)

    def _entered(self, zone: Zone) -> Iterator[Touch]:
        for solid in self._faces[zone.face].solids:
            if zone.owner != solid.owner and _enters(solid, zone):
                yield Touch(solid.owner, "keep-free zone", overlap_area(solid.shape, zone.shape),
                            0.0, zone.shape, solid.shape, zone.why)

    def _plate_touches(self, solid: Solid) -> Iterator[Touch]:
        for label, shape, faces, highest in self._plate_zones:
            if solid.face in faces and solid.high > highest + EPS_MM and overlaps(
                solid.shape, shape
            ):
                yield Touch(label, "plate keep-free zone", solid.high, highest, solid.shape, shape)
        for mount in self.job.plate.mounts:
            head = max(mount.head_diameter, mount.diameter)
            if solid.low < mount.head_height - EPS_MM and circle_meets(
                mount.x, mount.y, head, solid.shape
            ):
                yield Touch(mount.id, "plate fixing", solid.low, mount.head_height, solid.shape,
                            circle_shape(mount.x, mount.y, head))


def _face(face: str, solids: list[Solid], zones: list[Zone]) -> _Face:
    own = tuple(s for s in solids if s.face == face)
    return _Face(
        own,
        Ground([s.shape for s in own]),
        np.array([s.clearance for s in own]),
        tuple(z for z in zones if z.face == face),
    )


def _pair(solid: Solid, other: Solid, free: float, needed: float) -> Iterator[Touch]:
    area = overlap_area(solid.shape, other.shape) if free <= EPS_MM else 0.0
    if area > MIN_OVERLAP_MM2:
        yield Touch(other.owner, "outlines", area, 0.0, solid.shape, other.shape)
    elif free < needed - EPS_MM:
        yield Touch(other.owner, "too near", free, needed, solid.shape, other.shape)


def _enters(solid: Solid, zone: Zone) -> bool:
    """Whether a part stands in a keep-out within its heights."""
    shared = min(solid.high, zone.high) - max(solid.low, zone.low)
    return shared > EPS_MM and overlaps(solid.shape, zone.shape)

"""What touches what: the one judge of placement, for the drag, the checks and the optimiser.

A scene holds every placed part of a job ready for questions. `conflicts` compares one part, where
it stands or where it is held, with all others.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from itertools import chain
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from layout_engine.checks.standing import Solid, Standing, Zone
from layout_engine.geometry.cavity import Cavity
from layout_engine.geometry.effort import Effort
from layout_engine.geometry.frames import EPS_MM, Points
from layout_engine.geometry.plate_shape import PlateShape
from layout_engine.geometry.shapes import (
    MIN_OVERLAP_MM2,
    Ground,
    Shape,
    Shapes,
    bounds_of,
    circle_shape,
    circles_meeting,
    gap,
    has_many,
    hold_corners,
    overlap_area,
    overlaps,
    shape_of,
)
from layout_engine.model.job import Job
from layout_engine.model.part import Placement
from layout_engine.once import cached_property

MOST_ASKED = 20_000  # corners of all parts
DRAG_US = 30_000.0  # estimated time of exact areas in one answer during a drag
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
        value: the figure found: shared area in mm2 ("outlines"), gap, height or distance in mm;
            None where the shapes have so many corners that it was not worked out.
        limit: what it should be.
        mine, theirs: the two shapes, for showing the place.
        face: the face on which it is to be seen.
        why: the reason that a keep-out gives.
    """

    other: str
    kind: Kind
    value: float | None
    limit: float
    mine: Shape
    face: str
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
    zone_ground: Ground
    plate_zones: tuple[PlateZone, ...]
    plate_zone_ground: Ground

    @cached_property
    def boxes(self) -> tuple[NDArray[np.float64], NDArray[np.float64], list[str]]:
        """Bounds of every prism (n, 4), its height over the face, and whose it is."""
        return (bounds_of(self.ground.shapes), np.array([s.high for s in self.solids]),
                [s.owner for s in self.solids])


@dataclass(frozen=True, eq=False)
class PlateZone:
    """A keep-out of the plate: its label, or its place in the list; greatest height in it, mm."""

    label: str
    shape: Shape
    faces: tuple[str, ...]
    highest: float


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
        of_plate = [
            PlateZone(zone.label or f"keep_outs[{index}]", shape_of(zone.outline), zone.faces,
                      zone.max_height)
            for index, zone in enumerate(self.job.plate.keep_outs)
        ]
        return {face: _face(face, solids, zones, of_plate) for face in ("front", "back")}

    @cached_property
    def _mounts(self) -> tuple[Points, NDArray[np.float64], NDArray[np.float64]]:
        """Centres of the plate's fixings, radii and heights of their heads."""
        mounts = self.job.plate.mounts
        return (np.array([(m.x, m.y) for m in mounts]).reshape(-1, 2),
                np.array([max(m.head_diameter, m.diameter) / 2 for m in mounts]),
                np.array([m.head_height for m in mounts]))

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
                        self._touches(standing, Effort(0.0)))
        return next(touches, None) is None

    def free_height(self, x: float, y: float) -> tuple[float, float]:
        """Free height, mm, over a plate point on the front and on the back, up to the wall."""
        return self.cavity.free_height(x, y, "front"), self.cavity.free_height(x, y, "back")

    def solids_near(self, shape: Shape, face: str, within: float = 0.0) -> list[Solid]:
        """The prisms on a face whose ground meets a shape, or is nearer than `within` mm to it."""
        on_face = self._faces[face]
        if not on_face.solids:
            return []
        ground = on_face.ground
        return [on_face.solids[i]
                for i in (ground.near(shape, within) if within > 0 else ground.met_by(shape))]

    def boxes_over(self, face: str, level: float, but: str) -> NDArray[np.float64]:
        """Bounds, shape (n, 4), of prisms on a face over a level, mm; but one part's."""
        bounds, highs, owners = self._faces[face].boxes
        wanted = highs > level + EPS_MM
        return bounds[[i for i in np.flatnonzero(wanted).tolist() if owners[i] != but]]

    def may_touch(self) -> frozenset[str]:
        """Parts with something so near that they may be in each other's way, or in the plate's.

        Where corners are so many that asking takes long: all parts.
        """
        if sum(face.ground.corners for face in self._faces.values()) > MOST_ASKED:
            return frozenset(self.standing)
        found: set[str] = set()
        for face in self._faces.values():
            solids, zones = face.solids, face.zones
            shapes = np.array([s.shape for s in solids], dtype=object)
            if not solids:
                continue
            widest = float(face.clearances.max(initial=0.0))
            for a, b in face.ground.pairs(shapes, widest).T.tolist():
                if solids[a].owner != solids[b].owner:
                    found.add(solids[a].owner)
            for a, b in face.zone_ground.pairs(shapes).T.tolist():
                found |= {solids[a].owner, zones[b].owner}
            for a in face.plate_zone_ground.pairs(shapes)[0].tolist():
                found.add(solids[a].owner)
            for _, a in face.ground.circle_pairs(*self._mounts[:2]).T.tolist():
                found.add(solids[a].owner)
        return frozenset(found)

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

    def conflicts(self, standing: Standing, effort: Effort | None = None,
                  done: Collection[str] = ()) -> list[Touch]:
        """One touch for each other part, plate keep-out or mount that is in the way.

        Args:
            standing: the part.
            effort: what exact areas may take; None: as much as one answer during a drag.
            done: parts that are left out.
        """
        worst: dict[tuple[bool, str], Touch] = {}
        for touch in self._touches(standing, effort, done):
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
            yield Touch("plate", "off plate", free, margin, standing.outline, standing.face)

    def depth_touches(self, standing: Standing) -> Iterator[Touch]:
        """The part's prisms against wall and obstructions."""
        for solid in standing.solids:
            free = self.cavity.height_over(solid.shape, solid.face)
            if free < solid.high - EPS_MM:
                yield Touch("wall", "too deep", solid.high, max(free, 0.0), solid.shape, solid.face)

    def _touches(self, standing: Standing, effort: Effort | None = None,
                 done: Collection[str] = ()) -> Iterator[Touch]:
        spend = effort or Effort(DRAG_US)
        for solid in standing.solids:
            face = self._faces[solid.face]
            yield from _solid_touches(face, solid, spend, done)
            yield from _zone_touches(face, solid, spend, done)
            yield from self._plate_touches(face, solid)
        for zone in standing.zones:
            yield from _entered(self._faces[zone.face], zone, spend, done)

    def _plate_touches(self, face: _Face, solid: Solid) -> Iterator[Touch]:
        met = face.plate_zone_ground.met_by(solid.shape).tolist() if face.plate_zones else ()
        for index in met:
            zone = face.plate_zones[index]
            if solid.high > zone.highest + EPS_MM and overlaps(solid.shape, zone.shape):
                yield Touch(zone.label, "plate keep-free zone", solid.high, zone.highest,
                            solid.shape, solid.face, zone.shape)
        centres, radii, heights = self._mounts
        if not len(radii):
            return
        for index in np.flatnonzero(circles_meeting(centres, radii, solid.shape)).tolist():
            if solid.low < heights[index] - EPS_MM:
                mount = self.job.plate.mounts[index]
                yield Touch(mount.id, "plate fixing", solid.low, mount.head_height, solid.shape,
                            solid.face, circle_shape(mount.x, mount.y, 2 * float(radii[index])))


def _solid_touches(face: _Face, solid: Solid, effort: Effort, done: Collection[str]
                   ) -> Iterator[Touch]:
    if not face.solids:
        return
    needed = np.maximum(face.clearances, solid.clearance)
    rest = [n for n, s in enumerate(face.solids) if s.owner not in done] if done else None
    for index in face.ground.within(solid.shape, needed, rest).tolist():
        other = face.solids[index]
        if other.owner != solid.owner:
            yield from _pair(solid, other, float(needed[index]), effort)


def _zone_touches(face: _Face, solid: Solid, effort: Effort, done: Collection[str]
                  ) -> Iterator[Touch]:
    """What a solid does to the zones of others."""
    if not face.zones:
        return
    for index in face.zone_ground.met_by(solid.shape).tolist():
        zone = face.zones[index]
        if zone.owner not in done:
            yield from _in_zone(solid, zone, effort, zone.owner, (solid.shape, zone.shape))


def _entered(face: _Face, zone: Zone, effort: Effort, done: Collection[str]) -> Iterator[Touch]:
    """What the solids of others do to a zone."""
    if not face.solids:
        return
    for index in face.ground.met_by(zone.shape).tolist():
        solid = face.solids[index]
        if solid.owner not in done:
            yield from _in_zone(solid, zone, effort, solid.owner, (zone.shape, solid.shape))


def _in_zone(solid: Solid, zone: Zone, effort: Effort, other: str, shapes: tuple[Shape, Shape]
             ) -> Iterator[Touch]:
    if zone.owner != solid.owner and _reaches(solid, zone):
        area = _shared(*shapes, effort)
        if area is None or area > MIN_OVERLAP_MM2:
            mine, theirs = shapes
            yield Touch(other, "keep-free zone", area, 0.0, mine, zone.face, theirs, zone.why)


def _face(face: str, solids: list[Solid], zones: list[Zone], of_plate: list[PlateZone]) -> _Face:
    own = tuple(s for s in solids if s.face == face)
    kept_free = tuple(z for z in zones if z.face == face)
    plate_zones = tuple(z for z in of_plate if face in z.faces)
    return _Face(
        own, Ground([s.shape for s in own]), np.array([s.clearance for s in own]),
        kept_free, Ground([z.shape for z in kept_free]),
        plate_zones, Ground([z.shape for z in plate_zones]),
    )


def _pair(solid: Solid, other: Solid, needed: float, effort: Effort) -> Iterator[Touch]:
    area = _shared(solid.shape, other.shape, effort)
    if area is None or area > MIN_OVERLAP_MM2:
        yield Touch(other.owner, "outlines", area, 0.0, solid.shape, solid.face, other.shape)
        return
    free = gap(solid.shape, other.shape)
    if free < needed - EPS_MM:
        yield Touch(other.owner, "too near", free, needed, solid.shape, solid.face, other.shape)


def _shared(a: Shape, b: Shape, effort: Effort) -> float | None:
    """Area, mm2, that two polygons share; None: they share some, how much is not worked out."""
    surely = has_many(a, b) and hold_corners(a, b)
    if not surely and not a.intersects(b):
        return 0.0
    if effort.affords(a, b):
        return overlap_area(a, b)
    return None if surely or overlaps(a, b) else 0.0


def _reaches(solid: Solid, zone: Zone) -> bool:
    """Whether a part and a keep-out share heights."""
    return min(solid.high, zone.high) - max(solid.low, zone.low) > EPS_MM

"""What surrounds one module: all the others where they stand, the plate, walls and requirements.

Everything is told of the middle of the module's outline's bounds, so that turns can be compared;
`offset_of` leads from there to the document's placement.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from layout_engine.arranging import classes as c
from layout_engine.arranging.blocks import blocks_of
from layout_engine.arranging.cost import high_point, turn_is_allowed
from layout_engine.arranging.footprints import FACE_NAMES
from layout_engine.arranging.vectors import Floats
from layout_engine.geometry.arrange_support import hull_and_gaps, plate_ground
from layout_engine.geometry.cavity import Cavity
from layout_engine.geometry.frames import BodyFrame, Points
from layout_engine.geometry.free_places import CHORD_MM, NOWHERE, Area, inset, triangles_of
from layout_engine.geometry.plate_shape import PlateShape
from layout_engine.geometry.shapes import box, shape_of
from layout_engine.geometry.wall_ground import Ground, skin_ground, wall_ground
from layout_engine.model.body import CONDUCTING_SKINS
from layout_engine.model.job import Job
from layout_engine.model.part import (
    AwayFromShieldsWish,
    FaceWish,
    HighWish,
    InsideWish,
    NearEdgeWish,
    NearWish,
    Part,
    TurnsWish,
    Wish,
)
from layout_engine.once import cached_property
from layout_engine.spots.forms import NORMALS, WAYS, Bit, Form, Forms, Stance
from layout_engine.spots.prices import Prices
from layout_engine.tables.holes import EDGE_STOP
from layout_engine.tables.materials import plate_material
from layout_engine.tables.radio import metal_stop_distance

Offset = tuple[float, float]
Counts = NDArray[np.intp]
MARK = c.Mark("")
FAR_MM = 2e4  # farther than any plate reaches


@dataclass(frozen=True, eq=False)
class Stood:
    """Another module where it stands: the middle of its outline's bounds."""

    part: Part
    stance: Stance
    at: Offset


@dataclass(frozen=True, eq=False)
class Block:
    """Something of the plate or the body that forbids ground, at its plate points."""

    label: str
    bits: tuple[Bit, ...]


@dataclass(frozen=True, eq=False)
class Limit:
    """Convex ground that a piece of the module must lie in, and what makes it so."""

    cause: str
    ground: Area
    shape: Points


@dataclass(frozen=True, eq=False)
class Rest:
    """Bits at rest as columns: reach in each direction, class (index in `kinds`), whose."""

    kinds: tuple[c.Kind, ...]
    kind: Counts
    reach: Floats
    owner: Counts


class Around:
    """A job without one of its modules: what limits where that one may stand.

    Args:
        job: the job.
        part_id: the module, placed or in the tray.
        forms: forms of part types that are ready.

    Raises:
        KeyError: no such part.
    """

    def __init__(self, job: Job, part_id: str, forms: Forms | None = None) -> None:
        self.job = job
        self.part = job.part(part_id)
        self.forms = forms or Forms()
        self.frame = BodyFrame.of(job.plate)
        self._insets: dict[float, Area] = {}
        self._walls: dict[tuple[str, float], Ground] = {}
        self.form: Form = self.forms.of(job.type_of(self.part))

    def stance(self, face: str, turn: float) -> Stance:
        """The module in a face and turn."""
        return self.form.stance(face, turn, self.frame)

    @cached_property
    def others(self) -> tuple[Stood, ...]:
        """All other placed modules."""
        found = []
        for part in self.job.placed:
            where = part.placement
            if part.id != self.part.id and where is not None:
                stance = self.forms.of(self.job.type_of(part)).stance(
                    where.face, where.turn, self.frame)
                dx, dy = stance.posed.centre
                found.append(Stood(part, stance, (where.x + dx, where.y + dy)))
        return tuple(found)

    @cached_property
    def prices(self) -> Prices:
        """What its spots cost."""
        return Prices(self)

    @cached_property
    def cavity(self) -> Cavity:
        """The body's inside."""
        return Cavity.of(self.job.body, self.job.plate)

    @cached_property
    def _plate(self) -> PlateShape:
        return PlateShape.of(self.job.plate)

    @cached_property
    def _board(self) -> tuple[Points, list[Points]]:
        """The plate's convex hull, and convex pieces of the hull that are no plate."""
        return plate_ground(self._plate, CHORD_MM)

    @property
    def board(self) -> Area:
        """The plate's convex hull."""
        return self._inset(0.0)

    @cached_property
    def blocks(self) -> tuple[Block, ...]:
        """Everything of the plate and the body that stands in the way."""
        return tuple(
            Block(one.label, tuple(Bit(corners, kind) for corners, kind in one.pieces))
            for one in blocks_of(self.job.plate, self.cavity, self._board[1]))

    def limits(self, stance: Stance) -> Iterator[Limit]:
        """Ground left by the plate, the wall and what is required, one after the other."""
        own = stance.posed
        if not self._may_stand(stance):
            yield Limit("required", NOWHERE, own.outline)
        yield Limit("plate", self._inset(self.job.plate.edge_margin), own.outline)
        for hole, diameter in own.holes:
            middle = hole.mean(axis=0)[None]
            yield Limit("holes", self._inset(EDGE_STOP.value * diameter), middle)
        for corners, face, height in own.heights:
            yield Limit("wall", _area(self._wall(face, height)[0]), corners)
        skin = self._skin(stance)
        if skin is not None:
            yield Limit("metal", _area(skin[0]), np.array([own.antenna[:2]]))
        for wish in self.part.wishes:
            if wish.must:
                yield from self._required(stance, wish)

    def _inset(self, distance: float) -> Area:
        if distance not in self._insets:
            self._insets[distance] = inset(self._board[0], distance)
        return self._insets[distance]

    def _may_stand(self, stance: Stance) -> bool:
        """Whether no requirement forbids the face or the turn."""
        return not any(
            (isinstance(wish, FaceWish) and wish.face != stance.face)
            or (isinstance(wish, TurnsWish)
                and not turn_is_allowed(stance.posed.pose.turn, wish.allowed))
            for wish in self.part.wishes if wish.must
        )

    def _wall(self, face: int, height: float) -> Ground:
        key = (FACE_NAMES[face], height)
        if key not in self._walls:
            self._walls[key] = wall_ground(self.cavity, *key)
        return self._walls[key]

    def _skin(self, stance: Stance) -> Ground | None:
        antenna = self.form.kind.antenna
        if antenna is None or self.job.body.skin not in CONDUCTING_SKINS:
            return None
        return skin_ground(self.cavity, stance.posed.antenna[2],
                           metal_stop_distance(antenna.band_mhz))

    def _required(self, stance: Stance, wish: Wish) -> Iterator[Limit]:
        """Ground on which a requirement of the module itself is met."""
        outline = stance.posed.outline
        if isinstance(wish, NearEdgeWish):
            width, height = self.job.plate.size
            edge, within = wish.edge, wish.within
            side = {"left": -outline[:, 0].min(), "right": -outline[:, 0].max(),
                    "bottom": -outline[:, 1].min(), "top": -outline[:, 1].max()}[edge]
            at = np.array([[0.0, -side] if edge in {"bottom", "top"} else [-side, 0.0]])
            yield Limit("required", box(
                width - within if edge == "right" else -FAR_MM,
                height - within if edge == "top" else -FAR_MM,
                within if edge == "left" else FAR_MM,
                within if edge == "bottom" else FAR_MM), at)
        elif isinstance(wish, HighWish):
            high = np.array([stance.posed.about(*high_point(self.form.kind))])
            yield Limit("required", box(-FAR_MM, wish.above, FAR_MM, FAR_MM), high)
        elif isinstance(wish, InsideWish):
            zone, _ = hull_and_gaps(shape_of(wish.outline))
            yield Limit("required", shape_of(zone), outline)

    def all_blocks(self, stance: Stance) -> Iterator[tuple[Block, tuple[Bit, ...]]]:
        """What forbids ground besides the other modules, and the bits that it is forbidden to."""
        for block in self.blocks:
            yield block, stance.bits
        yield from self._bars(stance)
        yield from self._around_zones(stance)
        yield from self._conducting_plate(stance)
        yield from self._shields(stance)

    def _bars(self, stance: Stance) -> Iterator[tuple[Block, tuple[Bit, ...]]]:
        """Ground in a section of free form in which there is no room."""
        for corners, face, height in stance.posed.heights:
            bars = self._wall(face, height)[1]
            yield Block("the wall", _outside(bars)), (Bit(corners, MARK),)
        skin = self._skin(stance)
        if skin is not None:
            aerial = Bit(np.array([stance.posed.antenna[:2]]), MARK)
            yield Block("the body's skin", _outside(skin[1])), (aerial,)

    def _around_zones(self, stance: Stance) -> Iterator[tuple[Block, tuple[Bit, ...]]]:
        """Pockets of the zones that the module is required to stay in."""
        marks = tuple(Bit(corners, MARK) for corners in stance.outline)
        for wish in self.part.wishes:
            if wish.must and isinstance(wish, InsideWish):
                _, gaps = hull_and_gaps(shape_of(wish.outline))
                yield Block("what is required", _outside(gaps)), marks

    def _conducting_plate(self, stance: Stance) -> Iterator[tuple[Block, tuple[Bit, ...]]]:
        """A plate of metal that is too near the aerial."""
        antenna = self.form.kind.antenna
        if antenna is None or not plate_material(self.job.plate.material).conducts:
            return
        x, y, w = stance.posed.antenna
        wanted = metal_stop_distance(antenna.band_mhz)
        apart = max(abs(w) - self.frame.thickness / 2, 0.0)
        if apart < wanted:
            plan = sqrt(wanted**2 - apart**2)
            bits = tuple(Bit(t, c.Outside(""), plan) for t in triangles_of(self._plate.polygon()))
            yield Block("the plate, which conducts", bits), (Bit(np.array([[x, y]]), MARK),)

    def _shields(self, stance: Stance) -> Iterator[tuple[Block, tuple[Bit, ...]]]:
        """Requirements to keep an aerial from shields: of the module, and of others about it."""
        aerials = [bit for bit in stance.bits if isinstance(bit.kind, c.Aerial)]
        for other in self.others:
            at = np.array(other.at)
            metal = tuple(Bit(b.corners + at, b.kind) for b in other.stance.bits
                          if isinstance(b.kind, c.Metal))
            for distance in _distances(self.part):
                yield Block(other.part.title, metal), tuple(_wider(b, distance) for b in aerials)
            for distance in _distances(other.part):
                theirs = tuple(_wider(Bit(b.corners + at, b.kind), distance)
                               for b in other.stance.bits if isinstance(b.kind, c.Aerial))
                yield Block(other.part.title, theirs), stance.bits

    @cached_property
    def rest(self) -> Rest:
        """The bits of all other modules."""
        placed = [(number, bit, other.at) for number, other in enumerate(self.others)
                  for bit in other.stance.bits]
        index: dict[c.Kind, int] = {}
        kind = np.array([index.setdefault(bit.kind, len(index)) for _, bit, _ in placed], dtype=int)
        at = np.array([at for _, _, at in placed]).reshape(-1, 2)
        reach = np.array([bit.support for _, bit, _ in placed]).reshape(-1, WAYS)
        owner = np.array([number for number, _, _ in placed], dtype=int)
        return Rest(tuple(index), kind, reach + at @ NORMALS.T, owner)

    def near_to(self) -> Iterator[tuple[Stood, float]]:
        """Modules that this one must stand within a distance of."""
        for other in self.others:
            for owner, wanted in ((self.part, other.part.id), (other.part, self.part.id)):
                for wish in owner.wishes:
                    if wish.must and isinstance(wish, NearWish) and wish.part == wanted:
                        yield other, wish.within


def _distances(part: Part) -> list[float]:
    return [w.distance for w in part.wishes if w.must and isinstance(w, AwayFromShieldsWish)]


def _wider(bit: Bit, distance: float) -> Bit:
    assert isinstance(bit.kind, c.Aerial)
    return Bit(bit.corners, c.Aerial(bit.kind.w, distance))



def _outside(pieces: list[Points]) -> tuple[Bit, ...]:
    return tuple(Bit(piece, c.Outside("")) for piece in pieces)


def _area(ground: Points | None) -> Area:
    return NOWHERE if ground is None else shape_of(ground)

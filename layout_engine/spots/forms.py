"""Modules as bits: convex pieces with their classes, in each face and turn, kept for later.

The classes and the distances between them are those of arranging (`arranging/classes.py`); here
points stay points and round cut-outs round, so that sums are exact.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache, partial
from typing import TypeVar

import numpy as np

from layout_engine.arranging import classes as c
from layout_engine.arranging.footprints import FACES, Footprint, Posed, footprint, posed
from layout_engine.arranging.vectors import Floats
from layout_engine.geometry.arrange_support import convex_parts
from layout_engine.geometry.frames import BodyFrame, Points
from layout_engine.geometry.free_places import Area, Sum, grown_sums, united
from layout_engine.model.part_type import PartType, RoundCutOut
from layout_engine.once import cached_property

POINTS = (c.Counter, c.Drilled, c.Aerial)
KEPT_TYPES, KEPT_POSES, KEPT_PAIRS = 400, 24, 400
WAYS = 16  # directions in which bits are measured for the raster
_TURNS = 2 * np.pi * np.arange(WAYS) / WAYS
NORMALS: Floats = np.round(np.column_stack((np.cos(_TURNS), np.sin(_TURNS))), 15)
K = TypeVar("K", bound=Hashable)
T = TypeVar("T")
Key = tuple[str, float, float]


@dataclass(frozen=True, eq=False)
class Bit:
    """A convex piece: corners (n, 2) about the place, mm all round it, and its class."""

    corners: Points
    kind: c.Kind
    round: float = 0.0

    @cached_property
    def support(self) -> Floats:
        """How far it reaches in each of the directions, mm; shape (16,)."""
        reach: Floats = np.max(NORMALS @ self.corners.T, axis=1) + self.round
        return reach


class Kept(OrderedDict[K, T]):
    """Things made once and kept, the oldest going first."""

    def __init__(self, most: int) -> None:
        super().__init__()
        self._most = most

    def of(self, key: K, make: Callable[[], T]) -> T:
        """The thing of that key."""
        found = self.get(key)
        if found is None:
            found = self[key] = make()
            while len(self) > self._most:
                self.popitem(last=False)
        return found


@dataclass(eq=False)
class Stance:
    """A module in one face and turn, about the middle of its outline's bounds."""

    posed: Posed
    bits: tuple[Bit, ...]
    _against: Kept[Stance, Area] = field(default_factory=lambda: Kept(KEPT_PAIRS))

    @property
    def face(self) -> str:
        """The face it stands on."""
        return self.posed.pose.face

    def forbidden_by(self, others: Sequence[Stance]) -> list[Area]:
        """The places that each of other modules, standing at 0, 0, forbids to this one."""
        areas = {other: self._against.get(other) for other in others}
        new = [other for other, area in areas.items() if area is None]
        found = [list(sums(other.bits, self.bits)) for other in new]
        grown = grown_sums([one for own in found for one in own])
        ends = np.cumsum([len(own) for own in found])
        for other, end, own in zip(new, ends, found, strict=True):
            areas[other] = self._against.of(
                other, partial(united, grown[end - len(own): end]))
        return [area for other in others if (area := areas[other]) is not None]

    @property
    def outline(self) -> list[Points]:
        """Convex pieces of the outline."""
        return [bit.corners for bit in self.bits
                if isinstance(bit.kind, c.Solid) and not bit.kind.behind]


def sums(rest: Sequence[Bit], moving: Sequence[Bit]) -> Iterator[Sum]:
    """What bits at rest and bits that move have to do with each other."""
    for mine in moving:
        for other in rest:
            wanted = wanted_gap(mine.kind, other.kind)
            if wanted >= 0.0:
                yield other.corners, mine.corners, wanted + mine.round + other.round


@lru_cache(maxsize=20_000)
def wanted_gap(mine: c.Kind, other: c.Kind) -> float:
    """Distance wanted between two classes, mm; negative where they may cross."""
    return c.needed(mine, other)


class Form:
    """A part type, ready to stand in any face and turn."""

    def __init__(self, kind: PartType) -> None:
        self.kind = kind
        self.foot: Footprint = footprint(kind)
        self._stances: Kept[Key, Stance] = Kept(KEPT_POSES)

    def stance(self, face: str, turn: float, frame: BodyFrame) -> Stance:
        """The module in a face and turn, on a plate of the frame's thickness."""
        key = (face, turn % 360.0, frame.thickness)
        return self._stances.of(key, lambda: self._stance(face, turn % 360.0, frame))

    def _stance(self, face: str, turn: float, frame: BodyFrame) -> Stance:
        own = posed(self.foot, FACES[face], turn, frame)
        bits = [
            Bit(corners.mean(axis=0)[None] if isinstance(klass, POINTS) else corners, klass)
            for corners, klass in own.pieces if not isinstance(klass, c.CutOut)
        ]
        for cut in self.kind.through:
            if isinstance(cut, RoundCutOut):
                middle = np.array([own.about(cut.x, cut.y)])
                bits.append(Bit(middle, c.CutOut(), cut.diameter / 2))
            else:
                bits += [Bit(np.array([own.about(x, y) for x, y in part]), c.CutOut())
                         for part in convex_parts(cut)]
        return Stance(own, tuple(bits))


class Forms:
    """Forms of part types, kept from one revision of a job to the next, and between jobs."""

    def __init__(self) -> None:
        self._kept: Kept[PartType, Form] = Kept(KEPT_TYPES)

    def of(self, kind: PartType) -> Form:
        """The form of a type."""
        return self._kept.of(kind, lambda: Form(kind))

"""Which pieces must keep apart, and by how much: the checker's `stop` rules as collision classes.

Circles (fixing holes, heads, mounts, aerials) are points here, and their radius is part of the
distance: exact for upright boxes. Nothing here is looser than the checker.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import IntEnum
from math import sqrt

import numpy as np

from layout_engine.arranging.vectors import Floats
from layout_engine.geometry.frames import EPS_MM
from layout_engine.tables.holes import (
    EDGE_STOP,
    EDGE_WARN,
    LEAST_BRIDGE,
    ROOM_UNDER_PART,
    HoleWanted,
)

NEVER = -1.0
ROUNDED_MM = 0.001  # places are rounded to this
# So this much is added to every distance on a slant. Along an axis rounding brings nothing nearer
# where all is a whole number of thousandths, and what fits exactly has its place there.
SLACK_MM = 0.002
EXACT_MM = -4e-7  # added along an axis: what a program leaves open, less than the checker tells


class Care(IntEnum):
    """How much room is kept free that the checker would warn of, beside what stops a build.

    NONE: none. ROOMY: bend rooms whole, ways to service points, air beyond fins, room to reach,
    aerials far from metal and above it. BRIDGED: bridges between holes as well. ALL: no screw under
    a module of the other face, either.
    """

    NONE = 0
    ROOMY = 1
    BRIDGED = 2
    ALL = 3


@dataclass(frozen=True, slots=True)
class Solid:
    """A part's prism, or what stands out of it behind. `needs`: height with room to be reached."""

    face: int
    low: float
    high: float
    needs: float
    clearance: float
    behind: bool = False


@dataclass(frozen=True, slots=True)
class Zone:
    """A part's keep-free zone."""

    face: int
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Strip:
    """The half of a terminal's bend room that must be free."""

    face: int


@dataclass(frozen=True, slots=True)
class Counter:
    """Head or nut of a fixing; `face`: where it shows."""

    face: int
    radius: float
    height: float


@dataclass(frozen=True, slots=True)
class Drilled:
    """A hole. `hidden`: well inside its part's outline, so that parts of one face keep it apart.

    `old`: drilled before. `wanted`: of a module's hole, which old ones serve for it.
    """

    face: int
    diameter: float
    hidden: bool
    old: bool = False
    wanted: HoleWanted | None = None


@dataclass(frozen=True, slots=True)
class CutOut:
    """A cut-out that a part needs."""


@dataclass(frozen=True, slots=True)
class Aerial:
    """An antenna, its w, and the least distance to metal."""

    w: float
    distance: float


@dataclass(frozen=True, slots=True)
class Metal:
    """A shield, with its range of w."""

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Over:
    """All of an upright board that is higher than an antenna."""


@dataclass(frozen=True, slots=True)
class PlateGap:
    """No plate: a cut-out of it, or a pocket in its outline."""

    margin: float


@dataclass(frozen=True, slots=True)
class PlateZone:
    """Ground on which only parts up to a height may stand; `faces` as in the document."""

    faces: tuple[int, ...]
    highest: float


@dataclass(frozen=True, slots=True)
class MountHead:
    """A fixing of the plate: radius and height of its head."""

    radius: float
    height: float


@dataclass(frozen=True, slots=True)
class Bar:
    """Ground over which a wall leaves less than `over` mm on a face."""

    face: int
    over: float


@dataclass(frozen=True, slots=True)
class Outside:
    """Ground that only one body may not enter: outside of a zone that it must stay in."""

    owner: str


@dataclass(frozen=True, slots=True)
class Mark:
    """A copy of the outline of a body that must stay in a zone."""

    owner: str


Kind = (Solid | Zone | Strip | Counter | Drilled | CutOut | Aerial | Metal | Over | PlateGap
        | PlateZone | MountHead | Bar | Outside | Mark)


def needed(a: Kind, b: Kind, care: Care = Care.NONE) -> float:
    """Distance wanted between two pieces of different owners, mm; NEVER where they may cross."""
    rules = _ALL if care >= Care.ALL else _BRIDGED if care >= Care.BRIDGED else _RULES
    for one, other in ((a, b), (b, a)):
        rule = rules.get((type(one), type(other)))
        if rule:
            return rule(one, other)
    return NEVER


def need_table(kinds: list[Kind], care: Care = Care.NONE) -> Floats:
    """The distances of every pair of classes, along an axis."""
    table = np.full((len(kinds), len(kinds)), NEVER)
    for i, a in enumerate(kinds):
        for j, b in enumerate(kinds[: i + 1]):
            table[i, j] = table[j, i] = needed(a, b, care)
    return np.where(table >= 0.0, np.maximum(table + EXACT_MM, 0.0), NEVER)


def _solids(a: Solid, b: Solid) -> float:
    return max(a.clearance, b.clearance) if a.face == b.face else NEVER


def _solid_zone(a: Solid, b: Zone) -> float:
    shared = min(a.high, b.high) - max(a.low, b.low)
    return 0.0 if a.face == b.face and shared > EPS_MM else NEVER


def _solid_strip(a: Solid, b: Strip) -> float:
    return 0.0 if a.face == b.face and not a.behind else NEVER


def _solid_counter(a: Solid, b: Counter) -> float:
    tight = a.low - b.height < ROOM_UNDER_PART.value - EPS_MM
    return b.radius if a.face == b.face and tight else NEVER


def _holes(a: Drilled, b: Drilled) -> float:
    apart = a.hidden and b.hidden and a.face == b.face
    return NEVER if apart else (a.diameter + b.diameter) / 2


def _hole_cut(a: Drilled, b: CutOut | PlateGap) -> float:  # noqa: ARG001
    return NEVER if a.old else EDGE_STOP.value * a.diameter


def _bridged(a: Drilled, b: Drilled) -> float:
    apart = a.hidden and b.hidden and a.face == b.face
    bridge = max(a.diameter, b.diameter, LEAST_BRIDGE.value)
    return NEVER if apart else (a.diameter + b.diameter) / 2 + bridge


def _well_in(a: Drilled, b: CutOut | PlateGap) -> float:  # noqa: ARG001
    return NEVER if a.old else EDGE_WARN.value * a.diameter


def _uncovered(a: Solid, b: Counter) -> float:
    return b.radius if a.face == b.face else NEVER


def _aerial_metal(a: Aerial, b: Metal) -> float:
    deep = max(0.0, b.low - a.w, a.w - b.high)
    return sqrt(a.distance**2 - deep**2) if deep < a.distance else NEVER


def _over_metal(a: Over, b: Metal) -> float:  # noqa: ARG001
    return 0.0


def _solid_gap(a: Solid, b: PlateGap) -> float:
    return NEVER if a.behind else b.margin


def _solid_plate_zone(a: Solid, b: PlateZone) -> float:
    return 0.0 if a.face in b.faces and a.high > b.highest + EPS_MM else NEVER


def _solid_mount(a: Solid, b: MountHead) -> float:
    return b.radius if a.low < b.height - EPS_MM else NEVER


def _solid_bar(a: Solid, b: Bar) -> float:
    return 0.0 if a.face == b.face and a.needs > b.over + EPS_MM else NEVER


def _mark_outside(a: Mark, b: Outside) -> float:
    return 0.0 if a.owner == b.owner else NEVER


_RULES: dict[tuple[type, type], Callable[..., float]] = {
    (Solid, Solid): _solids,
    (Solid, Zone): _solid_zone,
    (Solid, Strip): _solid_strip,
    (Solid, Counter): _solid_counter,
    (Drilled, Drilled): _holes,
    (Drilled, CutOut): _hole_cut,
    (Drilled, PlateGap): _hole_cut,
    (Aerial, Metal): _aerial_metal,
    (Over, Metal): _over_metal,
    (Solid, PlateGap): _solid_gap,
    (Solid, PlateZone): _solid_plate_zone,
    (Solid, MountHead): _solid_mount,
    (Solid, Bar): _solid_bar,
    (Mark, Outside): _mark_outside,
}
# Where only the distance is another one than at which a build is stopped.
_BRIDGED: dict[tuple[type, type], Callable[..., float]] = _RULES | {
    (Drilled, Drilled): _bridged,
    (Drilled, CutOut): _well_in,
    (Drilled, PlateGap): _well_in,
}
_ALL: dict[tuple[type, type], Callable[..., float]] = _BRIDGED | {(Solid, Counter): _uncovered}

"""Limits for holes in the plate, and which hole serves for what goes through it."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from layout_engine.tables.fasteners import clearance_hole, head_diameter, thread
from layout_engine.tables.sourced import COMMON_PRACTICE, Sourced

_GUIDE = "polycarbonate sheet drilling guide: edge of hole to edge of sheet 1.5 to 2.0 diameters"
EDGE_STOP = Sourced(2.0, "hole diameters", _GUIDE, "from the centre: 1.5 + 0.5")
EDGE_WARN = Sourced(2.5, "hole diameters", _GUIDE, "from the centre: 2.0 + 0.5")
LEAST_BRIDGE = Sourced(2.0, "mm", COMMON_PRACTICE, "or the larger hole's diameter")
ROOM_UNDER_PART = Sourced(2.0, "mm", COMMON_PRACTICE, "between a head or nut and a part over it")
BEARING = Sourced(1.0, "mm", COMMON_PRACTICE, "head or washer wider than its hole by this")
CUT_OUT_PLAY = Sourced(0.5, "mm", COMMON_PRACTICE, "a panel part still covers its hole")
_HAIR_MM = 1e-9  # of diameters that are the same but for rounding


@dataclass(frozen=True, slots=True)
class HoleWanted:
    """Which holes serve for a screw, a mount or a cut-out; diameters in mm.

    through: of what goes through. least: of the narrowest hole that it takes. most: of the circle
    round its middle that is covered, in which the hole must lie.
    """

    through: float
    least: float
    most: float

    def slack(self, hole: float) -> float:
        """How far off its middle [mm] a hole of that diameter serves; negative: it does not serve.

        What goes through stands inside the hole, d / 2 + a <= D / 2, and what covers it covers all
        of it, D / 2 + a <= D_most / 2: a = min(D - d, D_most - D) / 2 (plane geometry).

        >>> round(fixing_hole("M3", "pan").slack(3.2), 6)
        0.1
        """
        if hole < self.least - _HAIR_MM:
            return -inf
        return min(hole - self.through, self.most - hole) / 2


def bare_head_most(name: str, head: str) -> float:
    """Widest hole [mm] that the head itself (`pan`, `countersunk`) covers: head - BEARING."""
    return head_diameter(name, head) - BEARING.value


def fixing_hole(name: str, head: str) -> HoleWanted:
    """The hole for a screw of thread `name`: from ISO 273 fine to what its head or washer covers.

    A countersunk head takes no washer (ISO 7089 under pan heads).

    >>> fixing_hole("M3", "pan")
    HoleWanted(through=3.0, least=3.2, most=6.0)
    """
    row, bare = thread(name), bare_head_most(name, head)
    washer = row.washer_diameter.value - BEARING.value
    most = bare if head == "countersunk" else max(bare, washer)
    return HoleWanted(row.diameter, clearance_hole(name, "fine"), most)


def mount_hole(diameter: float, head: float) -> HoleWanted:
    """The hole for a fixing of the plate, mm; `head` is 0 where it is not known."""
    most = max(diameter, head - BEARING.value) if head else diameter + BEARING.value
    return HoleWanted(diameter, diameter, most)


def cut_out_hole(diameter: float) -> HoleWanted:
    """The hole for what sits in a round cut-out or a grommet, mm: hardly wider than it wants."""
    return HoleWanted(diameter, diameter, diameter + CUT_OUT_PLAY.value)

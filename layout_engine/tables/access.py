"""Room for hands, fingers and tools, and balance on wheels. Lengths in mm, angles in degrees."""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, degrees

from layout_engine.tables.sourced import COMMON_PRACTICE, Sourced

_MIL = 'MIL-STD-1472 figure "arm and hand access dimensions" (from memory)'
_CONTROLS = "MIL-STD-1472E Table VII, edge to edge, one hand"

HAND_HEIGHT = Sourced(55.0, "mm", _MIL, "flat bare hand to the wrist, within 10 %")
HAND_WIDTH = Sourced(100.0, "mm", _MIL, "flat bare hand to the wrist, within 10 %")
FINGER_HOLE = Sourced(32.0, "mm", _MIL, "bare finger to its first joint")
DRIVER_HANDLE = Sourced(35.0, "mm", COMMON_PRACTICE, "diameter of a screwdriver's handle")
DRIVER_SHANK = Sourced(10.0, "mm", COMMON_PRACTICE, "free cylinder over a head, M3 to M5 driver")
SWITCH_REACH = Sourced(100.0, "mm", COMMON_PRACTICE, "a hand's breadth in from the edge")
CONTROL_GAPS = {
    ("push", "push"): Sourced(13.0, "mm", _CONTROLS + " (from memory)"),
    ("push", "rotary"): Sourced(13.0, "mm", _CONTROLS),
    ("push", "toggle"): Sourced(13.0, "mm", _CONTROLS),
    ("rotary", "rotary"): Sourced(25.0, "mm", _CONTROLS),
    ("rotary", "toggle"): Sourced(19.0, "mm", _CONTROLS),
}


def control_gap(one: str, other: str) -> float:
    """Least gap [mm] edge to edge between controls: `push`, `toggle`, `rotary` in any order."""
    first, second = sorted((one, other))
    return CONTROL_GAPS[first, second].value


def hand_passes(width: float, height: float) -> bool:
    """Whether a flat bare hand goes through a rectangle [mm x mm], either way round."""
    small, large = sorted((width, height))
    return small >= HAND_HEIGHT.value and large >= HAND_WIDTH.value


def centre_of_mass(masses: tuple[float, ...], positions: tuple[float, ...]) -> float:
    """Centre on one axis: sum(m x) / sum(m), in the unit of `positions`.

    Equally many of each, and some mass, else ValueError.

    >>> centre_of_mass((2.0, 0.5, 1.5), (50.0, 300.0, 120.0))
    107.5
    """
    total = sum(masses)
    if total <= 0:
        raise ValueError("a centre needs some mass")
    return sum(m * x for m, x in zip(masses, positions, strict=True)) / total


def stability_factor(track: float, height: float) -> float:
    """Static stability factor [1]: T / (2 H) (NHTSA rollover rulemaking ch. V)."""
    return track / (2 * height)


def tip_angle(distance: float, height: float) -> float:
    """Slope [deg] at which a body tips over a wheel line: atan(distance to the line / height).

    distance [mm] is measured square to the line from the centre of gravity, negative outside it.
    """
    return degrees(atan2(distance, height))


@dataclass(frozen=True, slots=True)
class ServiceWay:
    """Straight way that a service point needs: `width` and `length` [mm]."""

    width: float
    length: float
    source: str


SERVICE_WAYS = {
    "finger": ServiceWay(FINGER_HOLE.value, 59.0, f"{_MIL}; length EN 547-3 (from memory)"),
    "tool": ServiceWay(DRIVER_SHANK.value, 100.0, COMMON_PRACTICE),
    "plug": ServiceWay(15.0, 40.0, COMMON_PRACTICE),
    "eye": ServiceWay(2.0, 100.0, COMMON_PRACTICE),
}
TERMINAL_STRIP_HALF = Sourced(5.0, "mm", COMMON_PRACTICE, "each side of a terminal")
FIN_TILT = Sourced(30.0, "deg", COMMON_PRACTICE, "off vertical")
LEAST_TIP_ANGLE = Sourced(20.0, "deg", COMMON_PRACTICE, "slope a machine must stand on")

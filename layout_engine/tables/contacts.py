"""Contacts: resistance where nobody measured it, pull of a crimp, hum on a shared return.

Resistances in ohm, forces in N.
"""

from __future__ import annotations

from math import log10

from layout_engine.tables.sourced import COMMON_PRACTICE, Sourced

_TYPICAL = "typical of a sound contact, 0.2 to 5 mohm (from memory)"
JOINT_OHMS: dict[str, Sourced] = {
    "screw": Sourced(0.0005, "ohm", _TYPICAL),
    "spade": Sourced(0.001, "ohm", _TYPICAL),
    "ring": Sourced(0.0002, "ohm", _TYPICAL),
    "pin": Sourced(0.005, "ohm", _TYPICAL),
    "plug": Sourced(0.005, "ohm", _TYPICAL),
    "solder": Sourced(0.0001, "ohm", _TYPICAL),
}
UNPLUG_OHMS = Sourced(0.001, "ohm", _TYPICAL, "an in-line plug pair, each pole")
PATH_OHMS = Sourced(0.001, "ohm", _TYPICAL, "a path inside a module whose ohms are not given")
FUSE_OHMS = Sourced(0.003, "ohm", _TYPICAL, "holder and fuse whose ohms are not given")
SWITCH_OHMS = Sourced(0.002, "ohm", _TYPICAL, "a closed contact whose ohms are not given")
DRIVER_OHMS = Sourced(0.010, "ohm", "typical of a bridge of transistors (from memory)")
CONVERTER_OHMS = Sourced(0.010, "ohm", "typical output of a converter (from memory)")
CONVERTER_EFFICIENCY = Sourced(0.85, "1", COMMON_PRACTICE, "switching, where nothing is given")

POUND_FORCE = Sourced(4.4482216152605, "N", "international yard and pound agreement, CGPM 1901")
# UL 486A in a maker's crimp specification, direct pull held one minute
PULL_POUNDS: dict[int, float] = {
    26: 3, 24: 5, 22: 8, 20: 13, 18: 20, 16: 30, 14: 50, 12: 70, 10: 80, 8: 90, 6: 100, 4: 140,
    2: 180,
}
PULL_POUNDS_MILITARY: dict[int, float] = {
    26: 7, 24: 10, 22: 15, 20: 19, 18: 38, 16: 50, 14: 70, 12: 110, 10: 150
}  # MIL-T-7928
WIRES_UNDER_SCREW = Sourced(1.0, "wires", "IEC 60204-1 clause 13.1.1 (from memory)")
LINE_LEVEL = Sourced(1.0, "V", COMMON_PRACTICE, "audio between modules")
HUM_LIMIT = Sourced(0.010, "V", COMMON_PRACTICE, "40 dB under a line of 1 V")


def shared_return_volts(amps: float, ohms: float) -> float:
    """Voltage [V] that a current puts on everything that shares its return of `ohms`: V = I R.

    >>> shared_return_volts(5, 0.010)
    0.05
    """
    return amps * ohms


def under_line_db(volts: float, line: float = LINE_LEVEL.value) -> float:
    """Level [dB] of a voltage [V] against a line signal of `line` [V]: 20 log10(V / line).

    >>> round(under_line_db(0.05))
    -26
    """
    return 20 * log10(volts / line)


def pull_force(gauge: int, *, military: bool = False) -> float:
    """Pull [N] that a crimp must stand for one minute; KeyError outside the table."""
    table = PULL_POUNDS_MILITARY if military else PULL_POUNDS
    return table[gauge] * POUND_FORCE.value

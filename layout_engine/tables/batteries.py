"""Batteries: volts of a cell, usable share, Peukert's exponent, resistance by order of magnitude.

V, A, Ah, h, ohm.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log

from layout_engine.tables.sourced import COMMON_PRACTICE, Sourced

_MEMORY = "(from memory)"
_MONITOR = "battery monitor manual's table of Peukert exponents"


@dataclass(frozen=True, slots=True)
class Chemistry:
    """A cell chemistry.

    Attributes:
        rest, full, cut_off: V a cell: nominal, at the end of charging, where discharge ends.
        usable: share of the capacity that is taken in ordinary use.
        peukert: exponent n.
        sheet_ohms: ohm of one cell of 1 Ah, order of magnitude; divided by the Ah.
    """

    name: str
    rest: Sourced
    full: Sourced
    cut_off: Sourced
    usable: Sourced
    peukert: Sourced
    sheet_ohms: Sourced


def _lead(name: str, peukert: float) -> Chemistry:
    return Chemistry(
        name,
        Sourced(2.0, "V", "definition of the nominal voltage"),
        Sourced(2.45, "V", f"cycle charge, 2.40 to 2.50 {_MEMORY}", "float 2.27"),
        Sourced(1.75, "V", "reference encyclopedia"),
        Sourced(0.50, "1", COMMON_PRACTICE),
        Sourced(peukert, "1", _MONITOR),
        # VRLA 12 V 18 Ah, 13 mohm: six cells, 2.17 mohm each
        Sourced(0.013 / 6 * 18, "ohm Ah", f"VRLA block data sheets {_MEMORY}"),
    )


CHEMISTRIES: dict[str, Chemistry] = {
    "lead_agm": _lead("lead, AGM", 1.15),
    "lead_gel": _lead("lead, gel", 1.15),
    "lead_flooded": _lead("lead, flooded", 1.23),
    "nimh": Chemistry(
        "nickel-metal hydride", Sourced(1.2, "V", "definition of the nominal voltage"),
        Sourced(1.45, "V", f"cell data sheets {_MEMORY}"), Sourced(1.0, "V", "cell data sheets"),
        Sourced(0.80, "1", COMMON_PRACTICE), Sourced(1.05, "1", COMMON_PRACTICE),
        Sourced(0.018 * 4, "ohm Ah", f"4 Ah cell, 18 mohm {_MEMORY}"),
    ),
    "lifepo4": Chemistry(
        "lithium iron phosphate", Sourced(3.2, "V", "cell data sheets"),
        Sourced(3.65, "V", "cell data sheets"), Sourced(2.5, "V", "cell specifications"),
        Sourced(0.80, "1", COMMON_PRACTICE), Sourced(1.05, "1", COMMON_PRACTICE),
        Sourced(0.05 / 4 * 6, "ohm Ah", "small 12.8 V pack with its protection, at most 50 mohm"),
    ),
    "li_ion": Chemistry(
        "lithium ion", Sourced(3.6, "V", "cell data sheets"),
        Sourced(4.20, "V", "cell data sheets"), Sourced(3.0, "V", "cell data sheets, 2.75 to 3.0"),
        Sourced(0.80, "1", COMMON_PRACTICE), Sourced(1.05, "1", COMMON_PRACTICE),
        Sourced(0.025 * 2.6, "ohm Ah", "18650 cell of 2.6 Ah, 25 mohm at 1 kHz; DC is higher"),
    ),
}  # fmt: skip
LEAD_FLOAT = Sourced(2.27, "V", f"VRLA makers, 2.25 to 2.30 {_MEMORY}")
CHARGE_FACTOR: dict[str, Sourced] = {
    "lead_agm": Sourced(1.2, "1", COMMON_PRACTICE, "Ah put in over Ah taken out"),
    "lead_gel": Sourced(1.2, "1", COMMON_PRACTICE, "Ah put in over Ah taken out"),
    "lead_flooded": Sourced(1.3, "1", COMMON_PRACTICE, "Ah put in over Ah taken out"),
    "nimh": Sourced(1.4, "1", COMMON_PRACTICE, "Ah put in over Ah taken out"),
    "lifepo4": Sourced(1.05, "1", COMMON_PRACTICE, "Ah put in over Ah taken out"),
    "li_ion": Sourced(1.05, "1", COMMON_PRACTICE, "Ah put in over Ah taken out"),
}
PRE_CHARGE = Sourced(1000.0, "uF", COMMON_PRACTICE, "over this the capacitors want a pre-charge")
DRIVER_MARGIN = Sourced(1.2, "1", COMMON_PRACTICE, "driver's maximum over the full pack")


def peukert_hours(capacity: float, hours: float, amps: float, exponent: float) -> float:
    """Discharge time [h]: t = H (C / (I H))^n (Peukert 1897).

    capacity [Ah] is what the pack gives over `hours`. Below the rated current C/H the capacity
    itself counts: more than what the label says is never promised. exponent >= 1, else ValueError.

    >>> round(peukert_hours(100, 20, 10, 1.2), 3)
    8.706
    """
    if exponent < 1:
        raise ValueError(f"Peukert's exponent {exponent:g} is under 1")
    if amps <= capacity / hours:
        exponent = 1.0
    return float(hours * (capacity / (amps * hours)) ** exponent)


def peukert_exponent(amps: tuple[float, float], hours: tuple[float, float]) -> float:
    """Peukert exponent from two discharges: n = ln(t2 / t1) / ln(I1 / I2)."""
    return log(hours[1] / hours[0]) / log(amps[0] / amps[1])


def fault_amps(volts: float, *ohms: float) -> float:
    """Current [A] of a dead short: Voc / (sum of every resistance in the loop)."""
    return volts / sum(ohms)

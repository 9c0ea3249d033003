"""How much current a wire carries for good, and the cautious second figure beside it.

Currents in A, temperatures in degC, areas in mm2.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import ceil
from typing import Literal

from layout_engine.sizing.heat_balance import SOURCE as BALANCE
from layout_engine.sizing.heat_balance import balance_amps, balance_at, body_of
from layout_engine.tables.air import CHURCHILL_CHU, PLASTIC_EMISSIVITY
from layout_engine.tables.ampacity import (
    BUNCHED,
    CFR_AMPS,
    CFR_COLUMNS,
    CFR_CONDITION,
    CFR_TABLE_5,
    CONTACT_CAP,
    FAA_AMPS,
    FAA_CONDITION,
    FAA_TABLE_11_9,
    TABLE_AMBIENT,
    allowed_amps,
    ambient_factor,
    bundle_factor,
    cfr_amps,
    faa_amps,
)
from layout_engine.tables.conductors import (
    ALPHA,
    INSULATION_CONDUCTIVITY,
    INSULATION_LIMIT,
    STRANDING,
    WALL_SOURCE,
    WireSize,
    hot_factor,
)
from layout_engine.working import Given, Working, exceeds

Status = Literal["meets", "explain", "stop"]
THINNEST_ROW, THICKEST_ROW = max(CFR_AMPS), min(CFR_AMPS)  # gauges 18 and 2
FACTOR_SOURCE = "fits IEC 60364-5-52 B.52.14, CEC Table 5A, 33 CFR 183.425 note 1"
CAUTIOUS = f"{FAA_TABLE_11_9}, 105 C column: {FAA_CONDITION}"


@dataclass(frozen=True, slots=True)
class Around:
    """What a wire lies in.

    Attributes:
        limit: temperature that its copper may have: the least of insulation, both contacts, 105.
        air: round it, rounded up to the next 0.1.
        circuits: loaded at once in one tie, itself counted.
        limited_by: what sets the limit, in words.
    """

    limit: float
    air: float
    circuits: int = 1
    limited_by: str = "insulation"


def around(insulation: str, contacts: dict[str, float], air: float, circuits: int = 1) -> Around:
    """The conditions of a wire: its weakest contact caps the insulation's column.

    Args:
        insulation: one of INSULATION_LIMIT.
        contacts: highest temperature of each contact, by its name.
        air: round the wire.
        circuits: loaded at once in one tie.
    """
    caps = {f"insulation {insulation}": INSULATION_LIMIT[insulation].value, **contacts,
            "contacts as a rule": CONTACT_CAP.value}  # fmt: skip
    weakest = min(caps, key=lambda name: caps[name])
    return Around(caps[weakest], ceil(air * 10 - 1e-9) / 10, max(1, circuits), weakest)


@dataclass(frozen=True, slots=True)
class Carries:
    """What a wire carries.

    Attributes:
        amps: for good, in its conditions.
        cautious: the FAA's figure for thick harnesses; None where its table has no such wire.
        working: how `amps` was worked out.
    """

    amps: float
    cautious: float | None
    working: Working

    def status(self, amps: float) -> Status:
        """A current against both figures: meets both, needs explaining, or is a stop."""
        if exceeds(amps, self.amps):
            return "stop"
        return "meets" if self.cautious is not None and amps <= self.cautious else "explain"


@lru_cache(maxsize=512)
def table_gauge(size: WireSize) -> int | None:
    """The gauge whose row of the table holds for a size: not thicker than it; None under 18."""
    gauge = size.gauge
    if gauge > THINNEST_ROW:
        return None
    return min((g for g in CFR_AMPS if g >= gauge), default=THICKEST_ROW)


def carried(size: WireSize, insulation: str, place: Around) -> float:
    """Current [A] that a wire carries for good; 0 where the air is as hot as it may be.

    From AWG 18 on the table, below it the heat balance, never over the table's thinnest row.
    """
    alone = _alone(size, insulation, place.limit, place.air)
    return allowed_amps(alone, bundle_factor(place.circuits))


@lru_cache(maxsize=4096)
def _alone(size: WireSize, insulation: str, limit: float, air: float) -> float:
    gauge = table_gauge(size)
    if gauge is not None:
        return _from_table(gauge, limit, air)
    least = _from_table(THINNEST_ROW, limit, air)
    return min(least, balance_amps(size, insulation, limit, air))


def _from_table(gauge: int, limit: float, air: float) -> float:
    column = column_for(limit)
    amps = cfr_amps(gauge, column)
    assert amps is not None
    if limit >= column:
        return allowed_amps(amps, ambient_factor(column, air))
    # Under 60 C there is no column: that of 60 C, taken down by the same square root.
    rise = max(0.0, limit - air) / (column - TABLE_AMBIENT.value)
    return float(amps * rise**0.5)


def column_for(limit: float) -> float:
    """The column [C] of 33 CFR Table 5 that holds for a limit: not over it, at least 60."""
    return max((c for c in CFR_COLUMNS if c <= limit + 1e-9), default=CFR_COLUMNS[0])


@lru_cache(maxsize=512)
def cautious_amps(size: WireSize) -> float | None:
    """FAA Table 11-9, 105 C column [A]; None for wires under 24 AWG."""
    gauge = size.gauge
    rows = [g for g in FAA_AMPS if g >= gauge]
    return faa_amps(min(rows)) if rows else None


@lru_cache(maxsize=1024)  # of all wires of a large board
def carries(size: WireSize, insulation: str, place: Around) -> Carries:
    """What a wire carries, with its working."""
    amps = carried(size, insulation, place)
    beside = f"{place.circuits} loaded circuits in one tie (a pair is one)"
    bundle = Given("kb", beside if place.circuits > 1 else "no other loaded circuit in its tie",
                   bundle_factor(place.circuits), "1", f"{BUNCHED}, bunched row")  # fmt: skip
    limit = Given("Tr", f"limit, set by: {place.limited_by}", place.limit, "C",
                  "part type or insulation; contacts common practice, no source")  # fmt: skip
    air = Given("Ta", "air round the wire", place.air, "C", "assumptions or heat of the body")
    return Carries(
        amps, cautious_amps(size), _working(size, insulation, amps, (limit, air, bundle))
    )


def _working(size: WireSize, insulation: str, amps: float, given: tuple[Given, ...]) -> Working:
    limit, air, _ = given
    if air.value >= limit.value:
        return Working("Iz = 0 where Ta >= Tr", (limit, air), amps, "A", FACTOR_SOURCE)
    gauge = table_gauge(size)
    if gauge is None:
        capped = _from_table(THINNEST_ROW, limit.value, air.value)
        body = body_of(size, insulation)
        found = balance_at(body, limit.value, air.value)
        hot = hot_factor(limit.value)
        return Working(
            "Iz = min(I, It) kb; I^2 R = (Tr - Ts) / Ri = (hc + hr) pi D (Ts - Ta), "
            "R = r20 (1 + a (Tr - 20)), Ri = ln(D / d) / (2 pi ki)", (
                Given("I", f"{size.name}, {insulation}, at which both sides are equal", found.amps,
                      "A", BALANCE),
                Given("r20", f"resistance of {size.name} at 20 C", size.ohms_per_km, "ohm/km",
                      size.source),
                Given("R", "the same at Tr", body.ohms_per_km * hot, "ohm/km", ALPHA.source),
                Given("d", "strands", body.copper, "mm",
                      f"1.145 sqrt(4 S / pi); {STRANDING.source}"),
                Given("D", f"outside, {insulation}", body.outer, "mm", WALL_SOURCE),
                Given("ki", f"{insulation} leads heat", body.conductivity, "W/mK",
                      INSULATION_CONDUCTIVITY[insulation].source),
                Given("Ri", "insulation", body.wall, "K m/W", BALANCE),
                Given("Ts", "outside of the wire", found.surface, "C", BALANCE),
                Given("hc", "convection", found.convection, "W/m2K",
                      f"{CHURCHILL_CHU}, horizontal cylinder"),
                Given("hr", "radiation", found.radiation, "W/m2K",
                      f"Stefan-Boltzmann; emissivity {body.emissivity:g}, "
                      f"{PLASTIC_EMISSIVITY.source}"),
                Given("It", "18 AWG of the table, never exceeded by a thinner wire", capped, "A",
                      CFR_TABLE_5), *given,
            ), amps, "A", BALANCE,
        )  # fmt: skip
    column = column_for(limit.value)
    return Working(
        "Iz = It sqrt((Tc - Ta) / (Tc - 30)) kb", (
            Given("It", f"{size.name} as {gauge} AWG, {column:g} C column; {CFR_CONDITION}",
                  cfr_amps(gauge, column) or 0.0, "A", CFR_TABLE_5),
            Given("Tc", "column, or the limit where that is under 60 C", min(column, limit.value),
                  "C", FACTOR_SOURCE), *given,
        ), amps, "A", f"{CFR_TABLE_5}; {FACTOR_SOURCE}; IEC 60364-5-52 cl. 523",
    )  # fmt: skip

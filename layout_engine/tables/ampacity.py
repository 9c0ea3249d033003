"""How much current a wire carries: the tables, and the factors for heat and for neighbours.

Currents in A, temperatures in degC. Each table holds under its own condition only; see its note.
"""

from __future__ import annotations

from functools import cache
from math import prod, sqrt

from layout_engine.tables.sourced import COMMON_PRACTICE, Sourced

CFR_TABLE_5 = "33 CFR 183.425 Table 5"
CFR_CONDITION = "single conductors, 30 C air, no bundle reduction below 50 V"
FAA_TABLE_11_9 = "FAA AC 43.13-1B CHG 1 Table 11-9"
FAA_CONDITION = "70 C, 33+ wires (AWG 8 and up: 9), up to 20 % of the harness loaded, 60 000 ft"
BUNCHED = "IEC 60364-5-52 Table B.52.17 item 1 = BS 7671 Table 4C1 row 1"

TABLE_AMBIENT = Sourced(30.0, "C", CFR_TABLE_5)
CFR_COLUMNS = (60.0, 75.0, 80.0, 90.0, 105.0, 125.0, 200.0)
CFR_AMPS: dict[int, tuple[float, ...]] = {
    18: (10, 10, 15, 20, 20, 25, 25), 16: (15, 15, 20, 25, 25, 30, 35),
    14: (20, 20, 25, 30, 35, 40, 45), 12: (25, 25, 35, 40, 45, 50, 55),
    10: (40, 40, 50, 55, 60, 70, 70), 8: (55, 65, 70, 70, 80, 90, 100),
    6: (80, 95, 100, 100, 120, 125, 135), 4: (105, 125, 130, 135, 160, 170, 180),
    3: (120, 145, 150, 155, 180, 195, 210), 2: (140, 170, 175, 180, 210, 225, 240),
}  # fmt: skip
FAA_COLUMNS = (105.0, 150.0, 200.0)
FAA_AMPS: dict[int, tuple[float, ...]] = {
    24: (2.5, 4, 5), 22: (3, 5, 6), 20: (4, 7, 9), 18: (6, 9, 12), 16: (7, 11, 14),
    14: (10, 14, 18), 12: (13, 19, 25), 10: (17, 26, 32), 8: (38, 57, 71), 6: (50, 76, 97),
    4: (68, 103, 133), 2: (95, 141, 179),
}  # fmt: skip
_QUOTED = f"{BUNCHED}, quoted in a discussion of the table"
_MEMORY = f"{BUNCHED} (from memory)"
BUNCHED_FACTORS: dict[int, Sourced] = {
    circuits: Sourced(factor, "1", _MEMORY if circuits < 9 else _QUOTED)
    for circuits, factor in (
        (1, 1.0), (2, 0.80), (3, 0.70), (4, 0.65), (5, 0.60), (6, 0.57), (7, 0.54), (8, 0.52),
        (9, 0.50), (12, 0.45), (16, 0.41), (20, 0.38),
    )
}  # fmt: skip
# Up to so many conductors: 33 CFR 183.425 Table 5 note 2 / ABYC E-11 Table VI notes, then 0.40.
CFR_BUNDLE_FACTORS = ((3, 0.70), (6, 0.60), (24, 0.50))
# NEC 2014 Table 310.15(B)(3)(a), then 0.35; from 31 on from memory.
NEC_BUNDLE_FACTORS = ((3, 1.0), (6, 0.80), (9, 0.70), (20, 0.50), (30, 0.45), (40, 0.40))
FAA_BUNDLE_8_WIRES = Sourced(
    0.60, "1", "FAA AC 43.13-1B Figure 11-6, as read on p. 11-27", "8 wires, harness loaded 60 %"
)
# What other tables say of the same copper, A by gauge: to compare, never to size by.
NEC_310_16 = "NEC Table 310.16, 75 C, up to 3 in a raceway, 30 C"
NEC_AMPS: dict[int, Sourced] = {
    gauge: Sourced(amps, "A", NEC_310_16 + (" (from memory)" if gauge not in (14, 10) else ""))
    for gauge, amps in ((14, 20), (12, 25), (10, 35), (8, 50), (6, 65), (4, 85), (3, 100), (2, 115))
}
NEC_400_5 = "NEC Table 400.5(A)(1), jacketed cord with two loaded cores, 30 C"
CORD_AMPS: dict[int, Sourced] = {
    gauge: Sourced(amps, "A", NEC_400_5 + (" (from memory)" if gauge < 14 else ""))
    for gauge, amps in ((18, 10), (16, 13), (14, 18), (12, 25), (10, 30), (8, 40), (6, 55), (4, 70))
}
LOADED_SHARE = Sourced(
    0.30, "1", "IEC 60364-5-52 (from memory)", "a circuit under this load is not counted in a tie"
)
CONTACT_CAP = Sourced(105.0, "C", COMMON_PRACTICE, "screw terminals and blade holders: 80 to 105")


def ambient_factor(limit: float, air: float, table_air: float = TABLE_AMBIENT.value) -> float:
    """Factor for the air's temperature: sqrt((Tr - Ta) / (Tr - T0)); 0 where Ta >= Tr.

    limit: of the insulation or the contact; air: round the wire; table_air: of the table, all C.
    Fits IEC 60364-5-52 Table B.52.14, CEC Table 5A and 33 CFR 183.425 note 1 within 1 %.

    >>> ambient_factor(70, 60)
    0.5
    """
    if air >= limit or table_air >= limit:
        return 0.0
    return sqrt((limit - air) / (limit - table_air))


@cache
def bundle_factor(circuits: int) -> float:
    """Factor for loaded circuits (a pair is one) tied together, IEC 60364-5-52 bunched row.

    Between two rows of the table the next one with more circuits holds; over 20 the last one.

    >>> bundle_factor(6)
    0.57
    """
    rows = [n for n in BUNCHED_FACTORS if n >= max(1, circuits)]
    return BUNCHED_FACTORS[min(rows) if rows else max(BUNCHED_FACTORS)].value


def conductor_factor(conductors: int, *, nec: bool = False) -> float:
    """Factor for current-carrying conductors in one bundle: 33 CFR note 2 (ABYC), or the NEC's.

    Never to be multiplied with `bundle_factor`: they answer the same question.
    """
    rows = NEC_BUNDLE_FACTORS if nec else CFR_BUNDLE_FACTORS
    if not nec and conductors < 3:
        return 1.0
    more = 0.35 if nec else 0.40
    return next((factor for most, factor in rows if conductors <= most), more)


def allowed_amps(table: float, *factors: float) -> float:
    """Current [A] of a table times its factors (air, bundle, height): Iz = I ka kb.

    >>> round(allowed_amps(47, 0.91, 0.60), 2)
    25.66
    """
    return table * prod(factors)


def faa_wire_temperature(air: float, limit: float, amps: float, most: float) -> float:
    """Temperature [C] of a wire at a current, of one that reaches `limit` at `most` A.

    T2 = T1 + (TR - T1) sqrt(I2 / Imax), FAA AC 43.13-1B par. 11-66d(6) (from memory): deliberately
    cautious, for heat goes with the square of the current. To compare; the heat balance is used.

    >>> round(faa_wire_temperature(50, 200, 20, 26), 1)
    181.6
    """
    return air + (limit - air) * sqrt(amps / most)


def cfr_amps(gauge: int, limit: float) -> float | None:
    """33 CFR Table 5 [A] for a gauge at the column not over `limit` [C]; None outside the table."""
    columns = [i for i, column in enumerate(CFR_COLUMNS) if column <= limit + 1e-9]
    row = CFR_AMPS.get(gauge)
    return row[columns[-1]] if row and columns else None


def faa_amps(gauge: int, limit: float = 105.0) -> float | None:
    """FAA Table 11-9 [A], the cautious second figure, at the column not over `limit` [C]."""
    columns = [i for i, column in enumerate(FAA_COLUMNS) if column <= limit + 1e-9]
    row = FAA_AMPS.get(gauge)
    return row[columns[-1]] if row and columns else None

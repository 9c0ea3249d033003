"""What a solved current is made of: what each module draws, and the share of it that flows here.

Wires and paths are plain resistances, so the current in one of them is a sum over the modules:
I = sum of k Ie, exactly (superposition). k is 1 where the way is the only one, less where several
ways share. V, A, ohm.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from layout_engine.supply.basis import SHARED, SOLVED, drawn_source
from layout_engine.working import Given, Working, is_guess

if TYPE_CHECKING:
    from layout_engine.supply.elements import Array
    from layout_engine.supply.study import Study

LEAST_TOLD = 1e-6  # A; smaller currents are not listed
WHOLE = 1e-4  # a share as near to 1 is the whole
SUM = "I = sum of what is drawn through it"


def flow_given(study: Study, row: int, number: int) -> tuple[Given, ...]:
    """What makes the current in a conductor in one row; together its size, A."""
    amps = float(study.conductor_amps[row, number])
    way = study.network.shares[number] * (1.0 if amps >= 0 else -1.0)
    return parts_of(study, row, way, study.element_amps[row])


def parts_of(study: Study, row: int, way: Array, amps: Array) -> tuple[Given, ...]:
    """What each element adds to a current.

    Args:
        study: the supply.
        row: the case, for where the elements' currents come from.
        way: (elements,) A in the conductor for 1 A in each element.
        amps: (elements,) current of each element.
    """
    items = study.network.elements.items
    found: list[Given] = []
    added = way * amps
    for n in (abs(added) > LEAST_TOLD).nonzero()[0].tolist():
        drawn, share = abs(float(amps[n])), abs(float(way[n]))
        what = f"{items[n].kind.replace('_', ' ')} {items[n].id}"
        if abs(share - 1) > WHOLE:
            what += f": {100 * share:.3g} % of {drawn:.4g} A"
        found.append(Given(f"I{len(found) + 1}", what, float(added[n]), "A",
                           why_drawn(study, row, n)))  # fmt: skip
    return tuple(found)


def flow_working(study: Study, row: int, number: int, formula: str = SUM) -> Working:
    """Why a conductor carries what it carries in one row, its direction left out."""
    given = flow_given(study, row, number)
    return Working(formula, given, abs(float(study.conductor_amps[row, number])), "A", SHARED)


def why_drawn(study: Study, row: int, number: int) -> str:
    """Where the current of an element comes from, with its own figures."""
    if (row, number) not in study.told:
        study.told[row, number] = _why_drawn(study, row, number)
    return study.told[row, number]


def _why_drawn(study: Study, row: int, number: int) -> str:
    e, case = study.network.elements.items[number], study.wanted[row][0]
    source = drawn_source(study.network, number, case)
    amps, volts = study.element_amps[row], study.ports_volts[row]
    drawn, across = abs(float(amps[number])), float(volts[number])
    if e.kind == "load" and across < e.knee:
        return f"{source}; falls with its voltage, {across:.3g} V"
    if e.kind == "motor" and abs(drawn * e.ohms - abs(across)) < 1e-6 * max(abs(across), 1e-3):
        return f"{source}: {abs(across):.4g} V at it over its {e.ohms:.3g} ohm"
    if e.kind == "drive":
        out = abs(float(amps[e.partner]))
        share = 100 * drawn / out if out > LEAST_TOLD else 0.0
        return f"{_guess(source)}{SOLVED}: {share:.3g} % of the {out:.4g} A of its motor"
    if e.kind == "converter":
        out, given = abs(float(amps[e.partner])), abs(float(volts[e.partner]))
        if e.efficiency == 0:
            return f"{_guess(source)}{SOLVED}: linear, takes the {out:.4g} A that it gives"
        return (f"{_guess(source)}{SOLVED}: {out:.4g} A at {given:.4g} V over {e.efficiency:g} of "
                f"{across:.4g} V")  # fmt: skip
    if e.kind == "battery":
        rest = float(study.settings.emf[row, number])
        return f"{SOLVED}: ({rest:.4g} - {across:.4g}) V over {e.ohms:.3g} ohm inside"
    if e.kind in ("drive_out", "converter_out"):
        return f"{SOLVED}: what it gives"
    return source


def _guess(source: str) -> str:
    return "guess, " if is_guess(source) else ""

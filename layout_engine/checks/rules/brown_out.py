"""Control is lost when a motor is held fast.

Wrong: with an empty pack and motors held fast, a controller, a receiver, a driver or the converter
that feeds them gets less than its least voltage: it restarts or lets go.

Remedy: feed control from its own battery or converter, thicker main wires, a stiffer pack, a
current limit in the driver.

Source: the part type; voltages from the solved supply.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding
from layout_engine.checks.wording import amounts
from layout_engine.supply.elements import Element
from layout_engine.supply.joined import fed_elements
from layout_engine.supply.ranges import DEAD_VOLTS, volts_range
from layout_engine.supply.study import Study
from layout_engine.supply.worked import volts_working

CONTROL = frozenset({"controller", "receiver", "converter", "motor_driver"})


@dataclass(frozen=True, slots=True)
class _Low:
    """The lowest voltage of a module, what it wants, the case, and where in it."""

    volts: float
    limit: float
    case: str
    element: Element


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a part: its lowest voltage."""
    study = facts.supply
    if study is None:
        return
    rows = [row for (case, pack), row in study.row.items()
            if case.startswith("stall") and pack == "empty" and study.solved.converged[row]]
    worst: dict[str, _Low] = {}
    fed = fed_elements(study.network)
    for n, e in enumerate(study.network.elements.items):
        kind = facts.job.type_of(e.part)
        limits = volts_range(kind, e)
        if not rows or limits is None or n not in fed or kind.kind not in CONTROL:
            continue
        volts, row = min((float(study.element_volts[r, n]), r) for r in rows)
        rests = study.open_volts[study.row["idle", "full"], n]
        if rests > DEAD_VOLTS and volts < limits[0] - 1e-6 and _is_lower(worst.get(e.part), volts):
            worst[e.part] = _Low(volts, limits[0], study.wanted[row][0], e)
    for part_id, low in worst.items():
        yield _finding(facts, study, part_id, low)


def _is_lower(known: _Low | None, volts: float) -> bool:
    return known is None or volts < known.volts


def _finding(facts: Facts, study: Study, part_id: str, low: _Low) -> Finding:
    volts, limit, case = low.volts, low.limit, low.case
    held = case.partition(".")[2]
    who = f"{facts.title(held)} held fast" if held else "every motor held fast"
    said = amounts(volts, limit, "V")
    return Finding(
        rule="brown_out", severity="warn", subjects=(part_id,),
        title=f"{facts.title(part_id)} goes down when motors are held fast",
        message=f"{said[0]} with an empty pack and {who}; {said[1]} at least are wanted.",
        value=volts, limit=limit, unit="V", source="part type",
        remedy="Feed control from a battery or converter of its own, make the main wires thicker, "
               "or limit the driver's current.",
        rests_on_guess=facts.guessed_values(part_id),
        working=replace(volts_working(study, low.element, case, "empty"), limit=limit,
                        limit_source="part type"),
    )  # fmt: skip

"""Control is lost when a motor is held fast.

Wrong: with an empty pack and motors held fast, a controller, a receiver, a driver or the converter
that feeds them gets less than its least voltage: it restarts or lets go.

Remedy: feed control from its own battery or converter, thicker main wires, a stiffer pack, a
current limit in the driver.

Source: the part type; voltages from the solved supply.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding
from layout_engine.checks.wording import amount
from layout_engine.supply.ranges import DEAD_VOLTS, volts_range
from layout_engine.supply.study import Study
from layout_engine.working import Given, Working

CONTROL = frozenset({"controller", "receiver", "converter", "motor_driver"})


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a part: its lowest voltage."""
    study = facts.supply
    if study is None:
        return
    rows = [row for (case, pack), row in study.row.items()
            if case.startswith("stall") and pack == "empty" and study.solved.converged[row]]
    worst: dict[str, tuple[float, float, str]] = {}
    for n, e in enumerate(study.network.elements.items):
        limits = volts_range(facts.job.type_of(e.part), e)
        if not rows or limits is None or facts.job.type_of(e.part).kind not in CONTROL:
            continue
        volts, row = min((float(study.element_volts[r, n]), r) for r in rows)
        rests = study.open_volts[study.row["idle", "full"], n]
        if rests > DEAD_VOLTS and volts < limits[0] - 1e-6 and _is_lower(worst.get(e.part), volts):
            worst[e.part] = volts, limits[0], study.wanted[row][0]
    for part_id, (volts, limit, case) in worst.items():
        yield _finding(facts, study, part_id, (volts, limit, case))


def _is_lower(known: tuple[float, float, str] | None, volts: float) -> bool:
    return known is None or volts < known[0]


def _finding(
    facts: Facts, study: Study, part_id: str, worst: tuple[float, float, str]
) -> Finding:
    volts, limit, case = worst
    held = case.partition(".")[2]
    who = f"{facts.title(held)} held fast" if held else "every motor held fast"
    amps = max(study.battery_amps(case, "empty").values(), default=0.0)
    return Finding(
        rule="brown_out", severity="warn", subjects=(part_id,),
        title=f"{facts.title(part_id)} goes down when motors are held fast",
        message=f"{amount(volts, 'V')} with an empty pack and {who}; "
                f"{amount(limit, 'V')} at least are wanted.",
        value=volts, limit=limit, unit="V", source="part type",
        remedy="Feed control from a battery or converter of its own, make the main wires thicker, "
               "or limit the driver's current.",
        rests_on_guess=facts.guessed_values(part_id),
        working=Working(
            "V at the module's terminals", (
                Given("I", "current of the pack", amps, "A", f"solved supply, {case}"),
                Given("V", f"solved supply, {case}, empty pack", volts, "V", "Kirchhoff"),
            ), volts, "V", "nodal analysis", limit, "part type"),
    )  # fmt: skip

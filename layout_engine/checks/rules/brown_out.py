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
from layout_engine.checks.wording import amounts
from layout_engine.supply.sag import Lowest, lowest_at_stall


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a part: its lowest voltage."""
    study = facts.supply
    if study is None:
        return
    for low in lowest_at_stall(study).values():
        if low.is_low:
            yield _finding(facts, low)


def _finding(facts: Facts, low: Lowest) -> Finding:
    volts, limit, part_id = low.volts.value or 0.0, low.least or 0.0, low.part
    held = low.case.partition(".")[2]
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
        working=low.volts.working,
    )  # fmt: skip

"""Capacitors pit the main switch.

Wrong: behind the main switch hang more than 1 mF of empty capacitors, no pre-charge goes round it,
and the current that rushes in exceeds the switch's peak (or that is not known).

Remedy: a pre-charge resistor round the switch (with a button), or a switch with a higher peak.

Source: V / R at the instant of closing; pre-charge over 1 mF common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding
from layout_engine.checks.wording import amount
from layout_engine.supply.state import Figure
from layout_engine.supply.switching_on import rushes
from layout_engine.tables.batteries import PRE_CHARGE
from layout_engine.working import exceeds


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a main switch."""
    study = facts.supply
    if study is None:
        return
    for rush in rushes(study):
        amps, stands = rush.amps.value, rush.stands
        is_main = facts.job.type_of(rush.switch).kind == "main_switch"
        if is_main and rush.wants_pre_charge and amps is not None and (
            stands is None or exceeds(amps, stands)
        ):
            yield _finding(facts, rush.switch, (rush.microfarads, stands), rush.amps)


def _finding(
    facts: Facts, part_id: str, known: tuple[float, float | None], rush: Figure
) -> Finding:
    total, stands = known
    allowed = f"it stands {amount(stands, 'A')}" if stands else "what it stands is not known"
    return Finding(
        rule="inrush", severity="warn", subjects=(part_id,),
        title=f"Capacitors pit {facts.title(part_id)}",
        message=f"About {amount(rush.value or 0.0, 'A')} rush into {total:.0f} uF at switch-on; "
                f"{allowed}.",
        value=rush.value, limit=stands, unit="A",
        source=f"V / R at the instant of closing; {PRE_CHARGE.source}",
        remedy="Put a pre-charge resistor with a button round the switch, 47 ohm for example.",
        rests_on_guess=facts.guessed_values(part_id),
        working=rush.working and replace(rush.working, limit=stands, limit_source="part type"),
    )  # fmt: skip

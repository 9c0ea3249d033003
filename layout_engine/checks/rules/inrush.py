"""Capacitors pit the main switch.

Wrong: behind the main switch hang more than 1 mF of empty capacitors, no pre-charge goes round it,
and the current that rushes in exceeds the switch's peak (or that is not known).

Remedy: a pre-charge resistor round the switch (with a button), or a switch with a higher peak.

Source: V / R at the instant of closing; pre-charge over 1 mF common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding
from layout_engine.checks.wording import amount
from layout_engine.supply.battery import capacitance, inrush
from layout_engine.supply.joined import plus_pieces
from layout_engine.supply.network import Change, Conductor, Network
from layout_engine.supply.state import Figure
from layout_engine.supply.study import Study
from layout_engine.tables.batteries import PRE_CHARGE


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a main switch."""
    study = facts.supply
    if study is None:
        return
    for c in study.network.conductors:
        is_switch = c.path is not None and c.path.switch and c.part is not None
        if is_switch and facts.job.type_of(c.part or "").kind == "main_switch":
            yield from _switch(facts, study, c)


def _switch(facts: Facts, study: Study, c: Conductor) -> Iterator[Finding]:
    behind = _behind(study, c)
    items = study.network.elements.items
    total = sum(capacitance(facts.job.type_of(items[n].part), items[n]) for n in behind)
    if total <= PRE_CHARGE.value:
        return
    rush = inrush(study, behind)
    stands = c.path.peak_amps if c.path else None
    if rush.value is not None and (stands is None or rush.value > stands):
        yield _finding(facts, c.part or "", (total, stands), rush)


def _behind(study: Study, c: Conductor) -> list[int]:
    """Elements with capacitors that the switch alone parts from the batteries' plus."""
    network = study.network
    off = Network(study.job, study.wires, Change(opened=frozenset({c.id})))
    live_on, live_off = plus_pieces(network), plus_pieces(off)
    return [
        n for n, e in enumerate(network.elements.items)
        if capacitance(study.job.type_of(e.part), e) > 0
        and int(network.component[e.plus]) in live_on
        and int(off.component[e.plus]) not in live_off
        and np.isfinite(study.element_volts[0, n])
    ]


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

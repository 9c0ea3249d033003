"""The battery does not last as long as wished.

Wrong: with the cases by their shares of the time (the rest idle; without cases: all typical) the
usable part of the battery is drawn sooner than the wished run time.

Remedy: a larger battery, or shorter shares of the heavy cases.

Source: Peukert 1897; usable share by chemistry common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding
from layout_engine.checks.wording import amount
from layout_engine.working import exceeds


def find(facts: Facts) -> Iterator[Finding]:
    """At most one finding, about the batteries."""
    wished = facts.job.assumptions.run_time_min
    study = facts.supply
    if wished is None or study is None:
        return
    runs = study.mixed_run_time()
    if runs.value is None or not exceeds(wished, runs.value):
        return
    packs = tuple(e.part for e in study.network.elements.items if e.kind == "battery")
    yield Finding(
        rule="runs_flat", severity="warn", subjects=packs,
        title="The battery does not last as long as wished",
        message=f"About {amount(runs.value, 'min')}; {amount(wished, 'min')} are wished.",
        value=runs.value, limit=wished, unit="min",
        source="Peukert 1897; usable share common practice, no source",
        remedy="Take a larger battery, or let the heavy cases run for less of the time.",
        rests_on_guess=facts.guessed_values(*packs),
        working=runs.working and replace(runs.working, limit=wished, limit_source="assumptions"),
    )

"""A lost return sends its current through a signal wire.

Wrong: one return wire, or a fuse, switch or plug in the negative, opens - and the module's current
finds its way back through a signal, audio or data wire. Where it goes through a thin 0 V lead
instead, more than that lead's terminals carry: a warning.

Remedy: isolate the signal (an opto-coupler, an audio transformer), give the module a second return,
and put neither fuse nor switch into the negative.

Source: Kirchhoff; the supply solved again with each return open; 20 mA through a signal pin common
practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding
from layout_engine.checks.wording import amount
from layout_engine.joining import end_name
from layout_engine.supply.lost_return import STRAY_AMPS, Stray, stray_returns
from layout_engine.supply.study import Study


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a signal wire in danger, and one an opened return for thin 0 V leads."""
    study = facts.supply
    if study is None:
        return
    strays = stray_returns(study)
    thin: dict[str, Stray] = {}
    for stray in strays:
        if stray.quiet:
            yield _finding(facts, study, stray)
        elif stray.opened not in thin or stray.amps > thin[stray.opened].amps:
            thin[stray.opened] = stray
    for stray in thin.values():
        yield _finding(facts, study, stray)


def _finding(facts: Facts, study: Study, stray: Stray) -> Finding:
    victim = " to ".join(end_name(facts.job, end) for end in study.wires[stray.victim].ends)
    opened = study.wires.get(stray.opened)
    lost = " to ".join(end_name(facts.job, end) for end in opened.ends) if opened else stray.opened
    way = ", ".join(facts.title(part) for part in stray.way)
    return Finding(
        rule="stray_return", severity="stop" if stray.quiet else "warn",
        subjects=(stray.victim, stray.opened),
        of_wires=frozenset(study.wires.keys() & {stray.victim, stray.opened}),
        title="A lost return would send its current through "
              + ("a signal wire" if stray.quiet else "a thin 0 V lead"),
        message=f"If {lost} opens, {amount(stray.amps, 'A')} flow through {victim}. "
                f"The way: {way}.",
        value=stray.amps, limit=stray.limit, unit="A",
        source=STRAY_AMPS.source if stray.quiet else "part type: what the terminal carries",
        remedy="Isolate the signal, or give the module a second return; neither fuse nor switch "
               "belongs into the negative.",
        rests_on_guess=facts.guessed_values(*stray.way),
        working=replace(stray.working, limit=stray.limit,
                        limit_source=COMMON_PRACTICE if stray.quiet else "part type"),
    )  # fmt: skip

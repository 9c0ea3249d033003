"""A module is fed and has no way back.

Wrong: a module's plus hangs on a supply, but its minus is not joined to the same supply, so that no
current can flow - or it finds a way through a signal wire.

Remedy: join its minus to the 0 V return of that supply.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding
from layout_engine.joining import end_name
from layout_engine.supply.joined import FED, feeds


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a part."""
    study = facts.study
    if study is None:
        return
    network, told = study.network, set()
    supplies = feeds(network)
    for e in network.elements.items:
        if e.kind not in FED or e.part in told:
            continue
        fed, back = (supplies.group[int(network.component[n])] for n in (e.plus, e.minus))
        if fed in supplies.sources and back != fed:
            told.add(e.part)
            yield _finding(facts, e.part, network.names[e.plus], network.names[e.minus])


def _finding(facts: Facts, part_id: str, plus: str, minus: str) -> Finding:
    return Finding(
        rule="return_missing", severity="stop", subjects=(part_id,),
        title=f"{facts.title(part_id)} has no return",
        message=f"{end_name(facts.job, plus)} is fed; {end_name(facts.job, minus)} is not joined "
                "to the same supply.",
        value=None, limit=None, unit="", source=COMMON_PRACTICE,
        remedy=f"Join {end_name(facts.job, minus)} to the 0 V return.",
    )  # fmt: skip

"""A module is tapped from the middle of a battery pair.

Wrong: a module hangs on the metal between two batteries in series. The one it draws from is
emptied deeper and the other charged too far.

Remedy: feed it from the whole pack through a converter.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding
from layout_engine.checks.wording import listed
from layout_engine.supply.joined import FED


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a part."""
    study = facts.study
    if study is None:
        return
    network = study.network
    items = network.elements.items
    packs = [items[n] for n in network.elements.of("battery")]
    middles = {
        int(network.component[one.minus]): (one.part, other.part)
        for one in packs for other in packs
        if one is not other and network.component[one.minus] == network.component[other.plus]
    }  # fmt: skip
    told = set()
    for e in items:
        here = {int(network.component[n]) for n in (e.plus, e.minus)} & middles.keys()
        if e.kind in FED and here and e.part not in told:
            told.add(e.part)
            yield _finding(facts, e.part, middles[min(here)])


def _finding(facts: Facts, part_id: str, packs: tuple[str, str]) -> Finding:
    names = listed([facts.title(pack) for pack in packs])
    return Finding(
        rule="tapped_midway", severity="warn", subjects=(part_id,),
        title=f"{facts.title(part_id)} is tapped from the middle of two batteries",
        message=f"It hangs between {names}: the two will no longer be equally full.",
        value=None, limit=None, unit="", source=COMMON_PRACTICE,
        remedy="Feed it from the whole pack through a converter.",
    )

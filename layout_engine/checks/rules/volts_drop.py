"""Too many volts are lost on the way to a module.

Wrong: in a case that goes on, wires, contacts, fuses and switches out and back together lose more
than the allowed share of the supply: 3 % to controls, 10 % to motors unless the job says else.

Remedy: thicker or shorter wires where the working shows most volts, or fewer contacts in the way.

Source: ABYC E-11 11.14.2.6 (quoted); the job's own shares.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding
from layout_engine.checks.wires_said import wire_title
from layout_engine.checks.wording import amount
from layout_engine.sizing.drops import Feed
from layout_engine.working import Working, exceeds


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a part: its worst feed."""
    if facts.sizing is None:
        return
    worst: dict[str, tuple[Feed, Working]] = {}
    for feed, lost in facts.sizing.drops:
        known = worst.get(feed.part)
        over = exceeds(lost.result, feed.allowed)
        if over and (known is None or lost.result / feed.base > known[1].result / known[0].base):
            worst[feed.part] = feed, lost
    for part_id, (feed, lost) in worst.items():
        yield _finding(facts, part_id, feed, lost)


def _finding(facts: Facts, part_id: str, feed: Feed, lost: Working) -> Finding:
    share = 100 * lost.result / feed.base
    most = max((one for one in lost.given if one.unit == "V"), key=lambda one: one.value)
    title = facts.title(part_id)
    name = most.symbol.removeprefix("dV ")
    where = wire_title(facts, name) if name in facts.wires else facts.title(name.partition(".")[0])
    return Finding(
        rule="volts_drop", severity="warn", subjects=(part_id,),
        title=f"Too many volts are lost on the way to {title}",
        message=f"{amount(lost.result, 'V')} of {feed.base:g} V, {share:.1f} %; "
                f"{feed.percent:g} % are allowed. Most in {where}: "
                f"{amount(most.value, 'V')}.",
        value=share, limit=feed.percent, unit="%", source="ABYC E-11 11.14.2.6 (quoted)",
        remedy="Make the wires that lose most thicker or shorter.",
        rests_on_guess=facts.guessed_values(part_id), working=lost,
    )  # fmt: skip

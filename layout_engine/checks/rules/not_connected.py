"""A terminal is not joined to anything.

Wrong: a terminal has no wire and is not said to be left open on purpose. One that is the same metal
as a wired terminal of its module (a free place on a bar) does not count. While nothing at all is
joined: a note. Or a module is wired at both ends of its supply, and no battery or converter feeds
it: an island. What a signal, audio, data or motor terminal may drive does not count.

Remedy: join it, or say that it stays open.

Source: common practice, no source.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding
from layout_engine.checks.wording import listed
from layout_engine.joining import OpenTerminal, open_terminals, printed_name
from layout_engine.supply.joined import FED, QUIET, ends_of_pieces, feeds
from layout_engine.supply.joined import terminals as terminals_of

MOST_NAMED = 6
DRIVING = QUIET | {"motor"}  # roles of terminals that electronics may drive


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a part."""
    job = facts.job
    left: dict[str, list[OpenTerminal]] = defaultdict(list)
    for terminal in open_terminals(job):
        if not terminal.spare:
            left[terminal.end.partition(".")[0]].append(terminal)
    if not job.connections:
        if left:
            yield _nothing_joined(len(left))
        return
    for part_id, terminals in left.items():
        yield _finding(facts, part_id, terminals)
    for part_id in _islands(facts):
        if part_id not in left:
            yield _unfed(facts, part_id)


def _islands(facts: Facts) -> tuple[str, ...]:
    """Parts that hang together with others, and on no supply."""
    study = facts.study
    if study is None or not study.has_battery:
        return ()
    network, supplies = study.network, feeds(study.network)
    ends, pieces = terminals_of(facts.job), ends_of_pieces(network)
    found = []
    for e in network.elements.items:
        own = [int(network.component[n]) for n in (e.plus, e.minus)]
        if e.kind not in FED or any(supplies.group[n] in supplies.sources for n in own):
            continue
        there = [end for n in own for end in pieces[n]]
        driven = any(ends[end].role in DRIVING for end in there)
        if len(there) > len(own) and not driven:
            found.append(e.part)
    return tuple(dict.fromkeys(found))


def _unfed(facts: Facts, part_id: str) -> Finding:
    title = facts.title(part_id)
    return Finding(
        rule="not_connected", severity="warn", subjects=(part_id,),
        title=f"Nothing feeds {title}",
        message="It is wired, and what it is wired to hangs on no battery and no converter.",
        value=None, limit=None, unit="", source=COMMON_PRACTICE,
        remedy="Join its plus to a fused feed and its minus to the 0 V return.",
    )  # fmt: skip


def _nothing_joined(parts: int) -> Finding:
    return Finding(
        rule="not_connected", severity="note", subjects=(), title="Nothing is joined yet",
        message=f"{parts} module{'s have' if parts > 1 else ' has'} terminals and no wire.",
        value=None, limit=None, unit="", source=COMMON_PRACTICE,
        remedy="Say what joins what, or take the suggestions.",
    )


def _finding(facts: Facts, part_id: str, terminals: list[OpenTerminal]) -> Finding:
    kind = facts.job.type_of(part_id)
    names = [printed_name(kind, t.end.partition(".")[2]) for t in terminals]
    more = [f"{len(names) - MOST_NAMED} more"] if len(names) > MOST_NAMED else []
    title = facts.title(part_id)
    needed = any(t.needed for t in terminals)
    return Finding(
        rule="not_connected", severity="warn", subjects=(part_id,),
        title=f"{title}: not everything is joined",
        message=f"No wire at {listed([*names[:MOST_NAMED], *more])}."
                + (" It does not work without." if needed else ""),
        value=float(len(names)), limit=0.0, unit="terminals", source=COMMON_PRACTICE,
        remedy="Join it, or say that it stays open.",
    )  # fmt: skip

"""A terminal is not joined to anything.

Wrong: a terminal has no wire and is not said to be left open on purpose. One that is the same metal
as a wired terminal of its module (a free place on a bar) does not count. While nothing at all is
joined: a note.

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

MOST_NAMED = 6


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

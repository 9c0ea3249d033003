"""A signal has no shared 0 V.

Wrong: a signal or data wire joins two fed modules whose 0 V terminals are not joined to each other
by metal. The signal then has no way back, or takes one through something else.

Remedy: join a 0 V terminal of the one to a 0 V terminal of the other.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding
from layout_engine.checks.wording import listed
from layout_engine.supply.joined import FED, ends_of_pieces, part_of, terminals


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a signal: the first pair of its modules without a shared 0 V."""
    study = facts.study
    if study is None:
        return
    ends = terminals(facts.job)
    network = study.network
    powered = {e.part for e in network.elements.items if e.kind in FED}
    returns: dict[str, set[int]] = {}
    for name, terminal in ends.items():
        if terminal.role == "negative" and part_of(name) in powered:
            returns.setdefault(part_of(name), set()).add(network.piece(name))
    for members in ends_of_pieces(network).values():
        quiet = [m for m in members if ends[m].role in ("signal", "data")]
        parts = list(dict.fromkeys(part_of(m) for m in quiet if part_of(m) in returns))
        if len(quiet) != len(members):
            continue  # the signal's metal is a supply's: another rule's matter
        for one, other in combinations(parts, 2):
            if not returns[one] & returns[other]:
                yield _finding(facts, one, other, set(quiet))
                break


def _finding(facts: Facts, one: str, other: str, piece: set[str]) -> Finding:
    wires = [w for w in facts.job.connections if {w.from_, w.to} <= piece]
    direct = [w.id for w in wires if {part for part, _ in w.ends} == {one, other}]
    subject = (direct or [w.id for w in wires])[0]
    names = listed([facts.title(one), facts.title(other)])
    return Finding(
        rule="signal_without_return", severity="stop", subjects=(subject,),
        of_wires=frozenset({subject}),
        title="A signal has no shared 0 V",
        message=f"It goes between {names}, whose 0 V terminals are not joined.",
        value=None, limit=None, unit="", source=COMMON_PRACTICE,
        remedy=f"Join a 0 V terminal of {facts.title(one)} to one of {facts.title(other)}.",
    )

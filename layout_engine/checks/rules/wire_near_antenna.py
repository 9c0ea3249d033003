"""A wire passes close to an antenna.

Wrong: a wire that does not end there runs within a quarter wave of an antenna, at most 50 mm: it
is metal, and it carries what disturbs a receiver.

Remedy: lead it over points farther away, or move the receiver out of the way of the wires.

Source: common practice, no source; the distances of the antenna itself as for other metal.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding, Place
from layout_engine.checks.wires_said import capital, wire_title


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a wire and antenna."""
    for conflict in facts.conflicts("near_aerial"):
        wire, receiver = conflict.wires[0], facts.title(conflict.parts[0])
        yield Finding(
            rule="wire_near_antenna", severity="warn", subjects=(wire, conflict.parts[0]),
            of_wires=frozenset({wire}),
            title=f"{capital(wire_title(facts, wire))} passes the antenna of {receiver}",
            message="It runs within a quarter wave of it and does not end there.",
            value=None, limit=None, unit="", source=COMMON_PRACTICE,
            remedy=f"Lead it over points farther away, or move {receiver}.",
            place=Place(conflict.x, conflict.y, conflict.face),
        )  # fmt: skip

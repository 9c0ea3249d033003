"""A wire at a battery's plus has no fuse.

Wrong: current of a battery reaches a wire, and what hangs on it, past every fuse: a short there is
fed until the wire burns. A charge lead counts too: the pack feeds a short in it. The wire from the
battery to its first fuse cannot be guarded; how long it may be is told with that fuse.

Remedy: a fuse near the battery in each wire that leaves its plus.

Source: 33 CFR 183.455(a).
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding
from layout_engine.checks.wires_said import wire_title
from layout_engine.checks.wording import listed

NAMED = 4  # so many wires are named, the others counted


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a battery."""
    if facts.sizing is None:
        return
    for bare in facts.sizing.unfused:
        named = [wire_title(facts, wire) for wire in bare.wires[:NAMED]]
        if len(bare.wires) > NAMED:
            named.append(f"{len(bare.wires) - NAMED} more")
        title = facts.title(bare.battery) if bare.battery else "the battery"
        yield Finding(
            rule="fuse_missing", severity="stop", subjects=(*bare.wires, bare.battery),
            of_wires=frozenset(bare.wires),
            title=f"No fuse between {title} and {listed(named[:1])}",
            message=f"A short in {listed(named)} is fed by {title} without a fuse.",
            value=None, limit=None, unit="", source="33 CFR 183.455(a)",
            remedy="Put a fuse near the battery into each wire that leaves its plus.",
        )  # fmt: skip

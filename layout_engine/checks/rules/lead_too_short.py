"""A lead of a given length does not reach.

Wrong: a wire, or a ready-made lead, has a given length, and its way on the board with both rises,
bends and what runs on beyond the board is longer.

Remedy: a longer lead, or its two modules nearer to each other.

Source: sum of its way, as every wire is measured for the cut list, with nothing to spare.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding
from layout_engine.checks.wires_said import capital, wire_title
from layout_engine.checks.wording import mm
from layout_engine.geometry.frames import EPS_MM
from layout_engine.wiring import Wire
from layout_engine.working import Working

SOURCE = "sum of the way as it is routed, nothing to spare"


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a lead."""
    if facts.routes is None:
        return
    short: dict[str, list[Wire]] = {}
    for wire in facts.routes.routing.wires:
        if wire.reaches and wire.length is not None and wire.length < wire.reaches.result - EPS_MM:
            short.setdefault(wire.cable or wire.id, []).append(wire)
    for wires in short.values():
        yield _finding(facts, wires)


def _finding(facts: Facts, wires: list[Wire]) -> Finding:
    worst = max(wires, key=_wanted)
    wanted, length = _wanted(worst), worst.length or 0.0
    way = worst.reaches
    assert way is not None
    named = f"the lead {worst.cable}" if worst.cable else wire_title(facts, worst.id)
    return Finding(
        rule="lead_too_short", severity="stop", subjects=tuple(wire.id for wire in wires),
        of_wires=frozenset(wire.id for wire in wires), title=f"{capital(named)} is too short",
        message=f"It is {mm(length)} long; its way is {mm(wanted)} with nothing to spare.",
        value=length, limit=wanted, unit="mm", source=SOURCE,
        remedy=f"Take one of {mm(wanted)} or more, or move its two ends nearer to each other.",
        working=Working(f"{way.formula}, against the length given", way.given, length, "mm",
                        "the job", wanted, way.source),
    )  # fmt: skip


def _wanted(wire: Wire) -> float:
    return wire.reaches.result if wire.reaches else 0.0

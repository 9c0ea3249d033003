"""A wire finds no way on the board.

Wrong: no gap on any way between its two ends is as wide as the wire with a little air on both
sides. Of all ways the one is told whose narrowest place is the widest.

Remedy: move the module that is told, so that the gap opens; or lead the wire over points of your
own.

Source: outer diameters IEC 60228 and tables of makers (typical); air beside a wire common
practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import hypot

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding, Move, Place
from layout_engine.checks.wires_said import capital, wire_title
from layout_engine.checks.wording import listed, mm
from layout_engine.wiring import Conflict
from layout_engine.working import Given, Working


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a wire."""
    for conflict in facts.conflicts("no_corridor"):
        yield _finding(facts, conflict)


def _finding(facts: Facts, conflict: Conflict) -> Finding:
    wire, known = conflict.wires[0], facts.job.parts_by_id
    parts = tuple(p for p in conflict.parts if p in known)
    stands = listed([facts.title(p) for p in conflict.parts]) if conflict.parts else "the edge"
    gap = mm(conflict.gap) if conflict.gap > 0 else "no room"
    more = f" {conflict.more} more places of that way are too narrow." if conflict.more else ""
    return Finding(
        rule="no_corridor", severity="warn", subjects=(wire, *parts), of_wires=frozenset({wire}),
        title=f"{capital(wire_title(facts, wire))} finds no way",
        message=f"The widest way has {gap} beside {stands}; {mm(conflict.needs)} are wanted.{more}",
        value=conflict.gap, limit=conflict.needs, unit="mm", source=COMMON_PRACTICE,
        remedy=_remedy(facts, conflict), place=Place(conflict.x, conflict.y, conflict.face),
        moves=tuple(_moves(facts, conflict)),
        working=Working("room in the narrowest place >= wire and air on both sides", (
            Given("g", "room there", conflict.gap, "mm", "the layout"),
        ), conflict.gap, "mm", "geometry", conflict.needs, COMMON_PRACTICE),
    )  # fmt: skip


def _remedy(facts: Facts, conflict: Conflict) -> str:
    move = conflict.move
    if move is None:
        return "Move a module there aside, or lead the wire over points of your own."
    far = hypot(move.dx, move.dy)
    freely = "" if move.clear else ", which meets something there"
    return (f"Move {facts.title(move.part)} {mm(far)} aside{freely}, or lead the wire over points "
            "of your own.")  # fmt: skip


def _moves(facts: Facts, conflict: Conflict) -> Iterator[Move]:
    move = conflict.move
    part = facts.job.parts_by_id.get(move.part) if move else None
    if move is None or part is None or part.placement is None or part.locked or not move.clear:
        return
    now = part.placement
    yield Move(f"Move {part.title} aside", part.id, now.x + move.dx, now.y + move.dy, now.turn,
               now.face)  # fmt: skip

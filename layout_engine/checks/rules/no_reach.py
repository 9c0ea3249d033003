"""A module cannot be reached.

Wrong: the room above it that a hand or tool needs is taken by another part, an obstruction or the
wall; or no straight way leads from there towards where hands come from (hand 55 x 100 mm, tool
35 mm diameter); a face turned away is not reached. Room not free at a switch, stop button or fuse:
stop. All else: a warning.

Remedy: move it where hands come from, free the room above it, or put it on the other face.

Source: MIL-STD-1472, flat bare hand to the wrist 55 x 100 (from memory); tool: common practice, no
source.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding, Place, Severity
from layout_engine.checks.reach import has_straight_way, room_blockers, wanted_room
from layout_engine.checks.standing import Standing
from layout_engine.checks.wording import listed, mm
from layout_engine.geometry.shapes import centre
from layout_engine.tables.access import DRIVER_HANDLE, HAND_HEIGHT

AT_ONCE = frozenset({"main_switch", "stop_button", "fuse_block", "fuse_holder"})
SIDES = {"top": "the top", "front": "the front", "back": "the back"}


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a part that is to be reached."""
    for standing in facts.standing:
        reach = standing.type.reach
        if reach is None or reach.by == "none":
            continue
        blockers = room_blockers(facts, standing)
        if blockers:
            names = listed(dict.fromkeys(facts.title(b) for b in blockers))
            stand = "stands" if len(set(blockers)) == 1 else "stand"
            message = f"{mm(reach.room)} above it must be free; {names} {stand} in it."
            stop = standing.type.kind in AT_ONCE
            yield _finding(facts, standing, "stop" if stop else "warn", message)
        elif not has_straight_way(facts, standing):
            side = SIDES[facts.job.body.reach_from]
            message = f"No straight way for a {reach.by} leads from it to {side}."
            yield _finding(facts, standing, "warn", message)


def _finding(facts: Facts, standing: Standing, severity: Severity, message: str) -> Finding:
    reach = standing.type.reach
    source = HAND_HEIGHT.source if reach and reach.by == "hand" else DRIVER_HANDLE.source
    x, y = centre(standing.outline)
    return Finding(
        rule="no_reach", severity=severity, subjects=(standing.id,),
        title=f"{standing.title} cannot be reached", message=message,
        value=None, limit=wanted_room(standing), unit="mm", source=source,
        remedy="Move it to where hands come from, or free the room above it.",
        rests_on_guess=facts.guessed(standing.id), place=Place(x, y, standing.face),
    )

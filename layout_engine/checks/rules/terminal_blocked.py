"""A terminal has no room for its wire.

Wrong: the strip that the wire needs to leave the terminal (5 mm each side of it, as long as its
bend room, beyond the outline) meets another part of that face. Less than half of it free: stop;
else a warning.

Remedy: turn the module or move the one in the way.

Source: bend room of the part type; strip width common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding, Place
from layout_engine.checks.standing import Standing
from layout_engine.checks.wording import listed, mm
from layout_engine.geometry.frames import EPS_MM
from layout_engine.geometry.shapes import first_met, leaves_at, strip
from layout_engine.model.part_type import Terminal
from layout_engine.tables.access import TERMINAL_STRIP_HALF
from layout_engine.working import Given, Working

LEAST_SHARE = 0.5  # of the bend room; the contract's limit between stop and warning


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a part: its terminal with the least room."""
    for standing in facts.standing:
        worst: tuple[float, float, Terminal, str] | None = None
        for terminal in standing.type.terminals:
            free, blocker = free_length(facts, standing, terminal)
            if blocker and (worst is None or free / terminal.room < worst[0]):
                worst = (free / terminal.room, free, terminal, blocker)
        if worst:
            yield _finding(facts, standing, *worst[1:])


def free_length(facts: Facts, standing: Standing, terminal: Terminal) -> tuple[float, str]:
    """Free length, mm, of a terminal's strip and the id of what ends it ("" if nothing does)."""
    if terminal.room <= 0:
        return terminal.room, ""
    x, y = standing.pose.point(terminal.x, terminal.y)
    direction = standing.pose.direction(terminal.leaves)
    start = leaves_at(terminal.x, terminal.y, terminal.leaves, standing.type.outline)
    lane = strip(x, y, direction, start, terminal.room, TERMINAL_STRIP_HALF.value)
    free, blocker = terminal.room, ""
    for solid in facts.scene.solids_near(lane, standing.face):
        if solid.owner == standing.id or solid.behind:
            continue
        met = first_met(lane, x, y, direction, solid.shape) - start
        if met < free - EPS_MM:
            free, blocker = max(met, 0.0), solid.owner
    return free, blocker


def _finding(facts: Facts, standing: Standing, free: float, terminal: Terminal, blocker: str
             ) -> Finding:
    least = LEAST_SHARE * terminal.room
    stop = free < least - EPS_MM
    x, y = standing.pose.point(terminal.x, terminal.y)
    name = terminal.mark or terminal.id
    source = f"bend room of the part type; strip {COMMON_PRACTICE}"
    return Finding(
        rule="terminal_blocked", severity="stop" if stop else "warn", subjects=(standing.id,),
        title=f"{standing.title}: no room for the wire at {name}",
        message=f"{mm(free)} up to {listed([facts.title(blocker)])}; its wire needs "
                f"{mm(terminal.room)}.",
        value=free, limit=least if stop else terminal.room, unit="mm", source=source,
        remedy=f"Turn it, or move it or {facts.title(blocker)} away.",
        rests_on_guess=facts.guessed(standing.id, blocker), place=Place(x, y, standing.face),
        working=Working(
            "free length along the wire's way, beyond the outline", (
                Given("L", "bend and tool room of the terminal", terminal.room, "mm", "part type"),
                Given("b", "half width of the strip", TERMINAL_STRIP_HALF.value, "mm",
                      TERMINAL_STRIP_HALF.source),
            ), free, "mm", "plane geometry", least if stop else terminal.room, source),
    )

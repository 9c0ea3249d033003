"""A terminal has no room for its wire.

Wrong: the strip that the wire needs to leave the terminal (5 mm each side of it, as long as its
bend room, beyond the outline) meets another part of that face. Less than half of it free: stop;
else a warning.

Remedy: turn the module or move the one in the way.

Source: bend room of the part type; strip width common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding, Place
from layout_engine.checks.standing import Standing
from layout_engine.checks.wording import listed, mm
from layout_engine.geometry.frames import EPS_MM, unit
from layout_engine.geometry.shapes import first_met, leaves_at, strips
from layout_engine.model.part_type import Terminal
from layout_engine.tables.access import TERMINAL_STRIP_HALF
from layout_engine.working import Given, Working

LEAST_SHARE = 0.5  # of the bend room; the contract's limit between stop and warning


@dataclass(frozen=True, slots=True)
class Lane:
    """Where a terminal's wire begins beyond the outline, and which way it goes."""

    standing: Standing
    terminal: Terminal
    x: float
    y: float
    direction: float


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a part: its terminal with the least room."""
    worst: dict[str, tuple[float, Lane, str]] = {}
    for face in ("front", "back"):
        for lane, free, blocker in _met(facts, face):
            known = worst.get(lane.standing.id)
            if known is None or free / lane.terminal.room < known[0] / known[1].terminal.room:
                worst[lane.standing.id] = (free, lane, blocker)
    for free, lane, blocker in worst.values():
        yield _finding(facts, lane.standing, free, lane.terminal, blocker)


def _lanes(facts: Facts, face: str) -> Iterator[Lane]:
    for standing in facts.standing:
        if standing.face != face:
            continue
        outline = standing.type.outline
        for terminal in standing.type.terminals:
            if terminal.room > 0:
                start = leaves_at(terminal.x, terminal.y, terminal.leaves, outline)
                x, y = standing.pose.point(terminal.x, terminal.y)
                direction = standing.pose.direction(terminal.leaves)
                c, s = unit(direction)
                yield Lane(standing, terminal, x + c * start, y + s * start, direction)


def _met(facts: Facts, face: str) -> Iterator[tuple[Lane, float, str]]:
    """Every lane that meets another part: (lane, its free length in mm, whose part)."""
    lanes = list(_lanes(facts, face))
    if not lanes:
        return
    shapes = strips(
        np.array([(lane.x, lane.y) for lane in lanes]),
        np.array([lane.direction for lane in lanes]),
        np.array([lane.terminal.room for lane in lanes]), TERMINAL_STRIP_HALF.value,
    )
    for number, solid in facts.scene.lanes_met(shapes, face):
        lane = lanes[number]
        if solid.owner == lane.standing.id or solid.behind:
            continue
        met = first_met(shapes[number], lane.x, lane.y, lane.direction, solid.shape)
        if met < lane.terminal.room - EPS_MM:
            yield lane, max(met, 0.0), solid.owner


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

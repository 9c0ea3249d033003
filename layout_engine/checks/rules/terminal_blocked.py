"""A terminal has no room for its wire.

Wrong: the strip that the wire needs to leave the terminal (5 mm each side of it, as long as its
bend room, beyond the outline) meets another part of that face. Less than half of it free: stop;
else a warning.

Remedy: turn the module or move the one in the way.

Source: bend room of the part type; strip width common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding, Place
from layout_engine.checks.standing import Standing
from layout_engine.checks.wording import listed, mm
from layout_engine.geometry.frames import EPS_MM, unit
from layout_engine.geometry.shapes import first_met, leaves_at, strips
from layout_engine.model.part_type import PartType, Terminal
from layout_engine.tables.access import TERMINAL_STRIP_HALF
from layout_engine.working import Given, Working

LEAST_SHARE = 0.5  # of the bend room; the contract's limit between stop and warning


Met = tuple[Standing, Terminal, float, str]
Mouths = dict[str, tuple[list[Terminal], list[tuple[float, float]]]]


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a part: its terminal with the least room."""
    worst: dict[str, Met] = {}
    placed = {s.part.type: s.type for s in facts.standing}
    mouths = {name: _mouths(kind) for name, kind in placed.items()}
    for face in ("front", "back"):
        for met in _met(facts, face, mouths):
            standing, terminal, free, _ = met
            known = worst.get(standing.id)
            if known is None or free / terminal.room < known[2] / known[1].room:
                worst[standing.id] = met
    for standing, terminal, free, blocker in worst.values():
        yield _finding(facts, standing, free, terminal, blocker)


def _mouths(kind: PartType) -> tuple[list[Terminal], list[tuple[float, float]]]:
    """Terminals that want bend room, and where their wires leave the outline, part frame."""
    own = [t for t in kind.terminals if t.room > 0]
    ends = []
    for t in own:
        start = leaves_at(t.x, t.y, t.leaves, kind.outline)
        c, s = unit(t.leaves)
        ends.append((t.x + c * start, t.y + s * start))
    return own, ends


def _met(facts: Facts, face: str, mouths: Mouths) -> Iterator[Met]:
    """Every terminal whose lane meets another part: its free length in mm, whose part.

    Of each part only lanes that leave less, of what they want, than those before.
    """
    owners = [s for s in facts.standing if s.face == face and mouths[s.part.type][0]]
    if not owners:
        return
    ends = np.vstack([s.pose.points(mouths[s.part.type][1]) for s in owners])
    lanes = [(s, t, s.pose.direction(t.leaves)) for s in owners for t in mouths[s.part.type][0]]
    shapes = strips(
        ends, np.array([direction for _, _, direction in lanes]),
        np.array([t.room for _, t, _ in lanes]), TERMINAL_STRIP_HALF.value,
    )
    least: dict[str, float] = {}
    for number, solid in facts.scene.lanes_met(shapes, face):
        standing, terminal, direction = lanes[number]
        mine, room = standing.id, terminal.room
        if solid.owner == mine or solid.behind or least.get(mine, 1.0) <= 0.0:
            continue
        x, y = ends[number].tolist()
        met = first_met(shapes[number], x, y, direction, solid.shape)
        if met < room - EPS_MM:
            least[mine] = min(met / room, least.get(mine, 1.0))
            yield standing, terminal, max(met, 0.0), solid.owner


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

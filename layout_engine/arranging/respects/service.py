"""Service: what a hand or a tool reaches of service points, terminals and modules."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from layout_engine.arranging.respects.respect import Figure, Respect, share_words
from layout_engine.checks.facts import Facts
from layout_engine.checks.reach import has_straight_way, reach_way, room_blockers
from layout_engine.checks.rules.service_point_blocked import blocker_of
from layout_engine.checks.standing import Standing
from layout_engine.geometry.frames import EPS_MM, unit
from layout_engine.geometry.shapes import first_met, leaves_at, strips
from layout_engine.model.part_type import Terminal
from layout_engine.model.plate import Face
from layout_engine.tables.access import DRIVER_HANDLE, TERMINAL_STRIP_HALF
from layout_engine.working import Given, Working

Count = tuple[int, int]  # how many are reached, of how many


def service(facts: Facts) -> Respect:
    """Counts of what is reached; the score is the mean of their shares, of those that there are.

    That each counts as much as the others: common practice, no source.
    """
    handy = handy_face(facts)
    there_at_once = sum(s.face == handy for s in facts.standing)
    counts = {
        f"modules on the {handy}": (there_at_once, len(facts.standing)),
        "terminals with room for a tool": _terminals(facts),
        "service points open": _points(facts),
        "modules in reach": _reached(facts),
    }
    there = {name: count for name, count in counts.items() if count[1]}
    if not there:
        return Respect("service", 0.0, "Nothing is placed that could be reached.")
    figures = tuple(_figure(name, count) for name, count in there.items())
    score = sum(got / whole for got, whole in there.values()) / len(there)
    words = "; ".join(figure.words for figure in figures)
    return Respect("service", score, words[0].upper() + words[1:] + ".", figures)


def handy_face(facts: Facts) -> Face:
    """The face that hands see at once: the one they come to squarely, else the front."""
    way = reach_way(facts.job)
    return "back" if way.axis == "w" and way.sign < 0 else "front"


SOURCES = {
    "modules on the front": "placements",
    "modules on the back": "placements; hands come to the back",
    "terminals with room for a tool": DRIVER_HANDLE.source,
    "service points open": "the check for covered service points",
    "modules in reach": "the check for reach: room above, and a straight way for hand or tool",
}


def _figure(name: str, count: Count) -> Figure:
    given = [Given("k", name, float(count[0]), "", "counted"),
             Given("n", "all that it is asked of", float(count[1]), "", "the job")]
    if name.startswith("terminals"):
        given += [
            Given("t", "free way ahead of a terminal", DRIVER_HANDLE.value, "mm",
                  DRIVER_HANDLE.source),
            Given("b", "half width of that way", TERMINAL_STRIP_HALF.value, "mm",
                  TERMINAL_STRIP_HALF.source),
        ]
    working = Working("100 k / n", tuple(given),
                      100.0 * count[0] / count[1], "%", SOURCES[name])
    return Figure(f"{name}: {share_words(*count)}", working)


def _reached(facts: Facts) -> Count:
    wanted = [s for s in facts.standing if s.type.reach and s.type.reach.by != "none"]
    reached = sum(not room_blockers(facts, s) and has_straight_way(facts, s) for s in wanted)
    return reached, len(wanted)


def _points(facts: Facts) -> Count:
    blocked = [blocker_of(facts, s, point) for s in facts.standing for point in s.type.service]
    return sum(not blocker for blocker in blocked), len(blocked)


def _terminals(facts: Facts) -> Count:
    """Terminals ahead of which a tool's handle, or the bend room where that is more, is free."""
    free, total = 0, 0
    for face in ("front", "back"):
        ways = list(_ways(facts.standing, face))
        total += len(ways)
        free += len(ways) - len(_blocked(facts, face, ways))
    return free, total


Way = tuple[Standing, float, float, float, float]  # whose, start x, y, direction, length


def _ways(standing: tuple[Standing, ...], face: str) -> Iterator[Way]:
    for s in standing:
        for terminal in s.type.terminals if s.face == face else ():
            yield s, *mouth(s, terminal), max(terminal.room, DRIVER_HANDLE.value)


def mouth(standing: Standing, terminal: Terminal) -> tuple[float, float, float]:
    """Where a terminal's wire leaves the outline, plate x and y, and its direction, degrees."""
    start = leaves_at(terminal.x, terminal.y, terminal.leaves, standing.type.outline)
    x, y = standing.pose.point(terminal.x, terminal.y)
    direction = standing.pose.direction(terminal.leaves)
    c, s = unit(direction)
    return x + c * start, y + s * start, direction


def _blocked(facts: Facts, face: str, ways: list[Way]) -> set[int]:
    if not ways:
        return set()
    lanes = strips(
        np.array([(x, y) for _, x, y, _, _ in ways]), np.array([way[3] for way in ways]),
        np.array([way[4] for way in ways]), TERMINAL_STRIP_HALF.value,
    )
    met = set()
    for number, solid in facts.scene.lanes_met(lanes, face):
        owner, x, y, direction, length = ways[number]
        if number in met or solid.owner == owner.id or solid.behind:
            continue
        if first_met(lanes[number], x, y, direction, solid.shape) < length - EPS_MM:
            met.add(number)
    return met

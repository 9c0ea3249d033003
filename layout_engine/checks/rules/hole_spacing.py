"""Two holes run into each other or leave too thin a bridge.

Wrong: two holes of the plate intersect; a bridge between them under the larger diameter or 2 mm
is a warning. A hole drilled before that is used again is no conflict: the screw stands inside it,
and head or washer covers all of it.

Remedy: move one of the modules, or use the hole that is there.

Source: common practice, no source; narrowest hole that serves again: ISO 273, fine.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import hypot

import numpy as np

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding, Place
from layout_engine.checks.standing import Hole
from layout_engine.checks.wires_said import capital
from layout_engine.checks.wording import mm
from layout_engine.geometry.frames import EPS_MM
from layout_engine.geometry.shapes import pairs_within
from layout_engine.tables.holes import LEAST_BRIDGE
from layout_engine.working import Given, Working


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a part: the tightest of its pairs; of a mount where no part is in the pair."""
    worst: dict[tuple[bool, str], tuple[float, float, Hole, Hole]] = {}
    for one, two in _near_pairs(facts.holes):
        if (one.drilled and two.drilled) or _used_again(one, two):
            continue
        bridge, wanted = _bridge(one, two)
        of_parts = [pair for pair in ((one, two), (two, one)) if not pair[0].of_plate]
        for mine, other in of_parts or [(one, two)]:
            key = mine.of_plate, mine.owner
            if key not in worst or bridge < worst[key][0]:
                worst[key] = (bridge, wanted, mine, other)
    for bridge, wanted, mine, other in worst.values():
        yield _finding(facts, bridge, wanted, mine, other)


def _near_pairs(holes: tuple[Hole, ...]) -> Iterator[tuple[Hole, Hole]]:
    """Pairs of holes whose bridge is thinner than is wanted, the earlier one first."""
    if not holes:
        return
    centres = np.array([(hole.x, hole.y) for hole in holes])
    wide = np.array([hole.diameter for hole in holes])
    widest = float(wide.max())
    farthest = widest + max(widest, LEAST_BRIDGE.value)
    first, second = pairs_within(centres, farthest)
    apart = np.hypot(*(centres[first] - centres[second]).T)
    bridges = apart - (wide[first] + wide[second]) / 2
    wanted = np.maximum(np.maximum(wide[first], wide[second]), LEAST_BRIDGE.value)
    near = bridges < wanted - EPS_MM
    for one, two in zip(first[near].tolist(), second[near].tolist(), strict=True):
        yield holes[one], holes[two]


def _bridge(hole: Hole, other: Hole) -> tuple[float, float]:
    """The bridge between two holes and the one that is wanted, mm."""
    apart = hypot(hole.x - other.x, hole.y - other.y)
    wanted = max(hole.diameter, other.diameter, LEAST_BRIDGE.value)
    return apart - (hole.diameter + other.diameter) / 2, wanted


def _used_again(hole: Hole, other: Hole) -> bool:
    """Whether one of them was drilled before and serves for the other one."""
    old, new = (hole, other) if hole.drilled else (other, hole)
    off = hypot(hole.x - other.x, hole.y - other.y)
    return (old.drilled and new.wanted is not None
            and off <= new.wanted.slack(old.diameter) + EPS_MM)


def _finding(facts: Facts, bridge: float, wanted: float, hole: Hole, other: Hole) -> Finding:
    stop = bridge < -EPS_MM
    names = [facts.owner_title(one) for one in (hole, other)]
    what = f"{names[0]} and {names[1]}" if names[0] != names[1] else names[0]
    return Finding(
        rule="hole_spacing", severity="stop" if stop else "warn", subjects=(hole.owner,),
        title=f"{capital(what)}: holes run into each other" if stop
        else f"{capital(what)}: thin bridge between two holes",
        message=f"They intersect by {mm(-bridge)}." if stop
        else f"{mm(bridge)} is left between them; {mm(wanted)} is wanted.",
        value=bridge, limit=0.0 if stop else wanted, unit="mm", source=COMMON_PRACTICE,
        remedy=_remedy(hole, other),
        rests_on_guess=facts.guessed(*(h.owner for h in (hole, other) if not h.of_plate)),
        of_plate=int(hole.of_plate),
        place=Place((hole.x + other.x) / 2, (hole.y + other.y) / 2),
        working=Working(
            "b = a - (d1 + d2) / 2", (
                Given("a", "distance of the centres", hypot(hole.x - other.x, hole.y - other.y),
                      "mm", "placement"),
                Given("d1", "diameter of the one", hole.diameter, "mm", "ISO 273, medium"),
                Given("d2", "diameter of the other", other.diameter, "mm", "ISO 273, medium"),
            ), bridge, "mm", "plane geometry", wanted, COMMON_PRACTICE),
    )


def _remedy(hole: Hole, other: Hole) -> str:
    """Which hole that is there would serve, where one is meant."""
    wanted = hole.wanted or other.wanted
    if wanted is None or not (hole.drilled or other.drilled):
        return "Move one of the modules, or use a hole that is there already."
    return (f"Move it away, or onto a hole that is there already and measures {mm(wanted.least)} "
            f"to {mm(wanted.most)}.")

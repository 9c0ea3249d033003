"""Screws come out under a module of the other face.

Wrong: the head or nut of a fixing meets a part on the other face. With less than 2 mm between it
and that part's underside: stop. Else a warning: the part whose screws they are goes on first.

Remedy: move one of them; or, where there is room, fit the one with the screws first.

Source: ISO 7045 head diameter and height, ISO 4032 nut (corner circle s / cos 30), the larger.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding, Place
from layout_engine.checks.standing import Counter, Solid, Standing
from layout_engine.checks.wording import mm
from layout_engine.geometry.frames import EPS_MM, other_face
from layout_engine.tables.holes import ROOM_UNDER_PART
from layout_engine.working import Given, Working

SOURCE = "ISO 7045 and ISO 4032, the larger; 2 mm of room common practice, no source"
Met = tuple[float, Standing, Solid, Counter]


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a pair: the screw with the least room."""
    worst: dict[frozenset[str], Met] = {}
    for face in ("front", "back"):
        for met in _met(facts, face):
            screwed = met[1]
            pair = frozenset((screwed.id, met[2].owner))
            if pair not in worst or met[0] < worst[pair][0]:
                worst[pair] = met
    for met in worst.values():
        yield _finding(facts, *met)


def _met(facts: Facts, face: str) -> Iterator[Met]:
    """Every head or nut that comes out on a face and the prism that it meets there."""
    shown = [(s, c) for s in facts.standing if other_face(s.face) == face for c in s.counters]
    if not shown:
        return
    centres = np.array([(c.x, c.y) for _, c in shown])
    radii = np.array([c.diameter / 2 for _, c in shown])
    for number, solid in facts.scene.circles_met(centres, radii, face):
        screwed, counter = shown[number]
        if solid.owner != screwed.id:
            yield solid.low - counter.height, screwed, solid, counter


def _finding(facts: Facts, room: float, screwed: Standing, solid: Solid, counter: Counter
             ) -> Finding:
    stop = room < ROOM_UNDER_PART.value - EPS_MM
    other = facts.title(solid.owner)
    return Finding(
        rule="hole_under_part", severity="stop" if stop else "warn",
        subjects=(screwed.id, solid.owner),
        title=f"{screwed.title}: screws come out under {other}",
        message=f"Heads or nuts stand {mm(counter.height)} high, {other} stands {mm(solid.low)} "
                f"over the plate: {mm(room)} left" + (
                    f"; {mm(ROOM_UNDER_PART.value)} is needed." if stop
                    else f". Fit {screwed.title} first."),
        value=room, limit=ROOM_UNDER_PART.value, unit="mm", source=SOURCE,
        remedy="Move one of them." if stop else f"Fit {screwed.title} first, or move one of them.",
        rests_on_guess=facts.guessed(screwed.id, solid.owner),
        place=Place(counter.x, counter.y, solid.face),
        working=Working(
            "r = s - h", (
                Given("s", "standoff of the part of the other face", solid.low, "mm", "part type"),
                Given("h", "height of head or nut, the larger", counter.height, "mm",
                      "ISO 7045, ISO 4032"),
            ), room, "mm", "sum", ROOM_UNDER_PART.value, ROOM_UNDER_PART.source),
    )

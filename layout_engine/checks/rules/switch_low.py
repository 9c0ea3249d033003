"""The main switch or the stop button is far from the hand.

Wrong: more than 100 mm from the edge that hands come to (from the top: the top edge; from front or
back: the nearest edge), and not on a face that hands come square to.

Remedy: move it towards that edge.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding, Place
from layout_engine.checks.reach import faces_hand
from layout_engine.checks.standing import Standing
from layout_engine.checks.wording import mm
from layout_engine.geometry.frames import EPS_MM
from layout_engine.geometry.shapes import centre, extent
from layout_engine.tables.access import SWITCH_REACH
from layout_engine.working import Given, Working

KINDS = frozenset({"main_switch", "stop_button"})


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a switch or stop button."""
    for standing in facts.standing:
        if standing.type.kind not in KINDS or faces_hand(facts, standing):
            continue
        distance = _distance(facts, standing)
        if distance > SWITCH_REACH.value + EPS_MM:
            yield _finding(facts, standing, distance)


def _distance(facts: Facts, standing: Standing) -> float:
    x0, y0, x1, y1 = extent(standing.outline)
    width, height = facts.job.plate.size
    if facts.job.body.reach_from == "top":
        return height - y1
    return min(x0, y0, width - x1, height - y1)


def _finding(facts: Facts, standing: Standing, distance: float) -> Finding:
    edge = "top edge" if facts.job.body.reach_from == "top" else "nearest edge"
    x, y = centre(standing.outline)
    return Finding(
        rule="switch_low", severity="warn", subjects=(standing.id,),
        title=f"{standing.title} is far from the hand",
        message=f"{mm(distance)} from the {edge}; {mm(SWITCH_REACH.value)} at most is wished.",
        value=distance, limit=SWITCH_REACH.value, unit="mm", source=SWITCH_REACH.source,
        remedy=f"Move it towards the {edge}.", rests_on_guess=facts.guessed(standing.id),
        place=Place(x, y, standing.face),
        working=Working(
            "a = H - y", (
                Given("H", "height of the plate", facts.job.plate.size[1], "mm", "plate"),
                Given("y", "greatest y of the outline", extent(standing.outline)[3], "mm",
                      "placement"),
            ), distance, "mm", "plane geometry", SWITCH_REACH.value, SWITCH_REACH.source)
        if facts.job.body.reach_from == "top" else None,
    )

"""A module leaves the plate or comes too near its edge.

Wrong: the outline is not wholly on the plate, or its true distance to the plate's edge or to a
cut-out is under the edge margin.

Remedy: move it inwards, or make the plate larger.

Source: edge margin of the plate (5 mm by default, common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding, Place
from layout_engine.checks.wording import mm
from layout_engine.geometry.shapes import centre
from layout_engine.working import Given, Working


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a part."""
    margin = facts.job.plate.edge_margin
    for standing in facts.standing:
        for touch in facts.scene.edge_touch(standing, facts.edge_distances[standing.id]):
            free = touch.value
            out = f"It stands out by {mm(-free)}." if free < 0 else f"{mm(free)} to the edge"
            message = out if free < 0 else f"{out} or a cut-out; {mm(margin)} is needed."
            x, y = centre(standing.outline)
            yield Finding(
                rule="off_plate", severity="stop", subjects=(standing.id,),
                title=f"{standing.title} is off the plate" if free < 0
                else f"{standing.title} is too near the edge",
                message=message, value=free, limit=margin, unit="mm",
                source=f"edge margin of the plate; {COMMON_PRACTICE}",
                remedy="Move it inwards, or make the plate larger.",
                rests_on_guess=facts.guessed(standing.id), place=Place(x, y, standing.face),
                working=Working(
                    "least distance from the outline to the plate's edge and cut-outs",
                    (Given("r", "corner radius of the plate", facts.job.plate.corner_radius, "mm",
                           "plate"),),
                    free, "mm", "plane geometry; rounded corners by their circles", margin,
                    f"edge margin of the plate; {COMMON_PRACTICE}"),
            )

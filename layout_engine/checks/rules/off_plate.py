"""A module leaves the plate or comes too near its edge.

Wrong: the outline is not wholly on the plate, or its true distance to the plate's edge or to a
cut-out is under the edge margin. A figure under nothing says how far it stands out, or how far it
reaches over a cut-out: the lesser of width and height of what lies over it.

Remedy: move it inwards or off the cut-out, or make the plate larger.

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
    source = f"edge margin of the plate; {COMMON_PRACTICE}"
    for standing in facts.standing:
        edge = facts.edge_distances[standing.id]
        for touch in facts.scene.edge_touch(standing, edge):
            free = touch.value
            assert free is not None
            matter, message, remedy = _words(free, edge, margin)
            x, y = centre(standing.outline)
            yield Finding(
                rule="off_plate", severity="stop", subjects=(standing.id,),
                title=f"{standing.title} {matter}", message=message,
                value=free, limit=margin, unit="mm", source=source, remedy=remedy,
                rests_on_guess=facts.guessed(standing.id), place=Place(x, y, standing.face),
                working=Working(
                    "least distance from the outline to the plate's edge and cut-outs; under 0: "
                    "how far it stands out or reaches over a cut-out",
                    (Given("r", "corner radius of the plate", facts.job.plate.corner_radius, "mm",
                           "plate"),),
                    free, "mm", "plane geometry; rounded corners by their circles", margin,
                    source),
            )


def _words(free: float, edge: float, margin: float) -> tuple[str, str, str]:
    """What is the matter, how much, and the remedy; `edge` is the distance to the edge alone."""
    larger = "or make the plate larger."
    if free >= 0:
        words = f"{mm(free)} to the edge or a cut-out; {mm(margin)} is needed."
        return "is too near the edge", words, f"Move it inwards, {larger}"
    if edge > free:
        return "lies over a cut-out", f"It reaches {mm(-free)} over it.", "Move it off the cut-out."
    return "is off the plate", f"It stands out by {mm(-free)}.", f"Move it inwards, {larger}"

"""The loaded board cannot be brought in.

Wrong: plate and modules together do not pass the opening, whichever edge goes first and however
it is turned; or, entering from the top, a section of the body above the place; or they pass only
in a pose from which the board cannot be turned inside. It must be turned after entry and can: a
warning.

Remedy: a smaller plate, lower modules at the edges, modules fitted after entry, or a larger
opening.

Source: smallest enclosing circle; rectangle in rectangle, Carver 1957.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding, Place
from layout_engine.checks.wording import mm
from layout_engine.geometry.shapes import centre
from layout_engine.working import Given, Working

SOURCE = "smallest enclosing circle; rectangle in rectangle (Carver 1957)"


def find(facts: Facts) -> Iterator[Finding]:
    """At most one finding, about the plate with everything on it."""
    way = facts.way_in
    if way.entry == "straight":
        return
    x, y = centre(facts.plate.outline)
    turned = way.entry == "turned"
    message = (
        f"It passes with {way.first} and must be turned inside."
        if turned else
        f"With {way.first} it needs {mm(way.needs)}; the {way.tight} has {mm(way.has)}."
    )
    yield Finding(
        rule="no_way_in", severity="warn" if turned else "stop", subjects=("plate",), of_plate=1,
        title="The loaded board must be turned inside" if turned
        else "The loaded board cannot be brought in",
        message=message, value=way.needs, limit=way.has, unit="mm", source=SOURCE,
        remedy="Try it with a cardboard plate; else a smaller plate, lower modules at the edges, "
               "or a larger opening.",
        rests_on_guess=facts.guessed(*(s.id for s in facts.standing)), place=Place(x, y),
        working=Working(
            "least size of the opening that the board's outline across its way passes",
            (Given("n", "corners of plate and modules", float(len(facts.board_corners)), "",
                   "placement"),),
            way.needs, "mm", SOURCE, way.has, f"the {way.tight}"),
    )

"""The bare plate does not fit at its place.

Wrong: the plate itself, at the position given, meets the wall, floor, roof or an obstruction.

Remedy: make it smaller, or move it to where the body is wider.

Source: inner sizes of the body; solid geometry (cylinder: width at distance d from the axis
2 sqrt(R^2 - d^2)).
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding, Place
from layout_engine.checks.wording import mm
from layout_engine.geometry.shapes import centre

SOURCE = "inner sizes of the body; solid geometry"


def find(facts: Facts) -> Iterator[Finding]:
    """At most one finding, about the plate."""
    shape = facts.plate.polygon()
    half = facts.frame.thickness / 2
    met = facts.cavity.obstruction_in(shape, (-half, half))
    if met is None and facts.cavity.plate_fits(shape):
        return
    x, y = centre(facts.plate.outline)
    width, height = facts.job.plate.size
    what = f"it meets {met}" if met else "it meets the wall, the floor or the roof"
    yield Finding(
        rule="plate_too_big", severity="stop", subjects=("plate",),
        title="The plate does not fit at its place",
        message=f"{mm(width)} x {mm(height)}, {mm(facts.frame.thickness)} thick: at this position "
                f"{what}.",
        value=max(width, height), limit=None, unit="mm", source=SOURCE,
        remedy="Make the plate smaller, or move it to where the body is wider.",
        place=Place(x, y),
    )

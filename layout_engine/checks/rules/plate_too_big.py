"""The bare plate does not fit at its place.

Wrong: the plate itself, at the position given, meets the wall, floor, roof or an obstruction.

The limit is the greatest width, or the greatest height, that fits there with the other side as it
is, whichever takes less away; where neither alone helps, of a smaller plate of the same shape. The
plate keeps its middle across and, upright, its lower edge.

Remedy: make it smaller, or move it to where the body is wider.

Source: inner sizes of the body; solid geometry (cylinder: width at distance d from the axis
2 sqrt(R^2 - d^2)).
"""

from __future__ import annotations

from collections.abc import Iterator
from math import floor

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding, Place
from layout_engine.checks.wording import mm
from layout_engine.geometry.shapes import Shape, centre, stretched

SOURCE = "inner sizes of the body; solid geometry"
LEAST_SIDE_MM = 1.0  # of a side; less is no plate; common practice, no source
HALVINGS = 44  # of a side of at most 10 000 mm, until it is known to 1e-9 mm
SIDES = (("wide", 1, 0), ("high", 0, 1))
BOTH = "along its longer side, at the same shape"


def find(facts: Facts) -> Iterator[Finding]:
    """At most one finding, about the plate."""
    shape = facts.plate.polygon()
    met = _met(facts, shape)
    if met is None:
        return
    x, y = centre(facts.plate.outline)
    width, height = facts.job.plate.size
    value, limit, side = _greatest(facts, shape)
    down = mm(floor(limit * 10 + 1e-6) / 10)
    most = f" There it may be at most {down} {side}." if limit > 0 else ""
    yield Finding(
        rule="plate_too_big", severity="stop", subjects=("plate",), of_plate=1,
        title="The plate does not fit at its place",
        message=f"{mm(width)} x {mm(height)}, {mm(facts.frame.thickness)} thick: at this position "
                f"it meets {met}.{most}",
        value=value, limit=limit, unit="mm", source=SOURCE,
        remedy="Make the plate smaller, or move it to where the body is wider.",
        place=Place(x, y),
    )


def _met(facts: Facts, shape: Shape) -> str | None:
    """What a plate of this outline meets; None where it fits."""
    half = facts.frame.thickness / 2
    met = facts.cavity.obstruction_in(shape, (-half, half))
    if met is None and not facts.cavity.plate_fits(shape):
        return "the wall, the floor or the roof"
    return met


def _greatest(facts: Facts, shape: Shape) -> tuple[float, float, str]:
    """A side of the plate, how long it may be, and which: the way that takes least away."""
    frame = facts.frame
    middle = (frame.width / 2, 0.0 if frame.stands == "upright" else frame.height / 2)

    def share(along_x: int, along_y: int) -> float:
        low, high = 0.0, 1.0
        for _ in range(HALVINGS):
            part = (low + high) / 2
            smaller = stretched(shape, part if along_x else 1.0, part if along_y else 1.0, *middle)
            low, high = (part, high) if _met(facts, smaller) is None else (low, part)
        return low

    alone = [(share(along_x, along_y), max(frame.width * along_x, frame.height * along_y), words)
             for words, along_x, along_y in SIDES]
    part, length, words = max(alone)
    if part * length > LEAST_SIDE_MM:
        return length, length * part, words
    longer = max(frame.width, frame.height)
    both = share(1, 1)
    return longer, longer * both if both * longer > LEAST_SIDE_MM else 0.0, BOTH

"""A module hits the wall or an obstruction.

Wrong: the part, from the plate up to its top, meets the wall or an obstruction of the body, in
three dimensions: near a curved wall its far top corner decides. What stands out behind counts on
the other face. Only the room to reach it hits something: a warning.

Remedy: move it to where the body is deeper, to the other face, or shift the plate.

Source: inner sizes of the body; solid geometry (cylinder: x^2 + (d + h)^2 <= R^2 at the corner).
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding, Place, Severity
from layout_engine.checks.reach import wanted_room
from layout_engine.checks.standing import Solid, Standing
from layout_engine.checks.wording import mm
from layout_engine.geometry.frames import EPS_MM
from layout_engine.geometry.shapes import centre, extent
from layout_engine.working import Given, Working

SOURCE = "inner sizes of the body; solid geometry"


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a part: of the part itself, else of its room to reach."""
    for standing in facts.standing:
        worst = _worst(facts, standing)
        if worst:
            yield _finding(facts, standing, *worst)


def _worst(facts: Facts, standing: Standing) -> tuple[Solid, float, float, Severity] | None:
    """The prism that lacks most height: (prism, height needed, height free, severity)."""
    lacking: list[tuple[float, Solid, float, float, Severity]] = []
    room = wanted_room(standing)
    for number, solid in enumerate(standing.solids):
        free = facts.free_heights[standing.id, number]
        with_room = solid.high + (0.0 if solid.behind else room)
        if free < solid.high - EPS_MM:
            lacking.append((free - solid.high - 1e9, solid, solid.high, free, "stop"))
        elif free < with_room - EPS_MM:
            lacking.append((free - with_room, solid, with_room, free, "warn"))
    if not lacking:
        return None
    _, solid, needed, free, severity = min(lacking, key=lambda entry: entry[0])
    return solid, needed, free, severity


def _finding(facts: Facts, standing: Standing, solid: Solid, needed: float, free: float,
             severity: Severity) -> Finding:
    free = max(free, 0.0)
    x, y = centre(solid.shape)
    what = "It needs" if severity == "stop" else "With its room to reach it needs"
    return Finding(
        rule="too_deep", severity=severity, subjects=(standing.id,),
        title=f"{standing.title} hits the wall" if severity == "stop"
        else f"{standing.title}: the room above it hits the wall",
        message=f"{what} {mm(needed)} over the {solid.face}; {mm(free)} is free at its worst "
                "corner.",
        value=needed, limit=free, unit="mm", source=SOURCE,
        remedy="Move it to where the body is deeper, put it on the other face, or shift the plate.",
        rests_on_guess=facts.guessed(standing.id), place=Place(x, y, solid.face),
        working=_working(facts, solid, needed, free),
    )


def _working(facts: Facts, solid: Solid, needed: float, free: float) -> Working:
    frame, (x0, _, x1, _) = facts.frame, extent(solid.shape)
    left, right = (frame.to_body(x, 0.0, 0.0)[0] for x in (x0, x1))
    plan = facts.job.body.plan
    given = (
        Given("W", "greatest inner width of the body", plan[0], "mm", "body"),
        Given("D", "greatest inner depth of the body", plan[1], "mm", "body"),
        Given("x0", "body x of its left side", left, "mm", "placement"),
        Given("x1", "body x of its right side", right, "mm", "placement"),
        Given("d", "plate's mid-plane from the body's middle", frame.offset, "mm", "plate"),
        Given("t", "thickness of the plate", frame.thickness, "mm", "plate"),
    )
    return Working("height over the face at which the first top corner meets wall or obstruction",
                   given, needed, "mm", SOURCE, free, "free height at the worst corner")

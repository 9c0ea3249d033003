"""The air column of a heat sink is not free.

Wrong: a part stands in the strip beyond one of the fin ends, as long as the air gap that the part
type wants and as wide as the sink, between its standoff and its top.

Remedy: move it out of the column, or turn the module so that its fins end in free ground.

Source: air gap of the part type (50 mm above, 25 mm below a heat sink: common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding, Place
from layout_engine.checks.standing import Solid, Standing
from layout_engine.checks.wording import listed, mm
from layout_engine.geometry.frames import EPS_MM
from layout_engine.geometry.outlines import bounds
from layout_engine.geometry.shapes import Shape, overlap_area, overlaps, shared_place
from layout_engine.model.part_type import PartType


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a part with a sink."""
    for standing in facts.standing:
        met = [
            (column, solid)
            for column in air_columns(standing)
            for solid in facts.scene.solids_near(column, standing.face)
            if solid.owner != standing.id and not solid.behind and _within(standing, solid)
            and overlaps(solid.shape, column)
        ]
        if met:
            yield _finding(facts, standing, met)


def air_columns(standing: Standing) -> list[Shape]:
    """The two strips beyond the fin ends of a part's sink, in the plate frame."""
    return [standing.shape(outline) for outline in air_column_outlines(standing.type)]


def air_column_outlines(kind: PartType) -> list[tuple[tuple[float, float], ...]]:
    """The same in the part frame, turning left."""
    heat = kind.heat
    if heat is None or heat.sink is None or heat.fins is None or heat.air_gap <= 0:
        return []
    x0, y0, x1, y1 = bounds(heat.sink)
    gap = heat.air_gap
    if heat.fins == "x":
        ends = [(x0 - gap, y0, x0, y1), (x1, y0, x1 + gap, y1)]
    else:
        ends = [(x0, y0 - gap, x1, y0), (x0, y1, x1, y1 + gap)]
    return [((a, b), (c, b), (c, d), (a, d)) for a, b, c, d in ends]


def _within(standing: Standing, solid: Solid) -> bool:
    low, high = standing.type.standoff, standing.type.top
    return min(solid.high, high) - max(solid.low, low) > EPS_MM


def _finding(facts: Facts, standing: Standing, met: list[tuple[Shape, Solid]]) -> Finding:
    heat = standing.type.heat
    assert heat is not None
    owners = list(dict.fromkeys(solid.owner for _, solid in met))
    names = listed([facts.title(owner) for owner in owners])
    stand = "stands" if len(owners) == 1 else "stand"
    column, solid = met[0]
    x, y = shared_place(column, solid.shape)
    taken = sum(overlap_area(column, solid.shape) for column, solid in met)
    return Finding(
        rule="sink_crowded", severity="warn", subjects=(standing.id,),
        title=f"{standing.title}: its air column is not free",
        message=f"{names} {stand} within {mm(heat.air_gap)} of the fin ends.",
        value=taken, limit=0.0, unit="mm2", source=f"air gap of the part type; {COMMON_PRACTICE}",
        remedy=f"Move {names} out of the column, or turn {standing.title}.",
        rests_on_guess=facts.guessed(standing.id, *owners),
        place=Place(x, y, standing.face),
    )

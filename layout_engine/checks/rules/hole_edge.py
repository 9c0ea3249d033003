"""A fixing hole is too near the edge.

Wrong: from the centre of a fixing hole, or of a fixing of the plate, to the plate's edge or a
cut-out is less than 2.0 hole diameters; under 2.5: a warning.

Remedy: move the module inwards; drill slowly and clamp the plate on scrap.

Source: polycarbonate sheet drilling guide (edge of hole to edge of sheet 1.5 to 2.0 hole
diameters, that is 2.0 to 2.5 from the centre).
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding, Place
from layout_engine.checks.standing import Hole
from layout_engine.checks.wires_said import capital
from layout_engine.checks.wording import mm
from layout_engine.geometry.frames import EPS_MM
from layout_engine.geometry.shapes import cut_out_gaps
from layout_engine.tables.holes import EDGE_STOP, EDGE_WARN
from layout_engine.working import Given, Working


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a part or plate fixing: its hole that comes nearest to an edge."""
    holes = [hole for hole in facts.holes if not hole.drilled]
    if not holes:
        return
    worst: dict[tuple[bool, str], tuple[float, float, Hole]] = {}
    for hole, free in zip(holes, _free(facts, holes), strict=True):
        share, key = free / hole.diameter, (hole.of_plate, hole.owner)
        if key not in worst or share < worst[key][0]:
            worst[key] = (share, free, hole)
    for _, free, hole in worst.values():
        if free < EDGE_WARN.value * hole.diameter - EPS_MM:
            yield _finding(facts, free, hole)


def _free(facts: Facts, holes: list[Hole]) -> list[float]:
    """Distance of each hole's centre to the plate's edge, its cut-outs and those of others."""
    centres = np.array([(hole.x, hole.y) for hole in holes])
    free = facts.plate.point_distances(centres)
    for owner, shape in facts.cut_outs:
        of_others = np.array([hole.of_plate or hole.owner != owner for hole in holes])
        free = np.where(of_others, np.minimum(free, cut_out_gaps(centres, shape)), free)
    return [float(distance) for distance in free]


def _finding(facts: Facts, free: float, hole: Hole) -> Finding:
    least = EDGE_STOP.value * hole.diameter
    stop = free < least - EPS_MM
    limit = least if stop else EDGE_WARN.value * hole.diameter
    factor = EDGE_STOP if stop else EDGE_WARN
    return Finding(
        rule="hole_edge", severity="stop" if stop else "warn", subjects=(hole.owner,),
        title=f"{capital(facts.owner_title(hole))}: a hole is too near the edge",
        message=f"{mm(free)} from the hole's centre to the edge or a cut-out; "
                f"{mm(limit)} is wanted for a hole of {mm(hole.diameter)}.",
        value=free, limit=limit, unit="mm", source=factor.source,
        remedy="Move it inwards.",
        rests_on_guess=not hole.of_plate and facts.guessed(hole.owner),
        place=Place(hole.x, hole.y), of_plate=int(hole.of_plate),
        working=Working(
            "a = k d", (
                Given("k", "hole diameters from centre to edge", factor.value, "1", factor.source),
                Given("d", "hole diameter", hole.diameter, "mm", "ISO 273, medium, or plate"),
            ), free, "mm", factor.source, limit, factor.source),
    )

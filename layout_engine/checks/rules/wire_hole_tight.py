"""A hole that a wire wants is too near an edge or another hole.

Wrong: from the centre of a hole with a grommet to the plate's edge or a cut-out is less than 2.5
hole diameters, or the bridge to another hole is thinner than the larger diameter or 2 mm; under
2.0 diameters, or where the holes intersect, it must not be drilled. Wires that find their way are
led elsewhere wherever there is room; those that are pinned or led stay.

Remedy: lead the wire through at another place, or let it find its way; where it does, move a module
that stands beside the hole.

Source: polycarbonate sheet drilling guide (edge of hole to edge of sheet 1.5 to 2.0 hole
diameters, that is 2.0 to 2.5 from the centre); of bridges common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import hypot

import numpy as np

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding, Place, Severity
from layout_engine.checks.standing import Hole
from layout_engine.checks.wires_said import wire_title
from layout_engine.checks.wording import mm
from layout_engine.geometry.frames import EPS_MM
from layout_engine.geometry.shapes import cut_out_gaps
from layout_engine.tables.holes import EDGE_STOP, EDGE_WARN, LEAST_BRIDGE, cut_out_hole
from layout_engine.tables.sourced import Sourced
from layout_engine.wiring import PassThrough
from layout_engine.working import Given, Working

HAIR_MM = 2e-3  # places of holes for wires are rounded
LED = "Lead the wire through at another place, or let it find its way."
FREE = "Move a module beside it, so that its wires find another place, or lead one yourself."


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a hole for an edge, one for the tightest of its bridges."""
    passes = facts.routes.routing.passes if facts.routes else ()
    drilled = [one for one in passes if one.kind == "drilled" and one.hole]
    for number, one in enumerate(drilled):
        free = _free(facts, one)
        if free < EDGE_WARN.value * one.hole - HAIR_MM:
            yield _at_edge(facts, one, free)
        others = [(hole, facts.owner_title(hole)) for hole in facts.holes
                  if not _used_again(one, hole)]
        others += [(Hole(p.x, p.y, p.hole, p.id), f"the hole of {_wires(facts, p)}")
                   for p in drilled[:number]]
        if others:
            bridge, hole, title = min(
                ((_bridge(one, hole), hole, title) for hole, title in others),
                key=lambda found: found[0] - _wanted(one, found[1]))
            if bridge < _wanted(one, hole) - HAIR_MM:
                yield _at_hole(facts, one, (hole, title), bridge)


def _free(facts: Facts, one: PassThrough) -> float:
    """Distance of its centre to the plate's edge, its cut-outs and those of parts, mm."""
    centre = np.array([(one.x, one.y)])
    gaps = [cut_out_gaps(centre, shape) for _, shape in facts.cut_outs]
    return float(min([facts.plate.point_distances(centre), *gaps], key=lambda gap: gap[0])[0])


def _used_again(one: PassThrough, hole: Hole) -> bool:
    """Whether a hole drilled before is where this one is wanted, and serves for its grommet."""
    return hole.drilled and hypot(one.x - hole.x, one.y - hole.y) <= (
        cut_out_hole(one.hole).slack(hole.diameter) + EPS_MM)


def _bridge(one: PassThrough, hole: Hole) -> float:
    return hypot(one.x - hole.x, one.y - hole.y) - (one.hole + hole.diameter) / 2


def _wanted(one: PassThrough, hole: Hole) -> float:
    return max(one.hole, hole.diameter, LEAST_BRIDGE.value)


def _wires(facts: Facts, one: PassThrough) -> str:
    """Its wires in words: the first, and how many more."""
    first, more = wire_title(facts, one.wires[0]), len(one.wires) - 1
    return f"{first} and {more} more" if more else first


def _is_led(facts: Facts, one: PassThrough) -> bool:
    """Whether a person says where one of its wires runs."""
    return any(c.pinned or c.via for c in facts.job.connections if c.id in one.wires)


def _at_edge(facts: Facts, one: PassThrough, free: float) -> Finding:
    stop = free < EDGE_STOP.value * one.hole - HAIR_MM
    factor: Sourced = EDGE_STOP if stop else EDGE_WARN
    limit = factor.value * one.hole
    return _finding(
        facts, one, ("stop" if stop else "warn", "is too near the edge"),
        f"{mm(free)} from the hole's centre to the edge or a cut-out; {mm(limit)} is wanted for a "
        f"hole of {mm(one.hole)}.",
        Working("a = k d", (
            Given("k", "hole diameters from centre to edge", factor.value, "1", factor.source),
            Given("d", "hole for the grommet", one.hole, "mm", COMMON_PRACTICE),
        ), free, "mm", factor.source, limit, factor.source),
    )


def _at_hole(facts: Facts, one: PassThrough, other: tuple[Hole, str], bridge: float) -> Finding:
    (hole, title), stop = other, bridge < -HAIR_MM
    limit = 0.0 if stop else _wanted(one, hole)
    left = f"They intersect by {mm(-bridge)}" if stop else f"{mm(bridge)} is left between them"
    return _finding(
        facts, one, ("stop" if stop else "warn",
                     "runs into another hole" if stop else "leaves a thin bridge to another hole"),
        f"The other one is of {title}. {left}; {mm(_wanted(one, hole))} is wanted.",
        Working("b = a - (d1 + d2) / 2", (
            Given("a", "distance of the centres", hypot(one.x - hole.x, one.y - hole.y), "mm",
                  "placement"),
            Given("d1", "hole for the grommet", one.hole, "mm", COMMON_PRACTICE),
            Given("d2", "the other hole", hole.diameter, "mm", "ISO 273, medium, or plate"),
        ), bridge, "mm", "plane geometry", limit, COMMON_PRACTICE),
    )


def _finding(facts: Facts, one: PassThrough, said: tuple[Severity, str], message: str,
             working: Working) -> Finding:
    severity, what = said
    return Finding(
        rule="wire_hole_tight", severity=severity, subjects=one.wires,
        of_wires=frozenset(one.wires),
        title=f"The hole of {_wires(facts, one)} {what}", message=message,
        value=working.result, limit=working.limit, unit="mm", source=working.limit_source,
        remedy=LED if _is_led(facts, one) else FREE, place=Place(one.x, one.y), working=working,
    )

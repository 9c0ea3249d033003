"""More wires lie in a gap than it holds.

Wrong: the bundle of a run, round or standing flat, is wider than the gap it lies in.

Remedy: move the modules apart, or lead some of its wires over points of your own.

Source: bundle from outer diameters, packing of round wires (known packings of circles); how high
wires may stand in a gap common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding, Place
from layout_engine.checks.wording import listed, mm
from layout_engine.wiring import Conflict
from layout_engine.working import Given, Working


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a run."""
    for conflict in facts.conflicts("too_full"):
        yield _finding(facts, conflict)


def _finding(facts: Facts, conflict: Conflict) -> Finding:
    parts = tuple(p for p in conflict.parts if p in facts.job.parts_by_id)
    stands = listed([facts.title(p) for p in conflict.parts]) if conflict.parts else "the edge"
    count = len(conflict.wires)
    named = f"{count} wires lie" if count > 1 else "A wire lies"
    return Finding(
        rule="run_too_full", severity="warn", subjects=(*conflict.wires, *parts),
        of_wires=frozenset(conflict.wires), title=f"{named} in a gap that is too narrow",
        message=f"{mm(conflict.gap)} beside {stands}; {mm(conflict.needs)} are wanted.",
        value=conflict.gap, limit=conflict.needs, unit="mm", source=COMMON_PRACTICE,
        remedy=f"Move {stands} aside, or lead some of these wires over points of your own.",
        place=Place(conflict.x, conflict.y, conflict.face),
        working=Working("room in the gap >= bundle", (
            Given("g", "room there", conflict.gap, "mm", "the layout"),
        ), conflict.gap, "mm", "geometry", conflict.needs, COMMON_PRACTICE),
    )  # fmt: skip

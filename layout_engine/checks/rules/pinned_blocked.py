"""The pinned way of a wire leaves the plate, meets something, or changes face through the plate.

Wrong: beside a pinned way there is less room than the wire is wide.

Remedy: lead the wire over other points, or let it find its way.

Source: geometry; outer diameters IEC 60228 and tables of makers (typical).
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding, Place
from layout_engine.checks.wires_said import capital, wire_title
from layout_engine.checks.wording import listed, mm
from layout_engine.wiring import Conflict
from layout_engine.working import Given, Working


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a wire, of the narrowest place on its way."""
    worst: dict[str, Conflict] = {}
    for conflict in facts.conflicts("pinned"):
        wire = conflict.wires[0]
        if wire not in worst or conflict.gap < worst[wire].gap:
            worst[wire] = conflict
    for conflict in worst.values():
        yield _finding(facts, conflict)


def _finding(facts: Facts, conflict: Conflict) -> Finding:
    wire = conflict.wires[0]
    parts = tuple(p for p in conflict.parts if p in facts.job.parts_by_id)
    met = listed([facts.title(p) for p in parts]) if parts else "the edge or a zone"
    room = f"has {mm(conflict.gap)} beside" if conflict.gap > 0 else "runs into"
    return Finding(
        rule="pinned_blocked", severity="warn", subjects=(wire, *parts),
        of_wires=frozenset({wire}),
        title=f"{capital(wire_title(facts, wire))} is pinned in the way",
        message=f"Its way {room} {met}; the wire is {mm(conflict.needs)} thick.",
        value=conflict.gap, limit=conflict.needs, unit="mm", source=COMMON_PRACTICE,
        remedy="Lead it over other points, or let it find its way.",
        place=Place(conflict.x, conflict.y, conflict.face),
        working=Working("room on both sides >= wire", (
            Given("g", "twice the room beside the way", conflict.gap, "mm", "the layout"),
        ), conflict.gap, "mm", "geometry", conflict.needs, COMMON_PRACTICE),
    )  # fmt: skip

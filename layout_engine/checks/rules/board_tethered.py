"""Leads hold the board in the body, or nothing holds them where they leave it.

Wrong: a lead to what sits elsewhere in the body has no plug, neither in line nor at an end, and
beyond the board it is shorter than the way that the board goes until one can work at it: lifted
out through the top, or with an opening in front or behind tilted out about its lower edge (a flat
one: pulled out as far as it is deep). A lead of 0 mm is one that nobody gave: nothing is said.
Wrong too: where leads leave the board there is room for no clamp, clip or tie, within 50 mm of the
edge (100 mm for a tie of a run): a pull reaches the terminal.

Remedy: a plug in that lead, or a loop as long as that way; let the lead leave elsewhere, or move
the module that stands there.

Source: common practice, no source; a point at a height h that is tilted a quarter turn moves
h sqrt(2).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import sqrt

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding, Place
from layout_engine.checks.wording import listed, mm
from layout_engine.geometry.frames import EPS_MM
from layout_engine.model.job import Connection, Job
from layout_engine.model.part import Away, Part
from layout_engine.tables.dressing import TIE_SLOT_WIDTH
from layout_engine.tables.holes import EDGE_WARN
from layout_engine.wiring import Nearly
from layout_engine.working import Given, Working

UNPLUGS = frozenset({"plug", "spade", "pin"})  # joints that come off without a tool


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a part elsewhere, and one a place where nothing holds what leaves."""
    found = list(_tethering(facts))
    loose = {finding.subjects: finding for finding in _loose(facts)}
    for finding in found:
        also = loose.pop(finding.subjects, None)
        yield finding if also is None else replace(
            finding, message=f"{finding.message} {also.message}",
            remedy=f"{finding.remedy} {also.remedy}")
    yield from loose.values()


def _tethering(facts: Facts) -> Iterator[Finding]:
    held: dict[str, list[str]] = {}
    job = facts.job
    plugged = {c.cable for c in job.connections if c.cable and c.unplug}
    for wire in job.connections:
        parts = [job.part(part_id) for part_id, _ in wire.ends]
        there = [p for p in parts if p.away is not None]
        if len(there) != 1 or wire.unplug or wire.cable in plugged or _comes_off(job, wire):
            continue
        held.setdefault(there[0].id, []).append(wire.id)
    for part_id, wires in held.items():
        part = job.part(part_id)
        away, way = part.away, _way(job, part)
        if away is not None and 0 < away.lead < way.result - EPS_MM:
            yield _finding(part, away, wires, way)


def _loose(facts: Facts) -> Iterator[Finding]:
    """Places where no clamp has room."""
    for clamp in facts.routes.routing.clamps if facts.routes else ():
        if clamp.nearly is None:
            continue
        near, (x, y) = clamp.nearly, clamp.leaves
        titles = listed([facts.title(part) for part in clamp.parts])
        stands = listed([facts.title(p) for p in near.parts]) if near.parts else ""
        where = f"x {x:g}, y {y:g} on the {clamp.face}"
        yield Finding(
            rule="board_tethered", severity="warn", subjects=(*clamp.parts, *clamp.wires),
            of_wires=frozenset(clamp.wires),
            title=f"Nothing holds the lead to {titles} where it leaves the board",
            message=f"Near {where} a clamp or a tie through two slots has no place: "
                    f"{mm(near.lack)} are missing" + (f", {stands} in the way." if stands else "."),
            value=near.lack, limit=0.0, unit="mm", source=COMMON_PRACTICE,
            remedy=_held(near, stands), place=Place(clamp.x, clamp.y, clamp.face),
            working=Working("m = max(r - f, k d - e), at the best place", (
                Given("r", "free ground wanted round a slot", near.needs, "mm", COMMON_PRACTICE),
                Given("f", "free ground there", near.ground, "mm", "route"),
                Given("k", "diameters to an edge", EDGE_WARN.value, "1", EDGE_WARN.source),
                Given("d", "a slot's width", TIE_SLOT_WIDTH.value, "mm", TIE_SLOT_WIDTH.source),
                Given("e", "from a slot there to the edge", near.edge, "mm", "route"),
            ), near.lack, "mm", "geometry", 0.0, COMMON_PRACTICE),
        )  # fmt: skip


def _held(near: Nearly, stands: str) -> str:
    if near.instead is None:
        return f"Move {stands or 'what stands there'} inwards, or let the lead leave elsewhere."
    x, y = near.instead
    return (f"Let it leave at x {x:g}, y {y:g}, where a tie has room"
            + (f", or move {stands} inwards." if stands else "."))


def _comes_off(job: Job, wire: Connection) -> bool:
    return any(job.type_of(part_id).terminal(terminal).joint in UNPLUGS
               for part_id, terminal in wire.ends)  # fmt: skip


def _way(job: Job, part: Part) -> Working:
    """How far the place where a part's lead leaves the board moves until the board is out [mm]."""
    plate, body = job.plate, job.body
    if body.opening.in_ == "top":
        lift = body.height - plate.base
        return Working("s = H - b, lifted out through the top", (
            Given("H", "height of the body", body.height, "mm", "the job"),
            Given("b", "lower edge of the board", plate.base, "mm", "the job"),
        ), lift, "mm", "geometry")  # fmt: skip
    if plate.stands == "flat":
        depth = plate.size[1]
        return Working("s = d, pulled out", (
            Given("d", "depth of the board", depth, "mm", "the job"),), depth, "mm", "geometry")
    height = _exit_height(job, part)
    return Working("s = h sqrt(2), tilted out about the lower edge", (
        Given("h", "where it leaves the board, over the lower edge", height, "mm", "the job"),
    ), height * sqrt(2), "mm", "geometry")  # fmt: skip


def _exit_height(job: Job, part: Part) -> float:
    height = job.plate.size[1]
    leaves = part.away.exit if part.away else "bottom"
    if isinstance(leaves, str):
        return {"top": height, "bottom": 0.0}.get(leaves, height / 2)
    return leaves[1]


def _finding(part: Part, away: Away, wires: list[str], way: Working) -> Finding:
    return Finding(
        rule="board_tethered", severity="warn", subjects=(part.id, *wires),
        of_wires=frozenset(wires), title=f"The lead to {part.title} holds the board",
        message=f"It has no plug and goes {mm(away.lead)} beyond the board, which moves "
                f"{mm(way.result)} until one can work at it.",
        value=away.lead, limit=way.result, unit="mm", source=COMMON_PRACTICE,
        remedy=f"Put a plug into it, or leave a loop: {mm(way.result)} or more beyond the board.",
        working=Working(way.formula, way.given, away.lead, "mm", "the job", way.result,
                        way.source),
    )  # fmt: skip

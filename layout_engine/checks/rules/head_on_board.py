"""A screw head is larger than the free ring on the module.

Wrong: the head (with its washer) covers more than the free ring round the hole that the module
states, or it reaches the module's heat sink or shield.

Remedy: a smaller head, a nylon washer, or a screw from the other side with the nut below.

Source: ISO 7045 head diameter.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding, Place
from layout_engine.checks.standing import Standing
from layout_engine.checks.wording import mm
from layout_engine.geometry.frames import EPS_MM
from layout_engine.geometry.shapes import point_gaps, shape_of
from layout_engine.model.part_type import Fixing, PartType
from layout_engine.tables.fasteners import head_diameter
from layout_engine.working import Given, Working

SOURCE = "ISO 7045, ISO 10642: head diameter"


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a part: its tightest fixing."""
    tightest = {name: _tightest(kind) for name, kind in facts.job.types.items()}
    for standing in facts.standing:
        found = tightest[standing.part.type]
        if found and found[0] < -EPS_MM:
            yield _finding(facts, standing, found[1], found[0])


def _tightest(kind: PartType) -> tuple[float, Fixing] | None:
    """The fixing whose head has least room in its free ring, and that room in mm."""
    if kind.fixing != "screws" or not kind.fixings:
        return None
    spare = [(ring - head_diameter(f.thread, f.head), f)
             for ring, f in zip(_rings(kind), kind.fixings, strict=True)]
    return min(spare, key=lambda entry: entry[0])


def _rings(kind: PartType) -> list[float]:
    """Free diameter round each hole on the module, mm; inf where nothing is known to be near."""
    metal = [shield.outline for shield in kind.shields]
    if kind.heat and kind.heat.sink:
        metal.append(kind.heat.sink)
    near = np.full(len(kind.fixings), np.inf)
    centres = np.array([(f.x, f.y) for f in kind.fixings])
    for outline in metal:
        near = np.minimum(near, point_gaps(centres, shape_of(outline)))
    stated = np.array([np.inf if f.ring is None else f.ring for f in kind.fixings])
    return [float(r) for r in np.where(near > 0, np.minimum(stated, 2 * near), stated)]


def _finding(facts: Facts, standing: Standing, fixing: Fixing, spare: float) -> Finding:
    head = head_diameter(fixing.thread, fixing.head)
    x, y = standing.pose.point(fixing.x, fixing.y)
    return Finding(
        rule="head_on_board", severity="warn", subjects=(standing.id,),
        title=f"{standing.title}: a screw head is larger than its free ring",
        message=f"The {fixing.thread} head measures {mm(head)}; {mm(head + spare)} is free round "
                "the hole.",
        value=head, limit=head + spare, unit="mm", source=SOURCE,
        remedy="Use a smaller head or a nylon washer, or put the nut on this side.",
        rests_on_guess=facts.guessed(standing.id), place=Place(x, y, standing.face),
        working=Working(
            "head diameter against free ring",
            (Given("dk", f"head diameter of {fixing.thread}", head, "mm", SOURCE),),
            head, "mm", SOURCE, head + spare, "part type"),
    )

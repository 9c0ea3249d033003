"""The last word on an arrangement: the checker's own rules, and the musts."""

from __future__ import annotations

from itertools import combinations
from math import hypot

from layout_engine.arranging.cost import missed_musts
from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding
from layout_engine.checks.rules import RULES
from layout_engine.geometry.frames import EPS_MM
from layout_engine.model.job import Job
from layout_engine.model.part_type import PartType
from layout_engine.tables.fasteners import medium_hole
from layout_engine.tables.materials import plate_material
from layout_engine.tables.radio import metal_stop_distance

Given = frozenset[tuple[str, tuple[str, ...]]]
MUST = "must"  # stands for a rule's name where a must is missed, its subjects part and wish

# Rules that can stop a build and that the places of parts decide.
PLACING = ("overlap", "off_plate", "too_deep", "no_way_in", "hole_edge", "hole_spacing",
           "hole_under_part", "no_reach", "terminal_blocked", "receiver_near_metal")


def stops(job: Job) -> list[Finding]:
    """`stop` findings of the placing rules."""
    facts = Facts(job)
    return [
        finding for name in PLACING for finding in RULES[name](facts)
        if finding.severity == "stop"
    ]


def unavoidable(job: Job, moving: frozenset[str]) -> Given:
    """Stops that no place can avoid: those of the job as it stands, and those of a part alone.

    With them the musts that what stays misses where it stands.
    """
    there = {(finding.rule, finding.subjects) for finding in stops(job)}
    there |= {(MUST, (part_id, wish.rule)) for part_id, wish, _ in missed_musts(job)}
    for part_id in moving:
        kind = job.type_of(part_id)
        if _holes_meet(kind):
            there.add(("hole_spacing", (part_id,)))
        if _aerial_on_plate(job, kind):
            there.add(("receiver_near_metal", (part_id,)))
    return frozenset(there)


def _holes_meet(kind: PartType) -> bool:
    """Whether two fixing holes of one part run into each other."""
    if kind.fixing != "screws":
        return False
    return any(
        hypot(a.x - b.x, a.y - b.y) < (medium_hole(a.thread) + medium_hole(b.thread)) / 2 - EPS_MM
        for a, b in combinations(kind.fixings, 2)
    )


def _aerial_on_plate(job: Job, kind: PartType) -> bool:
    """Whether a conducting plate is nearer to a part's aerial than may be."""
    if kind.antenna is None or not plate_material(job.plate.material).conducts:
        return False
    return kind.standoff + kind.antenna.z < metal_stop_distance(kind.antenna.band_mhz)


def is_allowed(job: Job, given: Given) -> bool:
    """Whether a job has no stop and misses no must but those that cannot be avoided."""
    return not broken_musts(job, given) and not avoidable(job, given)


def broken_musts(job: Job, given: Given) -> list[str]:
    """Ids of parts that miss a must which another arrangement might keep."""
    return [part_id for part_id, wish, _ in missed_musts(job)
            if (MUST, (part_id, wish.rule)) not in given]


def avoidable(job: Job, given: Given) -> list[Finding]:
    """Stops that another arrangement might not have."""
    return [finding for finding in stops(job) if (finding.rule, finding.subjects) not in given]

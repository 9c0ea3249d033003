"""The last word on an arrangement: the checker's own rules, and the musts.

Whether a job is allowed, what it is warned of and how crowded it is are asked for one after
another, so what was found in the jobs that were looked at last is kept.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from math import hypot

from layout_engine.arranging.cost import missed_musts
from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding
from layout_engine.checks.rules import PLACEMENT, RULES
from layout_engine.geometry.frames import EPS_MM
from layout_engine.model.job import Job
from layout_engine.model.part_type import PartType
from layout_engine.once import cached_property
from layout_engine.tables.fasteners import medium_hole
from layout_engine.tables.materials import plate_material
from layout_engine.tables.radio import metal_stop_distance

Given = frozenset[tuple[str, tuple[str, ...]]]
Warned = frozenset[tuple[str, tuple[str, ...]]]  # rules and whom they warn about
MUST = "must"  # stands for a rule's name where a must is missed, its subjects part and wish

# Rules that can stop a build and that the places of parts decide.
PLACING = ("overlap", "off_plate", "too_deep", "no_way_in", "hole_edge", "hole_spacing",
           "hole_under_part", "no_reach", "terminal_blocked", "receiver_near_metal")


PLACELESS = ("not_measured",)  # what is warned of wherever things stand
KEPT_LOOKS = 4  # jobs


class Look:
    """What the checker finds about where things stand in a job; each rule is asked once."""

    def __init__(self, job: Job) -> None:
        self.facts = Facts(job)
        self._found: dict[str, list[Finding]] = {}

    def found(self, name: str) -> list[Finding]:
        """What one rule finds."""
        if name not in self._found:
            self._found[name] = list(RULES[name](self.facts))
        return self._found[name]

    @cached_property
    def stops(self) -> list[Finding]:
        """`stop` findings of the placing rules."""
        return [f for name in PLACING for f in self.found(name) if f.severity == "stop"]

    @cached_property
    def warnings(self) -> Warned:
        """Every warning about where things stand: rule and whom it is about."""
        return frozenset((f.rule, f.subjects) for name in PLACEMENT if name not in PLACELESS
                         for f in self.found(name) if f.severity == "warn")


@dataclass(frozen=True, eq=False)
class _Itself:
    """Stands for a job, and is the same as another one if their jobs are the same object."""

    job: Job

    def __hash__(self) -> int:
        return id(self.job)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Itself) and other.job is self.job


@lru_cache(maxsize=KEPT_LOOKS)
def _kept_look(itself: _Itself) -> Look:
    return Look(itself.job)


def look_at(job: Job) -> Look:
    """What the checker finds in a job, kept for a while."""
    return _kept_look(_Itself(job))


def stops(job: Job) -> list[Finding]:
    """`stop` findings of the placing rules."""
    return look_at(job).stops


def warnings(job: Job) -> Warned:
    """Every warning about where things stand: rule and whom it is about."""
    return look_at(job).warnings


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

"""The last word on an arrangement: the checker's own rules, and the musts."""

from __future__ import annotations

from layout_engine.arranging.cost import missed_musts
from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding
from layout_engine.checks.rules import RULES
from layout_engine.model.job import Job

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


def unavoidable(job: Job) -> frozenset[tuple[str, tuple[str, ...]]]:
    """Rule and subjects of stops that are there with nothing movable on the plate."""
    return frozenset((finding.rule, finding.subjects) for finding in stops(job))


def is_allowed(job: Job, given: frozenset[tuple[str, tuple[str, ...]]]) -> bool:
    """Whether a job has no stop but those that are there anyway, and misses no must."""
    return not missed_musts(job) and all(
        (finding.rule, finding.subjects) in given for finding in stops(job)
    )

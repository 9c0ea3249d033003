"""Checking a job: a rule a file, one explicit list, shared facts computed once."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import GRAVITY, Finding
from layout_engine.checks.rules import PLACEMENT, RULES
from layout_engine.checks.scene import Scene
from layout_engine.model.job import Job
from layout_engine.sizing.board import Sizing

__all__ = ["Finding", "check", "check_sized"]


def check(job: Job, *, scene: Scene | None = None) -> list[Finding]:
    """Every finding about a job, the gravest first, then in the order of the rules.

    Args:
        job: the job.
        scene: its scene, where the caller has it ready.
    """
    return _found(Facts(job, scene), RULES)


def check_sized(job: Job, sizing: Sizing, rules: Collection[str]) -> list[Finding]:
    """The findings of some rules about a job whose wires were sized for their routes.

    Args:
        job: the job.
        sizing: of its wires.
        rules: names of the rules.
    """
    return _found(Facts(job, sizing=sizing), rules)


def _found(facts: Facts, rules: Collection[str]) -> list[Finding]:
    found = [_located(facts, finding) for name, rule in RULES.items() if name in rules
             for finding in rule(facts)]  # fmt: skip
    reasons = {(a.rule, a.subjects): a.reason for a in facts.job.accepted}
    accepted = [
        f.with_acceptance(reasons[key]) if (key := (f.rule, f.subjects)) in reasons else f
        for f in found
    ]
    return sorted(accepted, key=lambda f: GRAVITY[f.severity])


def _located(facts: Facts, finding: Finding) -> Finding:
    """A finding with no place of its own, with that of its first part that stands somewhere."""
    if finding.place is not None or finding.rule in PLACEMENT:
        return finding
    places = (facts.place_of(subject) for subject in finding.subjects)
    return replace(finding, place=next((place for place in places if place), None))

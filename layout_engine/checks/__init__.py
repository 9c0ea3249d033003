"""Checking a job: a rule a file, one explicit list, shared facts computed once."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import replace

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import GRAVITY, Finding, Place
from layout_engine.checks.rules import PLACEMENT, RULES
from layout_engine.checks.scene import Scene
from layout_engine.geometry.shapes import centre
from layout_engine.model.job import Job
from layout_engine.sizing.routed import SizedRoutes

__all__ = ["Finding", "check", "in_order"]


def check(job: Job, *, scene: Scene | None = None, routes: SizedRoutes | None = None,
          rules: Collection[str] = RULES.keys(), straight: bool = False) -> list[Finding]:
    """Every finding about a job, the gravest first, then in the order of the rules.

    Args:
        job: the job.
        scene: its scene, where the caller has it ready.
        routes: its wires' routes and sizes, where the caller has them ready; else they are worked
            out where a rule asks for them. Those of placement do not.
        rules: names of the rules, where only some are asked for.
        straight: wires run along straight lines, each alone: an estimate that needs no routes.
    """
    facts = Facts(job, scene, routes, straight=straight)
    found = [_with_guesses(_located(facts, finding)) for name, rule in RULES.items()
             if name in rules for finding in rule(facts)]  # fmt: skip
    reasons = {(a.rule, frozenset(a.subjects)): a.reason for a in facts.job.accepted}
    accepted = [
        f if (reason := reasons.get((f.rule, frozenset(f.subjects)))) is None
        else f.with_acceptance(reason)
        for f in found
    ]
    return in_order(accepted)


def in_order(findings: Iterable[Finding]) -> list[Finding]:
    """Findings of several kinds of rules together, the gravest first, then in the rules' order."""
    order = {name: n for n, name in enumerate(RULES)}
    return sorted(findings, key=lambda f: (GRAVITY[f.severity], order[f.rule]))


def _located(facts: Facts, finding: Finding) -> Finding:
    """A finding with no place of its own, with that of its first part that stands somewhere.

    Without such a part, with that of the first of its wires.
    """
    if finding.place is not None or finding.rule in PLACEMENT:
        return finding
    wires = (facts.place_of(wire) for wire in finding.wires)
    found = next((_middle(facts, part) for part in finding.parts if part in facts.scene.standing),
                 None) or next((place for place in wires if place), None)  # fmt: skip
    return replace(finding, place=found)


def _with_guesses(finding: Finding) -> Finding:
    """A finding that rests on a guess where a value in its working is one."""
    working = finding.working
    if finding.rests_on_guess or working is None or not any(g.is_guess for g in working.given):
        return finding
    return replace(finding, rests_on_guess=True)


def _middle(facts: Facts, part_id: str) -> Place:
    standing = facts.at(part_id)
    return Place(*centre(standing.outline), standing.face)

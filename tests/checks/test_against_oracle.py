"""The engine's placement rules against a slow oracle written from the contract alone."""

from __future__ import annotations

import pytest

from layout_engine import check, load_document
from tests.checks.oracle import NONE, ORDER, Key, Severity
from tests.checks.oracle_body import verdicts
from tests.checks.random_jobs import random_job

SEEDS = range(100)
FIRST = range(40)
JUDGED = frozenset({
    "overlap", "off_plate", "too_deep", "plate_too_big", "no_way_in", "hole_edge", "hole_spacing",
    "hole_under_part", "terminal_blocked", "switch_low", "sink_crowded", "fins_across",
    "receiver_low", "receiver_near_metal", "receiver_shadowed", "conductive_plate", "plate_sags",
    "not_measured", "not_placed", "no_reach",
})  # fmt: skip


def found_by_engine(document: dict[str, object]) -> dict[Key, Severity]:
    """Worst severity of the engine's findings, by rule and subjects."""
    found: dict[Key, Severity] = {}
    for finding in check(load_document(document)):
        if finding.rule not in JUDGED:
            continue
        subjects = finding.subjects
        parts = all(s.startswith("part") for s in subjects)
        key = finding.rule, tuple(sorted(subjects)) if parts else tuple(subjects)
        found[key] = max((found.get(key), finding.severity), key=ORDER.__getitem__)
    return found


@pytest.mark.parametrize("seed", SEEDS)
def test_findings_agree_with_the_oracle(seed: int) -> None:
    document = random_job(seed)
    right, engine = verdicts(document), found_by_engine(document)
    wrong = {
        key: (engine.get(key), set(right.get(key, NONE)))
        for key in right.keys() | engine.keys()
        if engine.get(key) not in right.get(key, NONE)
    }
    assert wrong == {}


@pytest.mark.slow
def test_the_random_jobs_bring_every_rule_both_ways() -> None:
    clear: dict[str, set[Severity]] = {rule: set() for rule in JUDGED}
    for seed in FIRST:
        for (rule, _), allowed in verdicts(random_job(seed)).items():
            if len(allowed) == 1:
                clear[rule] |= allowed
    assert {rule for rule, seen in clear.items() if len(seen) < 2} == set()

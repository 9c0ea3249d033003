"""Suggested wiring before the rules about wiring, which know nothing of the suggestions."""

from __future__ import annotations

from collections import Counter

import pytest

from layout_engine import check, load_document
from layout_engine.checks.rules import ROUTES
from layout_engine.connection_edits import take_suggestions
from layout_engine.model.job import Job
from tests.layout_engine.joining.demos import DEMOS, demo
from tests.layout_engine.joining.random_jobs import complete_job

NEVER = {"wrong_polarity", "return_missing", "signal_without_return", "tapped_midway",
         "speaker_grounded", "speaker_mismatch"}


def found(job: Job) -> Counter[tuple[str, str]]:
    """Findings but those that follow from where wires run: the order of wires has a part in it."""
    return Counter((finding.rule, finding.severity) for finding in check(job)
                   if finding.rule not in ROUTES)


@pytest.mark.parametrize("name", DEMOS)
def test_a_demo_joined_again_has_the_findings_that_it_had(name: str) -> None:
    again = take_suggestions(load_document(demo(name, stripped=True))).job
    assert found(again) == found(load_document(demo(name)))


@pytest.mark.parametrize("seed", range(12))
def test_no_suggested_job_has_what_must_not_be(seed: int) -> None:
    job = take_suggestions(load_document(complete_job(seed))).job
    assert NEVER.isdisjoint(rule for rule, _ in found(job))


def test_the_rules_would_say_so() -> None:
    document = demo("rolling_lighthouse")
    document["connections"][6]["to"] = "drive.bminus"
    job = load_document(document)
    assert [f.rule for f in check(job, rules={"wrong_polarity"})] == ["wrong_polarity"]

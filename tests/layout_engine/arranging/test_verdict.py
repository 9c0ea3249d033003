"""What the checker finds in an arrangement: as a whole check finds it, each rule asked once."""

from __future__ import annotations

import pytest

from layout_engine import Job, check, dump_document, load_document
from layout_engine.arranging import verdict
from layout_engine.arranging.verdict import PLACELESS, PLACING, Look, look_at, stops, warnings
from layout_engine.checks.rules import PLACEMENT
from tests.benchmarks.arranging.family import Member, made
from tests.layout_engine.arranging.test_arrange import small


def jobs() -> list[Job]:
    """One without a fault, one that is warned of much, and one in which modules overlap."""
    known = made(Member(8, 2, "all", 1)).known
    first, second, *_ = known.placed
    overlapping = known.with_places({second.id: first.placement})
    return [load_document(small(2)), known, overlapping]


@pytest.mark.parametrize("job", jobs(), ids=["empty", "known", "overlapping"])
def test_it_is_what_a_check_finds(job: Job) -> None:
    found = check(job, straight=True)
    assert [(f.rule, f.subjects) for f in stops(job)] == [
        (f.rule, f.subjects) for name in PLACING for f in found
        if f.rule == name and f.severity == "stop"]
    assert warnings(job) == {
        (f.rule, f.subjects) for f in found
        if f.rule in PLACEMENT and f.rule not in PLACELESS and f.severity == "warn"}


def test_the_overlapping_one_is_stopped() -> None:
    assert "overlap" in {finding.rule for finding in stops(jobs()[2])}


def test_each_rule_is_asked_once_for_a_job(monkeypatch: pytest.MonkeyPatch) -> None:
    job = load_document(dump_document(made(Member(8, 1, "all", 2)).known))
    asked: list[str] = []
    for name, rule in verdict.RULES.items():
        monkeypatch.setitem(verdict.RULES, name, lambda facts, name=name, rule=rule: (
            asked.append(name), rule(facts))[1])
    for _ in range(2):
        stops(job)
        warnings(job)
    assert len(asked) == len(set(asked))
    assert set(PLACING) <= set(asked)


def test_a_job_that_is_like_another_is_looked_at_for_itself() -> None:
    """Looking whether two jobs are equal takes longer than looking at one."""
    one, other = (load_document(small(2)) for _ in range(2))
    assert one == other
    assert look_at(one) is look_at(one)
    assert look_at(one) is not look_at(other)
    assert isinstance(look_at(other), Look)

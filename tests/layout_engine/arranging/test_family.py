"""The seeded family: every known arrangement is allowed, as full as it says, always the same."""

from __future__ import annotations

import pytest

from layout_engine import document_bytes
from layout_engine.arranging.verdict import stops
from tests.benchmarks.arranging.family import Member, Shape, made
from tests.layout_engine.arranging.family_jobs import certain_stops, missed

SHAPES: tuple[tuple[Shape, int], ...] = (
    ("boxes", 1), ("polygons", 1), ("polygons", 2), ("all", 1), ("all", 2))
MEMBERS = [Member(count, faces, shape, seed)
           for shape, faces in SHAPES for count in (12, 25, 40) for seed in (1, 2)]
SMALL = [member for member in MEMBERS if member.count == 12]  # the oracle is slow


@pytest.mark.parametrize("member", MEMBERS, ids=lambda member: member.name)
def test_the_known_arrangement_is_allowed_and_as_full_as_asked(member: Member) -> None:
    job = made(member)
    assert stops(job.known) == []
    assert missed(job.known) == []
    assert 0.45 <= job.fill <= 0.55
    assert len(job.job.tray) >= member.count - 1  # one may be locked


@pytest.mark.slow
@pytest.mark.parametrize("member", SMALL, ids=lambda member: member.name)
def test_the_oracle_finds_nothing_in_the_known_arrangement(member: Member) -> None:
    assert certain_stops(made(member).known) == []


def test_a_member_is_always_the_same_job() -> None:
    member = Member(12, 2, "all", 1)
    assert document_bytes(made(member).known) == document_bytes(made(member).known)


def test_jobs_with_all_constraints_have_all_of_them() -> None:
    """After softening: of each kind something is left in every job of 25 and 40 modules."""
    for count in (25, 40):
        document = made(Member(count, 2, "all", 1)).document
        kinds = list(document["types"].values())
        for key in ("fixings", "keep_outs", "behind", "heat", "shields", "antenna", "reach"):
            assert any(kind.get(key) for kind in kinds), key
        assert any(t.get("room") for kind in kinds for t in kind["terminals"])
        assert any(part.get("locked") for part in document["parts"])
        rules = {(w["rule"], w.get("must", False))
                 for part in document["parts"] for w in part.get("wishes", [])}
        assert {("face", True), ("near_edge", True), ("near", True), ("inside", True),
                ("high", False), ("away_from_shields", False), ("near", False)} <= rules
        assert document["plate"]["existing_holes"]
        assert {zone["max_height"] > 0 for zone in document["plate"]["keep_outs"]} == {True, False}

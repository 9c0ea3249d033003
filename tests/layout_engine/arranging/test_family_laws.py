"""Laws of arranging over the seeded family: two faces, all constraints, known arrangements."""

from __future__ import annotations

import os
import subprocess
import sys
from copy import deepcopy
from hashlib import sha256
from itertools import pairwise
from pathlib import Path

import pytest

from layout_engine import arrange, document_bytes, dump_document, load_document
from layout_engine.arranging.cost import evaluate
from layout_engine.arranging.finishing import USUAL
from layout_engine.arranging.verdict import stops
from tests.benchmarks.arranging.family import Member
from tests.layout_engine.arranging.changed_jobs import CHANGES, Change
from tests.layout_engine.arranging.family_jobs import (
    MEMBERS,
    arranged,
    arranged_again,
    arranging,
    certain_stops,
    kept,
    missed,
    still,
)

ROOT = Path(__file__).parents[3]
every_member = pytest.mark.parametrize("member", MEMBERS, ids=lambda member: member.name)
ELSEWHERE = """
import sys
from hashlib import sha256
from layout_engine import arrange, document_bytes, load_document
offer = arrange(load_document(sys.stdin.buffer.read()), seconds=1, seed=1, clock=lambda: 0.0)
print(sha256(document_bytes(offer.job)).hexdigest())
"""


@every_member
def test_the_oracle_finds_nothing_in_what_was_arranged(member: Member) -> None:
    offer = arranged(member)
    assert offer.whole
    assert certain_stops(offer.job) == []
    assert missed(offer.job) == []


@every_member
def test_it_is_not_dearer_than_the_known_arrangement(member: Member) -> None:
    assert arranged(member).cost <= evaluate(kept(member).known).cost


@every_member
def test_the_bound_is_above_no_arrangement_that_is_known(member: Member) -> None:
    offer, known, again = arranged(member), kept(member).known, arranged_again(member)
    assert max(offer.bound, again.bound) >= 0
    assert max(offer.bound, again.bound) <= min(offer.cost, again.cost, evaluate(known).cost)


@every_member
def test_what_is_locked_stays(member: Member) -> None:
    before, after = (dump_document(job)["parts"] for job in (kept(member).known,
                                                              arranged(member).job))
    assert [p["id"] for p in before] == [p["id"] for p in after]
    for was, now in zip(before, after, strict=True):
        if was.get("locked"):
            assert now == was


@every_member
def test_an_allowed_layout_that_was_there_is_never_made_dearer(member: Member) -> None:
    known = kept(member).known
    offer = arranged_again(member)
    assert offer.whole
    assert offer.cost <= evaluate(known).cost
    assert stops(offer.job) == []
    best = arranged(member)
    assert arrange(best.job, seconds=1, seed=4, clock=still).cost <= best.cost


@every_member
def test_cost_never_rises_and_every_picture_is_allowed(member: Member) -> None:
    """Only where the first offer is nearly the best may clearing warnings exceed it at the end."""
    _, seen = arranging(member)
    costs = [p.cost for p in seen if p.cost is not None]
    assert all(b <= a for a, b in pairwise(costs[:-1]))
    assert costs[-1] <= costs[-2] * (1.0 if costs[-2] < costs[0] else 1 + USUAL.clearing)
    assert [p.fraction for p in seen] == sorted(p.fraction for p in seen)
    pictures = {id(p.job): p for p in seen if p.job is not None}
    for progress in pictures.values():
        assert progress.job is not None
        assert stops(progress.job) == []
        assert progress.cost == pytest.approx(evaluate(progress.job).cost)


@every_member
@pytest.mark.parametrize("change", CHANGES, ids=lambda change: change.__name__)
def test_a_changed_problem_takes_the_changed_arrangement(member: Member, change: Change) -> None:
    """Moved, mirrored, named or ordered otherwise: no verdict and no price changes."""
    offer = arranged(member)
    changed = load_document(change(deepcopy(dump_document(offer.job))))
    assert stops(changed) == []
    assert missed(changed) == []
    assert evaluate(changed).cost == pytest.approx(offer.cost)


@pytest.mark.parametrize("member", MEMBERS[1:4], ids=lambda member: member.name)
@pytest.mark.parametrize("change", CHANGES, ids=lambda change: change.__name__)
def test_a_changed_problem_is_solved_as_well(member: Member, change: Change) -> None:
    job = load_document(change(deepcopy(dump_document(kept(member).job))))
    offer = arrange(job, seconds=1, seed=1, clock=still)
    assert offer.whole
    assert stops(offer.job) == []
    assert missed(offer.job) == []


@pytest.mark.parametrize("hash_seed", ["1", "2"])
def test_another_process_gives_the_same_bytes(hash_seed: str) -> None:
    member = MEMBERS[2]
    told = subprocess.run(
        [sys.executable, "-c", ELSEWHERE], input=document_bytes(kept(member).job), cwd=ROOT,
        env=os.environ | {"PYTHONHASHSEED": hash_seed}, capture_output=True, check=True)
    here = sha256(document_bytes(arranged(member).job)).hexdigest()
    assert told.stdout.decode().strip() == here

"""The four characters: each is best, or within a stated margin of it, in its own respect."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from layout_engine import Arrangement, Job, arrange, check, document_bytes, load_document
from layout_engine.arranging import CHARACTERS, Character, choosing
from layout_engine.arranging.arrangement import RESPECT_OF
from layout_engine.arranging.arranger import cleared, fitted
from layout_engine.arranging.characters import flavoured
from layout_engine.arranging.cost import evaluate
from layout_engine.arranging.finishing import USUAL, Finisher
from layout_engine.arranging.problem import problem_of
from layout_engine.arranging.respects import respects_of
from layout_engine.arranging.respects.tidiness import on_grid
from layout_engine.arranging.search import Search
from layout_engine.arranging.vectors import X, Y, new_state
from layout_engine.checks.rules import PLACEMENT, SUPPLY
from layout_engine.checks.standing import Standing
from tests.benchmarks.arranging import family_job

DEMOS = Path(__file__).parents[3] / "seed_data" / "demos"
JOBS = ("parade_tortoise", "puppet_wagon", "rolling_lighthouse", "family_10_1", "family_14_2")
MARGIN = {"wire": 0.02, "heat": 0.02, "service": 0.02, "tidiness": 0.1}  # of the best's score


def still() -> float:
    return 0.0


@cache
def job_of(name: str) -> Job:
    if name.startswith("family"):
        count, seed = (int(n) for n in name.split("_")[1:])
        job = family_job(count, seed)
    else:
        job = load_document(json.loads((DEMOS / f"{name}.json").read_text()))
    return cleared(job, frozenset(p.id for p in job.parts if p.away is None))


def arranged(job: Job, character: Character, seed: int = 1) -> Arrangement:
    """Of three ends instead of eight, as where time is short: finishing them takes most of it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(choosing, "SUITED", 3)
        return arrange(job, seconds=2, seed=seed, character=character, clock=still)


@cache
def offer(name: str, character: Character) -> Arrangement:
    return arranged(job_of(name), character)


@pytest.mark.slow
@pytest.mark.parametrize("name", JOBS)
@pytest.mark.parametrize("character", CHARACTERS)
def test_each_character_is_best_in_its_own_respect(name: str, character: Character) -> None:
    own = RESPECT_OF[character]
    scores = {c: offer(name, c).respects.of(own).score for c in CHARACTERS}
    best = max(scores.values())
    assert scores[character] >= best - MARGIN[own] * abs(best)


@pytest.mark.slow
@pytest.mark.parametrize("name", JOBS)
@pytest.mark.parametrize("character", CHARACTERS)
def test_every_character_is_allowed_whole_and_priced_by_the_contract(
    name: str, character: Character,
) -> None:
    found = offer(name, character)
    assert found.whole
    # An offer is about places: its wires are routed when it is taken.
    places = PLACEMENT.keys() | SUPPLY.keys()
    findings = check(found.job, rules=places, straight=True)
    assert [f.rule for f in findings if f.severity == "stop"] == []
    assert found.cost == pytest.approx(evaluate(found.job).cost)
    assert found.bound <= found.cost
    assert found.character == character


def test_what_was_found_before_the_search_has_room_for_a_characters_wishes() -> None:
    problem = problem_of(family_job(6, 1))
    plain = Search(problem.puzzle, 1, 0)
    search = Search(flavoured(problem, "tidiest"), 1, 0)
    assert len(search.puzzle.wishes) > len(problem.puzzle.wishes)
    known = plain.first_state()
    known[0][known[1][X]: known[1][X] + plain.count] += 7.0
    made = fitted(known, search)
    assert made is not None
    assert [len(vector) for vector in made] == [len(v) for v in new_state(search.n)]
    for block in (X, Y):
        was, now = (s[k[block]: k[block] + plain.count] for s, k in (known, made))
        assert np.array_equal(was, now)
    assert fitted(known, plain) is known
    assert fitted(None, search) is None


def test_an_unknown_character_is_refused_with_what_is_allowed() -> None:
    with pytest.raises(ValueError, match="shortest, coolest, serviceable, tidiest"):
        arrange(family_job(3, 1), seconds=1, seed=1, character="finest")  # type: ignore[arg-type]


def test_same_seed_and_character_give_the_same_bytes() -> None:
    one, two = (document_bytes(arranged(job_of("family_10_1"), "tidiest", seed=4).job)
                for _ in range(2))
    assert one == two


@pytest.mark.parametrize("character", CHARACTERS)
def test_the_layout_that_was_there_is_never_worse_in_the_respect(character: Character) -> None:
    job = family_job(8, 3)
    name = RESPECT_OF[character]
    found = arranged(job, character)
    assert found.respects.of(name).score >= respects_of(job).of(name).score


@pytest.mark.slow
@pytest.mark.parametrize("name", JOBS)
def test_the_finish_adds_no_warning_and_costs_at_most_a_thousandth(name: str) -> None:
    from layout_engine.arranging.running import Run
    from layout_engine.arranging.verdict import unavoidable, warnings

    job = job_of(name)
    problem = problem_of(job)
    run = Run(problem, job, unavoidable(job, frozenset(problem.movable)))
    search = Search(problem.puzzle, 1, 4_000_000, judge=run.judge)
    for _ in search.steps():
        pass
    assert run.state is not None
    assert run.best is not None
    _, finished = Finisher(problem.puzzle, run.job_of, run.given).finished(run.state, USUAL)
    assert warnings(finished) <= warnings(run.best)
    assert evaluate(finished).cost <= evaluate(run.best).cost * (1 + USUAL.share) + 1e-6
    before, after = (respects_of(j).tidiness.score for j in (run.best, finished))
    assert after >= before


@pytest.mark.slow
@pytest.mark.parametrize(("character", "share"), [("tidiest", 0.5), ("shortest", 0.2)])
def test_holes_are_on_the_grid_where_that_costs_little(character: Character, share: float) -> None:
    """Of the demos together: on a single one what is free to move so far is a matter of chance."""
    jobs = [offer(name, character).job for name in JOBS]
    holes = [hole for job in jobs for p in job.placed for hole in Standing.of(job, p).holes]
    on = sum(on_grid(hole.x) and on_grid(hole.y) for hole in holes)
    assert len(holes) > 100
    assert on >= share * len(holes)

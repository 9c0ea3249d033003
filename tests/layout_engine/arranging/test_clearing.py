"""Clearing warnings: the room wanted is the checker's, and is made where it costs little."""

from __future__ import annotations

from typing import Any

import pytest

from layout_engine import Job, check
from layout_engine.arranging import classes as c
from layout_engine.arranging.clearing import CLEAR_MM, Clearer
from layout_engine.arranging.finishing import USUAL
from layout_engine.arranging.packing import packed
from layout_engine.arranging.problem import problem_of
from layout_engine.arranging.search import Search
from layout_engine.arranging.sliding import Slider
from layout_engine.arranging.vectors import ON
from tests.benchmarks.arranging.family import Member, made
from tests.layout_engine.arranging.test_arrange import run, small

Json = dict[str, Any]
# What each class of wanted room is warned of as; others of these rules ask more than a distance.
WARNED = {"terminal_blocked": c.Strip, "hole_under_part": c.Counter}


def warned(job: Job, *rules: str) -> set[tuple[str, tuple[str, ...]]]:
    return {(f.rule, f.subjects) for f in check(job) if f.severity == "warn" and f.rule in rules}


def lacking(job: Job) -> set[tuple[type, str, str]]:
    """Who lacks room in a job as it stands, by name; "" for what counts no pair."""
    problem, careful = problem_of(job), problem_of(job, care=c.Care.ALL, turning=False)
    search = Search(problem.puzzle, 1, 1)
    state = search.first_state()
    state[1][state[1][ON]: state[1][ON] + search.count] = 1
    clearer = Clearer.of(Slider(problem.puzzle, *packed(problem.puzzle)), careful)
    bodies = careful.puzzle.bodies
    return {(kind, bodies[one].name, bodies[other].name if other >= 0 else "")
            for (kind, one, other), lack in clearer.lacked(state).items() if lack > CLEAR_MM}


@pytest.mark.parametrize("seed", [1, 2, 3, 5])
def test_whom_the_checker_warns_lacks_room(seed: int) -> None:
    """The family's known layouts, in which every module has the turn it was made with."""
    job = made(Member(12, 2, "all", seed)).known
    found = lacking(job)
    for rule, subjects in warned(job, *WARNED):
        assert any((WARNED[rule], *order) in found for order in (
            (*subjects, "")[:2], subjects[::-1])), (rule, subjects)


@pytest.mark.parametrize("seed", [1, 2, 3, 5])
def test_who_lacks_bend_room_is_warned_by_the_checker(seed: int) -> None:
    job = made(Member(12, 2, "all", seed)).known
    blocked = {subjects[0] for _, subjects in warned(job, "terminal_blocked")}
    assert {one for kind, one, _ in lacking(job) if kind is c.Strip} == blocked


def facing(weight: float) -> Json:
    """Two boxes whose terminals face each other, 10 mm of bend room each, and a long wire beside.

    The long wire is worth 2 x 400 = 800 wherever the two stand. The two are cheapest 5 mm apart,
    where half of the room is free; warned of until they are 10 mm apart.
    """
    document = small(2, 300)
    for terminal in document["types"]["module"]["terminals"]:
        terminal["room"] = 10
    for part in document["parts"]:
        part["wishes"] = [{"rule": "turns", "allowed": [0], "must": True},
                          {"rule": "face", "face": "front", "must": True}]
    document["connections"][0]["weight"] = weight
    for number, x in enumerate((20, 260)):
        document["parts"].append({"id": f"post{number}", "type": "post", "locked": True,
                                  "placement": {"face": "front", "x": x, "y": 20 + 160 * number}})
    document["types"]["post"] = document["types"]["module"] | {
        "outline": [[0, 0], [10, 0], [10, 10], [0, 10]],
        "terminals": [{"id": "t", "x": 5, "y": 5, "leaves": 90, "role": "signal"}]}
    document["connections"].append(
        {"id": "long", "from": "post0.t", "to": "post1.t", "weight": 2})
    return document


def test_bend_room_is_made_where_it_costs_little() -> None:
    """5 mm more of a wire of weight 0.2 are 1 of 801: 0.12 per cent."""
    offer = run(facing(0.2))
    assert warned(offer.job, "terminal_blocked") == set()
    assert offer.cost == pytest.approx(800 + 0.2 * 10, abs=0.05)


def test_warnings_stay_where_less_would_cost_too_much() -> None:
    """5 mm more of a wire of weight 4 are 20 of 820: more than clearing and finish may cost."""
    offer = run(facing(4))
    assert warned(offer.job, "terminal_blocked") != set()
    assert offer.cost <= (800 + 4 * 5) * (1 + USUAL.clearing + USUAL.share) + 0.05

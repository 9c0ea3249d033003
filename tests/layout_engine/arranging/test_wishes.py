"""What wishes cost by the contract, and that the search prices them alike."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from layout_engine import load_document
from layout_engine.arranging.cost import evaluate, missed_musts
from layout_engine.arranging.pricing import STAYS_FIRM, burden, fault, price, refresh
from layout_engine.arranging.problem import problem_of
from layout_engine.arranging.running import Run
from layout_engine.arranging.schedules import LAST
from layout_engine.arranging.search import Search
from layout_engine.arranging.sliding import State
from layout_engine.arranging.untangling import CLEAR_MM, relax, untangle
from layout_engine.arranging.vectors import AT, ON, X, Y
from layout_engine.checks.standing import Standing
from tests.layout_engine.arranging.test_arrange import run, small

Json = dict[str, Any]
# Two arms 60 wide, 60 and more apart from each other by a notch 30 wide and 80 deep.
FORK = [[0, 0], [150, 0], [150, 120], [90, 120], [90, 40], [60, 40], [60, 120], [0, 120]]


def pull(document: Json, towards: list[float]) -> None:
    """Let a wire that leaves the plate there be the only one, from the first module."""
    document["types"]["lead"] = {
        "name": "Lead", "kind": "other", "outline": [[0, 0], [9, 0], [9, 9], [0, 9]], "height": 5,
        "terminals": [{"id": "t", "x": 0, "y": 0, "leaves": 0, "role": "signal"}]}
    document["parts"].append({"id": "away", "type": "lead", "away": {"exit": towards}})
    document["connections"] = [{"id": "c", "from": "p0.b", "to": "away.t"}]


def in_fork(x: float, y: float, *, must: bool = True) -> Json:
    """A box of 30 x 20 with its lower left corner there, that is to stay in the fork."""
    document = small(1, 160)
    document["parts"][0] |= {
        "placement": {"face": "front", "x": x, "y": y},
        "wishes": [{"rule": "inside", "outline": FORK, "must": must, "factor": 2}]}
    return document


@pytest.mark.parametrize(("x", "y", "outside"), [
    (20, 60, 0.0),  # in the left arm
    (30, 60, 0.0),  # its right edge along the notch
    (60, 20, 0.0),  # its upper edge along the bottom of the notch
    (60, 60, 15.0),  # its corners on the arms' edges, its middle 15 mm from both
    (60, 30, 10.0),  # half of it in the notch: 10 mm from the bottom
    (40, 60, 10.0),  # 10 mm over into the notch
], ids=str)
def test_the_whole_outline_stays_in_a_zone_with_a_notch(x: float, y: float, outside: float
                                                        ) -> None:
    missed = missed_musts(load_document(in_fork(x, y)))
    assert [by for _, _, by in missed] == ([pytest.approx(outside, abs=0.01)] if outside else [])
    wished = load_document(in_fork(x, y, must=False))
    assert evaluate(wished).wish_cost == pytest.approx(2 * outside, abs=0.02)


def test_an_arrangement_keeps_the_whole_outline_in_the_zone() -> None:
    """A wire to above the notch pulls it there."""
    document = in_fork(0, 0)
    del document["parts"][0]["placement"]
    pull(document, [75, 160])
    offer = run(document)
    assert offer.whole
    assert missed_musts(offer.job) == []


ROUND = [[round(25 + 25 * np.cos(a), 3), round(25 + 25 * np.sin(a), 3)]
         for a in np.linspace(0, 2 * np.pi, 12, endpoint=False)]
CORNER = [[0, 0], [60, 0], [60, 20], [20, 20], [20, 60], [0, 60]]


@pytest.mark.parametrize("shield", [ROUND, CORNER], ids=["round", "corner"])
@pytest.mark.parametrize("turn", [0, 90, 15])
def test_distance_to_metal_of_any_shape_costs_the_same_in_search_and_contract(
    shield: list[list[float]], turn: float,
) -> None:
    """At 200 places of an aerial beside a module whose shield is no upright box."""
    document = small(2, 300)
    document["types"]["metal"] = document["types"]["module"] | {
        "outline": [[0, 0], [60, 0], [60, 60], [0, 60]],
        "shields": [{"outline": shield, "height": [0, 15]}]}
    document["types"]["module"] |= {"antenna": {"x": 5, "y": 5, "z": 10, "band_mhz": 2400}}
    document["parts"][1] |= {"type": "metal", "locked": True,
                             "placement": {"face": "front", "x": 120, "y": 120, "turn": turn}}
    document["parts"][0]["wishes"] = [
        {"rule": "away_from_shields", "distance": 150, "must": False, "factor": 3}]
    job = load_document(document)
    problem = problem_of(job)
    made, search = Run(problem, job, frozenset()), Search(problem.puzzle, 1, 1)
    s, k = search.first_state()
    k[k[ON]] = 1
    rng = np.random.default_rng(1)
    for _ in range(200):
        k[k[AT]] = rng.choice(problem.puzzle.bodies[0].poses)
        s[k[X]], s[k[Y]] = np.round(rng.uniform(20, 280, 2), 3)
        refresh(search.f, search.n, s, k)
        cost = evaluate(made.job_of((s, k)))
        assert price(search.f, search.n, s, k) == pytest.approx(cost.cost, abs=0.01)


def near_a_shape(outline: list[list[float]], owner: int, within: float, *, must: bool) -> Json:
    """A box of 30 x 20 that may move and a locked module of that outline, near each other."""
    document = small(2, 300)
    document["types"]["shaped"] = document["types"]["module"] | {"outline": outline}
    document["parts"][1] |= {"type": "shaped", "locked": True,
                             "placement": {"face": "front", "x": 120, "y": 120, "turn": 0}}
    document["parts"][owner]["wishes"] = [{"rule": "near", "part": f"p{1 - owner}",
                                           "within": within, "must": must, "factor": 3}]
    return document


@pytest.mark.parametrize("outline", [ROUND, CORNER], ids=["round", "corner"])
@pytest.mark.parametrize("owner", [0, 1])
@pytest.mark.parametrize("turn", [0, 90, 15])
def test_nearness_to_any_shape_costs_the_same_in_search_and_contract(
    outline: list[list[float]], owner: int, turn: float,
) -> None:
    """At 200 places of a box that may stand at 15 degrees too, some in the notch or in the way."""
    document = near_a_shape(outline, owner, 4, must=False)
    document["parts"][0].setdefault("wishes", []).append(
        {"rule": "turns", "allowed": [0, 90, 15, 105], "must": True})
    document["parts"][1]["placement"]["turn"] = turn
    job = load_document(document)
    problem = problem_of(job)
    made, search = Run(problem, job, frozenset()), Search(problem.puzzle, 1, 1)
    s, k = search.first_state()
    k[k[ON]] = 1
    rng, costs = np.random.default_rng(1), []
    for _ in range(200):
        k[k[AT]] = rng.choice(problem.puzzle.bodies[0].poses)
        s[k[X]], s[k[Y]] = np.round(rng.uniform(90, 210, 2), 3)
        refresh(search.f, search.n, s, k)
        costs.append(evaluate(made.job_of((s, k))))
        assert price(search.f, search.n, s, k) == pytest.approx(costs[-1].cost, abs=0.01)
    assert 0 < sum(cost.wish_cost == 0 for cost in costs) < 150


@pytest.mark.parametrize("outline", [ROUND, CORNER], ids=["round", "corner"])
@pytest.mark.parametrize("owner", [0, 1])
def test_a_must_to_stand_near_any_shape_is_kept_and_used_up_while_sliding(
    outline: list[list[float]], owner: int,
) -> None:
    """A wire pulls the box to the upper right, past a rounded corner or an inner one."""
    document = near_a_shape(outline, owner, 10, must=True)
    pull(document, [300, 300])
    job = load_document(document)
    problem = problem_of(job)
    made, search = Run(problem, job, frozenset()), Search(problem.puzzle, 1, 1)
    s, k = state = search.first_state()
    k[k[ON]] = 1
    s[k[X]], s[k[Y]] = 186.0, 176.0  # 3 mm and more off both shapes
    assert search.slider.slide(state, 6)
    offer = made.job_of(state)
    assert missed_musts(offer) == []
    one, two = (standing.outline for standing in
                (Standing.of(offer, part) for part in offer.placed))
    assert 9.7 < one.distance(two) <= 10.0  # two in a hundred are left for rounding


OWNER_AND_LOCKED = [(0, None), (0, 1), (1, 1)]


def near_each_other(owner: int, locked: int | None) -> Search:
    """Two boxes of 30 x 20, a wire of weight 2 between them; one must be 10 mm from the other."""
    document = small(2, 300)
    document["parts"][owner]["wishes"] = [
        {"rule": "near", "part": f"p{1 - owner}", "within": 10, "must": True}]
    if locked is not None:
        document["parts"][locked] |= {
            "locked": True, "placement": {"face": "front", "x": 20, "y": 100, "turn": 0}}
    return Search(problem_of(load_document(document)).puzzle, 1, 1)


def side_by_side(search: Search, gap: float) -> State:
    """One to the right of the other, upright, so many mm from outline to outline."""
    s, k = search.first_state()
    k[k[ON]: k[ON] + 2] = 1
    one, two = (0, 1) if search.movable == 2 else (1, 0)  # what stays comes last
    if search.movable == 2:
        s[k[X] + one], s[k[Y] + one] = 40.0, 100.0
    s[k[X] + two], s[k[Y] + two] = s[k[X] + one] + 30.0 + gap, s[k[Y] + one]
    refresh(search.f, search.n, s, k)
    return s, k


@pytest.mark.parametrize(("owner", "locked"), OWNER_AND_LOCKED)
@pytest.mark.parametrize(("gap", "missed"), [(8.0, 0.0), (12.0, 2.0), (110.0, 100.0)])
def test_a_missed_must_weighs_as_much_whoever_owns_it_and_whoever_is_locked(
    owner: int, locked: int | None, gap: float, missed: float,
) -> None:
    """As heavy as an overlap as deep: by the weight of the wires of a module."""
    search = near_each_other(owner, locked)
    state = side_by_side(search, gap)
    assert burden(search.f, search.n, *state) == pytest.approx(2 * missed, abs=0.02)
    assert fault(search.f, search.n, *state) == pytest.approx(missed, abs=0.01)


@pytest.mark.parametrize(("owner", "locked"), OWNER_AND_LOCKED)
def test_a_missed_must_is_mended_whoever_owns_it_and_whoever_is_locked(
    owner: int, locked: int | None,
) -> None:
    search = near_each_other(owner, locked)
    s, k = side_by_side(search, 110.0)
    relax(search.n, s, k)
    untangle(search.f, search.n, s, k, search.random, search.plan(LAST, 1), 0, 60)
    refresh(search.f, search.n, s, k)
    assert fault(search.f, search.n, s, k) == pytest.approx(0.0, abs=CLEAR_MM)


@pytest.mark.parametrize(("owner", "locked"), OWNER_AND_LOCKED)
def test_a_must_pulls_while_it_cools_whoever_owns_it_and_whoever_is_locked(
    owner: int, locked: int | None,
) -> None:
    """Without wires nothing but the must takes one to the other."""
    search = near_each_other(owner, locked)
    blank = replace(search.puzzle, nets=())
    search = Search(blank, 1, 1)
    s, k = side_by_side(search, 110.0)
    for _ in search.cool((s, k), search.plan(LAST, 6_000)):
        pass
    refresh(search.f, search.n, s, k)
    assert fault(search.f, search.n, s, k) == pytest.approx(0.0, abs=0.5)


@pytest.mark.parametrize("locked", [None, 1])
def test_an_overlap_with_what_stays_is_the_heavier(locked: int | None) -> None:
    """Of what it weighs between two that may move: each could give way there, here one alone."""
    search = near_each_other(0, locked)
    state = side_by_side(search, -10.0)  # 2 mm of clearance are wanted
    deep = fault(search.f, search.n, *state)
    assert deep == pytest.approx(12.0, abs=0.3)
    weight = 2.0 if locked is None else 2.0 * STAYS_FIRM
    assert burden(search.f, search.n, *state) == pytest.approx(weight * deep)

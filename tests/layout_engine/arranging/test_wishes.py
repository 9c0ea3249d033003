"""What wishes cost by the contract, and that the search prices them alike."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from layout_engine import load_document
from layout_engine.arranging.cost import evaluate, missed_musts
from layout_engine.arranging.pricing import price, refresh
from layout_engine.arranging.problem import problem_of
from layout_engine.arranging.running import Run
from layout_engine.arranging.search import Search
from layout_engine.arranging.vectors import AT, ON, X, Y
from tests.layout_engine.arranging.test_arrange import run, small

Json = dict[str, Any]
# Two arms 60 wide, 60 and more apart from each other by a notch 30 wide and 80 deep.
FORK = [[0, 0], [150, 0], [150, 120], [90, 120], [90, 40], [60, 40], [60, 120], [0, 120]]


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
    document["types"]["lead"] = {
        "name": "Lead", "kind": "other", "outline": [[0, 0], [9, 0], [9, 9], [0, 9]], "height": 5,
        "terminals": [{"id": "t", "x": 0, "y": 0, "leaves": 0, "role": "signal"}]}
    document["parts"].append({"id": "away", "type": "lead", "away": {"exit": [75, 160]}})
    document["connections"] = [{"id": "c", "from": "p0.b", "to": "away.t"}]
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

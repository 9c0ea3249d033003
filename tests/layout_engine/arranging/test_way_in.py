"""The way in: where the cheapest arrangement could not be brought in, the one that can is found."""

from __future__ import annotations

from math import sqrt
from typing import Any

import pytest

from layout_engine import Job, check, dump_document, load_document
from layout_engine.arranging.passing import Passage, passages
from layout_engine.arranging.problem import problem_of
from layout_engine.arranging.running import Run
from layout_engine.arranging.search import Search
from tests.layout_engine.arranging.test_arrange import run, small

Json = dict[str, Any]
FRONT = {"rule": "face", "face": "front", "must": True}
UNTURNED = {"rule": "turns", "allowed": [0], "must": True}


def cheapest_anyhow(job: Job) -> Job:
    """The cheapest arrangement that a short search finds when nobody asks for the way in."""
    problem = problem_of(job)
    search = Search(problem.puzzle, 1, 4_000_000)
    for _ in search.steps():
        pass
    assert search.best.state is not None
    return Run(problem, job, frozenset()).job_of(search.best.state)


def rules(job: Job) -> set[str]:
    return {finding.rule for finding in check(job) if finding.severity == "stop"}


def round_hole() -> Json:
    """A tall module that its wire pulls to the right edge, and a round hole in the top.

    A board 200 wide and 5 thick passes a hole of 210 within a circle whose centre is at most
    sqrt(105^2 - 100^2) - 2.5 = 29.5 mm off its mid-plane. The module's top is 90 + 2.5 mm off it,
    63 off that centre, where the circle is sqrt(105^2 - 63^2) = 84 mm wide to each side. Turned
    by a quarter it would pass, but 200 x 200 cannot be turned back in 215 x 270.
    """
    document = small(1, 200)
    document["plate"]["base"] = 30
    document["body"] |= {"width": 215, "height": 270,
                         "opening": {"shape": "round", "diameter": 210}}
    document["types"]["module"] |= {"height": 84}
    document["parts"][0]["wishes"] = [FRONT, UNTURNED]
    document["types"]["lead"] = {
        "name": "Lead", "kind": "other", "outline": [[0, 0], [9, 0], [9, 9], [0, 9]], "height": 5,
        "terminals": [{"id": "t", "x": 0, "y": 0, "leaves": 0, "role": "signal"}]}
    document["parts"].append({"id": "away", "type": "lead", "away": {"exit": "right"}})
    document["connections"] = [{"id": "c", "from": "p0.b", "to": "away.t", "weight": 1}]
    return document


def shared_depth() -> Json:
    """Two wide modules 66 mm high on one face each: 137 mm deep, and 120 mm of opening.

    One must be on the front, and the other wishes to be on the back; beside each other in front
    they are 71 mm deep, and one high up and one low down the board passes aslant.
    """
    document = small(2, 200)
    document["plate"]["outline"] = [[0, 0], [180, 0], [180, 150], [0, 150]]
    document["body"]["opening"] = {"shape": "rectangle", "width": 200, "height": 120}
    document["types"]["module"] |= {
        "height": 60, "outline": [[0, 0], [160, 0], [160, 60], [0, 60]]}
    document["parts"][0]["wishes"] = [FRONT]
    document["parts"][1]["wishes"] = [{"rule": "face", "face": "back", "must": False, "factor": 9}]
    document["connections"][0]["weight"] = 0.1
    return document


@pytest.mark.parametrize("document", [round_hole(), shared_depth()], ids=["round", "rectangle"])
def test_what_could_not_be_brought_in_is_left_for_what_can(document: Json) -> None:
    assert rules(cheapest_anyhow(load_document(document))) == {"no_way_in"}
    offer = run(document)
    assert offer.whole
    assert rules(offer.job) == set()


def test_the_tall_module_stands_as_far_out_as_the_circle_lets_it() -> None:
    offer = run(round_hole())
    place = dump_document(offer.job)["parts"][0]["placement"]
    off = sqrt(105**2 - 100**2) - 2.5
    assert place["x"] + 30 == pytest.approx(100 + sqrt(105**2 - (92.5 - off) ** 2), abs=0.1)


def test_a_passage_is_a_chord_of_its_circle() -> None:
    """3-4-5: 30 mm off the middle of a circle of 100 it is 40 mm wide to each side."""
    way = Passage(0, 50.0, 6.0, 100.0, 0.0)
    assert way.half_width(0, 27.0) == pytest.approx(40.0)
    assert way.half_width(1, 27.0) == pytest.approx(40.0)
    assert way.half_width(0, 60.0) < 0
    assert Passage(0, 50.0, 6.0, 100.0, 30.0).half_width(0, 27.0) == pytest.approx(50.0)


def test_no_passage_takes_a_module_that_is_too_high_for_all() -> None:
    document = shared_depth()
    document["types"]["module"] |= {"height": 130}
    assert passages(load_document(document)) == []

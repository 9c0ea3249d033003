"""Holes drilled before are used again where that costs little."""

from __future__ import annotations

from typing import Any

import pytest

from layout_engine import Job, check, dump_document, load_document
from layout_engine.arranging import seating
from layout_engine.arranging.cost import evaluate
from layout_engine.arranging.problem import problem_of
from layout_engine.arranging.running import Run
from layout_engine.arranging.search import Search
from layout_engine.arranging.seating import SEAT_SHARE, reseated
from layout_engine.arranging.vectors import ON
from tests.layout_engine.arranging.test_arrange import run
from tests.layout_engine.arranging.test_clearing import facing

Json = dict[str, Any]
FIXINGS = ((4.0, 4.0), (26.0, 16.0))  # of the module, M3: holes of 3.4 mm by ISO 273, medium


def drilled(x: float, y: float, diameter: float = 3.4, turn: int = 0) -> Json:
    """Two wired modules on a plate with the holes of one that stood at (x, y).

    Wherever they stand 5 mm apart they cost 2 x 5 beside 800 of a long wire.
    """
    document = facing(2)
    for part in document["parts"][:2]:
        part["wishes"] = part["wishes"][1:]
    document["types"]["module"] |= {
        "fixings": [{"x": a, "y": b, "thread": "M3"} for a, b in FIXINGS]}
    for terminal in document["types"]["module"]["terminals"]:
        terminal["room"] = 0
    c, s = {0: (1, 0), 90: (0, 1)}[turn]
    document["plate"]["existing_holes"] = [
        {"x": x + c * a - s * b, "y": y + s * a + c * b, "diameter": diameter}
        for a, b in FIXINGS]
    return document


def reused(job: Job) -> int:
    """Holes of modules that lie in one that is there, by the document alone."""
    document = dump_document(job)
    count = 0
    for part in document["parts"][:2]:
        place = part["placement"]
        c, s = {0: (1, 0), 90: (0, 1), 180: (-1, 0), 270: (0, -1)}[place.get("turn", 0)]
        side = -1 if place.get("face") == "back" else 1
        for a, b in FIXINGS:
            x, y = c * side * a - s * b + place["x"], s * side * a + c * b + place["y"]
            count += any(abs(x - h["x"]) + abs(y - h["y"]) < 0.002
                         for h in document["plate"]["existing_holes"])
    return count


@pytest.mark.parametrize("turn", [0, 90])
def test_a_module_stands_on_holes_that_are_there(turn: int) -> None:
    offer = run(drilled(150, 200, turn=turn))
    assert offer.whole
    assert [f.rule for f in check(offer.job) if f.severity == "stop"] == []
    assert reused(offer.job) == 2
    assert offer.cost <= 810 * (1 + SEAT_SHARE)


def test_holes_that_are_too_narrow_are_left() -> None:
    offer = run(drilled(150, 200, diameter=3.0))
    assert offer.whole
    assert reused(offer.job) == 0
    assert [f.rule for f in check(offer.job) if f.severity == "stop"] == []


def test_holes_that_would_cost_too_much_are_left() -> None:
    """A module that is wired to the left edge with weight 5, and holes at the right."""
    document = drilled(250, 200)
    document["types"]["lead"] = {
        "name": "Lead", "kind": "other", "outline": [[0, 0], [9, 0], [9, 9], [0, 9]], "height": 5,
        "terminals": [{"id": "t", "x": 0, "y": 0, "leaves": 0, "role": "signal"}]}
    document["parts"].append({"id": "away", "type": "lead", "away": {"exit": "left"}})
    document["connections"].append({"id": "l0", "from": "p0.a", "to": "away.t", "weight": 5})
    document["connections"].append({"id": "l1", "from": "p1.a", "to": "away.t", "weight": 5})
    offer = run(document)
    assert offer.whole
    assert reused(offer.job) == 0


def test_the_bound_is_that_of_all_arrangements() -> None:
    """Without holes the same job is cheaper or equal, and its cost no less than the bound."""
    document = drilled(150, 200)
    bound = run(document).bound
    document["plate"]["existing_holes"] = []
    assert bound <= run(document).cost + 1e-9


def test_what_stands_on_its_holes_and_is_locked_stays() -> None:
    document = drilled(150, 200)
    document["parts"][0] |= {"locked": True, "placement": {"face": "front", "x": 150, "y": 200}}
    offer = run(document)
    assert offer.whole
    assert offer.job.part("p0").placement == load_document(document).part("p0").placement


def test_a_module_that_stands_near_its_holes_is_put_on_them_in_the_end(
        monkeypatch: pytest.MonkeyPatch) -> None:
    """The holes are 15 mm nearer to the middle of the plate than those of one of two alike.

    Its mate follows, so that it costs nothing.
    """
    document = drilled(150, 200)
    document["plate"]["existing_holes"] = []
    placed = dump_document(run(document).job)
    place = placed["parts"][0]["placement"]
    c, s = {0: (1, 0), 90: (0, 1), 180: (-1, 0), 270: (0, -1)}[place.get("turn", 0)]
    side = -1 if place.get("face") == "back" else 1
    beside = 15 if place["x"] < 150 else -15
    placed["plate"]["existing_holes"] = [
        {"x": c * side * a - s * b + place["x"] + beside, "y": s * side * a + c * b + place["y"],
         "diameter": 3.4} for a, b in FIXINGS]
    job = load_document(placed)
    problem = problem_of(job)
    search = Search(problem.puzzle, 1, 1)
    state = search.first_state()
    state[1][state[1][ON]: state[1][ON] + search.count] = 1
    found = Run(problem, job, frozenset())
    assert found.judge(state)
    before = found.cost
    seated = reseated(found, lambda: False)
    assert before
    assert seated.best
    assert reused(job) == 0
    assert reused(seated.best) == 2
    assert evaluate(seated.best).cost <= before.cost * (1 + SEAT_SHARE)
    assert [f.rule for f in check(seated.best) if f.severity == "stop"] == []
    assert reseated(found, lambda: True) is found
    monkeypatch.setattr(seating, "BEFORE_SLIDING", -1.0)  # what costs 2 % less is tried alone
    assert reseated(found, lambda: False) is found

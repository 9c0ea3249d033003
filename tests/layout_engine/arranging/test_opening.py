"""Opening ways: modules give way by what a wire lacks, where that costs little."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from layout_engine import Job, load_document
from layout_engine.arranging import opening
from layout_engine.arranging.cost import evaluate
from layout_engine.arranging.finishing import USUAL
from layout_engine.arranging.opening import MORE_MM, Opened, opened, who_stands_at, widened
from layout_engine.arranging.packing import packed
from layout_engine.arranging.pricing import refresh
from layout_engine.arranging.problem import problem_of
from layout_engine.arranging.puzzle import Puzzle
from layout_engine.arranging.running import Run, cleared
from layout_engine.arranging.search import Search
from layout_engine.arranging.sliding import Slider, State
from layout_engine.arranging.vectors import ON
from layout_engine.arranging.verdict import unavoidable
from layout_engine.wiring import plan_routes
from layout_engine.wiring.lost import Pinch, Side, lost_wires
from tests.layout_engine.arranging.test_arrange import run as run_job
from tests.layout_engine.arranging.test_arrange import small

Json = dict[str, Any]
AIR = 0.2  # mm on both sides of a wire; common practice, no source


def beside(gap: float, weight: float) -> Json:
    """A module right of a post that stays, so far from it; joined by a wire of a weight to another
    that stays behind the post, so that it is cheapest at the post. The post's terminal looks at the
    module, and its wire leads to a third one far on the right.
    """
    document = small(1, 300)
    document["types"]["post"] = document["types"]["module"] | {
        "outline": [[0, 0], [10, 0], [10, 20], [0, 20]],
        "terminals": [{"id": "t", "x": 10, "y": 10, "leaves": 0, "role": "signal"}]}
    turned = [{"rule": "turns", "allowed": [0], "must": True},
              {"rule": "face", "face": "front", "must": True}]
    document["parts"][0] |= {"wishes": turned, "placement": {
        "face": "front", "x": 60 + gap, "y": 100, "turn": 0}}
    for name, x, y in (("near", 50, 100), ("behind", 20, 100), ("far", 250, 200)):
        document["parts"].append({"id": name, "type": "post", "locked": True,
                                  "placement": {"face": "front", "x": x, "y": y}})
    document["connections"] = [
        {"id": "pull", "from": "behind.t", "to": "p0.a", "weight": weight},
        {"id": "long", "from": "near.t", "to": "far.t", "weight": 2, "wire": {"size": "4 mm2"}}]
    return document


def standing(document: Json) -> tuple[Run, State]:
    """The run of a job whose parts stand where they are placed, and their state."""
    job = load_document(document)
    problem, moving = problem_of(job), frozenset(["p0"])
    base = cleared(job, moving)
    search = Search(problem.puzzle, 1, 1)
    state = search.first_state()
    state[1][state[1][ON]: state[1][ON] + search.count] = 1
    return Run(problem, base, unavoidable(base, moving)), state


def gap_of(job: Job) -> float:
    """How far the module stands from the post, mm."""
    (x,) = [p.placement.x for p in job.parts if p.id == "p0" and p.placement]
    return x - 60


def needs() -> float:
    """What the wire needs between them, mm: its outer diameter and air on both sides."""
    return plan_routes(load_document(beside(20, 1))).wires[1].outer + 2 * AIR


def test_the_wire_has_no_way_while_the_module_stands_too_near() -> None:
    """The ground for the test: 4 mm2 with their insulation are thicker than the 2 mm there are."""
    assert needs() > 3.0
    job = load_document(beside(2.01, 1))
    assert [one.wire for one in lost_wires(job)] == ["long"]
    assert plan_routes(job).wires[1].state == "no_corridor"


def test_the_module_gives_way_as_far_as_the_wire_needs() -> None:
    run, state = standing(beside(2.01, 1))
    cost = evaluate(run.job_of(state)).cost
    found = opened(run, state, cost * 1.05, lambda: False)
    job = run.job_of(found.state)
    assert (found.lost, plan_routes(job).wires[1].state) == ([], "routed")
    assert found.minded
    assert needs() - 1e-3 <= gap_of(job) <= needs() + MORE_MM + 1e-2
    assert evaluate(job).cost == pytest.approx(cost + gap_of(job) - 2.01, abs=1e-3)


def test_it_stays_where_giving_way_would_cost_too_much() -> None:
    run, state = standing(beside(2.01, 1))
    most = evaluate(run.job_of(state)).cost + needs() - 2.01 - 0.1
    found = opened(run, state, most, lambda: False)
    assert [one.wire for one in found.lost] == ["long"]
    assert gap_of(run.job_of(found.state)) == pytest.approx(2.01, abs=1e-3)


def test_nothing_is_looked_at_where_it_is_late() -> None:
    run, state = standing(beside(2.01, 1))
    found = opened(run, state, 1e9, lambda: True)
    assert (found.state, found.puzzle, found.lost) == (state, run.problem.puzzle, ())
    assert not found.minded


def test_nothing_is_tried_where_too_many_wires_have_no_way(monkeypatch: pytest.MonkeyPatch) -> None:
    run, state = standing(beside(2.01, 1))
    monkeypatch.setattr(opening, "FEW_LOST", 0)
    found = opened(run, state, 1e9, lambda: False)
    assert [one.wire for one in found.lost] == ["long"]
    assert not found.minded


def test_of_places_opened_one_after_another_the_best_is_kept(monkeypatch: pytest.MonkeyPatch
                                                            ) -> None:
    """By what it costs with all that; a wire may lack more than one place."""
    run, state = standing(beside(2.01, 1))
    puzzle = run.problem.puzzle
    steps = [Opened(state, puzzle, (), burden, {}, minded=True) for burden in (3.0, 1.0, 2.0)]
    waiting = iter([*steps, None])
    monkeypatch.setattr(opening._Opener, "next", lambda *_: next(waiting))
    assert opened(run, state, 1e9, lambda: False) is steps[1]


def test_a_way_is_not_opened_any_more_when_it_is_late() -> None:
    run, state = standing(beside(2.01, 1))
    asked = iter([False, False])
    found = opened(run, state, 1e9, lambda: next(asked, True))
    assert [one.wire for one in found.lost] == ["long"]


def test_what_is_freed_is_left_when_it_is_late() -> None:
    run, state = standing(beside(2.01, 1))
    (pinch,) = (one.pinch for one in lost_wires(run.job_of(state)))
    assert pinch is not None
    puzzle = widened(run.problem.puzzle, state, [pinch], run.problem.movable)
    assert puzzle is not None
    slider, tried = Slider(puzzle, *packed(puzzle)), (state[0].copy(), state[1].copy())
    assert not slider.settled(tried, 6, 4, lambda: True)
    assert slider.settled(state, 6, 4, lambda: False)


def test_an_offer_has_the_way_that_is_worth_its_price() -> None:
    """Long wires of 800 in all: the millimetres that the module gives way are 0.2 per cent."""
    document = beside(30, 1)
    document["connections"][1]["weight"] = 3
    offer = run_job(document)
    assert plan_routes(offer.job).wires[1].state == "routed"
    assert gap_of(offer.job) <= needs() + MORE_MM + USUAL.within


BOX = np.array([(0.0, 0.0), (30, 0), (30, 20), (0, 20)])
NO_CORNERS = np.empty((0, 2))


def kept(document: Json, *pinches: Pinch) -> tuple[Puzzle, float]:
    """The widened puzzle, and how far from the post the module is cheapest in it."""
    run, state = standing(document)
    puzzle = widened(run.problem.puzzle, state, pinches, run.problem.movable)
    assert puzzle is not None
    slider = Slider(puzzle, *packed(puzzle))
    refresh(slider.f, slider.n, *state)
    assert slider.free(state, 6)
    assert slider.slide(state, 4)
    return puzzle, gap_of(run.job_of(state))


def test_both_sides_keep_what_the_wire_needs_and_all_else_is_as_it_was() -> None:
    document = beside(5, 1)
    sides = (Side("p0", np.add(BOX, (65, 100)), (1, 0)),
             Side("near", np.add(BOX, (30, 100)), (-1, 0)))
    puzzle, gap = kept(document, Pinch(sides, 5.0, 7.0))
    assert gap == pytest.approx(7.0 + MORE_MM, abs=1e-2)
    before = standing(document)[0].problem.puzzle
    count = len(before.need)
    assert np.array_equal(puzzle.need[:count, :count], before.need)
    assert [len(pose.pieces) for pose in puzzle.poses[2:]] == [
        len(pose.pieces) for pose in before.poses[2:]]


def test_a_module_moves_on_from_what_is_the_plates() -> None:
    """The edge of the plate on the left: it stands to the right of here by what is lacked."""
    sides = (Side("", NO_CORNERS, (-1.0, 0.0)), Side("p0", np.add(BOX, (65, 100)), (1.0, 0.0)))
    _, gap = kept(beside(5, 1), Pinch(sides, 5.0, 7.0))
    assert gap == pytest.approx(5 + 2 + MORE_MM, abs=1e-2)


def test_nothing_is_widened_where_nothing_may_move() -> None:
    run, state = standing(beside(5, 1))
    sides = (Side("near", np.add(BOX, (30, 100)), (-1.0, 0.0)), Side("", NO_CORNERS, (1.0, 0.0)))
    far = Side("far", np.add(BOX, (250, 200)), (1.0, 0.0))
    for pinch in (Pinch(sides, 5.0, 7.0), Pinch((sides[0], far), 5.0, 7.0)):
        assert widened(run.problem.puzzle, state, [pinch], run.problem.movable) is None


def test_who_stands_where_a_wire_is_lost() -> None:
    job = load_document(beside(2.01, 1))
    assert who_stands_at(job, lost_wires(job)) == {"near", "far", "p0"}

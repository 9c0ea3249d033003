"""What musts and locks cost, and the smallest plate: on jobs whose answer is known."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import count
from typing import Any

import pytest

from layout_engine import arrange, check, load_document
from layout_engine.arranging.advice import area_needed, plate_advice, plate_that_would_do
from layout_engine.arranging.holding import holds, what_holds_cost
from layout_engine.model.part import Placement
from tests.layout_engine.arranging.test_arrange import few_moves, small

FRONT_MUST = {"rule": "face", "face": "front", "must": True}


@pytest.fixture(autouse=True)
def searched_briefly() -> Iterator[None]:
    with few_moves():
        yield


def still() -> float:
    return 0.0


def front_only(count: int, side: float) -> dict[str, Any]:
    document = small(count, side)
    for part in document["parts"]:
        part["wishes"] = [FRONT_MUST]
    return document


def test_a_lock_far_away_costs_its_way() -> None:
    """Worked by hand: a wire of weight 2 to a module locked in the far corner; free, both touch."""
    document = small(2, 200)
    document["parts"][0] |= {"locked": True, "placement": {"face": "front", "x": 6, "y": 6}}
    document["parts"][1]["wishes"] = [
        {"rule": "near_edge", "edge": "top", "within": 10, "must": True},
        FRONT_MUST]
    job = arrange(load_document(document), seconds=1, seed=1, clock=still).job
    held = {one.words: one for one in what_holds_cost(job, seconds=1, seed=1, clock=still)}
    assert set(held) == {"p0 is locked", "p1 must be within 10 mm of the top edge",
                         "p1 must stand on the front"}
    lock = held["p0 is locked"]
    assert lock.saved > 200  # some 160 mm up, twice
    assert lock.saved == pytest.approx(
        lock.working.given[0].value - lock.working.given[1].value)
    assert held["p1 must stand on the front"].saved < 1


def test_nothing_held_costs_nothing() -> None:
    assert what_holds_cost(load_document(small(2)), seconds=1, seed=1, clock=still) == ()


def test_a_layout_that_nobody_arranged_does_not_make_a_must_dear() -> None:
    document = small(2, 200)
    document["parts"][0] |= {"placement": {"face": "front", "x": 6, "y": 6}, "wishes": [
        {"rule": "face", "face": "front", "must": True}]}
    document["parts"][1]["placement"] = {"face": "front", "x": 160, "y": 170}
    (held,) = what_holds_cost(load_document(document), seconds=1, seed=1, clock=still)
    assert held.saved < 1


def test_a_must_that_leaves_a_module_in_the_tray_costs_its_place() -> None:
    """Within 10 mm of both edges of 120 mm nothing 30 mm wide can stand."""
    document = small(2)
    document["parts"][0]["wishes"] = [
        {"rule": "near_edge", "edge": edge, "within": 10, "must": True}
        for edge in ("left", "right")]
    ticks = count(0.0, 0.02)  # it is short, what it says does not hang on how well it searched
    held = what_holds_cost(load_document(document), seconds=1, seed=1, clock=lambda: next(ticks))
    assert [(one.more, one.saved) for one in held] == [(1, 0.0), (1, 0.0)]


def test_a_job_found_without_a_must_counts_with_it_only_where_it_keeps_it() -> None:
    document = small(2, 200)
    document["parts"][1] |= {"placement": {"face": "front", "x": 160, "y": 170}, "locked": True,
                             "wishes": [FRONT_MUST]}
    job = load_document(document)
    must, lock = holds(job)
    for hold in (must, lock):
        assert hold.restored(hold.dropped(job)) == job
    front, back = (Placement(face=face, x=60, y=60) for face in ("front", "back"))
    assert must.restored(must.dropped(job).with_places({"p1": back})) is None
    assert must.restored(must.dropped(job).with_places({"p1": front})) is not None
    assert lock.restored(lock.dropped(job).with_places({"p1": front})) is None
    assert must.restored(must.dropped(job).with_places({"p1": None})) is None


def test_area_needed_is_that_of_outlines_with_half_their_clearance() -> None:
    """Worked by hand: 4 x (30 x 20 + 100 x 1) = 2800 mm2; on both faces half of it."""
    assert area_needed(load_document(front_only(4, 120))).result == pytest.approx(28.0)
    assert area_needed(load_document(small(4, 120))).result == pytest.approx(14.0)


@pytest.mark.slow
def test_the_smallest_plate_takes_everything_and_is_not_far_above_what_can_be() -> None:
    """Four boxes 30 x 20, 2 mm apart and 5 mm from the edges need a square of 72 mm at most:
    two beside each other, 30 + 2 + 30 + 10."""
    advice = plate_advice(load_document(front_only(4, 120)), seconds=60, seed=1, clock=still)
    assert advice.size is not None
    assert advice.job is not None
    width, height = advice.size
    assert advice.area.result * 100 <= width * height <= 72 * 72
    assert [f.rule for f in check(advice.job) if f.severity == "stop"] == []
    assert not advice.job.tray
    assert f"{width} x {height} mm" in advice.words
    assert (advice.size, True) in advice.tried


@pytest.mark.slow
def test_the_back_makes_the_plate_smaller() -> None:
    advice = plate_advice(load_document(small(6, 120)), seconds=60, seed=1, clock=still)
    assert advice.size is not None
    assert advice.behind
    assert advice.front_size is not None
    assert advice.size[0] * advice.size[1] < advice.front_size[0] * advice.front_size[1]
    assert "on the back" in advice.words


@pytest.mark.slow
def test_too_small_a_plate_is_answered_with_one_that_would_do() -> None:
    job = load_document(front_only(9, 60))
    size = plate_that_would_do(job, 1, 1.0, still)
    assert size is not None
    assert size[0] > 60
    reason = arrange(job, seconds=3, seed=1, clock=still).reason
    assert f"The smallest plate found that would do is {size[0]} x {size[1]} mm." in reason


def test_stopping_ends_it_with_what_is_known() -> None:
    """At once: what was being tried then is not told as tried."""
    advice = plate_advice(load_document(front_only(4, 120)), seconds=60, seed=1, clock=still,
                          on_progress=lambda _: False)
    assert advice.tried == ()
    assert advice.size is None
    assert advice.words == ("It was stopped before a plate was found. "
                            "Its modules alone need 28 cm2.")


def test_a_plate_that_was_found_is_kept_when_it_is_stopped() -> None:
    calls = iter(range(10**6))
    advice = plate_advice(load_document(front_only(4, 120)), seconds=60, seed=1, clock=still,
                          on_progress=lambda _: next(calls) < 40)
    assert advice.size is not None
    assert advice.job is not None
    assert not advice.job.tray

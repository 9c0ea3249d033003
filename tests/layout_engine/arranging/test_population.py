"""Populations and moves: who is copied how often, and that moves keep the figures of a state."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from math import exp, floor

import numpy as np
import pytest

from layout_engine.arranging.annealing import BESIDE, PULL, SHARES, TOGETHER, anneal
from layout_engine.arranging.population import Step, copies, go_on, way_down
from layout_engine.arranging.pricing import burden, fault, price, refresh
from layout_engine.arranging.problem import problem_of
from layout_engine.arranging.puzzle import Net
from layout_engine.arranging.schedules import LARGE, LAST, shares_of
from layout_engine.arranging.search import Search
from layout_engine.arranging.vectors import AT, X, Y
from tests.benchmarks.arranging import family_job
from tests.benchmarks.arranging.family import Member, made

HOT, COLD = Step(10.0, 1.0, 5.0), Step(5.0, 2.0, 1.0)


@pytest.mark.parametrize("chance", [0.0, 0.25, 0.5, 0.999])
def test_each_is_copied_as_often_as_is_due_rounded_down_or_up(chance: float) -> None:
    figures = [(100.0, 0.0), (90.0, 1.0), (140.0, 0.0), (95.0, 3.0), (100.0, 0.5)]
    told = copies(figures, HOT, COLD, chance)
    # (p + w b) / T hot less the same cold, for the figures above, by hand
    weights = [exp(10 - 20), exp(9.1 - 18.4), exp(14 - 28), exp(9.8 - 20.2), exp(10.05 - 20.2)]
    due = [len(figures) * weight / sum(weights) for weight in weights]
    assert int(told.sum()) == len(figures)
    assert all(floor(d) <= t <= floor(d) + 1 for d, t in zip(due, told, strict=True))


def test_those_dropped_give_their_place_to_copies() -> None:
    states = [(np.full(2, float(n)), np.full(2, n)) for n in range(4)]
    go_on(states, np.array([0, 3, 1, 0]))
    assert sorted(int(s[0][0]) for s in states) == [1, 1, 1, 2]
    states[0][0][:] = 9.0  # each has vectors of its own
    assert sum(s[0][0] == 9.0 for s in states) == 1


def test_the_way_down_goes_in_equal_shares() -> None:
    heats = [step.heat for step in way_down(HOT, COLD, 5)]
    assert heats[0] == pytest.approx(10.0)
    assert heats[-1] == pytest.approx(5.0)
    assert np.diff(np.log(heats)) == pytest.approx([np.log(0.5) / 4] * 4)


@cache
def search_with_a_net_of_three() -> Search:
    puzzle = problem_of(made(Member(12, 2, "all", 1)).job).puzzle
    three = Net(((0, 0), (1, 1), (2, 0)), weight=3.0, cross=40.0)
    return Search(replace(puzzle, nets=(*puzzle.nets, three)), 3, 1)


@pytest.mark.parametrize("kind", range(TOGETHER + 2))
def test_each_kind_of_move_keeps_the_figures_and_the_bounds_of_the_ground(kind: int) -> None:
    """What is priced move by move is what pricing anew tells, with nets of two and more ends."""
    search = search_with_a_net_of_three()
    f, n, state, puzzle = search.f, search.n, search.anywhere(), search.puzzle
    before = state[0].copy()
    plan = search.plan(LAST, 3_000)
    plan[[1, 2]] = plan[1] * 100  # warm, so that a good share is accepted
    for only in (PULL, kind):  # first nets get short, so that groups hang together
        plan[SHARES:] = np.arange(len(plan) - SHARES) >= only
        before = state[0].copy()
        anneal(f, n, *state, search.random, plan, 0, 3_000, search.everybody)
    told = [figure(f, n, *state) for figure in (price, fault, burden)]
    refresh(f, n, *state)
    anew = [figure(f, n, *state) for figure in (price, fault, burden)]
    assert told == pytest.approx(anew, rel=1e-9, abs=1e-6)
    s, k = state
    movable = slice(0, puzzle.movable)
    assert not np.allclose(before[k[X]:][movable], s[k[X]:][movable])
    spans = np.array([puzzle.poses[pose].span for pose in k[k[AT]:][movable]])
    at = np.transpose([s[k[X]:][movable], s[k[Y]:][movable]])
    assert np.all(at >= spans[:, :2] - 1e-9)
    assert np.all(at <= spans[:, 2:] + 1e-9)


def test_a_population_is_cooled_faster_where_time_is_short_and_else_as_planned() -> None:
    """By a clock that goes by the work done: one time is enough for all, the other for half."""
    puzzle = problem_of(family_job(12, 1)).puzzle
    work = 60_000_000
    for share, is_short in ((2.0, False), (0.5, True)):
        search = Search(puzzle, 1, work)
        search.used = lambda search=search, share=share: search.spent / (share * work)
        for _ in search.steps():
            if search.used() > 1.0:
                break
        assert search.hurried is is_short
        assert search.best.state is not None


def test_who_is_put_beside_another_moves_though_most_of_the_others_are_out_of_its_way() -> None:
    """On two faces, with holes that are there: beside whoever it could touch, it is put."""
    search = Search(problem_of(made(Member(12, 2, "all", 1)).job).puzzle, 3, 1)
    state, tries, moved = search.anywhere(), 200, 0
    s, k = state
    at = slice(k[X], k[X] + search.movable), slice(k[Y], k[Y] + search.movable)
    plan = search.plan(LAST, 1)
    plan[[1, 2]] = 1e12  # whatever is tried is kept
    plan[SHARES:] = np.arange(len(plan) - SHARES) >= BESIDE
    for _ in range(tries):
        before = np.concatenate([s[at[0]], s[at[1]]])
        anneal(search.f, search.n, *state, search.random, plan, 0, 1, search.everybody)
        moved += not np.array_equal(before, np.concatenate([s[at[0]], s[at[1]]]))
    assert moved > tries / 2


def test_what_is_left_to_cool_has_the_time_that_is_left() -> None:
    """Half the time is gone for 6 million units of work: as many are left."""
    search = Search(problem_of(family_job(12, 1)).puzzle, 1, 60_000_000)
    search.begun, search.used, search.spent, search.rate = 0.0, lambda: 0.5, 6_000_000, 10.0
    quenching = 10 * 1_500 * search.movable  # moves that are kept for the end
    assert search.hurry(1e6) == pytest.approx((6e5 - quenching) / 1e6)


@pytest.mark.parametrize("faces", [1, 2])
@pytest.mark.parametrize("bodies", [2, 16, 17, LARGE])
def test_moves_have_shares_that_leave_room_for_shifts(bodies: int, faces: int) -> None:
    shares = shares_of(bodies, faces)
    assert len(shares) == TOGETHER + 1
    assert min(shares) >= 0.0
    assert sum(shares) < 1.0

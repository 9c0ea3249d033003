"""Few bodies on one face: starts, and a few neighbours of the best ends placed anew."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from layout_engine import Job
from layout_engine.arranging.cooling import Cooling
from layout_engine.arranging.ends import KEPT, THERE, End
from layout_engine.arranging.pricing import fault
from layout_engine.arranging.problem import problem_of
from layout_engine.arranging.reworking import FREE_SURE_MM, ROOMY_UP_TO, Reworking
from layout_engine.arranging.search import Search
from layout_engine.arranging.vectors import AT, MET, MET_LIST, X, Y
from tests.benchmarks.arranging.family import Member, made

WORK = 6_000_000


@cache
def job() -> Job:
    return made(Member(12, 1, "boxes", 1)).job


def search(seed: int = 1, work: int = WORK) -> Search:
    return Search(problem_of(job()).puzzle, seed, work)


def run(cooling: Cooling) -> Reworking:
    """A reworking at its end."""
    own = Reworking(cooling)
    for _ in own.steps():
        pass
    return own


def test_ends_are_the_best_starts_in_order_and_no_two_alike() -> None:
    own = run(search())
    values = np.array([end.value for end in own.ends.kept])
    assert 2 <= len(values) <= KEPT
    assert np.all(values[1:] > values[:-1] * (1 + 0.9e-3))
    assert values[0] == min(own.ends.values.values())


def test_no_end_is_dearer_than_its_start_was() -> None:
    cooling = search()
    own, starts = Reworking(cooling), dict[int, float]()
    for _ in own.steps():
        for start, value in own.ends.values.items():
            assert value <= starts.setdefault(start, value)
            starts[start] = value
    assert len([start for start in starts if start != THERE]) >= 5


def test_a_few_are_cooled_and_the_rest_stays() -> None:
    cooling = search()
    state = cooling.anywhere()
    before = [state[part][block: block + 12].copy() for part, block in places(state)]
    few = np.array([2, 5, 7])
    plan = cooling.plan((1.0, 0.15, 0.02, 0.3, 4.0, 0.6, 0.1), 4_000)
    plan[8:] = 0.2  # jumps and shifts only: exchanges and groups move others as well
    for _ in cooling.cool(state, plan, who=few):
        pass
    moved = np.zeros(12, dtype=bool)
    for old, (part, block) in zip(before, places(state), strict=True):
        moved |= old != state[part][block: block + 12]
    assert list(np.flatnonzero(moved)) == [2, 5, 7]


def places(state: tuple[np.ndarray, np.ndarray]) -> list[tuple[int, int]]:
    """Where in a state x, y and the poses of its bodies are."""
    k = state[1]
    return [(0, k[X]), (0, k[Y]), (1, k[AT])]


def test_neighbours_are_three_to_six_and_near() -> None:
    cooling = search()
    own, state = Reworking(cooling), cooling.anywhere()
    x, y = (state[0][state[1][block]: state[1][block] + 12] for block in (X, Y))
    nearer = []
    for _ in range(200):
        few = own._neighbours(state)
        assert len(few) == len(set(few))
        assert 3 <= len(few) <= 6
        far = np.hypot(x - x[few[0]], y - y[few[0]])
        rest = np.setdiff1d(np.arange(12), few)
        nearer.append(far[few[1:]].mean() < far[rest].mean())
    assert np.mean(nearer) > 0.95


def test_what_was_there_is_not_lost() -> None:
    first = search(1, 12_000_000)
    run(first)
    state, cost = first.best.copied()
    again = search(2, 2_000_000)
    again.start = state
    for _ in again.steps():
        pass
    assert again.best.cost <= cost
    assert again.best.ends


def gone_through_with(cooling: Cooling, looks: tuple[tuple[float, float, float], ...]) -> bool:
    """Whether a cooling from anywhere is not given up."""
    steps = cooling.hopefully(cooling.anywhere(), 3_200, 1.0, looks)
    while True:
        try:
            next(steps)
        except StopIteration as end:
            return bool(end.value)


def test_a_cooling_is_gone_through_with_while_there_is_hope() -> None:
    plain, looked_at = search(), search()
    assert gone_through_with(plain, ())
    assert gone_through_with(looked_at, ((0.25, 1.0, np.inf), (0.5, 4.0, np.inf)))
    assert looked_at.spent == pytest.approx(plain.spent, rel=0.05)


def test_a_cooling_without_hope_is_given_up_at_the_first_look() -> None:
    whole, cut = search(), search()
    assert gone_through_with(whole, ())
    assert not gone_through_with(cut, ((0.25, 1.0, 0.0), (0.5, 1.0, np.inf)))
    assert 0 < cut.spent < 0.5 * whole.spent


def jammed() -> tuple[Search, End, set[int]]:
    """An end in which one module was put into another one, and both of them."""
    cooling = search()
    for _ in cooling.steps():
        pass
    (s, k), _ = cooling.best.copied()
    s[k[X]], s[k[Y]] = s[k[X] + 1] + 12.0, s[k[Y] + 1]
    value = cooling.laden((s, k))
    others = k[k[MET_LIST]:][: k[k[MET]]]
    assert 1 in others
    return cooling, End(0, value, (s, k)), {0, *(int(other) for other in others)}


def test_who_stands_in_others_is_placed_anew_first() -> None:
    cooling, end, troubled = jammed()
    firsts = {int(Reworking(cooling)._neighbours(end.state)[0]) for _ in range(60)}
    assert firsts == troubled


def test_an_end_in_which_modules_stand_in_others_is_mended_and_others_are_left() -> None:
    cooling, end, _ = jammed()
    free, _ = cooling.best.copied()
    own = Reworking(cooling)
    own.ends.keep(End(1, cooling.laden(free), free))
    own.ends.keep(end)
    before, value, spent = end.value, own.ends.kept[0].value, cooling.spent
    for _ in own.mended(2, spent):  # no work is left for it
        pass
    assert cooling.spent == spent
    for _ in own.mended(2, 2 * cooling.work):
        pass
    assert cooling.spent > spent
    assert own.ends.kept[0].value <= value
    for kept in own.ends.kept:
        assert kept.value < before
        cooling.laden(kept.state)
        assert fault(cooling.f, cooling.n, *kept.state) < FREE_SURE_MM
    spent = cooling.spent
    for _ in own.mended(1, 2 * cooling.work):  # nothing is left to do
        pass
    assert cooling.spent == spent


@pytest.mark.parametrize(("fill", "makes_way"), [(0.5, True), (0.8, False)])
def test_all_make_way_where_there_is_room(fill: float, makes_way: bool) -> None:
    """A plate of 0.8 by bounding boxes is 0.75 full with half the distances that they need."""
    problem = problem_of(made(Member(12, 1, "boxes", 21, fill)).job)
    own = run(Search(problem.puzzle, 1, WORK))
    assert (own.cooling.fullness < ROOMY_UP_TO) == makes_way
    assert ("anew" in own.__dict__) == makes_way
    assert own.shares.makes_way == makes_way
    assert own.ends.kept

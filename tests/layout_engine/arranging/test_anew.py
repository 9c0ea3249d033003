"""Neighbours of an arrangement that are placed anew, all others making way."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from layout_engine.arranging.anew import MOST, TRIES, WARM, Anew, _choose, make_way_again
from layout_engine.arranging.cooling import Cooling, State
from layout_engine.arranging.pricing import burden, price, refresh
from layout_engine.arranging.problem import problem_of
from layout_engine.arranging.puzzle import Puzzle
from layout_engine.arranging.schedules import LAST
from layout_engine.arranging.search import Search
from layout_engine.arranging.vectors import AT, X, Y, seeded
from tests.benchmarks.arranging.family import Member, made

SEEDS = range(8)


@cache
def puzzle() -> Puzzle:
    return problem_of(made(Member(12, 1, "boxes", 1)).job).puzzle


def search(seed: int = 1) -> Cooling:
    return Search(puzzle(), seed, 10_000_000)


def settled(own: Cooling) -> tuple[State, float]:
    """A hot arrangement in which all have made way for each other, and its value."""
    state = own.anywhere()
    refresh(own.f, own.n, *state)
    for _ in own.cool(state, own.plan((1.0, 0.15, 0.05, 0.3, 4.0, 0.6, 0.1), 6_000)):
        pass
    rows, c, g = own.room
    return state, make_way_again(own.f, own.n, *state, rows, c, g, np.inf)


def value(own: Cooling, state: State) -> float:
    """What a state is worth, from where its bodies are alone."""
    refresh(own.f, own.n, *state)
    return price(own.f, own.n, *state) + LAST[4] * burden(own.f, own.n, *state)


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_told_is_what_the_state_is_worth(seed: int) -> None:
    own = search(seed)
    state, worth = settled(own)
    assert worth == pytest.approx(value(own, state))
    anew, before = Anew(own), (state[0].copy(), state[1].copy())
    told = [(TRIES, np.inf)]
    while len(told) < 9 and told[-1] == (TRIES, np.inf):
        told.append(anew.go_from(state, worth))
    tries, better = told[-1]
    assert 1 <= tries <= TRIES
    assert better < worth * (1 - 0.9e-3)
    assert better == pytest.approx(value(own, anew.tried))
    assert np.array_equal(state[0], before[0])
    assert np.array_equal(state[1], before[1])


def test_nothing_is_told_where_nothing_is_gained() -> None:
    own = search()
    state, _ = settled(own)
    spent = own.spent
    assert Anew(own).go_from(state, 1.0) == (TRIES, np.inf)
    assert own.spent > spent


def test_the_same_random_numbers_lead_to_the_same() -> None:
    found = []
    for _ in range(2):
        own = search(3)
        state, worth = settled(own)
        anew = Anew(own)
        found.append((anew.go_from(state, worth), anew.tried[0].tobytes(), own.spent))
    assert found[0] == found[1]


def test_again_and_again_it_comes_to_much_less() -> None:
    """A walk from each of eight hot ends gains a tenth at least, and the best comes near the rest.

    The least that is known of this plate is 5 421, by far longer searches.
    """
    ends = []
    for seed in SEEDS:
        own = search(seed)
        state, first = settled(own)
        anew, worth = Anew(own), first
        for _ in range(40):
            _, better = anew.go_from(state, worth)
            if better < worth:
                worth = better
                state = anew.tried[0].copy(), anew.tried[1].copy()
        assert worth < 0.9 * first
        ends.append(worth)
    assert 5_421 * 0.999 < min(ends) < 5_421 * 1.02


def test_where_it_is_warm_it_goes_on_from_what_is_little_worse() -> None:
    """At a value so high that all is accepted but no gain, `here` wanders off."""
    own = search()
    state, worth = settled(own)
    anew = Anew(own)
    for _ in range(5):
        anew.go_from(state, worth * (1 - 0.5 * WARM))
    assert not np.array_equal(anew.here[1][anew.here[1][AT]:][:12], state[1][state[1][AT]:][:12])


@pytest.mark.parametrize("size", range(1, MOST + 1))
def test_who_is_chosen_stands_near_the_first(size: int) -> None:
    own = search()
    s, k = own.anywhere()
    x, y = s[k[X]: k[X] + 12], s[k[Y]: k[Y] + 12]
    random, who, firsts, nearer = seeded(5), np.zeros(MOST, dtype=np.int64), set(), []
    for _ in range(300):
        _choose(own.n, s, k, random, who, size)
        few = who[:size].tolist()
        assert len(set(few)) == size
        assert all(0 <= body < 12 for body in few)
        firsts.add(few[0])
        far = np.hypot(x - x[few[0]], y - y[few[0]])
        rest = np.setdiff1d(np.arange(12), few)
        nearer.append(size == 1 or far[few[1:]].mean() < far[rest].mean())
    assert firsts == set(range(12))
    assert np.mean(nearer) > 0.9  # about half of what is chosen by chance would be

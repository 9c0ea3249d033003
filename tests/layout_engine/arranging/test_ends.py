"""What the searches of few bodies have in common: their ends, and what they do with their time."""

from __future__ import annotations

from functools import cache

import pytest

from layout_engine.arranging.pricing import fault, price, refresh
from layout_engine.arranging.problem import problem_of
from layout_engine.arranging.puzzle import Puzzle
from layout_engine.arranging.reworking import Reworking
from layout_engine.arranging.search import Search
from layout_engine.arranging.sliding import FREE_MM
from layout_engine.arranging.tempering import Tempering
from tests.benchmarks.arranging.family import Member, made

WORK = 32_000_000
Kind = type[Reworking] | type[Tempering]
BOTH = pytest.mark.parametrize("kind", [Reworking, Tempering])


@cache
def puzzle(kind: Kind) -> Puzzle:
    member = Member(12, 1, "boxes", 1) if kind is Reworking else Member(12, 2, "all", 1)
    return problem_of(made(member).job).puzzle


def run(kind: Kind, seed: int = 1, pace: float | None = None) -> tuple[Search, list[float]]:
    """A search at its end, and the values of the ends it kept.

    `pace`: share of the time that the whole work takes by the clock; None: there is none.
    """
    cooling = Search(puzzle(kind), seed, WORK)
    if pace is not None:
        cooling.used = lambda: min(pace * cooling.spent / WORK, 1.0)
    own = kind(cooling)
    for _ in own.steps():
        pass
    return cooling, [end.value for end in own.ends.kept]


@BOTH
def test_what_it_offers_is_free_and_costs_what_it_says(kind: Kind) -> None:
    cooling, _ = run(kind)
    state, cost = cooling.best.copied()
    refresh(cooling.f, cooling.n, *state)
    assert fault(cooling.f, cooling.n, *state) <= FREE_MM
    assert price(cooling.f, cooling.n, *state) == pytest.approx(cost, rel=1e-9)


@BOTH
def test_a_search_that_is_short_of_time_says_so_and_offers_what_it_has(kind: Kind) -> None:
    cooling, _ = run(kind, pace=2.0)
    assert cooling.hurried
    assert cooling.best.state is not None
    assert cooling.spent < 0.75 * WORK


@BOTH
def test_a_search_with_time_enough_does_not_hurry(kind: Kind) -> None:
    cooling, _ = run(kind, pace=0.5)
    assert not cooling.hurried


@BOTH
def test_the_same_seed_finds_the_same(kind: Kind) -> None:
    (one, values), (two, again) = run(kind, 3), run(kind, 3)
    assert values == again
    assert one.best.cost == two.best.cost


@BOTH
def test_another_seed_goes_another_way(kind: Kind) -> None:
    assert run(kind, 1)[1] != run(kind, 2)[1]

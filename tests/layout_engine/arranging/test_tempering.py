"""Few bodies on two faces: copies at many temperatures, which change places."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from math import exp

import numpy as np
import pytest

from layout_engine.arranging.annealing import HEAT, HEAVY, MOVES
from layout_engine.arranging.chains import ONE_CHAIN_UP_TO, Chains
from layout_engine.arranging.characters import flavoured
from layout_engine.arranging.ends import THERE, Ends
from layout_engine.arranging.exchanging import exchange_gain
from layout_engine.arranging.pricing import burden, price, refresh
from layout_engine.arranging.problem import problem_of
from layout_engine.arranging.puzzle import Puzzle
from layout_engine.arranging.reworking import Reworking
from layout_engine.arranging.schedules import MUCH_STAYS
from layout_engine.arranging.search import LEAST_A_BODY, Search
from layout_engine.arranging.tempering import (
    REPLICAS,
    REWORKED_SHARE,
    Replicas,
    Tempering,
)
from layout_engine.arranging.vectors import Floats, X, Y
from tests.benchmarks.arranging.family import Member, Shape, made

WORK = 16_000_000


@cache
def puzzle(faces: int = 2) -> Puzzle:
    return problem_of(made(Member(12, faces, "all", 1)).job).puzzle


def search(seed: int = 1, work: int = WORK) -> Search:
    return Search(puzzle(), seed, work)


def run(cooling: Search) -> Tempering:
    """A tempering at its end."""
    own = Tempering(cooling)
    for _ in own.steps():
        pass
    return own


def copies(cooling: Search) -> tuple[Tempering, Floats, Replicas]:
    """A tempering, plans without a move, and its copies, anywhere."""
    own = Tempering(cooling)
    plans = own.plans()
    plans[:, MOVES] = 0
    return own, plans, Replicas.anywhere(cooling, REPLICAS)


def test_copies_change_places_with_the_chance_of_detailed_balance() -> None:
    """The weight of a pair of states after, over that before, by the definition of both."""
    hot, cold = np.zeros(8), np.zeros(8)
    hot[[HEAT, HEAVY]], cold[[HEAT, HEAVY]] = (10.0, 1.0), (5.0, 2.0)
    before = exp(-(100 + 1 * 3) / 10) * exp(-(90 + 2 * 1) / 5)
    after = exp(-(90 + 1 * 1) / 10) * exp(-(100 + 2 * 3) / 5)
    told = exchange_gain(hot, cold, 100.0, 3.0, 90.0, 1.0)
    assert exp(told) == pytest.approx(after / before)
    assert exchange_gain(hot, cold, 90.0, 1.0, 100.0, 3.0) == pytest.approx(-told)


@pytest.mark.parametrize("turn", [0, 1])
def test_exchanges_keep_every_copy_and_every_second_pair_of_neighbours_changes_places(
        turn: int) -> None:
    moved = 0
    for seed in range(1, 6):
        own, plans, group = copies(search(seed))
        states = group.floats.copy()
        before = group.at.copy()
        own.run(group, plans, turn, turn + 1)
        assert sorted(group.at) == list(range(REPLICAS))
        for here, copy in enumerate(before):
            partner = here + 1 if (here - turn) % 2 == 0 else here - 1
            there = int(np.flatnonzero(group.at == copy)[0])
            assert there in (here, partner)
            moved += there != here
        for at in (X, Y):  # no move: nobody has gone anywhere
            block = slice(int(group.integers[0, at]), int(group.integers[0, at]) + 12)
            assert np.array_equal(group.floats[:, block], states[:, block])
    assert moved > 0  # of states from anywhere, the hotter is as often the cheaper


def test_who_gets_to_the_hottest_place_begins_a_new_descent_and_nobody_else() -> None:
    cooling = search()
    own, plans, group = copies(cooling)
    costs = []
    for s, k in zip(group.floats, group.integers, strict=True):
        refresh(cooling.f, cooling.n, s, k)
        costs.append(price(cooling.f, cooling.n, s, k) + burden(cooling.f, cooling.n, s, k))
    group.at[:] = np.argsort(costs)  # the cheapest is the hottest: it is to go down
    first, second, starts = int(group.at[0]), int(group.at[1]), group.starts.copy()
    own.run(group, plans, 0, 1)
    assert list(group.at[:2]) == [second, first]
    assert group.starts[second] == REPLICAS  # the next number
    assert group.begun[0] == REPLICAS + 1
    others = np.arange(REPLICAS) != second
    assert np.array_equal(group.starts[others], starts[others])


def test_every_copy_is_moved_at_its_temperature() -> None:
    """What is hotter is accepted more often: with a temperature of nothing no price ever rises."""
    cooling = search()
    own, plans, group = copies(cooling)
    plans[:, MOVES] = 200
    plans[:, HEAVY: HEAVY + 2] = 1.0
    half = REPLICAS // 2
    plans[:half, HEAT: HEAT + 2], plans[half:, HEAT: HEAT + 2] = 1e9, 1e-9
    cold = group.at[half:].copy()

    def worth(copy: int) -> float:
        s, k = group.floats[copy].copy(), group.integers[copy].copy()
        refresh(cooling.f, cooling.n, s, k)
        return price(cooling.f, cooling.n, s, k) + burden(cooling.f, cooling.n, s, k)

    before = [worth(copy) for copy in range(REPLICAS)]
    spent = cooling.spent
    own.run(group, plans, 1, 2)
    assert cooling.spent > spent + 200 * REPLICAS
    after = [worth(copy) for copy in range(REPLICAS)]
    assert all(after[copy] < before[copy] for copy in cold)
    assert min(after[copy] for copy in range(REPLICAS) if copy not in cold) > max(
        after[copy] for copy in cold)


def test_starts_that_are_told_of_are_descents_that_came_to_an_end() -> None:
    cooling = search()
    own = run(cooling)
    told = [start for start in own.ends.values if start != THERE]
    assert len(told) >= 1
    assert min(told) >= 0
    assert cooling.best.ends == [own.ends.values[start] for start in told]
    assert len(own.ends.kept) >= 2


def test_it_is_for_few_bodies_on_two_faces_or_where_much_stays() -> None:
    assert Tempering.suits(search())
    on_one = Search(puzzle(1), 1, WORK)
    assert on_one.count - on_one.movable == 19
    assert Tempering.suits(on_one)
    assert not Reworking.suits(on_one)
    for stay, tempered in ((MUCH_STAYS, True), (MUCH_STAYS - 1, False)):
        bodies = puzzle(1).bodies[: on_one.movable + stay]
        some_stay = Search(replace(puzzle(1), bodies=bodies), 1, WORK)
        assert Tempering.suits(some_stay) is tempered
        assert Reworking.suits(some_stay) is not tempered
    more = problem_of(made(Member(25, 2, "all", 1)).job).puzzle
    assert not Tempering.suits(Search(more, 1, WORK))


@pytest.mark.parametrize(("modules", "faces", "tempered", "chains"), [
    (13, 2, [True, True], 1), (14, 2, [True, False], 2), (17, 2, [True, False], 2),
    (17, 1, [True, True], 1), (18, 2, [False, False], 2),
])
def test_of_more_than_twelve_on_two_faces_the_second_chain_is_a_population(
        modules: int, faces: int, tempered: list[bool], chains: int) -> None:
    """Then there are two however little work there is: one mostly does where the other fails."""
    of = problem_of(made(Member(modules, faces, "all", 1)).job).puzzle
    assert of.movable == modules - 1  # one is locked
    both = Chains(of, 1, ONE_CHAIN_UP_TO // 2).chains
    assert [Tempering.suits(chain) for chain in both] == tempered
    assert not any(Reworking.suits(chain) for chain in both)
    assert sum(chain.work > 0 for chain in both) == chains
    assert sum(chain.work for chain in both) == ONE_CHAIN_UP_TO // 2


@pytest.mark.parametrize(("modules", "faces", "kind"), [
    (12, 2, Tempering), (12, 1, Tempering), (8, 1, Reworking)])
def test_for_a_character_the_second_chain_looks_for_many_kinds_of_ends(
        modules: int, faces: int, kind: type[Tempering | Reworking]) -> None:
    shape: Shape = "boxes" if kind is Reworking else "all"
    problem = problem_of(made(Member(modules, faces, shape, 1)).job)
    both = Chains(flavoured(problem, "coolest"), 1, ONE_CHAIN_UP_TO // 2).chains
    assert [chain.is_varied for chain in both] == [False, True]
    assert [kind.suits(chain) for chain in both] == [True, False]
    assert all(chain.work > 0 for chain in both)
    shortest = Chains(problem.puzzle, 1, ONE_CHAIN_UP_TO // 2).chains
    assert not any(chain.is_varied for chain in shortest)


def test_a_search_comes_to_it_where_there_is_work_enough(monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[int] = []
    monkeypatch.setattr(Ends, "tell", lambda self: seen.append(self.cooling.work))
    # two and a half times what it takes at the rate that a search begins with: some of it is gone
    enough = int(2.5 * LEAST_A_BODY * 12 * search().rate)
    for work in (enough // 5, enough):
        for _ in search(work=work).steps():
            pass
    assert seen == [enough]


def test_what_was_there_is_not_lost() -> None:
    first = search()
    run(first)
    state, cost = first.best.copied()
    again = search(2, 4_000_000)
    again.offer(state)
    run(again)
    assert again.best.cost <= cost
    assert np.isfinite(again.best.cost)


def test_what_is_found_on_the_way_is_slid_and_offered_at_once(
        monkeypatch: pytest.MonkeyPatch) -> None:
    """Also where nothing is slid at last, as where the clock cuts it."""
    monkeypatch.setattr(Ends, "slid", lambda *_: iter(()))
    monkeypatch.setattr(Reworking, "go_on", lambda *_: iter(()))
    cooling = search()
    own = run(cooling)
    assert cooling.best.state is not None
    assert cooling.best.cost <= own.told * 1.05  # what it was told for still overlaps a little


def test_neighbours_of_what_it_came_to_are_placed_anew_at_last(
        monkeypatch: pytest.MonkeyPatch) -> None:
    """The best end is no dearer after that."""
    go_on, values = Reworking.go_on, list[float]()

    def watched(self: Reworking, until: float) -> Iterator[float]:
        values.append(min(end.value for end in self.ends.kept))
        yield from go_on(self, until)

    monkeypatch.setattr(Reworking, "go_on", watched)
    cooling = search()
    own = run(cooling)
    assert any(end.tries > 0 for end in own.ends.kept)
    assert own.ends.kept[0].value <= values[0]
    assert cooling.spent >= REWORKED_SHARE * WORK


def test_what_can_not_be_freed_is_not_kept_and_tried_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """All looks come to ends of the same value, and none can be freed."""
    cooling = search()
    tries: list[int] = []
    monkeypatch.setattr(cooling, "laden", lambda _: 1000.0)
    monkeypatch.setattr(cooling, "settled", lambda _: iter(tries.append(1) or ()))
    monkeypatch.setattr(cooling, "ended", lambda _: np.inf)
    own = run(cooling)
    assert own.ends.kept == []
    assert own.jammed == [1000.0]
    assert len(tries) == 1

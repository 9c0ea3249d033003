"""Few bodies on two faces: copies at many temperatures, which change places."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from math import exp

import numpy as np
import pytest

from layout_engine.arranging.ends import THERE, Ends
from layout_engine.arranging.population import Step, way_down
from layout_engine.arranging.pricing import price
from layout_engine.arranging.problem import problem_of
from layout_engine.arranging.puzzle import Puzzle
from layout_engine.arranging.reworking import Reworking
from layout_engine.arranging.search import LEAST_A_BODY, POPULATION_SHARE, Search
from layout_engine.arranging.tempering import (
    COLD,
    HOT,
    REPLICAS,
    REWORKED_SHARE,
    Tempering,
    exchange_gain,
)
from tests.benchmarks.arranging.family import Member, made

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


def test_copies_change_places_with_the_chance_of_detailed_balance() -> None:
    """The weight of a pair of states after, over that before, by the definition of both."""
    hot, cold = Step(10.0, 1.0, 5.0), Step(5.0, 2.0, 1.0)
    at_hot, at_cold = (100.0, 3.0), (90.0, 1.0)
    before = exp(-(100 + 1 * 3) / 10) * exp(-(90 + 2 * 1) / 5)
    after = exp(-(90 + 1 * 1) / 10) * exp(-(100 + 2 * 3) / 5)
    told = exchange_gain(hot, cold, at_hot, at_cold)
    assert exp(told) == pytest.approx(after / before)
    assert exchange_gain(hot, cold, at_cold, at_hot) == pytest.approx(-told)


def test_exchanges_keep_every_copy_and_only_neighbours_change_places() -> None:
    cooling = search()
    own = Tempering(cooling)
    path = way_down(cooling.step(HOT), cooling.step(COLD), REPLICAS)
    replicas = [own.replica() for _ in path]
    before, moved = list(replicas), 0
    for first in (0, 1):
        own.exchange(replicas, path, first)
        assert {id(one) for one in replicas} == {id(one) for one in before}
        for at, one in enumerate(before):
            here = next(n for n, other in enumerate(replicas) if other is one)
            partner = at + 1 if (at - first) % 2 == 0 else at - 1
            assert here in (at, partner)
            moved += here != at
        before = list(replicas)
    assert moved > 0  # of states from anywhere, the hotter is as often the cheaper


def test_who_gets_to_the_hottest_place_begins_a_new_descent_and_nobody_else() -> None:
    cooling = search()
    own = Tempering(cooling)
    path = way_down(cooling.step(HOT), cooling.step(COLD), REPLICAS)
    replicas = sorted((own.replica() for _ in path), key=lambda one: -price(
        cooling.f, cooling.n, *one.state))[::-1]  # the cheapest is the hottest: it is to go down
    first, starts = replicas[0], {id(one): one.start for one in replicas}
    own.exchange(replicas, path, 0)
    assert replicas[1] is first
    assert replicas[0].start == REPLICAS  # the next number
    assert all(one.start == starts[id(one)] for one in replicas[1:])


def test_starts_that_are_told_of_are_descents_that_came_to_an_end() -> None:
    cooling = search()
    own = run(cooling)
    told = [start for start in own.ends.values if start != THERE]
    assert 1 <= len(told) <= own.starts
    assert cooling.best.ends == [own.ends.values[start] for start in told]
    assert len(own.ends.kept) >= 2


def test_it_is_for_few_bodies_on_two_faces_alone() -> None:
    assert Tempering.suits(search())
    assert not Tempering.suits(Search(puzzle(1), 1, WORK))
    more = problem_of(made(Member(25, 2, "all", 1)).job).puzzle
    assert not Tempering.suits(Search(more, 1, WORK))


def test_a_search_comes_to_it_where_there_is_work_enough(monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[int] = []
    monkeypatch.setattr(Ends, "tell", lambda self: seen.append(self.cooling.work))
    # two and a half times what it takes at the rate that a search begins with: some of it is gone
    enough = int(2.5 * LEAST_A_BODY * 12 * search().rate / POPULATION_SHARE)
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

"""How the time of an arranging is shared out, told by a clock that the test turns."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from layout_engine import load_document
from layout_engine.arranging import timing
from layout_engine.arranging.problem import problem_of
from layout_engine.arranging.running import Run
from layout_engine.arranging.timing import LEAST_S, LEAST_SHARE, LOOKS, MOST_LEFT, SearchTime
from tests.layout_engine.arranging.test_arrange import small

START = 5.0


class Clock:
    """A clock on which a look for warnings takes so many seconds."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, look: float) -> None:
        self.now = START
        monkeypatch.setattr(timing, "Look", lambda _: SimpleNamespace(warnings=self.turn(look)))

    def __call__(self) -> float:
        return self.now

    def turn(self, by: float) -> None:
        self.now += by


def search_time(clock: Clock, seconds: float, *, offers: bool = True, ends: bool = False,
                share: float = 1.0) -> SearchTime:
    job = load_document(small(2))
    run = Run(problem_of(job), job, frozenset(), best=job if offers else None)
    return SearchTime(clock, START, seconds, ends, run, share)


@pytest.mark.parametrize(("look", "searched"), [(0.005, 9.1), (0.01, 8.2), (0.5, 7.5)])
def test_what_a_finish_takes_is_left(monkeypatch: pytest.MonkeyPatch, look: float,
                                     searched: float) -> None:
    """Of 10 s: 180 looks of 5 and of 10 ms are 0.9 and 1.8 s; a quarter is left at most."""
    assert (LOOKS, MOST_LEFT) == (180, 0.25)
    clock = Clock(monkeypatch, look)
    time = search_time(clock, 10.0)
    time.used()
    clock.now = START + searched / 2
    assert time.used() == pytest.approx(0.5)


def test_until_there_is_an_offer_the_most_is_left(monkeypatch: pytest.MonkeyPatch) -> None:
    clock = Clock(monkeypatch, 0.001)
    time = search_time(clock, 10.0, offers=False)
    clock.turn(3.75)
    assert time.used() == pytest.approx(0.5)


def test_where_several_ends_are_finished_the_most_is_left(monkeypatch: pytest.MonkeyPatch) -> None:
    clock = Clock(monkeypatch, 0.001)
    time = search_time(clock, 10.0, ends=True)
    clock.turn(3.75)
    assert time.used() == pytest.approx(0.5)
    assert clock.now == START + 3.75  # nothing was looked for


@pytest.mark.parametrize(("seconds", "searched"), [(1.0, LEAST_SHARE), (2.0, LEAST_S)])
def test_of_little_time_the_search_has_most(monkeypatch: pytest.MonkeyPatch, seconds: float,
                                            searched: float) -> None:
    clock = Clock(monkeypatch, 0.01)
    time = search_time(clock, seconds)
    time.used()
    clock.now = START + searched
    assert time.used() == pytest.approx(1.0)


def test_a_share_of_the_search_is_less_of_it(monkeypatch: pytest.MonkeyPatch) -> None:
    clock = Clock(monkeypatch, 0.01)
    time = search_time(clock, 10.0, share=0.5)
    time.used()
    clock.now = START + 4.1
    assert time.used() == pytest.approx(1.0)

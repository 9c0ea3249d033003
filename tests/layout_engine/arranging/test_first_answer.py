"""A first answer is there, and a stop is heard, also before the search and while it is finished."""

from __future__ import annotations

from collections.abc import Callable
from itertools import cycle
from math import inf

import pytest

from layout_engine import Job, arrange, load_document
from layout_engine.arranging import Arrangement, Progress, arranger, finishing
from layout_engine.arranging.cost import evaluate, missed_musts
from layout_engine.arranging.finishing import USUAL, Finisher
from layout_engine.arranging.lining import Liner
from layout_engine.arranging.packing import packed
from layout_engine.arranging.probing import Stopped
from layout_engine.arranging.problem import problem_of
from layout_engine.arranging.running import Run
from layout_engine.arranging.search import Search
from layout_engine.arranging.verdict import stops, unavoidable
from tests.benchmarks.arranging.family import Member, made
from tests.layout_engine.arranging.test_seating import drilled

Ask = Callable[[], bool]


def still() -> float:
    return 0.0


def is_whole(job: Job) -> bool:
    return not job.tray and not stops(job) and not missed_musts(job)


def test_who_stops_at_the_first_answer_gets_it_before_the_search_began() -> None:
    """The job has holes drilled before, so that short searches come first."""
    told: list[Progress] = []

    def until_there_is_one(progress: Progress) -> bool:
        told.append(progress)
        return progress.job is None

    offer = arrange(load_document(drilled(150, 200)), seconds=60, seed=1, clock=still,
                    on_progress=until_there_is_one)
    assert told[-1].fraction == 0.0
    assert offer.job == told[-1].job
    assert is_whole(offer.job)
    assert offer.capped


def test_who_stops_before_the_first_answer_gets_what_was_put_in() -> None:
    job, looks = made(Member(25, 1, "boxes", 1)).job, []

    def placed(most: int) -> int:
        looks.clear()

        def look(_: Progress) -> bool:
            looks.append(None)
            return len(looks) < most

        offer = arrange(job, seconds=10, seed=1, clock=still, on_progress=look)
        assert offer.capped
        assert not stops(offer.job)
        return len(offer.job.placed)

    found = [placed(most) for most in range(30, 60, 4)]
    assert found == sorted(found)
    assert any(5 <= count < len(job.parts) for count in found)


def test_a_stop_is_heard_while_the_end_is_finished(monkeypatch: pytest.MonkeyPatch) -> None:
    told: list[float] = []
    finishing: list[bool] = []

    def look(progress: Progress) -> bool:
        told.append(progress.fraction)
        return not finishing

    def finish(run: Run, _character: str, _is_late: Ask, is_stopped: Ask) -> Job | None:
        assert not is_stopped()
        finishing.append(True)
        assert is_stopped()
        asked = len(told)
        assert is_stopped()
        assert len(told) == asked, "who stopped it is not asked again"
        return run.best

    monkeypatch.setattr(arranger, "chosen", finish)
    offer = arrange(made(Member(6, 1, "boxes", 1)).job, seconds=1, seed=1, clock=still,
                    on_progress=look)
    assert finishing
    assert is_whole(offer.job)
    assert offer.capped


def test_a_stop_is_heard_while_the_bound_is_worked_out() -> None:
    job = made(Member(12, 1, "boxes", 1)).job

    def offer(most: float) -> tuple[Arrangement, int]:
        """Stopped when the end was told so often, and how often it was told."""
        told: list[Progress] = []

        def look(progress: Progress) -> bool:
            told.extend([progress] * (progress.fraction == 1.0))
            return len(told) < most

        return arrange(job, seconds=1, seed=1, clock=still, on_progress=look), len(told)

    whole, told = offer(inf)
    assert told > 20, "a tenth of a second of work is not done at one go"
    stopped, heard = offer(3)
    assert heard == 3, "who stopped it is not asked again"
    assert stopped.capped
    assert not whole.capped
    assert stopped.job == whole.job
    assert 0 < stopped.bound < whole.bound


def test_what_is_stopped_is_not_finished_any_more() -> None:
    member = made(Member(6, 1, "boxes", 1))
    problem = problem_of(member.job)
    search = Search(problem.puzzle, 1, 200_000)
    for _ in search.steps():
        pass
    run = Run(problem, member.job, frozenset())
    assert search.best.state is not None
    finisher = Finisher(problem.puzzle, run.job_of, run.given, lambda: True)
    state, job = finisher.finished(search.best.state, USUAL)
    assert state is search.best.state
    assert job == run.job_of(state)


@pytest.mark.parametrize(("late", "tries"), [(False, finishing.TRIES), (True, 1)])
def test_who_is_late_tries_but_once_to_tidy_up(
        monkeypatch: pytest.MonkeyPatch, late: bool, tries: int) -> None:
    """Each try is warned of another module, so that there would be a reason for the next."""
    job = made(Member(12, 1, "boxes", 1)).job
    problem = problem_of(job)
    search = Search(problem.puzzle, 1, 2_000_000)
    for _ in search.steps():
        pass
    warned = ({("rule", (name,))} for name in cycle(problem.movable))
    tried: list[object] = []
    monkeypatch.setattr(Liner, "line_up", lambda *given: tried.append(given))
    monkeypatch.setattr(finishing, "warnings", lambda _: next(warned))
    run = Run(problem, job, frozenset())
    finisher = Finisher(problem.puzzle, run.job_of, run.given, is_late=lambda: late)
    assert search.best.state is not None
    finisher.finished(search.best.state, USUAL)
    assert len(tried) == tries


def test_a_module_put_in_stands_no_dearer_than_where_it_was_known_to_fit() -> None:
    job = made(Member(12, 1, "boxes", 2)).known
    for part in job.parts[:4]:
        if part.away is None and not part.locked:
            problem = problem_of(job, frozenset({part.id}))
            search = Search(problem.puzzle, 1, 100_000)
            for _ in search.steps():
                pass
            assert search.best.state is not None
            run = Run(problem, job, unavoidable(job, frozenset()))
            assert evaluate(run.job_of(search.best.state)).cost <= evaluate(job).cost + 0.01


def test_both_chains_read_the_same_vectors() -> None:
    puzzle = problem_of(made(Member(12, 1, "boxes", 1)).job).puzzle
    f, n = packed(puzzle)
    one, two = Search(puzzle, 3, 10_000), Search(puzzle, 3, 10_000, vectors=(f, n))
    for search in (one, two):
        for _ in search.steps():
            pass
    assert one.best.cost == two.best.cost


def test_making_the_vectors_is_left_where_somebody_stops_it_and_begun_anew() -> None:
    puzzle = problem_of(made(Member(12, 2, "all", 1)).job).puzzle

    def stop_at(number: int) -> None:
        looks.append(number)
        if len(looks) == number:
            raise Stopped

    for number in (1, 2, 3):
        looks: list[int] = []
        with pytest.raises(Stopped):
            packed(puzzle, lambda number=number: stop_at(number))
        assert len(looks) == number
    looks = []
    f, n = packed(puzzle, lambda: stop_at(0))
    assert len(looks) > 3
    again = packed(puzzle, lambda: stop_at(1))  # they are there: nobody is asked
    assert again[0] is f
    assert again[1] is n


@pytest.mark.parametrize("number", range(1, 9))
def test_who_stops_it_before_the_search_is_not_asked_again(number: int) -> None:
    """On two faces, from an empty tray, while problem and vectors are made."""
    job, told = made(Member(12, 2, "all", 1)).job, []

    def look(progress: Progress) -> bool:
        told.append(progress.job)
        return len(told) < number

    offer = arrange(job, seconds=10, seed=1, on_progress=look, clock=still)
    assert told == [None] * number
    assert offer.capped
    assert offer.job == job

"""Choosing among ends: of near-equal ones that with fewer warnings and less crowded gaps."""

from __future__ import annotations

import pytest

from layout_engine import Job, load_document
from layout_engine.arranging import choosing, clearing
from layout_engine.arranging.choosing import FINISHES_TRIED, chosen
from layout_engine.arranging.cost import evaluate
from layout_engine.arranging.finishing import Finish, Finisher
from layout_engine.arranging.opening import Opened
from layout_engine.arranging.problem import problem_of
from layout_engine.arranging.running import Run
from layout_engine.arranging.search import Search
from layout_engine.arranging.sliding import State
from layout_engine.arranging.vectors import ON, X, Y
from layout_engine.arranging.verdict import Look
from layout_engine.wiring.congestion import congestion
from layout_engine.wiring.lost import Lost
from tests.layout_engine.arranging.test_arrange import arranged, run, small


def standing(search: Search, gap: float, y: float) -> State:
    """The state of two modules side by side."""
    s, k = search.first_state()
    k[k[ON]: k[ON] + 2] = 1
    s[k[X]: k[X] + 2], s[k[Y]: k[Y] + 2] = (30.0, 60.0 + gap), y
    return s, k


def two_ends(dearer: float) -> Run:
    """An arranging with two ends: boxes 2.01 mm apart low down, and a little farther high up."""
    job = load_document(small(2))
    problem = problem_of(job)
    made = Run(problem, job, frozenset())
    search = Search(problem.puzzle, 1, 1)
    low, high = standing(search, 2.01, 30.0), standing(search, 2.01 * (1 + dearer), 90.0)
    assert made.judge(low)
    made.ends = [(evaluate(made.job_of(state)).cost, state) for state in (low, high)]
    return made


def never() -> bool:
    return False


def is_high(job: Job | None) -> bool:
    assert job is not None
    return all(part.placement is not None and part.placement.y > 60 for part in job.placed)


@pytest.mark.parametrize(("dearer", "taken"), [(0.002, True), (0.05, False)])
def test_of_near_equal_ends_the_less_crowded_is_offered(
    monkeypatch: pytest.MonkeyPatch, dearer: float, taken: bool,
) -> None:
    monkeypatch.setattr(clearing, "crowdedness", lambda job, _: 0.0 if is_high(job) else 1.0)
    assert is_high(chosen(two_ends(dearer), "shortest", never)) == taken


@pytest.mark.parametrize(("dearer", "taken"), [(0.002, True), (0.05, False)])
def test_of_near_equal_ends_that_with_fewer_warnings_is_offered(
    monkeypatch: pytest.MonkeyPatch, dearer: float, taken: bool,
) -> None:
    told = frozenset((f"rule {n}", ("p0",)) for n in range(9))
    monkeypatch.setattr(Look, "warnings", property(
        lambda look: frozenset() if is_high(look.facts.job) else told))
    assert is_high(chosen(two_ends(dearer), "shortest", never)) == taken


def test_the_best_is_not_cleared_again_as_one_of_the_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    """The search's best is among its ends too."""
    looked_at, counted = [], clearing.burden
    monkeypatch.setattr(choosing, "burden",
                        lambda job: (looked_at.append(job.parts), counted(job))[1])
    run = two_ends(0.002)
    chosen(run, "shortest", never)
    assert run.best is not None
    assert looked_at.count(run.best.parts) == 1
    assert len(looked_at) >= 2


@pytest.mark.parametrize(("dearer", "taken"), [(0.008, True), (0.011, False)])
def test_of_near_equal_ends_that_with_fewer_wires_at_an_aerial_is_offered(
    monkeypatch: pytest.MonkeyPatch, dearer: float, taken: bool,
) -> None:
    """12 of them are worth 1.2 per cent; but no end is looked at that costs 1 per cent more."""
    monkeypatch.setattr(clearing, "wires_at_aerials", lambda job, _: 0 if is_high(job) else 12)
    assert is_high(chosen(two_ends(dearer), "shortest", never)) == taken


def with_finishes(monkeypatch: pytest.MonkeyPatch, lost: list[int], *, minded: bool = True
                  ) -> list[frozenset[str]]:
    """Who is held in each finish; after each in turn so many wires have no way. Finished jobs have
    that for a name.
    """
    held: list[frozenset[str]] = []

    def finished(self: Finisher, state: State, _how: Finish, _most: float,
                 still: frozenset[str]) -> tuple[State, Job]:
        held.append(still)
        return state, self.job_of(state).model_copy(update={"name": "finished"})

    def ways(run: Run, state: State, *_: object) -> Opened:
        return Opened(state, run.problem.puzzle, (), 0.0, {}, minded)

    monkeypatch.setattr(Finisher, "finished", finished)
    monkeypatch.setattr(choosing, "opened", ways)
    monkeypatch.setattr(choosing, "lost_wires",
                        lambda *_: [Lost("c0", lambda: None)] * lost[len(held) - 1])
    return held


def offered(*, late: bool = False) -> str:
    offer = chosen(two_ends(0.5), "shortest", lambda: late)
    assert offer is not None
    return offer.name


def test_who_stands_where_a_finish_closed_a_way_is_held_in_the_next(
        monkeypatch: pytest.MonkeyPatch) -> None:
    held = with_finishes(monkeypatch, [1, 0])
    assert offered() == "finished"
    assert held == [frozenset(), frozenset({"p0", "p1"})]


def test_what_no_finish_leaves_open_is_not_finished(monkeypatch: pytest.MonkeyPatch) -> None:
    held = with_finishes(monkeypatch, [1] * FINISHES_TRIED)
    assert offered() == "Small"
    assert len(held) == FINISHES_TRIED


def test_no_other_finish_is_tried_where_it_is_late(monkeypatch: pytest.MonkeyPatch) -> None:
    held = with_finishes(monkeypatch, [1, 0])
    assert offered(late=True) == "Small"
    assert len(held) == 1


def test_nobody_looks_again_where_ways_are_not_minded(monkeypatch: pytest.MonkeyPatch) -> None:
    held = with_finishes(monkeypatch, [1, 1], minded=False)
    assert offered() == "finished"
    assert held == [frozenset()]


def test_how_crowded_it_is_stands_in_words_and_figure_beside_the_cost() -> None:
    offer = arranged("rolling_lighthouse")
    told, found = offer.details.crowding, congestion(offer.job)
    assert told is not None
    assert told.working.result == found.worst
    assert f"{100 * found.worst:.0f} % full" in told.words
    assert f"{100 * found.mean:.0f} %" in told.words
    assert offer.cost == offer.wire_cost + offer.wish_cost


def test_nothing_is_said_of_crowding_while_nothing_is_wired() -> None:
    document = small(2)
    document["connections"] = []
    assert run(document).details.crowding is None


def placed(*places: tuple[float, float]) -> Job:
    """Two modules of 30 x 20 at these places, the wire from the first's right to the other's left.

    Each gives off 5 W, so that the farther apart, up to 100 mm, the better in heat; what each
    module is above of is nothing cooler, so the score is the distance over 100 mm.
    """
    document = small(2, 300)
    document["types"]["module"]["heat"] = {"watts": {"typical": 5}}
    for module, (x, y) in zip(document["parts"], places, strict=True):
        module["placement"] = {"face": "front", "x": x, "y": y, "turn": 0}
    return load_document(document)


@pytest.mark.parametrize(("there", "picked"), [(None, 1), (79.5, 0), (80.5, None)])
def test_of_offers_nearly_the_best_in_a_respect_the_cheapest_is_picked(
        monkeypatch: pytest.MonkeyPatch, there: float | None, picked: int | None) -> None:
    """80, 79.3 and 78 mm apart: only the second is within a hundredth; none that is worse than what
    was there is picked.
    """
    jobs = [placed((10, 10), (40 + apart, 10)) for apart in (80.0, 79.3, 78.0)]
    job = jobs[0]
    problem = problem_of(job)
    made = Run(problem, job, frozenset(), by_cost=False)
    if there is not None:
        made.kept = placed((10, 10), (40 + there, 10))
    ends = [(float(n), Search(problem.puzzle, 1, 1).first_state()) for n in range(3)]
    made.ends = ends
    monkeypatch.setattr(choosing, "_suiting", lambda *_: [state for _, state in ends])
    monkeypatch.setattr(choosing, "_cleared", lambda _run, state, *_: state)
    by_state = {id(state): jobs[n] for n, (_, state) in enumerate(ends)}
    monkeypatch.setattr(Finisher, "finished", lambda _, state, __: (state, by_state[id(state)]))
    found = chosen(made, "coolest", never)
    assert found is (made.kept if picked is None else jobs[picked])


@pytest.mark.parametrize(("without", "picked"), [((0, 0), 1), ((0, 1), 0), ((1, 1), 1)])
def test_a_wire_without_a_way_counts_as_a_fiftieth_of_the_cost(
        monkeypatch: pytest.MonkeyPatch, without: tuple[int, int], picked: int) -> None:
    """80 and 79.3 mm of wire; 79.3 and a fiftieth are more than 80."""
    jobs = [placed((10, 10), (40 + apart, 10)) for apart in (80.0, 79.3)]
    made = Run(problem_of(jobs[0]), jobs[0], frozenset(), by_cost=False)
    states = [Search(made.problem.puzzle, 1, 1).first_state() for _ in jobs]
    lost = {id(job): [Lost("c0", lambda: None)] * count
            for job, count in zip(jobs, without, strict=True)}
    by_state = {id(state): job for state, job in zip(states, jobs, strict=True)}
    monkeypatch.setattr(choosing, "_suiting", lambda *_: states)
    monkeypatch.setattr(choosing, "_cleared", lambda _run, state, *_: state)
    monkeypatch.setattr(choosing, "lost_wires", lambda job, _: lost[id(job)])
    monkeypatch.setattr(choosing, "opened", lambda run, state, *_: Opened(
        state, run.problem.puzzle, (), 0.0, {}, minded=True))
    monkeypatch.setattr(Finisher, "finished", lambda _, state, __: (state, by_state[id(state)]))
    assert chosen(made, "coolest", never) is jobs[picked]


@pytest.mark.parametrize(("late", "opens"), [(False, True), (True, False)])
def test_ways_are_opened_in_the_offer_of_a_character_where_there_is_time(
        monkeypatch: pytest.MonkeyPatch, late: bool, opens: bool) -> None:
    """A wire has no way where the two stand 80 mm apart; 80.5 mm apart all have."""
    close, open_ = (placed((10, 10), (40 + apart, 10)) for apart in (80.0, 80.5))
    made = Run(problem_of(close), close, frozenset(), by_cost=False)
    first, second = (Search(made.problem.puzzle, 1, 1).first_state() for _ in range(2))
    monkeypatch.setattr(choosing, "_suiting", lambda *_: [first])
    monkeypatch.setattr(choosing, "_cleared", lambda _run, state, *_: state)
    monkeypatch.setattr(choosing, "lost_wires", lambda job, _: (
        [Lost("c0", lambda: None)] if job is close else []))
    monkeypatch.setattr(choosing, "opened", lambda run, *_: Opened(
        second, run.problem.puzzle, (), 0.0, {}, minded=True))
    monkeypatch.setattr(Finisher, "finished", lambda _, state, __: (
        state, close if state is first else open_))
    assert chosen(made, "coolest", lambda: late) is (open_ if opens else close)

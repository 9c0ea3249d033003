"""Arranging a job from end to end: problem, search, choice, finish, bound, words."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace

import numpy as np

from layout_engine.arranging.anew import Anew, make_way_again
from layout_engine.arranging.arrangement import (
    Arrangement,
    Character,
    OnProgress,
    Plan,
    Progress,
    plan_for,
)
from layout_engine.arranging.bound import lower_bound
from layout_engine.arranging.bound_crowds import Sheet, least_of_crowd
from layout_engine.arranging.chains import (
    Chains,
    News,
    Partner,
    Places,
    second_search,
    told_chain,
    work_of,
)
from layout_engine.arranging.characters import flavoured
from layout_engine.arranging.choosing import chosen
from layout_engine.arranging.classes import Care
from layout_engine.arranging.cooling import State
from layout_engine.arranging.cost import evaluate
from layout_engine.arranging.details import NEAR_SHARE, details_of
from layout_engine.arranging.leftovers import filled
from layout_engine.arranging.partial import partial
from layout_engine.arranging.probing import Stopped, Watch
from layout_engine.arranging.problem import Problem, problem_of
from layout_engine.arranging.puzzle import Puzzle
from layout_engine.arranging.reasons import (
    ground_taken,
    lacking_cm2,
    musts_missed,
    stops_kept,
    why_not_whole,
)
from layout_engine.arranging.respects import respects_of
from layout_engine.arranging.running import Offer, Run, cleared, progress_of
from layout_engine.arranging.search import Search
from layout_engine.arranging.seating import TOGETHER_SHARE, reseated, seated
from layout_engine.arranging.steering import steered, with_room
from layout_engine.arranging.tempering import Replicas, Tempering
from layout_engine.arranging.timing import FinishTime, SearchTime
from layout_engine.arranging.vectors import new_state
from layout_engine.arranging.verdict import unavoidable
from layout_engine.model.job import Job

__all__ = ["Order", "arranged", "cleared", "second_chain", "warm"]

HOPELESS = 0.5  # of the time for the search, where the ground does not suffice


@dataclass(frozen=True, slots=True)
class Order:
    """What is asked for; see `layout_engine.arrange`."""

    seconds: float
    seed: int
    only: frozenset[str] | None = None
    at_most: float | None = None
    character: Character = "shortest"
    advise: bool = True

    @property
    def plan(self) -> Plan:
        """The plan that the time picks."""
        return plan_for(self.seconds)


def arranged(job: Job, order: Order, on_progress: OnProgress | None,
             clock: Callable[[], float], partner: Partner | None = None) -> Arrangement:
    """Arrange a job; see `layout_engine.arrange`."""
    start = clock()
    watch = Watch(on_progress)
    run, puzzle, work = _begun(job, order, watch)
    search, capped, stopped, fraction = None, False, watch.stopped, 0.0
    if puzzle.movable and not stopped:
        time = SearchTime(clock, start, order.seconds, order.character != "shortest", run,
                          HOPELESS if _is_hopeless(run.problem, job) else 1.0)
        search = Chains(puzzle, order.seed, work, judge=run.judge,
                        seen=run.note, partner=partner, task=(job, order), used=time.used)
        search.first.judge = run.judge_first
        search.first.start = fitted(watch.end_of(run.problem), search.first)
        for fraction in search.steps():
            capped = time.used() > 1.0
            stopped = bool(on_progress and not on_progress(run.progress(fraction)))
            if capped or stopped:
                break
        run.settle(search.close())
        capped = capped or search.hurried
    offer = run.best
    if offer is None:
        offer = partial(run, search.first if search else None, job)
        if not stopped and order.at_most is None:
            offer = _filled(run, offer, lambda: clock() > start + order.seconds)
    if run.best is not None and not stopped:  # who stops it wants the answer at once
        finish = FinishTime(clock, start + order.seconds,
                     lambda: not on_progress or on_progress(run.progress(fraction)))
        run, offer = _finished(run, order, finish)
        capped, stopped = capped or finish.was_up, finish.was_stopped
    cost = evaluate(offer)
    told = run.progress(fraction) if run.best is None else progress_of(1.0, offer, cost)
    last = FinishTime(clock, start + order.seconds,
                      lambda: not stopped and (not on_progress or on_progress(told)))
    made = _offer(run, search, (offer, cost), order, last, capped=capped)
    if made.whole or last.was_stopped or not order.advise or order.only or order.at_most:
        return made
    return _advised(made, job, order, start + order.seconds, clock, on_progress)


def _finished(run: Run, order: Order, time: FinishTime) -> tuple[Run, Job]:
    """The best end of the search, finished; and its run, with modules on seats."""
    assert run.best is not None
    if run.leeway:
        run = reseated(run, time.is_up)
    return run, chosen(run, order.character, time.is_up, time.is_stopped) or run.best or run.base


def fitted(state: State | None, search: Search) -> State | None:
    """A state of the puzzle without a character, for a search of the one with it.

    The vectors of a state have a place for each wish, and a character adds wishes.
    """
    if state is None or len(state[0]) == len(new_state(search.n)[0]):
        return state
    return Places.of(state, search.count).state(search.n)


def _begun(job: Job, order: Order, watch: Watch) -> tuple[Run, Puzzle, int]:
    """The arranging before its search, the puzzle of that, and the work to spend."""
    moving = frozenset(part.id for part in job.parts if _may_move(job, part.id, order.only))
    base = cleared(job, moving)
    given = unavoidable(base, moving)
    whole = _problem(job, order, watch)
    there = Run(whole, base, given)
    there.keep(job, moving)
    watch.goes_on(there)
    problem = steered(whole, job, base, given, watch)
    may_be_seated = order.character == "shortest" and order.at_most is None
    if may_be_seated:
        base = seated(problem, base, given, watch)
        still = frozenset(part.id for part in base.placed)
        if moving & still:
            problem = steered(problem_of(base, moving - still), base, base, given, watch)
    if order.character != "shortest":
        problem = with_room(problem, base, given, watch, quick=order.plan == "quick")
    run = Run(problem, base, given, by_cost=order.character == "shortest", whole=whole)
    run.keep(job, moving)
    if watch.first:
        run.take(watch.first)
    if may_be_seated and problem is whole and job.plate.existing_holes:
        run.leeway = TOGETHER_SHARE
    puzzle = flavoured(problem, order.character)
    if puzzle.movable and not watch.stopped:
        watch.makes(puzzle)
    plan = "quick" if _is_hopeless(problem, job) else order.plan
    return run, puzzle, work_of(plan, puzzle)


def _problem(job: Job, order: Order, watch: Watch) -> Problem:
    """The problem; if it is stopped, one in which nothing moves: the answer is wanted at once."""
    with suppress(Stopped):
        return problem_of(job, order.only, order.at_most, look=watch.look)
    return problem_of(job, frozenset(), order.at_most)


def _filled(run: Run, offer: Job, is_late: Callable[[], bool]) -> Job:
    """The offer with more of what was left in the tray, the smallest first."""
    left = [part for part in offer.tray if part.id in run.problem.movable]
    left.sort(key=lambda part: ground_taken(offer, part))
    return filled(offer, [part.id for part in left], is_late)


def _is_hopeless(problem: Problem, job: Job) -> bool:
    """Whether more ground is wanted than there is."""
    return lacking_cm2(problem, job, [job.part(part_id) for part_id in problem.movable]) > 0


def second_chain(task: object, tell: Callable[[News], bool]) -> None:
    """Run the second chain of an arranging that another process does; what a `Partner` calls.

    Args:
        task: what `Partner.begin` was given.
        tell: told how far it has come; False stops it.
    """
    assert isinstance(task, tuple)
    job, order = task
    run, puzzle, work = _begun(job, order, Watch())
    told_chain(second_search(puzzle, order.seed, work, run.judge), tell)


def _advised(made: Arrangement, job: Job, order: Order, until: float,
             clock: Callable[[], float], on_progress: OnProgress | None) -> Arrangement:
    """The arrangement, its reason with a plate that would do, if one is found in time."""
    from layout_engine.arranging.advice import plate_that_would_do, size_words

    told = Progress(1.0, made.job, made.cost, made.wire_cost, made.wish_cost)
    if clock() >= until:
        return made
    size = plate_that_would_do(job, order.seed, until, clock,
                               lambda: on_progress is None or on_progress(told))
    if size is None:
        return made
    words = f"{made.reason} The smallest plate found that would do is {size_words(size)}."
    return replace(made, reason=words)


def _may_move(job: Job, part_id: str, only: frozenset[str] | None) -> bool:
    part = job.part(part_id)
    chosen_one = only is None or part_id in only
    return chosen_one and not part.locked and part.away is None


def _offer(run: Run, search: Chains | None, offer: Offer, order: Order, time: FinishTime, *,
           capped: bool) -> Arrangement:
    """The answer; where time is up, or it is stopped, its bound is a lower one."""
    job, cost = offer
    placed = {part.id for part in job.placed}
    unplaced = tuple(p.id for p in run.base.tray
                     if p.id not in placed and _may_move(job, p.id, order.only))
    ends = np.array(search.best.ends if search else [])
    ended = ends[np.isfinite(ends)]
    near = int(np.sum(ended <= ended.min() * (1 + NEAR_SHARE))) if len(ended) else 0
    bound = lower_bound(run.whole or run.problem, job, chains=not time.is_up(),
                        is_stopped=time.is_stopped)
    return Arrangement(
        job=job, cost=cost.cost, wire_cost=cost.wire_cost, wish_cost=cost.wish_cost,
        bound=min(bound.result, cost.cost), capped=capped or time.was_up or time.was_stopped,
        whole=not unplaced,
        reason=" ".join(filter(None, (
            why_not_whole(run.problem, job, unplaced, run.refused, order.at_most)
            if unplaced else "", musts_missed(job, run.given), stops_kept(job, run.given)))),
        unplaced=unplaced, plan=order.plan, seed=order.seed, starts=len(ended), starts_near=near,
        character=order.character, respects=respects_of(job),
        details=details_of(job, cost, bound, (len(ended), near),
                           Care.NONE if job is run.kept else run.problem.care),
    )


def warm() -> None:
    """Run every compiled function once on small problems."""
    from layout_engine.arranging.samples import warming_crowd, warming_puzzle

    search = Search(warming_puzzle(), 1, 400_000)
    for _ in search.steps():
        pass
    search.warm()
    state, (rows, c, g) = search.anywhere(), search.room
    make_way_again(search.f, search.n, *state, rows, c, g, np.inf)
    Anew(search).go_from(state, 1.0)
    tempering = Tempering(search)
    tempering.run(Replicas.anywhere(search, 2), tempering.plans()[:2], 0, 1)
    least_of_crowd(warming_crowd(), [Sheet(None)])

"""The last step of an arranging: the end that suits its character best, cleared and finished."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import inf

from layout_engine.arranging.arrangement import RESPECT_OF, Character
from layout_engine.arranging.characters import FINISHES
from layout_engine.arranging.clearing import burden, clearings
from layout_engine.arranging.cost import evaluate
from layout_engine.arranging.finishing import Finish, Finisher
from layout_engine.arranging.opening import Opened, opened, who_stands_at
from layout_engine.arranging.respects import Name, respects_of
from layout_engine.arranging.running import SAME_COST, Run
from layout_engine.arranging.sliding import State
from layout_engine.arranging.verdict import is_allowed
from layout_engine.model.job import Job
from layout_engine.wiring.lost import lost_wires

DEAREST_END = 1.5  # ends that cost more than this times the cheapest are left, whatever their merit
FINISHED = 1  # ends that are cleared, the best; a second was offered in none of nine tries
SUITED = 8  # the same for a character: what the finish makes of an end is hard to tell before
FINISHES_TRIED = 3  # until none closes a wire's way
LOOKED_AT = 8  # near-equal ends of which warnings are counted
LOSS = 0.01  # share of its own respect that a character gives up for fewer warnings, or less cost


def chosen(run: Run, character: Character, is_late: Callable[[], bool],
           is_stopped: Callable[[], bool] = lambda: False) -> Job | None:
    """The offer: never dearer than the layout that was there, or worse in its own respect.

    By cost, it is not dearer than what was told either, but for what fewer warnings may cost.

    `is_late`: whether there is no time to clear and finish another end; `is_stopped`: whether
    the answer is wanted at once, then the finish is cut short as well.
    """
    finisher = Finisher(run.problem.puzzle, run.job_of, run.given, is_stopped, is_late)
    if character == "shortest":
        return _cheapest(run, finisher, is_late)
    name = RESPECT_OF[character]
    found: list[Job] = []
    for end in _suiting(run, name):
        state = end if found and is_late() else _cleared(
            run, end, FINISHES[character][0], name, is_late)
        for how in FINISHES[character]:
            if not found or not is_late():
                found.append(finisher.finished(state, how)[1])
    return _nearly_best(found, name, run.kept) or run.best


def _nearly_best(found: list[Job], name: Name, kept: Job | None) -> Job | None:
    """The cheapest of the jobs that are nearly the best in a respect and better than what was
    there; that, where none is.
    """
    merits = [(_merit(job, name), n) for n, job in enumerate(found)]
    if kept is not None:
        merits = [own for own in merits if own[0] > _merit(kept, name)]
    if not merits:
        return kept
    (best, _), _ = max(merits)
    near = [(thrift, n) for (score, thrift), n in merits if score >= best - LOSS * abs(best)]
    return found[max(near)[1]]


def _merit(job: Job, name: Name) -> tuple[float, float]:
    return respects_of(job).of(name).score, -evaluate(job).cost


def _suiting(run: Run, name: Name) -> list[State]:
    """The allowed ends that do best in a respect."""
    states = [] if run.state is None else [run.state]
    states += [state for price, state in run.ends if price <= run.ends[0][0] * DEAREST_END]
    jobs = [(state, run.job_of(state)) for state in states]
    ranked = sorted(((state, job, _merit(job, name)) for state, job in jobs),
                    key=lambda entry: entry[2], reverse=True)
    kept: list[State] = []
    for state, job, _ in ranked:
        if len(kept) < SUITED and is_allowed(job, run.given):
            kept.append(state)
    return kept


def _cleared(run: Run, state: State, how: Finish, name: Name, is_late: Callable[[], bool]
             ) -> State:
    """The end with fewer warnings, if that costs little of its own respect."""
    before = _merit(run.job_of(state), name)[0]
    after = clearings(run, state, how.clearing, inf, is_late)
    kept = [(end, job) for end, job in after
            if _merit(job, name)[0] >= before - LOSS * abs(before)]
    return min([(state, run.job_of(state)), *kept], key=lambda end: burden(end[1])[::-1])[0]


def _cheapest(run: Run, finisher: Finisher, is_late: Callable[[], bool]) -> Job | None:
    if run.state is None or run.cost is None:
        return run.best
    (how,) = FINISHES["shortest"]
    # A dearer one may have been told before, and what is told never rises.
    least = run.ceiling if len(run.firsts) > 1 else run.there
    most = min(run.cost.cost * (1 + how.clearing + how.opening), least)
    found = [(burden(run.best), run.state)] if run.best else []
    for cost, state in run.ends[:LOOKED_AT]:
        job = run.job_of(state)
        alike = run.best is not None and job.parts == run.best.parts
        if cost <= most and not alike and not is_late() and is_allowed(job, run.given):
            found.append((burden(job), state))
    found.sort(key=lambda end: end[0])
    for (_, warned), end in found[:FINISHED]:
        if warned and not is_late():
            found += [(burden(job), state)
                      for state, job in clearings(run, end, how.clearing, most, is_late)]
    _, state = min(found, key=lambda end: end[0])
    ways = opened(run, state, most, is_late)
    most = max(run.ceiling, evaluate(run.job_of(ways.state)).cost)
    job = _with_ways(run, finisher, ways, how, most, is_late)
    return job if evaluate(job).cost <= most + SAME_COST else run.best


def _with_ways(run: Run, finisher: Finisher, ways: Opened, how: Finish, most: float,
               is_late: Callable[[], bool]) -> Job:
    """The finished job; where the finish closed a wire's way, finished with who stands there held,
    and in the end not at all.
    """
    held: frozenset[str] = frozenset()
    for _ in range(FINISHES_TRIED):
        _, job = replace(finisher, puzzle=ways.puzzle).finished(ways.state, how, most, held)
        if finisher.is_stopped():
            break
        lost = lost_wires(job, ways.sizes) if ways.minded else ()
        if len(lost) <= len(ways.lost):
            return job
        if is_late():
            break
        held |= who_stands_at(job, lost)
    return run.job_of(ways.state)

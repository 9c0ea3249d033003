"""The last step of an arranging: the end that suits its character best, cleared and finished."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import inf

from layout_engine.arranging.arrangement import RESPECT_OF, Character
from layout_engine.arranging.characters import FINISHES
from layout_engine.arranging.clearing import burden, clearings
from layout_engine.arranging.cost import evaluate
from layout_engine.arranging.finishing import Finish, Finisher
from layout_engine.arranging.opening import LOST, Opened, opened, who_stands_at
from layout_engine.arranging.respects import Name, respects_of
from layout_engine.arranging.running import SAME_COST, Run
from layout_engine.arranging.sliding import State
from layout_engine.arranging.verdict import is_allowed
from layout_engine.model.job import Job
from layout_engine.sizing.routed import guessed_sizes
from layout_engine.wiring.lost import lost_wires

DEAREST_END = 1.5  # ends that cost more than this times the cheapest are left, whatever their merit
FINISHED = 1  # ends that are cleared, the best; a second was offered in none of nine tries
SUITED = 8  # the same for a character: what the finish makes of an end is hard to tell before
FINISHES_TRIED = 3  # until none closes a wire's way
LOOKED_AT = 8  # near-equal ends of which warnings are counted
WAYS = 0.03  # share of its cost that ways for wires may cost a character
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
    found: list[_Finished] = []
    ends = _suiting(run, name)
    sizes = guessed_sizes(run.job_of(ends[0])) if ends else {}
    for end in ends:
        if found and is_late():
            break
        state = _cleared(run, end, FINISHES[character][0], name, is_late)
        for how in FINISHES[character]:
            if not found or not is_late():
                _, job = finisher.finished(state, how)
                lost = 0 if is_stopped() else len(lost_wires(job, sizes))
                found.append(_Finished(job, *_merit(job, name), lost, state, how))
    best = _nearly_best(found, name, run.kept)
    if best is None:
        return run.kept or run.best
    after = best if not best.lost or is_late() else _with_more_ways(run, finisher, best, name,
                                                                    is_late)
    return (_nearly_best([best, after], name, run.kept) or best).job


@dataclass(frozen=True, eq=False, slots=True)
class _Finished:
    """A finished end: its score in the respect, its cost turned round, its wires without a way; the
    state that was finished, and how.
    """

    job: Job
    score: float
    thrift: float
    lost: int
    state: State
    how: Finish

    @property
    def worth(self) -> float:
        """What it costs with what wires without a way are worth, turned round."""
        return self.thrift * (1 + LOST * self.lost)


def _nearly_best(found: list[_Finished], name: Name, kept: Job | None) -> _Finished | None:
    """The cheapest that is nearly the best in a respect and better than what was there; None where
    none is. A wire without a way counts as in `opening`.
    """
    if kept is not None:
        found = [own for own in found if (own.score, own.thrift) > _merit(kept, name)]
    best = max((own.score for own in found), default=0.0)
    near = [own for own in found if own.score >= best - LOSS * abs(best)]
    return max(near, key=lambda own: (own.worth, own.score), default=None)


def _with_more_ways(run: Run, finisher: Finisher, best: _Finished, name: Name,
                    is_late: Callable[[], bool]) -> _Finished:
    """The same end with ways opened for wires that have none."""
    most = evaluate(run.job_of(best.state)).cost * (1 + WAYS)
    ways = opened(run, best.state, most, is_late)
    _, job = replace(finisher, puzzle=ways.puzzle).finished(ways.state, best.how)
    return _Finished(job, *_merit(job, name), len(lost_wires(job, ways.sizes)), ways.state,
                     best.how)


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

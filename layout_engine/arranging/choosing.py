"""The last step of an arranging: the end that suits its character best, cleared and finished."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import inf

from layout_engine.arranging.arrangement import RESPECT_OF, Character
from layout_engine.arranging.characters import FINISHES
from layout_engine.arranging.clearing import Clearer
from layout_engine.arranging.cost import evaluate
from layout_engine.arranging.crowding import crowdedness
from layout_engine.arranging.finishing import Finish, Finisher, warnings
from layout_engine.arranging.packing import packed
from layout_engine.arranging.pricing import price, refresh
from layout_engine.arranging.problem import problem_of
from layout_engine.arranging.respects import Name, respects_of
from layout_engine.arranging.running import SAME_COST, Run
from layout_engine.arranging.sliding import Slider, State
from layout_engine.arranging.verdict import is_allowed
from layout_engine.model.job import Job

DEAREST_END = 1.5  # ends that cost more than this times the cheapest are left, whatever their merit
FINISHED = 3  # ends that are cleared and finished, those that do best
SUITED = 8  # the same for a character: what the finish makes of an end is hard to tell before
LOOKED_AT = 8  # near-equal ends of which warnings are counted
WORTH = 0.001  # share of the cost that a warning less is worth, within what clearing may cost
CROWDED = 0.01  # share of the cost that gaps are worth which are full of wires in the mean
LOSS = 0.01  # share of its own respect that a character gives up for fewer warnings


def chosen(run: Run, character: Character, is_late: Callable[[], bool],
           is_stopped: Callable[[], bool] = lambda: False) -> Job | None:
    """The offer: never dearer than the layout that was there, or worse in its own respect.

    By cost, it is not dearer than what was told either, but for what fewer warnings may cost.

    `is_late`: whether there is no time to clear and finish another end; `is_stopped`: whether
    the answer is wanted at once, then the finish is cut short as well.
    """
    finisher = Finisher(run.problem.puzzle, run.job_of, run.given, is_stopped)
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
    if run.kept is not None:
        found.append(run.kept)
    return max(found, key=lambda job: _merit(job, name), default=run.best)


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
    ends = [(after, run.job_of(after)) for after in _ways(run, state, how.clearing, inf, is_late)]
    kept = [(after, job) for after, job in ends
            if _merit(job, name)[0] >= before - LOSS * abs(before)]
    return min([(state, run.job_of(state)), *kept], key=lambda end: _burden(end[1])[::-1])[0]


def _cheapest(run: Run, finisher: Finisher, is_late: Callable[[], bool]) -> Job | None:
    if run.state is None or run.cost is None:
        return run.best
    (how,) = FINISHES["shortest"]
    most = min(run.cost.cost * (1 + how.clearing), run.there)
    if len(run.firsts) > 1:  # a dearer one may have been told before: what is told never rises
        most = min(most, run.ceiling)
    found = [(_burden(run.best), run.state)] if run.best else []
    for cost, state in run.ends[:LOOKED_AT]:
        job = run.job_of(state)
        if cost <= most and not is_late() and is_allowed(job, run.given):
            found.append((_burden(job), state))
    found.sort(key=lambda end: end[0])
    for (_, warned), end in found[:FINISHED]:
        if warned and not is_late():
            found += [(_burden(run.job_of(state)), state)
                      for state in _ways(run, end, how.clearing, most, is_late)]
    _, state = min(found, key=lambda end: end[0])
    most = max(run.ceiling, evaluate(run.job_of(state)).cost)
    _, job = finisher.finished(state, how, most)
    return job if evaluate(job).cost <= most + SAME_COST else run.best


def _burden(job: Job) -> tuple[float, int]:
    """What a job costs with its warnings and crowded gaps, to compare; how many warnings it has."""
    count = len(warnings(job))
    return evaluate(job).cost * (1 + WORTH * count + CROWDED * crowdedness(job)), count


def _ways(run: Run, state: State, share: float, most: float, is_late: Callable[[], bool]
          ) -> Iterator[State]:
    """Allowed states with less to warn of, that cost at most this share and `most`."""
    careful = run.careful = problem_of(run.job_of(state), run.problem.only, careful=True,
                                       like=run.careful)
    if careful.movable != run.problem.movable or is_late():
        return
    slider = Slider(run.problem.puzzle, *packed(run.problem.puzzle))
    refresh(slider.f, slider.n, *state)
    limit = min(price(slider.f, slider.n, *state) * (1 + share), most)
    for after in Clearer.of(slider, careful).cleared(state, limit):
        if is_late():
            return
        job = run.job_of(after)
        if is_allowed(job, run.given) and evaluate(job).cost <= most:
            yield after

"""The last step of an arranging: the end that suits its character best, with its finish."""

from __future__ import annotations

from collections.abc import Callable

from layout_engine.arranging.arrangement import RESPECT_OF, Character
from layout_engine.arranging.characters import FINISHES
from layout_engine.arranging.cost import evaluate
from layout_engine.arranging.finishing import Finisher
from layout_engine.arranging.respects import Name, respects_of
from layout_engine.arranging.running import Run
from layout_engine.arranging.sliding import State
from layout_engine.arranging.verdict import is_allowed
from layout_engine.model.job import Job

DEAREST_END = 1.5  # ends that cost more than this times the cheapest are left, whatever their merit
FINISHED = 3  # ends that are finished, those that do best in the character's respect


def chosen(run: Run, character: Character, is_late: Callable[[], bool]) -> Job | None:
    """The offer: never dearer than the layout that was there, or worse in its own respect.

    `is_late`: whether there is no time to finish another end.
    """
    finisher = Finisher(run.problem.puzzle, run.job_of, run.given)
    if character == "shortest":
        return _cheapest(run, finisher)
    name = RESPECT_OF[character]
    found: list[Job] = []
    for state in _suiting(run, name):
        for how in FINISHES[character]:
            if not found or not is_late():
                found.append(finisher.finished(state, how)[1])
    if run.kept is not None:
        found.append(run.kept)
    return max(found, key=lambda job: _merit(job, name), default=run.best)


def _merit(job: Job, name: Name) -> tuple[float, float]:
    return respects_of(job).of(name).score, -evaluate(job).cost


def _cheapest(run: Run, finisher: Finisher) -> Job | None:
    if run.state is None:
        return run.best
    (how,) = FINISHES["shortest"]
    _, job = finisher.finished(run.state, how)
    if run.kept is not None and evaluate(job).cost > evaluate(run.kept).cost:
        return run.best
    return job


def _suiting(run: Run, name: Name) -> list[State]:
    """The allowed ends that do best in a respect."""
    states = [] if run.state is None else [run.state]
    states += [state for price, state in run.ends if price <= run.ends[0][0] * DEAREST_END]
    jobs = [(state, run.job_of(state)) for state in states]
    ranked = sorted(((state, job, _merit(job, name)) for state, job in jobs),
                    key=lambda entry: entry[2], reverse=True)
    kept: list[State] = []
    for state, job, _ in ranked:
        if len(kept) < FINISHED and is_allowed(job, run.given):
            kept.append(state)
    return kept

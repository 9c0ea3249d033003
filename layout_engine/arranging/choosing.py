"""The last step of an arranging: the end that suits its character best, with its finish."""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.arranging.arrangement import RESPECT_OF, Character
from layout_engine.arranging.characters import FINISHES
from layout_engine.arranging.cost import evaluate
from layout_engine.arranging.finishing import Finisher
from layout_engine.arranging.respects import respects_of
from layout_engine.arranging.running import Run
from layout_engine.arranging.sliding import State
from layout_engine.arranging.verdict import is_allowed
from layout_engine.model.job import Job


def chosen(run: Run, character: Character) -> Job | None:
    """The offer: never dearer than the layout that was there, or worse in its own respect."""
    finisher = Finisher(run.problem.puzzle, run.job_of, run.given)
    if character == "shortest":
        return _cheapest(run, finisher)
    name = RESPECT_OF[character]
    found = [job for state in _states(run) for job in _finished(finisher, state, character)]
    if run.kept is not None:
        found.append(run.kept)
    return max(found, key=lambda job: (respects_of(job).of(name).score, -evaluate(job).cost),
               default=run.best)


def _cheapest(run: Run, finisher: Finisher) -> Job | None:
    if run.state is None:
        return run.best
    (how,) = FINISHES["shortest"]
    _, job = finisher.finished(run.state, how)
    if run.kept is not None and evaluate(job).cost > evaluate(run.kept).cost:
        return run.best
    return job


def _states(run: Run) -> Iterator[State]:
    """Allowed ends, the cheapest first."""
    if run.state is not None:
        yield run.state
    for _, state in run.ends:
        if is_allowed(run.job_of(state), run.given):
            yield state


def _finished(finisher: Finisher, state: State, character: Character) -> Iterator[Job]:
    for how in FINISHES[character]:
        yield finisher.finished(state, how)[1]

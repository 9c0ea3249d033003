"""The best partial arrangement: as many parts as can stand, no stop, every must kept."""

from __future__ import annotations

from collections import Counter

import numpy as np

from layout_engine.arranging.cooling import State
from layout_engine.arranging.cost import evaluate
from layout_engine.arranging.pricing import refresh
from layout_engine.arranging.running import Run
from layout_engine.arranging.search import Search
from layout_engine.arranging.vectors import ON
from layout_engine.arranging.verdict import avoidable, broken_musts, is_allowed
from layout_engine.model.job import Job

SLIDES = 4


def partial(run: Run, search: Search | None, there: Job) -> Job:
    """The arrangement with most parts placed; of equal ones the cheapest.

    Args:
        run: the arranging, which found no whole one.
        search: its search.
        there: the job as it was; its layout counts too, where it is allowed.
    """
    found = [run.base]
    if is_allowed(there, run.given):
        found.append(there)
    if search is not None and search.partial is not None:
        state = search.partial[0].copy(), search.partial[1].copy()
        found.append(_freed(run, state))
        refresh(search.f, search.n, *state)
        if search.slider.slide(state, rounds=SLIDES):
            job = run.job_of(state)
            found += [job] if is_allowed(job, run.given) else []
    return min(found, key=lambda job: (len(job.tray), evaluate(job).cost))


def _freed(run: Run, state: State) -> Job:
    """The state with parts taken off, those that most is wrong with first, until it is allowed."""
    k = state[1]
    while True:
        job = run.job_of(state)
        on = [n for n in range(len(run.problem.movable)) if k[k[ON] + n]]
        wrong = Counter(name for found in avoidable(job, run.given) for name in found.subjects)
        wrong.update(broken_musts(job, run.given))
        if not on or not wrong:
            return job
        counts = np.array([wrong[run.problem.movable[n]] for n in on])
        k[k[ON] + on[len(on) - 1 - int(np.argmax(counts[::-1]))]] = 0

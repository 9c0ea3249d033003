"""Steering: the problem of a job, with a passage where the search would find no way in without.

Nearly every board passes however it is arranged; only where one might not, and a short search finds
no arrangement that does, places are limited by a passage. Those that take the modules are tried by
short searches too, and the cheapest is taken. Deterministic, so that each process decides alike.
"""

from __future__ import annotations

from math import inf

from layout_engine.arranging.passing import needs_one, passages
from layout_engine.arranging.probing import Watch, probed
from layout_engine.arranging.problem import Problem, problem_of
from layout_engine.arranging.verdict import Given
from layout_engine.model.job import Job

PROBE_WORK = 3_000_000  # of a short search: a tenth of a second
TRIED = 5  # passages, the roomiest


def steered(free: Problem, job: Job, base: Job, given: Given, watch: Watch) -> Problem:
    """The problem, with a passage if it needs one.

    Args:
        free: the problem without one.
        job: its job.
        base: the same with everything that may move in the tray.
        given: stops that no place can avoid.
        watch: looks on while it searches.
    """
    if watch.stopped or not free.puzzle.movable or not needs_one(job):
        return free
    run = probed(free, base, given, PROBE_WORK, watch, any_will_do=True)
    if run.best is not None or "no_way_in" not in run.refused:
        return free
    best, cheapest = free, inf
    for passage in passages(job)[:TRIED]:
        problem = problem_of(job, free.only, free.at_most, passage=passage)
        if set(problem.homeless) <= set(free.homeless):
            run = probed(problem, base, given, PROBE_WORK, watch)
            cost = run.cost.cost if run.cost else inf
            if cost < cheapest or best is free:
                best, cheapest = problem, cost
    return best


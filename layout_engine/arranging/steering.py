"""Steering: what is decided of a problem before its search.

A passage, where the search would find no way in without.
Nearly every board passes however it is arranged; only where one might not, and a short search finds
no arrangement that does, places are limited by a passage. Those that take the modules are tried by
short searches too, and the cheapest is taken.

Room that the checker warns of, for offers that may cost more than the least: where a short search
finds an arrangement in which it is free, only such are searched. That no screw comes out under a
module of the other face is given up first, also where it is much dearer; then bridges of holes.

Deterministic, so that each process decides alike.
"""

from __future__ import annotations

from contextlib import suppress
from math import inf

from layout_engine.arranging.classes import Care
from layout_engine.arranging.passing import needs_one, passages
from layout_engine.arranging.probing import Stopped, Watch, probed
from layout_engine.arranging.problem import Problem, problem_of
from layout_engine.arranging.schedules import FEW_BODIES
from layout_engine.arranging.verdict import Given
from layout_engine.model.job import Job

PROBE_WORK = 3_000_000  # of a short search: a tenth of a second
TRIED = 5  # passages, the roomiest
ROOM_WORK = 20_000_000  # of a search for an arrangement with room: a third of a second
# Times as much as with room alone an arrangement may cost in which no screw comes out under a
# module: that only says which of the two goes on first. Of a demonstration job of 16 modules it
# costs the same, of one of the family, 25 on two faces, twice as much.
UNCOVERED = 1.2
# Modules, of more of which three seconds are too short to keep room free: of 40 on two faces it was
# left with what the short search had found, of 25 it did as well as without.
MANY_AT_ONCE = 32


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
    run = probed(free, base, given, PROBE_WORK, watch, enough=inf)
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


def with_room(free: Problem, base: Job, given: Given, watch: Watch, *, quick: bool) -> Problem:
    """The problem with as much room kept free as a short search finds an arrangement with.

    Args:
        free: the problem, steered.
        base: its job with everything that may move in the tray.
        given: stops that no place can avoid.
        watch: looks on while it searches.
        quick: whether time is short: then the first arrangement with bridges is enough; of more
            than few modules nobody looks whether screws need come out under others, and of many
            no room is kept free.
    """
    def tried(care: Care, enough: float) -> tuple[Problem, float]:
        watch.look()
        problem = problem_of(free.job, free.only, free.at_most, care=care, passage=free.passage,
                             look=watch.look)
        if problem.movable != free.movable:
            return problem, inf
        cost = probed(problem, base, given, ROOM_WORK, watch, enough=enough).cost
        return problem, cost.cost if cost else inf

    if quick and len(free.movable) > MANY_AT_ONCE:
        return free
    with suppress(Stopped):
        bridged, cost = tried(Care.BRIDGED, inf if quick else -inf)
        if quick and cost < inf and len(free.movable) > FEW_BODIES:
            return bridged
        if cost < inf:
            whole, dearer = tried(Care.ALL, cost * UNCOVERED)
            return whole if dearer <= cost * UNCOVERED else bridged
        roomy, cost = tried(Care.ROOMY, inf)
        return roomy if cost < inf else free
    return free

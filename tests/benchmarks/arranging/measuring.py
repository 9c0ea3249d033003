"""Measuring one arranging, in processor time of this process: a busy machine changes nothing."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from time import process_time

from layout_engine import Job, arrange
from layout_engine.arranging import Progress
from layout_engine.arranging.cost import missed_musts
from layout_engine.arranging.verdict import stops


@dataclass(frozen=True, slots=True)
class Ended:
    """One arranging.

    Attributes:
        cost: of the arrangement.
        bound: the proven one.
        allowed: everything has its place, no stop of the placing rules, no must missed.
        seconds: processor time of the whole call.
        first: processor time from the call to the first allowed arrangement; infinite: none.
    """

    cost: float
    bound: float
    allowed: bool
    seconds: float
    first: float


def run(job: Job, seconds: float, seed: int) -> Ended:
    """Arrange a job within so much processor time."""
    first = inf
    begun = process_time()

    def look(progress: Progress) -> bool:
        nonlocal first
        if first == inf and progress.job is not None:
            first = process_time() - begun
        return True

    offer = arrange(job, seconds=seconds, seed=seed, on_progress=look, clock=process_time)
    spent = process_time() - begun
    allowed = offer.whole and not stops(offer.job) and not missed_musts(offer.job)
    return Ended(offer.cost, offer.bound, allowed, spent, first)


@dataclass(frozen=True, slots=True)
class Stopped:
    """How soon a stop is answered, processor seconds.

    Attributes:
        between: the longest time between two looks at whether to stop.
        after: the longest time from being told to stop to the answer.
    """

    between: float
    after: float


def stop_latency(job: Job, seconds: float, points: int) -> Stopped:
    """Stop an arranging at many points of its plan, from the first look on."""
    between = after = 0.0
    for point in range(points):
        last = told = process_time()

        def look(progress: Progress, share: float = point / points) -> bool:
            nonlocal last, told, between
            told, before = process_time(), last
            between, last = max(between, told - before), told
            return progress.fraction < share

        arrange(job, seconds=seconds, seed=point + 1, on_progress=look, clock=process_time)
        after = max(after, process_time() - told)
    return Stopped(between, after)

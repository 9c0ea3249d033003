"""Probing: short searches before the search, for what is to be decided first.

They take a fixed amount of work, so that each process decides alike. What they find is told, so
that there is an answer meanwhile, and whoever wants to stop is heard.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, field
from math import inf

from layout_engine.arranging.arrangement import OnProgress, Progress
from layout_engine.arranging.cooling import State
from layout_engine.arranging.packing import packed
from layout_engine.arranging.problem import Problem
from layout_engine.arranging.puzzle import Puzzle
from layout_engine.arranging.running import Offer, Run, progress_of
from layout_engine.arranging.search import Search
from layout_engine.arranging.verdict import Given
from layout_engine.model.job import Job


class Stopped(Exception):
    """Whoever asked for an arrangement wants the answer at once."""


@dataclass
class Watch:
    """Who looks on while probes run.

    Attributes:
        tell: told of the first answer; False stops it all. None: nobody looks on.
        first: the first answer, the cheapest of those that the probes began with; of what was
            found later nothing is told: what is being decided may cost a little.
        stopped: whether it was stopped: what was being decided is left as it was.
        ends: what each probe came to, with its problem.
    """

    tell: OnProgress | None = None
    first: Offer | None = None
    stopped: bool = False
    ends: list[tuple[Problem, State]] = field(default_factory=list)

    def end_of(self, problem: Problem) -> State | None:
        """The best that a probe of this problem came to."""
        return next((state for other, state in self.ends if other is problem), None)

    def makes(self, puzzle: Puzzle) -> bool:
        """Make a puzzle's vectors and look on meanwhile; whether it goes on."""
        with suppress(Stopped):
            packed(puzzle, self.look)
        return not self.stopped

    def look(self) -> None:
        """Look at whether it goes on; raises `Stopped` if not."""
        if not self.goes_on():
            raise Stopped

    def goes_on(self, run: Run | None = None) -> bool:
        """Look at a run, if there is one; whether it goes on."""
        if run and run.told and (self.first is None or run.told[1].cost < self.first[1].cost):
            self.first = run.told
        if self.tell and not self.stopped:
            self.stopped = not self.tell(progress_of(0.0, *self.first) if self.first
                                         else Progress(0.0, None, None, None, None))
        return not self.stopped


def probed(problem: Problem, base: Job, given: Given, work: int, watch: Watch, *,
           enough: float = -inf) -> Run:
    """The run of a short search.

    Args:
        problem: what is searched.
        base: its job with everything that may move in the tray.
        given: stops that no place can avoid.
        work: units of work of the search.
        watch: looks on.
        enough: it is over as soon as there is an arrangement that costs no more.
    """
    run = Run(problem, base, given)
    if watch.goes_on() and watch.makes(problem.puzzle):
        for _ in Search(problem.puzzle, 1, work, judge=run.judge).steps():
            if not watch.goes_on(run) or (run.cost and run.cost.cost <= enough):
                break
    if run.state is not None:
        watch.ends.append((problem, run.state))
    return run

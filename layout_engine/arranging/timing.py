"""How the time of an arranging is shared out: what the search has, and what is left to finish."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from layout_engine.arranging.running import Run
from layout_engine.arranging.verdict import Look
from layout_engine.model.job import Job

# Left for the finish and the bound where the clock cuts the search: as much as they take, by how
# long it takes to look for what is warned of, but no more than a share of the time. Finishes of
# fourteen jobs of 12 to 40 modules, three times each, once took 58 to 212 times as long as a look,
# later those of ten jobs, twice each, 74 to 166; where it is late no ways are opened for wires.
# Where several ends are finished, for a character, it is that share. Of so little time that only
# few modules are arranged in it, the search has most: their finish is short.
LOOKS, MOST_LEFT = 180, 0.25
LEAST_S, LEAST_SHARE = 1.6, 0.86  # for the search


@dataclass
class SearchTime:
    """How long the search may take.

    Attributes:
        clock: tells the time.
        start: when the arranging began.
        seconds: that there are in all.
        several_ends: whether several ends are finished, as for a character.
        run: the arranging; its first offer tells how long a look takes.
        share: of what is not left for the finish, that the search gets.
        left: s for finish and bound.
    """

    clock: Callable[[], float]
    start: float
    seconds: float
    several_ends: bool
    run: Run
    share: float
    left: float | None = None

    def used(self) -> float:
        """Share of it that is gone."""
        return (self.clock() - self.start) / self._whole()

    def _whole(self) -> float:
        most = MOST_LEFT * self.seconds
        if self.left is None and self.run.best is not None:
            self.left = most
            if not self.several_ends:
                self.left = min(LOOKS * self._look(self.run.best), most)
        whole, left = self.seconds, most if self.left is None else self.left
        return self.share * max(whole - left, min(LEAST_S, LEAST_SHARE * whole))

    def _look(self, job: Job) -> float:
        """How long it takes to look for what is warned of, s."""
        _ = Look(job).warnings  # the first time more is worked out
        before = self.clock()
        _ = Look(job).warnings
        return self.clock() - before


@dataclass
class FinishTime:
    """Whether time is up or it was stopped, and whether anybody was told so."""

    clock: Callable[[], float]
    until: float
    goes_on: Callable[[], bool]
    was_up: bool = False
    was_stopped: bool = False

    def is_up(self) -> bool:
        """Whether time is up, or it was stopped."""
        self.was_up = self.was_up or self.is_stopped() or self.clock() > self.until
        return self.was_up

    def is_stopped(self) -> bool:
        """Whether it was stopped."""
        self.was_stopped = self.was_stopped or not self.goes_on()
        return self.was_stopped

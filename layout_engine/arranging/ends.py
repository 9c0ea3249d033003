"""The ends that a search keeps: the cheapest, no two alike, and what each start has come to."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from layout_engine.arranging.cooling import Cooling, State

KEPT = 10  # ends
SAME_SHARE = 1e-3  # of the cost: ends that are nearer to each other are one
TOLD_SHARE = 5e-3  # of the cost: a gain that is worth being shown while the search runs
TURN = 8  # how often an end is tried before it is the next one's turn
THERE = -1


@dataclass(eq=False)
class End:
    """Where a start has come to.

    Attributes:
        start: its number; `THERE` for what was there before the first.
        value: price, and what still overlaps.
        state: bodies and poses.
        tries: how often a few of its bodies were placed anew without a gain.
    """

    start: int
    value: float
    state: State
    tries: int = 0

    def turn(self) -> tuple[int, float]:
        """Who is the least of all is next: the best, until it was tried more than the others."""
        return self.tries // TURN, self.value

    def is_as(self, value: float) -> bool:
        """Whether another end of this value is likely the same."""
        return abs(value - self.value) < SAME_SHARE * abs(self.value)


@dataclass(eq=False)
class Ends:
    """The ends of a search.

    Attributes:
        cooling: what it is done with.
        kept: the best ends, the best first; no two are alike.
        values: what each start has come to.
    """

    cooling: Cooling
    kept: list[End] = field(default_factory=list)
    values: dict[int, float] = field(default_factory=dict)

    def keep(self, end: End) -> None:
        """Keep an end if it is among the best, and of two that are alike the better."""
        self.values[end.start] = min(end.value, self.values.get(end.start, np.inf))
        for other in self.kept:
            if end.is_as(other.value):
                if end.value < other.value:
                    other.value, other.state = end.value, end.state
                return
        self.kept.append(end)
        self.kept.sort(key=lambda kept: kept.value)
        del self.kept[KEPT:]

    def keep_there(self) -> None:
        """Keep the best that there is before the first start, if there is one."""
        if self.cooling.best.state is not None:
            state, _ = self.cooling.best.copied()
            self.keep(End(THERE, self.cooling.laden(state), state))

    def slid(self, count: int) -> Iterator[float]:
        """Slide the best, until so many turned out to be free; yields as `Search.steps`."""
        free = 0
        for end in self.kept:
            state = end.state[0].copy(), end.state[1].copy()
            yield from self.cooling.settled(state)
            free += bool(np.isfinite(self.cooling.ended(state)))
            if free >= count:
                break

    def tell(self) -> None:
        """Note what the starts have come to."""
        self.cooling.best.ends += [
            value for start, value in self.values.items() if start != THERE]

"""Few bodies on one face: many short coolings, then a few neighbours of the best placed anew.

Where the end of a cooling of few bodies is not the best, it mostly differs from it by three to
five neighbours that stand in another order, or turned. So the ends of many short coolings are
kept, and in each, by turns, a few neighbours are cooled again among the rest, which only then
gives way (large neighbourhood search: Shaw, CP98, LNCS 1520 (1998) 417; iterated local search:
Lourenco, Martin, Stuetzle, Handbook of Metaheuristics (2003) 320).

Measured on six plates of 12 modules, ten seeds, 45 million units of work, cost over the best seen:
one population 1.2 % in the mean and up to 5.4, this 0.8 and up to 3.9.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from layout_engine.arranging.cooling import SLIDE_WORK, Cooling, State
from layout_engine.arranging.pricing import fault
from layout_engine.arranging.schedules import FEW_BODIES, RECIPES, Stage
from layout_engine.arranging.vectors import Ints, X, Y

STARTS_SHARE = 0.5  # of the work, for the starts
MOST_STARTS, MOVES_A_START = 40, 1_500  # moves for a body, where there are fewer than most
KEPT = 10  # ends
SAME_SHARE = 1e-3  # of the cost: ends that are nearer to each other are one
TURN = 8  # how often an end is tried before it is the next one's turn
FEWEST, MOST = 3, 6  # neighbours that are placed anew
BLUR = 0.3  # how loosely they are the nearest: of the logarithm of distances
ANEW: Stage = (1.0, 0.15, 0.02, 0.3, 4.0, 0.6, 0.1)  # how they are cooled
MOVES_ANEW, MOVES_AFTER = 300, 150  # for each of them; then for each body
# Looks on the way down after that, see `Cooling.hopefully`: they spare two fifths of the moves, and
# one in ten of those that would have been a gain is given up. Measured on four plates.
LOOKS = ((0.0, 1.0, 1.15), (0.3, 4.0, 1.1), (0.5, 4.0, 1.055), (0.7, 4.0, 1.027))
SLID_SHARE = 0.04  # of the work: for sliding the best ends
FREE_SURE_MM = 0.5  # of overlaps in all: so little can be taken out
THERE = -1
TOLD_SHARE = 5e-3  # of the cost: a gain that is worth being shown while the search runs


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


@dataclass
class Reworking:
    """The search of few bodies on one face.

    Attributes:
        cooling: what it is done with.
        ends: the best ends, the best first; no two are alike.
        values: what each start has come to.
    """

    cooling: Cooling
    ends: list[End] = field(default_factory=list)
    values: dict[int, float] = field(default_factory=dict)

    @classmethod
    def suits(cls, cooling: Cooling) -> bool:
        """Whether a puzzle is one for this."""
        puzzle = cooling.puzzle
        return cooling.movable <= FEW_BODIES and puzzle.faces == 1 and not puzzle.varied

    def steps(self) -> Iterator[float]:
        """Run it to the end of the work; yields as `Search.steps`."""
        cooling = self.cooling
        slid = int(np.clip(SLID_SHARE * cooling.work / SLIDE_WORK, 1, KEPT))
        whole = cooling.work * (1 - SLID_SHARE)
        if cooling.best.state is not None:
            state, _ = cooling.best.copied()
            self._keep(End(THERE, cooling.laden(state), state))
        yield from self._started(cooling.spent + STARTS_SHARE * (whole - cooling.spent))
        yield from self._slid(1)
        while self.ends and cooling.spent < cooling.in_time(whole):
            yield from self._reworked(min(self.ends, key=End.turn))
        yield from self._slid(slid)
        cooling.best.ends += [value for start, value in self.values.items() if start != THERE]

    def _started(self, until: float) -> Iterator[float]:
        """Cool from anywhere, again and again, until so much work is spent."""
        cooling = self.cooling
        moves = (until - cooling.spent) / cooling.rate
        starts = int(np.clip(moves / (MOVES_A_START * cooling.movable), 1, MOST_STARTS))
        for number in range(starts):
            left = cooling.in_time(until) - cooling.spent
            if left <= 0:
                break
            state = cooling.anywhere()
            recipe = RECIPES[number % len(RECIPES)]
            yield from cooling.chilled(state, recipe, left / cooling.rate / (starts - number))
            self._keep(End(number, cooling.laden(state), state))
            if cooling.best.state is None:
                yield from self._slid(1)

    def _keep(self, end: End) -> None:
        """Keep an end if it is among the best, and of two that are alike the better."""
        self.values[end.start] = end.value
        for other in self.ends:
            if abs(other.value - end.value) < SAME_SHARE * abs(end.value):
                if end.value < other.value:
                    other.value, other.state = end.value, end.state
                return
        self.ends.append(end)
        self.ends.sort(key=lambda kept: kept.value)
        del self.ends[KEPT:]

    def _reworked(self, end: End) -> Iterator[float]:
        """Place a few neighbours of an end anew, and keep what comes of it if it is better."""
        cooling, state = self.cooling, (end.state[0].copy(), end.state[1].copy())
        end.tries += 1
        few = self._neighbours(state)
        yield from cooling.cool(state, cooling.plan(ANEW, MOVES_ANEW * len(few)), who=few)
        done = yield from cooling.hopefully(state, MOVES_AFTER * cooling.movable, end.value, LOOKS)
        value = cooling.laden(state)
        if not done or value >= end.value * (1 - SAME_SHARE):
            return
        if fault(cooling.f, cooling.n, *state) > FREE_SURE_MM:
            tried = state[0].copy(), state[1].copy()
            yield from cooling.settled(tried)
            if not np.isfinite(cooling.ended(tried)):
                return
        self.ends.remove(end)
        self._keep(End(end.start, value, state))
        if value < cooling.best.cost * (1 - TOLD_SHARE):
            yield from self._slid(1)

    def _neighbours(self, state: State) -> Ints:
        """A body by chance and some that stand near it, on either face."""
        s, k = state
        random, count = self.cooling.order, self.cooling.movable
        first = int(random.integers(count))
        x, y = s[k[X]: k[X] + count], s[k[Y]: k[Y] + count]
        far = np.hypot(x - x[first], y - y[first]) * np.exp(random.normal(0.0, BLUR, count))
        far[first] = -1.0
        return np.argsort(far, kind="stable")[: int(random.integers(FEWEST, MOST + 1))]

    def _slid(self, count: int) -> Iterator[float]:
        """Slide the best ends, until so many turned out to be free."""
        free = 0
        for end in self.ends:
            state = end.state[0].copy(), end.state[1].copy()
            yield from self.cooling.settled(state)
            free += bool(np.isfinite(self.cooling.ended(state)))
            if free >= count:
                break

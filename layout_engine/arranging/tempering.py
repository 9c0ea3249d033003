"""Few bodies on two faces: copies at many temperatures at once, which change places.

Parallel tempering, or replica exchange (Hukushima, Nemoto, J. Phys. Soc. Jpn. 65 (1996) 1604), here
with overlaps that weigh more the colder it is (Fukunishi, Watanabe, Takada, J. Chem. Phys. 116
(2002) 9058). Which module stands on which face is decided while it is warm, and what comes of it
is known only when it is cold; a way down decides it once, while here the same copy is warmed and
cooled again and again, for as long as there is time. Where an end differs from a better one by a
few neighbours alone they are placed anew at last, as on one face (`reworking`).

Measured on six jobs of 12 modules, 147 million units of work, five or six seeds a time, cost over
the best seen: six populations, one after another, 2.5 % in the mean, twelve copies alone 1.2 to 2.1
in four times; with 900 million units, three jobs, four seeds, 1.4 and 0.6. On five jobs, 185
million units, 24 seeds: without neighbours 2.1, with them from 0.75 of the work on 1.9, and with
rounds half as long 1.3. Of 25 and 40 modules populations come lower, and of few on one face placing
neighbours anew from the start.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from math import exp, inf, isfinite

from layout_engine.arranging.cooling import Cooling, State
from layout_engine.arranging.ends import TOLD_SHARE, End, Ends
from layout_engine.arranging.population import Step, way_down
from layout_engine.arranging.pricing import burden, price
from layout_engine.arranging.reworking import Reworking
from layout_engine.arranging.schedules import FEW_BODIES

# On one job, 20 seeds, 560 million units: 8 come to 2.3 % over the best, 12 to 0.9, 16 to 2.0; the
# best was found by 7, 14 and 7 of them.
REPLICAS = 12
# Temperature, weight of overlaps and shifts of the hottest and of the coldest, as in a stage.
HOT, COLD = (0.4, 1.0, 0.6), (0.04, 4.0, 0.06)
# For every body; in all, of each copy. As above, with 8 copies: 80 2.3 %, 40 1.8, 20 1.4, 10 1.7.
MOVES_A_ROUND, FEWEST_MOVES = 20, 100
ROUNDS_A_LOOK = 10  # after so many the coldest is cooled to the end
LOOK_MOVES = 200  # for every body, for that
SHARE, REWORKED_SHARE = 0.8, 0.95  # of the work, with what was done before: until then so
SLID = 3  # ends at last


@dataclass(eq=False)
class Replica:
    """One of the copies.

    Attributes:
        state: bodies and poses.
        start: which descent this is: a new one begins whenever the copy is the hottest.
    """

    state: State
    start: int


@dataclass
class Tempering:
    """The search of few bodies on two faces.

    Attributes:
        cooling: what it is done with.
        ends: what the descents have come to.
        starts: descents that were begun.
        told: value of the end that was slid last.
        jammed: values of ends whose overlaps could not be taken out.
    """

    cooling: Cooling
    ends: Ends = field(init=False)
    starts: int = 0
    told: float = inf
    jammed: list[float] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.ends = Ends(self.cooling)

    @classmethod
    def suits(cls, cooling: Cooling) -> bool:
        """Whether a puzzle is one for this."""
        puzzle = cooling.puzzle
        return cooling.movable <= FEW_BODIES and puzzle.faces > 1 and not puzzle.varied

    def steps(self) -> Iterator[float]:
        """Run it to the end of its share of the work; yields as `Search.steps`."""
        cooling = self.cooling
        path = way_down(cooling.step(HOT), cooling.step(COLD), REPLICAS)
        moves = max(MOVES_A_ROUND * cooling.movable, FEWEST_MOVES)
        plans = [cooling.plan_at(step, moves) for step in path]
        replicas = [self.replica() for _ in path]
        self.ends.keep_there()
        number = 0
        while cooling.spent < cooling.in_time(SHARE * cooling.work):
            for replica, plan in zip(replicas, plans, strict=True):
                yield from cooling.cool(replica.state, plan)
            self.exchange(replicas, path, number % 2)
            number += 1
            if number % ROUNDS_A_LOOK == 0:
                yield from self._look(replicas[-1])
        yield from Reworking(cooling, self.ends).go_on(REWORKED_SHARE * cooling.work)
        yield from self.ends.slid(SLID)
        self.ends.tell()

    def replica(self) -> Replica:
        """A copy that begins anywhere."""
        return Replica(self.cooling.anywhere(), self._next())

    def _next(self) -> int:
        """The number of a descent that begins."""
        self.starts += 1
        return self.starts - 1

    def exchange(self, replicas: list[Replica], path: list[Step], first: int) -> None:
        """Let neighbours in temperature change places by the acceptance rule, every second pair."""
        f, n = self.cooling.f, self.cooling.n
        figures = [(price(f, n, *own.state), burden(f, n, *own.state)) for own in replicas]
        for hot in range(first, len(path) - 1, 2):
            gain = exchange_gain(path[hot], path[hot + 1], figures[hot], figures[hot + 1])
            if gain >= 0 or self.cooling.order.random() < exp(gain):
                replicas[hot], replicas[hot + 1] = replicas[hot + 1], replicas[hot]
                if hot == 0:
                    replicas[0].start = self._next()

    def _look(self, coldest: Replica) -> Iterator[float]:
        """Cool the coldest to the end, and keep what comes of it; what is better by more than a
        little is slid and offered at once, and not kept if it can't be freed.
        """
        cooling = self.cooling
        tried = coldest.state[0].copy(), coldest.state[1].copy()
        yield from cooling.quenched(tried, LOOK_MOVES * cooling.movable)
        end = End(coldest.start, cooling.laden(tried), tried)
        if end.value < self.told * (1 - TOLD_SHARE):
            if any(end.is_as(value) for value in self.jammed):
                return
            freed = tried[0].copy(), tried[1].copy()
            yield from cooling.settled(freed)
            if not isfinite(cooling.ended(freed)):
                self.jammed.append(end.value)
                return
            self.told = end.value
        self.ends.keep(end)


def exchange_gain(hot: Step, cold: Step, at_hot: tuple[float, float], at_cold: tuple[float, float]
                  ) -> float:
    """The logarithm of the chance that two copies change places, above 0 for certain.

    Args:
        hot: the higher of their temperatures.
        cold: the lower.
        at_hot: price and burden of the copy that is at the higher one now.
        at_cold: those of the other.
    """
    now = hot.pressed(*at_hot) + cold.pressed(*at_cold)
    return now - hot.pressed(*at_cold) - cold.pressed(*at_hot)

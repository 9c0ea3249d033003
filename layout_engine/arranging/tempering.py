"""Few bodies on two faces, or where much stays: copies at many temperatures, which change places.

Parallel tempering, or replica exchange (Hukushima, Nemoto, J. Phys. Soc. Jpn. 65 (1996) 1604), here
with overlaps that weigh more the colder it is (Fukunishi, Watanabe, Takada, J. Chem. Phys. 116
(2002) 9058). Which module stands on which face is decided while it is warm, and what comes of it
is known only when it is cold; a way down decides it once, while here the same copy is warmed and
cooled again and again, for as long as there is time. Where an end differs from a better one by a
few neighbours alone they are placed anew at last, as on one face (`reworking`).

Measured on six jobs of 12 modules, 147 million units of work, five or six seeds a time, cost over
the best seen: six populations, one after another, 2.5 % in the mean, twelve copies alone 1.2 to 2.1
in four times. On five jobs, 185 million units, 24 seeds: without neighbours 2.1, with them from
0.75 of the work on 1.9, and with rounds half as long 1.3. Of 25 and 40 modules populations come
lower, and of few on one face where little stays placing neighbours anew from the start.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from math import inf, isfinite

import numpy as np

from layout_engine.arranging.cooling import Cooling, State
from layout_engine.arranging.ends import TOLD_SHARE, End, Ends
from layout_engine.arranging.exchanging import exchange_rounds
from layout_engine.arranging.population import way_down
from layout_engine.arranging.reworking import Reworking
from layout_engine.arranging.schedules import is_tempered, is_unlike
from layout_engine.arranging.vectors import Floats, Ints

# Temperature, weight of overlaps and shifts of the hottest and of the coldest, as in a stage. What
# is colder yet needs no copies, as it is cooled to the end from here: three jobs, 110 million
# units, 32 to 64 seeds, cost over the best seen: 12 copies down to (0.04, 4.0, 0.06) 1.3 %, without
# the two coldest 1.2, the three 1.0, the four 0.9, the five 0.8, the six 0.6, the seven 0.9.
REPLICAS = 6
HOT, COLD = (0.4, 1.0, 0.6), (0.14, 1.9, 0.21)
# For every body; in all, of each copy. One job, 20 seeds, 560 million units: 80 2.3 %, 40 1.8,
# 20 1.4, 10 1.7.
MOVES_A_ROUND, FEWEST_MOVES = 20, 100
ROUNDS_A_LOOK = 10  # after so many the coldest is cooled to the end; 5 and 20 are no better
LOOK_MOVES = 200  # for every body, for that
SHARE, REWORKED_SHARE = 0.8, 0.95  # of the work, with what was done before: until then so
SLID = 3  # ends at last


@dataclass(eq=False)
class Replicas:
    """The copies.

    Attributes:
        floats: (copies, ...) floats of their states: bodies and poses.
        integers: (copies, ...) the states' integers.
        at: (copies,) which copy has each temperature, the hottest first.
        starts: (copies,) which descent each copy is on: a new one begins whenever it is the
            hottest.
        begun: (1,) descents that were begun.
    """

    floats: Floats
    integers: Ints
    at: Ints
    starts: Ints
    begun: Ints

    @classmethod
    def anywhere(cls, cooling: Cooling, count: int) -> Replicas:
        """So many copies that begin anywhere."""
        states = [cooling.anywhere() for _ in range(count)]
        return cls(np.stack([s for s, _ in states]), np.stack([k for _, k in states]),
                   np.arange(count), np.arange(count), np.array([count]))

    def coldest(self) -> tuple[int, State]:
        """The coldest copy: which descent it is on, and a state like its own."""
        copy = self.at[-1]
        return int(self.starts[copy]), (self.floats[copy].copy(), self.integers[copy].copy())


@dataclass
class Tempering:
    """The search of few bodies on two faces, or where much stays; of some in the first chain alone.

    Attributes:
        cooling: what it is done with.
        ends: what the descents have come to.
        told: value of the end that was slid last.
        jammed: values of ends whose overlaps could not be taken out.
    """

    cooling: Cooling
    ends: Ends = field(init=False)
    told: float = inf
    jammed: list[float] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.ends = Ends(self.cooling)

    @classmethod
    def suits(cls, cooling: Cooling) -> bool:
        """Whether a puzzle is one for this, in the chain that it is searched by."""
        puzzle = cooling.puzzle
        stays = cooling.count - cooling.movable
        if cooling.is_varied or (cooling.chain % 2 and is_unlike(cooling.movable, puzzle.faces)):
            return False
        return is_tempered(cooling.movable, puzzle.faces, stays)

    def steps(self) -> Iterator[float]:
        """Run it to the end of its share of the work; yields as `Search.steps`."""
        cooling = self.cooling
        plans, copies = self.plans(), Replicas.anywhere(cooling, REPLICAS)
        self.ends.keep_there()
        number = 0
        while cooling.spent < cooling.in_time(SHARE * cooling.work):
            self.run(copies, plans, number, number + ROUNDS_A_LOOK)
            number += ROUNDS_A_LOOK
            yield cooling.share()
            yield from self._look(*copies.coldest())
        yield from Reworking(cooling, self.ends).go_on(REWORKED_SHARE * cooling.work)
        yield from self.ends.slid(SLID)
        self.ends.tell()

    def plans(self) -> Floats:
        """What the copies go by at each temperature, the hottest first; (copies, ...)."""
        cooling = self.cooling
        moves = max(MOVES_A_ROUND * cooling.movable, FEWEST_MOVES)
        path = way_down(cooling.step(HOT), cooling.step(COLD), REPLICAS)
        return np.stack([cooling.plan_at(step, moves) for step in path])

    def run(self, copies: Replicas, plans: Floats, first: int, last: int) -> None:
        """Run rounds `first` up to `last`."""
        cooling = self.cooling
        cooling.spent += exchange_rounds(
            cooling.f, cooling.n, copies.floats, copies.integers, cooling.random, plans, copies.at,
            copies.starts, copies.begun, first, last, cooling.everybody)

    def _look(self, start: int, tried: State) -> Iterator[float]:
        """Cool the coldest to the end, and keep what comes of it; what is better by more than a
        little is slid and offered at once, and not kept if it can't be freed.
        """
        cooling = self.cooling
        yield from cooling.quenched(tried, LOOK_MOVES * cooling.movable)
        end = End(start, cooling.laden(tried), tried)
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

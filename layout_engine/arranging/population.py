"""A population that is cooled together: who does well is copied, who does badly is dropped.

Population annealing (Hukushima, Iba, AIP Conf. Proc. 690 (2003) 200; for finding lowest states:
Wang, Machta, Katzgraber, Phys. Rev. E 92 (2015) 063307). Between two temperatures a state is
copied as often, on average, as the colder temperature would rather have it than the hotter one; so
the work goes to what is worth it long before that could be told from a single cooling.

Overlaps are light in it, so that bodies pass through one another. Where no place is cheap for two
of them, most states come to let these two overlap to the end, and none can be freed of it. So the
overlap of two bodies that most states have weighs the more, step by step (penalties that rise
while it is cooled: Wah, Chen, Wang, J. Glob. Optim. 39 (2007) 1).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, floor

import numpy as np

from layout_engine.arranging.pricing import pressed
from layout_engine.arranging.vectors import OVERLAP, PRESSURE, Floats, Ints

State = tuple[Floats, Ints]

# Seven jobs of 25 and 40 modules, 40 searches of two chains, cost over the best seen: chains 4.5 %
# in the mean without, 3.4 so, the better of two 2.9 and 2.4; of 80 chains ten ended over 8 % off
# and three over 15, so six and none. Pressed from 0.35 of the states on, or from twice the
# temperature of `PRESSED_BELOW`, or with overlaps lighter by a third besides: alike.
STANDS_IN_MM = 0.5  # overlaps under this are none here
PRESSED_SHARE = 0.5  # of the states, if more of them have it
GROWTH, MOST_PRESSURE = 1.2, 100.0  # of the weight of such an overlap: each step, and in all


@dataclass(frozen=True, slots=True)
class Step:
    """One temperature of the way down.

    Attributes:
        heat: the temperature.
        heavy: weight of overlaps.
        window: how far a body is shifted at most, mm.
    """

    heat: float
    heavy: float
    window: float

    def pressed(self, price: float, burden: float) -> float:
        """What a state of this price and burden is worth at this temperature, over it."""
        return pressed(price, burden, self.heavy, self.heat)


def way_down(hot: Step, cold: Step, count: int) -> list[Step]:
    """So many steps from hot to cold, each the same share of the one before."""
    return [
        Step(*(a * (b / a) ** (at / max(count - 1, 1)) for a, b in (
            (hot.heat, cold.heat), (hot.heavy, cold.heavy), (hot.window, cold.window))))
        for at in range(count)
    ]


def copies(gains: list[float], chance: float) -> Ints:
    """How often each state goes on to the next step; as many in all as there are now.

    Args:
        gains: how much more each is worth at the next step than at this one.
        chance: a random number from 0 up to 1; one for all, so that nobody is copied more than
            once over what is due (systematic resampling).
    """
    most = max(gains)
    weights = [exp(gain - most) for gain in gains]
    whole, done, told = sum(weights), 0, np.zeros(len(weights), dtype=np.int64)
    reached = 0.0
    for number, weight in enumerate(weights):
        reached += weight / whole * len(weights)
        upto = min(max(floor(reached - chance) + 1, done), len(weights))
        told[number], done = upto - done, upto
    told[int(np.argmax(weights))] += len(weights) - done  # rounding may leave one out
    return told


def go_on(states: list[State], told: Ints) -> None:
    """Let each state be there as often as told: copies take the places of those dropped."""
    spare = [number for number, count in enumerate(told) if count == 0]
    for number, count in enumerate(told):
        for _ in range(int(count) - 1):
            to = states[spare.pop()]
            to[0][:], to[1][:] = states[number]


def press(states: list[State], size: int) -> None:
    """Let the overlaps that most states have weigh more in all of them.

    `size`: of the table of overlaps, which bodies that may move have with all.
    """
    overlaps, pressures = (
        np.array([s[k[block]: k[block] + size] for s, k in states])
        for block in (OVERLAP, PRESSURE))
    lasts = np.mean(overlaps > STANDS_IN_MM, axis=0) > PRESSED_SHARE
    after = np.where(lasts, np.minimum(pressures[0] * GROWTH, MOST_PRESSURE), pressures[0])
    for s, k in states:
        s[k[PRESSURE]: k[PRESSURE] + size] = after

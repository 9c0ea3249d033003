"""A population that is cooled together: who does well is copied, who does badly is dropped.

Population annealing (Hukushima, Iba, AIP Conf. Proc. 690 (2003) 200; for finding lowest states:
Wang, Machta, Katzgraber, Phys. Rev. E 92 (2015) 063307). Between two temperatures a state is
copied as often, on average, as the colder temperature would rather have it than the hotter one; so
the work goes to what is worth it long before that could be told from a single cooling.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, floor

import numpy as np

from layout_engine.arranging.pricing import pressed
from layout_engine.arranging.vectors import Floats, Ints

State = tuple[Floats, Ints]


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


def copies(figures: list[tuple[float, float]], now: Step, after: Step, chance: float) -> Ints:
    """How often each state goes on to the next step; as many in all as there are now.

    Args:
        figures: price and burden of each.
        now: this step.
        after: the next.
        chance: a random number from 0 up to 1; one for all, so that nobody is copied more than
            once over what is due (systematic resampling).
    """
    gains = [now.pressed(*own) - after.pressed(*own) for own in figures]
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

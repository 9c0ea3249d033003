"""Climbing a bound: any numbers give a bound, and better ones a better one."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from layout_engine.arranging.vectors import Floats

LOOK_EVERY = 10  # rounds
KEPT = (0.8, 0.98)  # of the means of slopes and of their squares


def climbed(value: Callable[[Floats], tuple[float, Floats]], start: Floats,
            limited: Callable[[Floats], Floats], rounds: int, step: float,
            is_stopped: Callable[[], bool] = lambda: False) -> Floats:
    """Numbers with a high bound (Adam: Kingma, Ba 2015; its steps shrink to nothing).

    Args:
        value: a bound and its slopes.
        start: numbers to begin with; never worse than these.
        limited: the nearest numbers that are allowed.
        rounds: how often the bound is worked out.
        step: of the first round.
        is_stopped: whether to make do with the rounds so far; asked every few rounds.
    """
    x, best, highest = start, start, -np.inf
    first, second = np.zeros(len(start)), np.zeros(len(start))
    for turn in range(rounds):
        if turn % LOOK_EVERY == 0 and is_stopped():
            break
        bound, slopes = value(x)
        if bound > highest:
            best, highest = x, bound
        first += (1 - KEPT[0]) * (slopes - first)
        second += (1 - KEPT[1]) * (slopes**2 - second)
        up = first / (1 - KEPT[0] ** (turn + 1))
        size = np.sqrt(second / (1 - KEPT[1] ** (turn + 1))) + 1e-12
        x = limited(x + step * (1 - turn / rounds) * up / size)
    return best

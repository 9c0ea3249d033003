"""Copies at many temperatures at once: their moves, and changing places between neighbours.

Compiled as one, so that between the moves of two copies nothing is handed on, and no figure of a
copy computed anew: they are kept with it. A search of 12 modules takes a fourteenth less time so.
"""

from __future__ import annotations

from math import exp

from layout_engine.arranging.annealing import FIRST, HEAT, HEAVY, MOVES, go_on
from layout_engine.arranging.compiled import compiled, inlined
from layout_engine.arranging.moving import draw
from layout_engine.arranging.pricing import burden, pressed, price, refresh
from layout_engine.arranging.vectors import WORK, Floats, Ints, Words


@compiled
def exchange_rounds(f: Floats, n: Ints, ss: Floats, ks: Ints, random: Words,  # noqa: PLR0913
                    plans: Floats, at: Ints, starts: Ints, begun: Ints, first: int, last: int,
                    who: Ints) -> int:
    """Run rounds `first` up to `last`: the moves of every copy, then neighbours change places.

    Args:
        f: the problem's floats.
        n: its integers.
        ss: (copies, ...) the states' floats, changed in place.
        ks: (copies, ...) their integers.
        random: state of the random numbers.
        plans: (copies, ...) of each temperature, the hottest first, as `anneal` has them.
        at: (copies,) which copy has each temperature.
        starts: (copies,) which descent each copy is on: a new one begins with the hottest place.
        begun: (1,) descents that were begun.
        first: first round; it tells which neighbours change places: every second pair.
        last: the one after the last.
        who: the bodies that are moved.

    Returns:
        The work done, as of `anneal`.
    """
    work, count = 0, len(at)
    for copy in range(count):
        refresh(f, n, ss[copy], ks[copy])
    for turn in range(first, last):
        for level in range(count):
            copy = at[level]
            ks[copy, WORK] = 0
            moves = int(plans[level, MOVES])
            go_on(f, n, ss[copy], ks[copy], random, plans[level], FIRST, moves, who)
            work += ks[copy, WORK]
        for hot in range(turn % 2, count - 1, 2):
            one, two = at[hot], at[hot + 1]
            gain = exchange_gain(
                plans[hot], plans[hot + 1],
                price(f, n, ss[one], ks[one]), burden(f, n, ss[one], ks[one]),
                price(f, n, ss[two], ks[two]), burden(f, n, ss[two], ks[two]))
            if gain >= 0.0 or draw(random) < exp(gain):
                at[hot], at[hot + 1] = two, one
                if hot == 0:
                    starts[two] = begun[0]
                    begun[0] += 1
    return work


@inlined
def exchange_gain(hot: Floats, cold: Floats, price_hot: float,
                  burden_hot: float, price_cold: float, burden_cold: float) -> float:
    """The logarithm of the chance that two copies change places, above 0 for certain.

    Args:
        hot: plan of the higher of their temperatures.
        cold: of the lower.
        price_hot: price of the copy that is at the higher one now.
        burden_hot: its burden.
        price_cold: price of the other.
        burden_cold: its burden.
    """
    hot_heavy, hot_heat, cold_heavy, cold_heat = hot[HEAVY], hot[HEAT], cold[HEAVY], cold[HEAT]
    return (pressed(price_hot, burden_hot, hot_heavy, hot_heat)
            + pressed(price_cold, burden_cold, cold_heavy, cold_heat)
            - pressed(price_cold, burden_cold, hot_heavy, hot_heat)
            - pressed(price_hot, burden_hot, cold_heavy, cold_heat))

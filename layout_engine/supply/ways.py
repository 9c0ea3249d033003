"""The way of least resistance between two nodes of a network (Dijkstra 1959)."""

from __future__ import annotations

from heapq import heappop, heappush
from math import inf

from layout_engine.supply.network import Network


def least_way(network: Network, start: int, goal: int, *, without: int = -1) -> list[int] | None:
    """Numbers of the conductors on the way, from `start` on; None where there is none.

    without: the number of a conductor that must not be on it.
    """
    best, queue = {start: 0.0}, [(0.0, start)]
    came: dict[int, tuple[int, int]] = {}
    while queue:
        far, here = heappop(queue)
        if here == goal:
            break
        for there, number in network.neighbours.get(here, ()):
            reached = far + network.conductors[number].ohms
            if number != without and reached < best.get(there, inf):
                best[there], came[there] = reached, (here, number)
                heappush(queue, (reached, there))
    if goal not in best:
        return None
    numbers, here = [], goal
    while here != start:
        here, number = came[here]
        numbers.append(number)
    return numbers[::-1]

"""Lines of equal cost over a grid of points, as on a map: marching squares, chained into lines.

Along an edge of the grid the cost is taken as straight; at a saddle the mean of the four corners
decides (Lorensen and Cline 1987 in the plane).
"""

from __future__ import annotations

from collections import defaultdict
from math import floor, log10

import numpy as np

from layout_engine.arranging.vectors import Floats
from layout_engine.geometry.frames import Points

MOST_LINES = 5
STEPS = (1.0, 2.0, 5.0, 10.0)
Edge = tuple[int, int, int]  # row and column of its first point; 0 to the right, 1 upwards
SIDES: dict[int, tuple[tuple[str, str], ...]] = {
    1: (("left", "bottom"),), 2: (("bottom", "right"),), 3: (("left", "right"),),
    4: (("right", "top"),), 6: (("bottom", "top"),), 7: (("left", "top"),),
    8: (("top", "left"),), 9: (("top", "bottom"),), 11: (("top", "right"),),
    12: (("right", "left"),), 13: (("right", "bottom"),), 14: (("bottom", "left"),),
}
SADDLES = {  # (which corners are under the level, whether the middle is)
    (5, True): (("left", "top"), ("bottom", "right")),
    (5, False): (("left", "bottom"), ("right", "top")),
    (10, True): (("left", "bottom"), ("right", "top")),
    (10, False): (("left", "top"), ("bottom", "right")),
}


def round_step(span: float, most: int = MOST_LINES) -> float:
    """The least of 1, 2, 5, 10 ... that goes into a span at most `most` times."""
    wanted = span / most
    power = 10.0 ** floor(log10(wanted))
    return next(power * step for step in STEPS if power * step >= wanted * (1 - 1e-9))


def isolines(costs: Floats, xs: Floats, ys: Floats, level: float) -> list[Points]:
    """Lines, corners (n, 2), on which the cost is `level`; closed ones end where they begin.

    costs: at every (x, y), shape (len(ys), len(xs)).
    """
    links = _links(costs, level)
    lines = []
    while links:
        start = next((edge for edge, ends in links.items() if len(ends) == 1), next(iter(links)))
        lines.append(np.array([_crossing(costs, xs, ys, level, e) for e in _chain(links, start)]))
    return lines


def _links(costs: Floats, level: float) -> dict[Edge, list[Edge]]:
    """Which edges of the grid a line joins, both ways."""
    under = costs < level
    corners = (under[:-1, :-1] * 1 + under[:-1, 1:] * 2 + under[1:, 1:] * 4 + under[1:, :-1] * 8)
    links: dict[Edge, list[Edge]] = defaultdict(list)
    for row, column in np.argwhere((corners > 0) & (corners < 15)).tolist():
        case = int(corners[row, column])
        if case in SIDES:
            pairs = SIDES[case]
        else:
            middle = costs[row: row + 2, column: column + 2].mean() < level
            pairs = SADDLES[case, bool(middle)]
        edges = {"left": (row, column, 1), "right": (row, column + 1, 1),
                 "bottom": (row, column, 0), "top": (row + 1, column, 0)}
        for one, other in pairs:
            links[edges[one]].append(edges[other])
            links[edges[other]].append(edges[one])
    return links


def _chain(links: dict[Edge, list[Edge]], start: Edge) -> list[Edge]:
    """The edges that one line runs through from `start`; they are taken out of the links."""
    chain, at = [start], start
    while links.get(at):
        after = links[at].pop()
        links[after].remove(at)
        for edge in (at, after):
            if not links[edge]:
                del links[edge]
        chain.append(after)
        at = after
    return chain


def _crossing(costs: Floats, xs: Floats, ys: Floats, level: float, edge: Edge
              ) -> tuple[float, float]:
    row, column, upwards = edge
    after = (row + 1, column) if upwards else (row, column + 1)
    a, b = float(costs[row, column]), float(costs[after])
    share = (level - a) / (b - a) if b != a else 0.5
    x, y = float(xs[column]), float(ys[row])
    if upwards:
        return x, y + share * (float(ys[row + 1]) - y)
    return x + share * (float(xs[column + 1]) - x), y

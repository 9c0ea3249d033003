"""Shortest ways through the corridor graph under changing costs."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components, dijkstra

from layout_engine.wiring.corridors import Corridors

Floats = NDArray[np.float64]
LEVEL_MM = 0.05
MOST_KNOWN = 64  # ends of ways for which it is kept which edge leads how much nearer
LEAST_COST = 1e-6  # of an edge
DECIMALS = 7  # of costs: what differs less is a tie, the same in each view of the board
SLACK = 1e-3  # what a whole way may cost more for that
NO_WAY = 1e9  # cost of an edge that must not be used


class Search:
    """Dijkstra's algorithm on one graph whose edges' costs are given anew each time."""

    def __init__(self, graph: Corridors) -> None:
        count = len(graph.xy)
        edges = np.arange(len(graph.u))
        rows = np.concatenate((graph.u, graph.v))
        columns = np.concatenate((graph.v, graph.u))
        order = np.lexsort((columns, rows))
        self._edges = np.concatenate((edges, edges))[order]
        starts = np.searchsorted(rows[order], np.arange(count + 1))
        self._matrix = csr_array(
            (np.ones(len(order)), columns[order].astype(np.int32), starts.astype(np.int32)),
            shape=(count, count))
        self._from, self._to = rows[order], columns[order]
        self._xy = graph.xy
        self._known: dict[int, Floats] = {}
        self._keys = self._from * count + self._to  # in order
        self._count = count
        self.effort = 0  # edges looked at by `way`
        self.seen = np.zeros(len(graph.u), dtype=bool)  # edges of the ways that were found

    def way(self, costs: Floats, start: int, end: int, most: float = NO_WAY,
            per_mm: float = 0.0) -> list[int] | None:
        """Edges of the cheapest way between two nodes, in order; None where there is none.

        costs: over 0, one an edge; `NO_WAY` or more closes an edge. most: what a way may cost;
        per_mm: what each mm along an axis costs at least. Both only save looking: what is left to
        the end at least is told to each edge beforehand (A* as Dijkstra's algorithm on reduced
        costs: P. Hart, N. Nilsson, B. Raphael, IEEE Trans. SSC 4 (1968), from memory).
        """
        data = costs[self._edges] + per_mm * self._nearer(end)
        slant = 2.0 * max(0.0, -float(data.min()))  # of straight parts at both ends
        self._matrix.data = np.maximum(np.round(data, DECIMALS), LEAST_COST)
        least = per_mm * float(np.abs(self._xy[start] - self._xy[end]).sum())
        near = most - least + slant + SLACK
        if near < 0:
            return None
        limits = [near] if most < NO_WAY else [least + slant, 4.0 * least + slant, NO_WAY / 2]
        for limit in limits:
            self.effort += len(self._edges)
            away, before = dijkstra(self._matrix, indices=start, return_predecessors=True,
                                    limit=limit)
            if away[end] <= limit:
                break
        else:
            return None
        nodes = [end]
        while nodes[-1] != start:
            nodes.append(int(before[nodes[-1]]))
        there = np.array(nodes[::-1])
        keys = there[:-1] * self._count + there[1:]
        edges = self._edges[np.searchsorted(self._keys, keys, side="right") - 1]
        self.seen[edges] = True
        found: list[int] = edges.tolist()
        return found

    def _nearer(self, end: int) -> Floats:
        """By how much each edge, from node to node, leads farther from an end [mm]."""
        known = self._known.get(end)
        if known is None:
            left = np.abs(self._xy - self._xy[end]).sum(axis=1)
            known = left[self._to] - left[self._from]
            if len(self._known) < MOST_KNOWN:
                self._known[end] = known
        return known

    def widest(self, widths: Floats, start: int, end: int) -> float | None:
        """The greatest width that some way between two nodes has all along; None: no way.

        widths: one an edge; edges under 0 are closed. Told to `LEVEL_MM`, never too much.
        """
        levels = np.unique(np.floor(widths[widths >= 0.0] / LEVEL_MM)) * LEVEL_MM
        low, high = 0, len(levels)
        while low < high:  # the first level that no longer joins both
            middle = (low + high) // 2
            if self._joined(widths >= levels[middle] - 1e-9, start, end):
                low = middle + 1
            else:
                high = middle
        return float(levels[low - 1]) - 1e-9 if low else None

    def _joined(self, open_: NDArray[np.bool_], start: int, end: int) -> bool:
        rows = np.repeat(np.arange(self._count), np.diff(self._matrix.indptr))
        chosen = open_[self._edges]
        part = csr_array((np.ones(int(chosen.sum())),
                          (rows[chosen], self._matrix.indices[chosen])),
                         shape=(self._count, self._count))
        _, labels = connected_components(part, directed=False)
        return bool(labels[start] == labels[end])

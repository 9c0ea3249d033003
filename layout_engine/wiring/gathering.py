"""Laying all wires of a board from scratch, in as few runs as their lengths allow.

Each wire is first sought as if openings were shared by as many as would take them (dynamic slope
scaling: D. Kim and P. Pardalos, Operations Research Letters 24 (1999), from memory), at two
weights of openings. Then only track is looked at that some way led over until then, which is a
seventh of it: all wires are laid there again and again, with openings weighed less or more and
shared as they are in the laying before. Those that come out too long are made shorter by single
wires that get ways of their own. Layings are compared by what they leave of the length that wires
may have together and of the plate that they may cover (`_Laid.margins`); the better of the two
does not make up for the other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import exp

import numpy as np
from numpy.typing import NDArray

from layout_engine.wiring.corridors import RUN, Corridors
from layout_engine.wiring.demands import Demand
from layout_engine.wiring.improving import Improvement
from layout_engine.wiring.parting import part_holes

Floats = NDArray[np.float64]
SHARINGS = 3  # how often it is asked how many wires would share each piece of track, at first
FIRST_SHARE, LEAST_SHARE = 4.0, 0.5  # wires that are thought to share one, at first and at least
AGAIN_SHARE = 3.0, 0.0, 1.5, 0.0, 4.0, 1.0  # the least when all are laid again, by turns; 0: none
STEP = 2.0  # by which openings are weighed less or more, until both margins were too small once
BETWEEN = 0.5, 0.8, 0.3, 0.65, 0.9, 0.15, 0.4, 0.75  # then shares of the ratio of both weights
MOST_LAID = 1_600_000  # cubes of wires that are laid again with other weights, at most
ENOUGH = 1.0  # of both margins: then no other weights are tried
FINISHED = 3  # how many layings are looked at in the end
OWN_WAYS = 1 / 2, 1 / 4, 1 / 8  # so much openings count where a wire is given its own way
SHORTER_MM = 0.1  # by which a wire's own way is shorter, at least
DETOUR_MM = 5.0  # a wire that is no longer than that over its shortest way keeps its way
CELL_MM = 5.0  # runs nearer to each other than that cover the same plate
LONGER_UNIT, COVER_UNIT = 0.015, 0.03  # of length, and of plate that is covered: alike margins


class Covered:
    """How much plate ways cover: edges of a grid of `CELL_MM`, each counted once; the straight
    parts at ends, which are alike for all ways, counted too.
    """

    def __init__(self, graph: Corridors) -> None:
        rows = [(edge, *_span(graph.face[graph.u[edge]], *graph.xy[[graph.u[edge], graph.v[edge]]]))
                for edge in np.flatnonzero(graph.kind == RUN).tolist()]
        rows += [(edge, *_span(graph.face[graph.v[edge]], np.array(a), np.array(b)))
                 for edge, points in graph.stub_points.items() for a, b in pairwise(points)]
        table = np.array(rows, dtype=np.intp).reshape(-1, 5)
        self._edge, side, line, first, last = table.T
        low = min(int(table[:, 2:].min(initial=0)), 0)
        stride = int(table[:, 2:].max(initial=0)) - low + 2
        base = (side * stride + line - low) * stride - low
        self._size = 4 * stride * stride + 1
        self._from, self._to = base + first, base + last

    def by(self, used: NDArray[np.bool_]) -> int:
        """By the edges of the graph that are used, one value for each."""
        mine = used[self._edge]
        steps = np.bincount(self._from[mine], minlength=self._size) - np.bincount(
            self._to[mine], minlength=self._size)
        return int(np.count_nonzero(np.cumsum(steps)))


def _span(face: int, one: Floats, other: Floats) -> tuple[int, int, int, int]:
    """Where a piece along an axis lies on the grid: face and axis, line, from, to."""
    axis = int(abs(other[1] - one[1]) > abs(other[0] - one[0]))
    first, last = sorted((one[axis], other[axis]))
    return (2 * int(face) + axis, round(float(one[1 - axis]) / CELL_MM),
            round(float(first) / CELL_MM), round(float(last) / CELL_MM))


@dataclass(frozen=True, slots=True)
class _Laid:
    """How wires lie: their ways, length over the sum of the shortest ways, plate that is covered
    over that under the shortest ways, and how openings were weighed.
    """

    ways: dict[int, list[int]]
    longer: float
    covered: float
    scale: float
    full: int

    def margins(self, most: tuple[float, float]) -> tuple[float, float]:
        """What is left of the length and of the plate that wires may take."""
        return (most[0] - self.longer) / LONGER_UNIT, (most[1] - self.covered) / COVER_UNIT

    def is_long(self, most: tuple[float, float]) -> bool:
        """Whether they are too long, or have less left of the length than of the plate."""
        longer, covered = self.margins(most)
        return longer < max(covered, 0.0)

    def rank(self, most: tuple[float, float]) -> tuple[int, float]:
        """The less the better: runs that are too full, then what is missing of both margins."""
        return self.full, round(sum(exp(-margin) for margin in self.margins(most)), 6)


def gather(improvement: Improvement, order: Sequence[Demand]) -> None:
    """Lay wires, in an order, from scratch."""
    laying, weights = improvement.laying, improvement.laying.weights
    for weight in (1.0, weights.first_weighing) if weights.weighings else (1.0,):
        laying.weigh_openings(weight / laying.scale)
        _begin(improvement, order, np.full(len(laying.opening), FIRST_SHARE), SHARINGS)
    improvement.rounds(order, weights.rounds, weights.closings)
    if weights.weighings and not improvement.spent and laying.ways:
        _Weighing(improvement, order).weigh()


def _begin(improvement: Improvement, order: Sequence[Demand], shared: Floats, times: int) -> None:
    """Lay wires as if each opening were shared by as many as would take it, were it so.

    shared: by how many that is thought at first; it is asked so many times.
    """
    laying = improvement.laying
    ways = {d.index: laying.ways.pop(d.index) for d in order if d.index in laying.ways}
    for index, way in ways.items():
        laying.unload(index, way)
    taken = laying.count > 0
    known: dict[int, list[int]] = {}
    for number in range(times):
        laying.unopened = np.where(taken, 0.0, laying.opening / shared)
        known = laying.all_found(order, known)
        use = np.zeros(len(taken))
        for way in known.values():
            use[way] += 1.0
        shared = np.maximum(use if not number else (shared + use) / 2, LEAST_SHARE)
    laying.unopened = np.where(taken, 0.0, laying.opening)
    for index, way in (ways | known).items():
        laying.put(index, way)
    improvement.forget()


class _Weighing:
    """Openings weighed more or less, on the track that ways led over so far."""

    def __init__(self, improvement: Improvement, order: Sequence[Demand]) -> None:
        self.whole = whole = improvement.laying
        self.order = [d for d in order if d.index in whole.ways]
        used = np.zeros(len(whole.mm), dtype=bool)
        for edges in whole.fixed.values():
            used[edges] = True
        self.alone: dict[int, float] = {}  # lengths of shortest ways, mm
        for demand in self.order:
            way = whole.find_alone(demand) or []
            used[way] = True
            self.alone[demand.index] = float(whole.mm[way].sum())
        self.shortest = sum(self.alone.values())
        self.cells = Covered(whole.graph).by(used)
        self.laying, self.edges = whole.part()
        self.covered = Covered(self.laying.graph)
        self.moves = Improvement(self.laying)
        self.tries = min(whole.weights.weighings, MOST_LAID // max(len(self.order), 1) ** 3)
        self.most = whole.weights.most_longer, 1.0 - whole.weights.least_shared

    def weigh(self) -> None:
        """Find the best laying, and lay the wires so."""
        found = self._found()
        found += [self._shortened(laid) for laid in self._too_long(found)[:self.tries // 2]]
        found.sort(key=lambda laid: laid.rank(self.most))
        best = min((self._finished(laid) for laid in found[:FINISHED]),
                   key=lambda laid: laid.rank(self.most))
        whole = self.whole
        for index in best.ways:
            whole.unload(index, whole.ways.pop(index))
        whole.weigh_openings(best.scale / whole.scale)
        for index, way in best.ways.items():
            whole.put(index, self.edges[way].tolist())

    def _found(self) -> list[_Laid]:
        """Layings at some weights, each begun from the one before: first at less and less, or more
        and more, until one leaves too little of the length and another too little of the plate,
        then at some between both.
        """
        laying = self.laying
        self._fit()
        found = [self._laid()]
        low, high, between = 0.0, np.inf, iter(BETWEEN)
        for number in range(self.tries):
            if not low or high == np.inf:
                low, high = (low, laying.scale) if found[-1].is_long(self.most) else (
                    laying.scale, high)
            if max(min(laid.margins(self.most)) for laid in found) >= ENOUGH:
                break
            wanted = high / STEP if not low else low * STEP if high == np.inf else (
                low * (high / low) ** next(between))
            laying.weigh_openings(wanted / laying.scale)
            self.moves.forget()
            if least := AGAIN_SHARE[number % len(AGAIN_SHARE)]:
                _begin(self.moves, self.order, np.maximum(laying.count, least), 1)
            self.moves.rounds(self.order, 1, self.whole.weights.closings)
            self._fit()
            found.append(self._laid())
        return found

    def _too_long(self, found: Sequence[_Laid]) -> list[_Laid]:
        """Layings with less left of the length than of the plate, those with most of both first."""
        return sorted((laid for laid in found if laid.is_long(self.most)),
                      key=lambda laid: -sum(laid.margins(self.most)))

    def _finished(self, laid: _Laid) -> _Laid:
        """The same with holes far enough from each other."""
        was = self.laying.closed.copy()
        self._lay_as(laid)
        self.moves.forget()
        if not part_holes(self.laying, self.moves):
            return laid
        self._fit()
        done = self._laid()
        self.laying.shut(np.arange(len(was)), was)
        return done

    def _fit(self) -> None:
        """Lay wires of runs that are too full anew, at a higher price; at once, and later too."""
        full = self.laying.overfull()
        if len(full):
            self.laying.crowd_more(full, 3.0)
            crowded = set().union(*(self.laying.on[int(e)] for e in full))
            self.moves.forget()
            self.moves.lay([d for d in self.order if d.index in crowded])

    def _lay_as(self, laid: _Laid) -> None:
        """Lay the wires as they lay once, with openings weighed as they were."""
        laying = self.laying
        for index in laid.ways:
            laying.unload(index, laying.ways.pop(index))
        laying.weigh_openings(laid.scale / laying.scale)
        for index, way in laid.ways.items():
            laying.put(index, way)

    def _shortened(self, laid: _Laid) -> _Laid:
        """The same with wires given ways of their own, while too little is left of the length.

        Those go first that open least track for what they save.
        """
        self._lay_as(laid)
        best = laid
        for weight in OWN_WAYS:
            own = [offer for d in self.order if (offer := self._own_way(d, weight)) is not None]
            for _, index, way in sorted(own, key=lambda found: (round(found[0], 4), found[1])):
                if not best.is_long(self.most):
                    return best
                before = self.laying.ways[index]
                self._put(index, way)
                now = self._laid()
                if now.rank(self.most) < best.rank(self.most):
                    best = now
                else:
                    self._put(index, before)
        return best

    def _own_way(self, demand: Demand, weight: float) -> tuple[float, int, list[int]] | None:
        """A shorter way of a wire, where openings count so much less: what it opens for each mm
        that it saves, the wire, and the way.
        """
        laying, index = self.laying, demand.index
        if index in laying.via or self._length(index) < self.alone[index] + DETOUR_MM:
            return None
        before = laying.ways.pop(index)
        laying.unload(index, before)
        laying.weigh_openings(weight)
        way = laying.find(demand) or before
        laying.weigh_openings(1.0 / weight)
        opened = float(laying.unopened[way].sum()) / laying.scale
        laying.put(index, before)
        saved = float(laying.mm[before].sum() - laying.mm[way].sum())
        return (opened / saved, index, way) if saved > SHORTER_MM else None

    def _length(self, index: int) -> float:
        """Length of a wire as it lies, mm."""
        return float(self.laying.mm[self.laying.ways[index]].sum())

    def _put(self, index: int, way: list[int]) -> None:
        """Lay a wire another way."""
        self.laying.unload(index, self.laying.ways.pop(index))
        self.laying.put(index, way)

    def _laid(self) -> _Laid:
        """How the wires lie."""
        laying = self.laying
        ways = {d.index: laying.ways[d.index] for d in self.order}
        length = sum(float(laying.mm[way].sum()) for way in ways.values())
        return _Laid(ways, length / self.shortest if self.shortest > 0 else 1.0,
                     self.covered.by(laying.count > 0) / max(self.cells, 1), float(laying.scale),
                     len(laying.overfull()))

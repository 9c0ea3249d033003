"""Laying all wires of a board from scratch, in as few runs as their lengths allow.

Each wire is first sought as if openings were shared by as many as would take them (dynamic slope
scaling: D. Kim and P. Pardalos, Operations Research Letters 24 (1999), from memory), at two
weights of openings. Then only track is looked at that some way led over until then, which is a
seventh of it: all wires are laid there again and again, with openings weighed less or more and
shared as they are in the laying before. Those that come out too long are made shorter by single
wires that get ways of their own. Layings are compared by what they leave of the length that wires
may have together and of the plate that they may cover (`_Laid.margins`), as it will be once runs
are slid; the better of the two does not make up for the other.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import exp, hypot

import numpy as np
from numpy.typing import NDArray

from layout_engine.wiring.corridors import RUN, Corridors
from layout_engine.wiring.demands import Demand
from layout_engine.wiring.improving import Improvement
from layout_engine.wiring.laying import THROUGH_MM, Laying
from layout_engine.wiring.parting import part_holes
from layout_engine.wiring.paths import Seen
from layout_engine.wiring.sliding import SWEEPS, Sliding

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
SHARINGS = 3  # how often it is asked how many wires would share each piece of track, at first
FIRST_SHARE, LEAST_SHARE = 4.0, 0.5  # wires that are thought to share one, at first and at least
AGAIN_SHARE = 3.0, 0.0, 1.5, 0.0, 4.0, 1.0  # the least when all are laid again, by turns; 0: none
FIRST_CLOSINGS, MORE_CLOSINGS = 60, 130  # wires laid on all tracks to try what closing a run saves
STEP = 4.0  # by which openings are weighed less or more, until both margins were too small once
NEAR = 0.2  # of the ratio of both weights: so far from either of them the next one lies
MOST_LAID = 1_600_000  # cubes of wires that are laid again with other weights, at most
MOST_CLOSED = 40_000_000  # cubes of wires that are laid to try what closing a run saves, at most
ENOUGH = 1.0  # of both margins: then no other weights are tried
FINISHED = 4  # how many layings are slid in the end, at most
OWN_WAYS = 1 / 2, 1 / 4, 1 / 8  # so much openings count where a wire is given its own way
SHORTER_MM = 0.1  # by which a wire's own way is shorter, at least
DETOUR_MM = 5.0  # a wire that is no longer than that over its shortest way keeps its way
BOTH = -1  # faces
CELL_MM = 5.0  # runs nearer to each other than that cover the same plate
LONGER_UNIT, COVER_UNIT = 0.015, 0.03  # of length, and of plate that is covered: alike margins


class Covered:
    """How much plate ways cover: edges of a grid of `CELL_MM`, each counted once; the straight
    parts at ends, which are alike for all ways, counted too.
    """

    def __init__(self, graph: Corridors) -> None:
        run = np.flatnonzero(graph.kind == RUN)
        stubs = [(edge, *point, *other) for edge, points in graph.stub_points.items()
                 for point, other in pairwise(points)]
        led = np.array(stubs).reshape(-1, 5)
        edges = np.concatenate((run, led[:, 0].astype(np.intp)))
        pieces = np.concatenate((graph.pieces[run], led[:, 1:].reshape(-1, 2, 2)))
        faces = graph.face[np.concatenate((graph.u[run], graph.v[edges[len(run):]]))]
        self._edge, self._spans = edges, _numbered(_spans(faces, pieces))

    def by(self, used: NDArray[np.bool_]) -> int:
        """By the edges of the graph that are used, one value for each."""
        return _counted(self._spans[used[self._edge]])


def covered_by(paths: Iterable[Sequence[Seen]]) -> int:
    """How much plate paths cover: edges of a grid of `CELL_MM`, each counted once."""
    legs = [(p[2], *p[:2], *q[:2]) for path in paths for p, q in pairwise(path) if p[2] == q[2]]
    table = np.array(legs).reshape(-1, 5)
    return _counted(_numbered(_spans(table[:, 0].astype(np.intp), table[:, 1:].reshape(-1, 2, 2))))


class Alone:
    """The shortest way of each wire, were it alone, on the faces that it uses."""

    def __init__(self, whole: Laying, order: Sequence[Demand], covered: Covered) -> None:
        self._whole, self._covered = whole, covered
        self._order = {d.index: d for d in order}
        self._ways: dict[tuple[int, int], list[int]] = {}
        self._known: dict[tuple[int, ...], tuple[float, int]] = {}
        self._fixed = [edge for edges in whole.fixed.values() for edge in edges]
        self._both = len(set(whole.graph.face.tolist())) > 1

    def length(self, index: int, side: int = BOTH) -> float:
        """Length of a wire's shortest way on a face, or on both, mm."""
        return float(self._whole.mm[self._way(index, side)].sum())

    def of(self, laying: Laying, ways: Mapping[int, list[int]]) -> tuple[float, int]:
        """Length of all shortest ways [mm] and the plate that they cover, on the faces on which
        these ways lie.
        """
        sides = tuple(self._side(laying, way) for way in ways.values())
        if sides not in self._known:
            used = np.zeros(len(self._whole.mm), dtype=bool)
            used[self._fixed] = True
            for index, side in zip(ways, sides, strict=True):
                used[self._way(index, side)] = True
            self._known[sides] = sum(
                self.length(index, side) for index, side in zip(ways, sides, strict=True)
            ), self._covered.by(used)
        return self._known[sides]

    def _side(self, laying: Laying, way: Sequence[int]) -> int:
        """The face on which a way lies; both."""
        if not self._both:
            return BOTH
        graph = laying.graph
        faces = graph.face[graph.v[way]]
        return int(faces[0]) if (faces == faces[0]).all() else BOTH

    def _way(self, index: int, side: int) -> list[int]:
        if (index, side) not in self._ways:
            way = self._whole.find_alone(self._order[index], None if side == BOTH else side)
            self._ways[index, side] = (way or []) if side == BOTH or way else self._way(index, BOTH)
        return self._ways[index, side]


def _numbered(spans: Ints) -> Ints:
    """First and last place of each span, shape (n, 4), on one line of all places; shape (n, 2)."""
    side, line, first, last = spans.T
    low = min(int(spans[:, 1:].min(initial=0)), 0)
    stride = int(spans[:, 1:].max(initial=0)) - low + 2
    base = (side * stride + line - low) * stride - low
    return np.column_stack((base + first, base + last))


def _counted(spans: Ints) -> int:
    """How many places lie on spans, shape (n, 2), of places, each counted once."""
    size = int(spans.max(initial=0)) + 1
    steps = np.bincount(spans[:, 0], minlength=size) - np.bincount(spans[:, 1], minlength=size)
    return int(np.count_nonzero(np.cumsum(steps)))


def _spans(faces: Ints, pieces: Floats) -> Ints:
    """Where pieces along an axis, shape (n, 2, 2), lie on the grid: face and axis, line, from, to;
    shape (n, 4).
    """
    axis = (np.abs(np.diff(pieces[:, :, 1], axis=1)) > np.abs(np.diff(pieces[:, :, 0], axis=1))
            ).astype(np.intp)[:, 0]
    rows = np.arange(len(pieces))
    ends = np.rint(np.sort(pieces[rows, :, axis], axis=1) / CELL_MM)
    line = np.rint(pieces[rows, 0, 1 - axis] / CELL_MM)
    return np.column_stack((2 * faces + axis, line, ends)).astype(np.intp)


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


def gather(improvement: Improvement, order: Sequence[Demand],
           fixed: Mapping[int, list[Seen]] | None = None) -> Sliding | None:
    """Lay wires, in an order, from scratch.

    Returns the wires slid as they lie then, where that is known. fixed: paths of those that stay.
    """
    laying, weights = improvement.laying, improvement.laying.weights
    for weight in (1.0, weights.first_weighing) if weights.weighings else (1.0,):
        laying.weigh_openings(weight / laying.scale)
        _begin(improvement, order, np.full(len(laying.opening), FIRST_SHARE), SHARINGS)
    improvement.rounds(order, weights.rounds, FIRST_CLOSINGS)
    if weights.weighings and not improvement.spent and laying.ways:
        return _Weighing(improvement, order, fixed or {}).weigh()
    return None


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

    def __init__(self, improvement: Improvement, order: Sequence[Demand],
                 fixed: Mapping[int, list[Seen]]) -> None:
        self.fixed = fixed
        self.slack = 1.0, 1.0  # what sliding leaves of the length, and of the plate
        self.whole = whole = improvement.laying
        self.order = [d for d in order if d.index in whole.ways]
        self.laying, self.covered = whole, Covered(whole.graph)
        self.alone = Alone(whole, self.order, self.covered)
        self.tries = min(whole.weights.weighings, MOST_LAID // max(len(self.order), 1) ** 3)
        self.most = whole.weights.most_longer, 1.0 - whole.weights.least_shared
        self.closings = min(whole.weights.closings, MOST_CLOSED // max(len(self.order), 1) ** 3)
        if min(self._laid().margins(self.most)) < ENOUGH and self.tries:
            improvement.rounds(order, 1, min(self.closings, MORE_CLOSINGS))
        self.laying, self.edges = whole.part()
        self.covered = Covered(self.laying.graph)
        self.moves = Improvement(self.laying)

    def weigh(self) -> Sliding:
        """Find the best laying, and lay the wires so; slid."""
        found = self._found()
        found += [self._shortened(laid) for laid in self._too_long(found)[:self.tries // 2]]
        found.sort(key=lambda laid: laid.rank(self.most))
        best, slid = self._measured(self._finished(found[0]))
        for laid in found[1:FINISHED]:
            if best.rank(self.most) <= laid.rank(self.most):
                break
            best, slid = min((best, slid), self._measured(self._finished(laid)),
                             key=lambda measured: measured[0].rank(self.most))
        whole = self.whole
        for index in best.ways:
            whole.unload(index, whole.ways.pop(index))
        whole.weigh_openings(best.scale / whole.scale)
        for index, way in best.ways.items():
            whole.put(index, self.edges[way].tolist())
        return slid

    def _slid(self, laid: _Laid, sweeps: int = SWEEPS) -> Sliding:
        """The wires as they lay once, slid."""
        self._lay_as(laid)
        slid = Sliding(self.laying, self.fixed)
        slid.slide(sweeps)
        return slid

    def _taken(self, laid: _Laid, slid: Sliding) -> tuple[float, float]:
        """Length of all wires [mm] and plate that is covered, as they are slid."""
        through = self.laying.site.thickness + THROUGH_MM
        length = sum(hypot(q[0] - p[0], q[1] - p[1]) if p[2] == q[2] else through
                     for index in laid.ways for p, q in pairwise(slid.paths[index]))
        return length, covered_by(slid.paths.values())

    def _left_by_sliding(self, laid: _Laid) -> tuple[float, float]:
        """What one sweep of sliding leaves of the length and of the plate that a laying takes."""
        length, covered = self._taken(laid, self._slid(laid, 1))
        before = sum(self._length(index) for index in laid.ways)
        return (length / max(before, 1e-9),
                covered / max(self.covered.by(self.laying.count > 0), 1))

    def _measured(self, laid: _Laid) -> tuple[_Laid, Sliding]:
        """A laying with what its wires take once they are slid; and they."""
        slid = self._slid(laid)
        length, covered = self._taken(laid, slid)
        shortest, cells = self.alone.of(self.laying, laid.ways)
        return replace(laid, longer=length / shortest if shortest > 0 else 1.0,
                       covered=covered / max(cells, 1)), slid

    def _found(self) -> list[_Laid]:
        """Layings at some weights, each begun from the one before: first at less and less, or more
        and more, until one leaves too little of the length and another too little of the plate,
        then where both would be left alike.
        """
        laying = self.laying
        self._fit()
        self.slack = self._left_by_sliding(self._laid())
        found = [self._laid()]
        low: _Laid | None = None
        high: _Laid | None = None
        for number in range(self.tries):
            if max(min(laid.margins(self.most)) for laid in found) >= ENOUGH:
                break
            if found[-1].is_long(self.most):
                high = found[-1]
            else:
                low = found[-1]
            laying.weigh_openings(self._between(low, high) / laying.scale)
            self.moves.forget()
            if least := AGAIN_SHARE[number % len(AGAIN_SHARE)]:
                _begin(self.moves, self.order, np.maximum(laying.count, least), 1)
            self.moves.rounds(self.order, 1, self.closings)
            self._fit()
            found.append(self._laid())
        return found

    def _between(self, low: _Laid | None, high: _Laid | None) -> float:
        """How to weigh openings so that as much of the length as of the plate is left.

        low, high: layings with more and with less left of the length than of the plate.
        """
        if low is None or high is None:
            return high.scale / STEP if high else low.scale * STEP if low else 1.0
        (a, b), (c, d) = low.margins(self.most), high.margins(self.most)
        more, less = max(a - b, 0.0), max(d - c, 0.0)
        share = more / (more + less) if more + less > 0 else 0.5
        return float(low.scale * (high.scale / low.scale) ** min(max(share, NEAR), 1.0 - NEAR))

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
        if index in laying.via or self._length(index) < self.alone.length(index) + DETOUR_MM:
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
        shortest, cells = self.alone.of(laying, ways)
        longer = length / shortest if shortest > 0 else 1.0
        covered = self.covered.by(laying.count > 0) / max(cells, 1)
        return _Laid(ways, self.slack[0] * longer, self.slack[1] * covered, float(laying.scale),
                     len(laying.overfull()))

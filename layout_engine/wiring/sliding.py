"""Runs slid sideways as wires lie: small jogs and stairs go where the straight way is free too.

Ways through the corridor graph keep to its lines, so that a run which passes from one line to the
next is led aside by some mm. Here all legs that lie upon each other on one line are slid together,
so that what is gathered stays gathered, onto another line nearby; legs that lead to them grow or
shrink. It is done where the sum of costs (`RouteWeights`) becomes smaller by it, in the rooms that
the ground leaves (segments are moved so in orthogonal connector routing: M. Wybrow, K. Marriott,
P. Stuckey, Graph Drawing 2009, from memory). Straight parts at terminals stay as long as they were
or longer; places where wires change face, wires that stay and wires over points of a person do not
move.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from layout_engine.tables.dressing import (
    FLAT_MOST,
    QUIET_FROM_LOUD,
    bundle_diameter,
    flat_height,
)
from layout_engine.wiring.corridors import free_widths
from layout_engine.wiring.laying import Laying
from layout_engine.wiring.paths import Seen, seen_path
from layout_engine.wiring.site import Start

Floats = NDArray[np.float64]
Line = tuple[int, int, float]  # face, axis, and where it is across the axis, rounded
Span = tuple[Line, float, float]  # a leg: its line, from, to
SAME = 1e-6
PLACES = 5  # decimals of a mm to which points are rounded
HAIR = 2e-5  # mm, for that
REACH_MM = 12.0  # a line so near is tried
JOG_MM = 15.0  # both sides of a shorter jog are tried together on a line between them
BETWEEN = (0.5, 0.25, 0.75)  # where between them
BETTER = 0.01  # least saving for which a run is slid
SWEEPS = 4


@dataclass(frozen=True, slots=True)
class _Anchor:
    """A path's straight part at an end: its first point, way and least length."""

    x: float
    y: float
    way: tuple[float, float]
    least: float

    @property
    def last(self) -> tuple[float, float]:
        """Where it ends."""
        return (round(self.x + self.way[0] * self.least, PLACES),
                round(self.y + self.way[1] * self.least, PLACES))


@dataclass(slots=True)
class _Change:
    """A slide that was thought through: new paths, their legs, and what it saves."""

    saved: float
    paths: dict[int, list[Seen]]
    legs: dict[int, list[Span]]


class Sliding:
    """Paths of all wires of a laying, and the moves that slide them."""

    def __init__(self, laying: Laying, fixed: Mapping[int, list[Seen]]) -> None:
        self.laying, self.site = laying, laying.site
        self.weights = laying.weights
        self.paths: dict[int, list[Seen]] = dict(fixed)
        self.ends: dict[int, tuple[_Anchor, _Anchor]] = {}
        self.ports = {(round(w.x, PLACES), round(w.y, PLACES))
                      for w in laying.graph.passes.values() if w.kind != "drilled"}
        graph = laying.graph
        for index, way in laying.ways.items():
            connection = laying.demands[index].connection
            self.paths[index] = seen_path(graph, graph.ends[connection.from_], way)
            if index not in laying.via and len(way) > 1:
                one, other = (graph.starts.get(way[k]) for k in (0, -1))
                if one is not None and other is not None:
                    self.ends[index] = _anchor(one), _anchor(other)
        self.paths = {index: [(round(x, PLACES), round(y, PLACES), face) for x, y, face in path]
                      for index, path in self.paths.items()}
        self.legs = {index: _legs(path) for index, path in self.paths.items()}
        self.at_ports = {index: _port_legs(path, self.ports) for index, path in self.paths.items()}
        self.on: dict[Line, dict[int, list[tuple[float, float]]]] = {}
        self.covered: dict[Line, float] = {}
        self.corners: Counter[Seen] = Counter()
        for index in self.paths:
            self._add(index)
        self._quiet = {d.index for d in laying.demands if d.quiet and d.index in self.paths}
        self._loud = {d.index for d in laying.demands if d.loud and d.index in self.paths}

    def slide(self, sweeps: int = SWEEPS) -> None:
        """Slide runs as long as that saves something, all of them at most so often."""
        dirty = set(self.ends)
        for _ in range(sweeps):
            changed: set[int] = set()
            for line in sorted(self.on):
                if line in self.on and any(w in dirty for w in self.on[line]):
                    changed |= self._slide_line(line, dirty)
            changed |= self._join_sides(dirty)
            if not changed:
                break
            lines = {leg[0] for index in changed for leg in self.legs[index]}
            dirty = {index for line in lines for index in self.on.get(line, ())}

    def in_corridors(self, index: int) -> list[Seen]:
        """The path of a wire without the straight parts at its ends."""
        return self._without_ends(index, self.paths[index])

    def _without_ends(self, index: int, path: Sequence[Seen]) -> list[Seen]:
        points = list(path)
        for at, end in zip((0, -1), self.ends.get(index, ()), strict=False):
            points[at] = (*end.last, points[at][2])
        return points

    # How wires lie

    def _add(self, index: int) -> None:
        for line, a, b in self.legs[index]:
            self.on.setdefault(line, {}).setdefault(index, []).append((a, b))
            self.covered.pop(line, None)
        self.corners.update(_corners(self.paths[index]))

    def _remove(self, index: int) -> None:
        for line in {leg[0] for leg in self.legs[index]}:
            del self.on[line][index]
            if not self.on[line]:
                del self.on[line]
            self.covered.pop(line, None)
        for corner in _corners(self.paths[index]):
            self.corners[corner] -= 1

    def _groups(self, line: Line) -> Iterator[list[tuple[int, int]]]:
        """Legs on a line that lie upon each other: (wire, number of its leg's first point)."""
        rows = []
        for index in self.on.get(line, ()):
            for n, (p, q) in enumerate(pairwise(self.paths[index])):
                if _line(p, q) == line:
                    a, b = sorted((p[line[1]], q[line[1]]))
                    rows.append((a, b, index, n))
        rows.sort()
        group: list[tuple[int, int]] = []
        far = -np.inf
        for a, b, index, n in rows:
            if group and a > far - SAME:
                yield group
                group = []
                far = -np.inf
            group.append((index, n))
            far = max(far, b)
        if group:
            yield group

    def _may_slide(self, index: int, n: int) -> bool:
        """Whether a leg lies between two that can grow or shrink."""
        path = self.paths[index]
        if index not in self.ends or n < 1 or n + 3 > len(path):
            return False
        before, p, q, after = path[n - 1:n + 3]
        if not before[2] == p[2] == after[2]:
            return False
        axis = int(abs(p[0] - q[0]) < SAME)
        return (abs(before[axis] - p[axis]) < SAME and abs(after[axis] - q[axis]) < SAME)

    # Moves

    def _slide_line(self, line: Line, dirty: set[int]) -> set[int]:
        """Slide what lies on a line; the wires that changed."""
        changed: set[int] = set()
        for group in list(self._groups(line)):
            if not any(index in dirty for index, _ in group):
                continue
            if not all(self._may_slide(*leg) for leg in group):
                continue
            if changed & {index for index, _ in group}:
                continue  # its legs have other numbers now
            changed |= self._best(group, self._places(group, line))
        return changed

    def _places(self, group: list[tuple[int, int]], line: Line) -> list[float]:
        """Where else the legs of a group might lie, across their axis."""
        face, axis, here = line
        across = 1 - axis
        found: set[float] = set()
        low, high = np.inf, -np.inf
        for index, n in group:
            path = self.paths[index]
            found |= {path[n - 1][across], path[n + 2][across]}
            low = min(low, path[n][axis], path[n + 1][axis])
            high = max(high, path[n][axis], path[n + 1][axis])
        for other in self.on:
            if other[:2] == (face, axis) and abs(other[2] - here) <= REACH_MM and any(
                    a < high and b > low for spans in self.on[other].values() for a, b in spans):
                found.add(other[2])
        nearest, farthest = self._limits(group, across)
        found |= {place for place in (nearest, farthest) if abs(place) < np.inf}
        found.discard(here)
        return sorted(place for place in found if nearest - HAIR <= place <= farthest + HAIR)

    def _limits(self, legs: Iterable[tuple[int, int]], across: int) -> tuple[float, float]:
        """Between which places the straight parts at ends let legs lie, across their axis."""
        low, high = -np.inf, np.inf
        for index, n in legs:
            for end, at in zip(self.ends[index], (n == 1, n + 3 == len(self.paths[index])),
                               strict=True):
                if at and abs(end.way[across]) > SAME:
                    far = end.last[across]
                    low, high = (max(low, far), high) if end.way[across] > 0 else (
                        low, min(high, far))
        return low, high

    def _join_sides(self, dirty: set[int]) -> set[int]:
        """Slide both sides of short jogs onto one line between them; the wires that changed."""
        changed: set[int] = set()
        for line in sorted(self.on):
            for group in list(self._groups(line)) if line in self.on else ():
                index, n = group[0]
                if index not in dirty or any(i in changed for i, _ in group):
                    continue
                path = self.paths[index]
                if n < 2 or n + 4 > len(path):
                    continue
                p, q = path[n], path[n + 1]
                if abs(p[0] - q[0]) + abs(p[1] - q[1]) > JOG_MM:
                    continue
                sides = [self._group_of(index, k) for k in (n - 1, n + 1)]
                legs = list(dict.fromkeys(leg for side in sides for leg in side))
                if not all(sides) or any(i in changed for i, _ in legs):
                    continue
                if not all(self._may_slide(*leg) for leg in legs):
                    continue
                axis = line[1]
                low, high = self._limits(legs, axis)
                places = [round(p[axis] + (q[axis] - p[axis]) * share, PLACES)
                          for share in BETWEEN]
                changed |= self._best(legs, [x for x in places if low <= x <= high])
        return changed

    def _group_of(self, index: int, n: int) -> list[tuple[int, int]]:
        line = _line(*self.paths[index][n:n + 2])
        if line is None:
            return []
        return next((g for g in self._groups(line) if (index, n) in g), [])

    def _best(self, legs: Sequence[tuple[int, int]], places: Iterable[float]) -> set[int]:
        """Slide legs to the place that saves most; the wires that changed."""
        found = [(change.saved, n, change) for n, place in enumerate(places)
                 if (change := self._thought(legs, place)) is not None]
        for saved, _, change in sorted(found, key=lambda f: (-round(f[0], 4), f[1])):
            if saved < BETTER:
                break
            if self._fits(change):
                for index, path in change.paths.items():
                    self._remove(index)
                    self.paths[index], self.legs[index] = path, change.legs[index]
                    self._add(index)
                return set(change.paths)
        return set()

    def _thought(self, legs: Sequence[tuple[int, int]], place: float) -> _Change | None:
        """What it would be to slide legs to a place; None where ends do not allow it."""
        paths: dict[int, list[Seen]] = {}
        for index, n in legs:
            path = paths.setdefault(index, list(self.paths[index]))
            across = int(abs(self.paths[index][n][0] - self.paths[index][n + 1][0]) >= SAME)
            for k in (n, n + 1):
                x, y, face = path[k]
                path[k] = (place, y, face) if across == 0 else (x, place, face)
        for index, path in paths.items():
            made = _cleaned(path)
            if not self._ends_stay(index, made):
                return None
            paths[index] = made
        spans = {index: _legs(path) for index, path in paths.items()}
        return _Change(self._saved(paths, spans), paths, spans)

    def _ends_stay(self, index: int, path: list[Seen]) -> bool:
        """Whether a path still leaves both ends, and places at edges, as straight as it must."""
        if len(path) < 2:
            return False
        for end, (p, q) in zip(self.ends[index], (path[:2], path[:-3:-1]), strict=True):
            if end.least > SAME:
                along = (q[0] - p[0]) * end.way[0] + (q[1] - p[1]) * end.way[1]
                if p[2] != q[2] or along < end.least - HAIR:
                    return False
        return self.at_ports[index] <= set(_legs(path)) if self.at_ports[index] else True

    def _saved(self, paths: Mapping[int, list[Seen]], spans: Mapping[int, list[Span]]) -> float:
        weights, scale = self.weights, self.laying.scale
        cost = 0.0
        lines: set[Line] = set()
        corners: Counter[Seen] = Counter()
        for index, legs in spans.items():
            old = self.legs[index]
            longer = sum(b - a for _, a, b in legs) - sum(b - a for _, a, b in old)
            cost += weights.per_mm(self.laying.demands[index].amps) * longer
            lines |= {leg[0] for leg in set(old) ^ set(legs)}
            corners.update(_corners(paths[index]))
            corners.subtract(_corners(self.paths[index]))
        cost += weights.bend_wire * sum(corners.values())
        cost += weights.bend * scale * sum(
            (self.corners[c] + n > 0) - (self.corners[c] > 0) for c, n in corners.items() if n)
        cost += weights.opening * scale * sum(
            self._cover(line, spans) - self._cover(line, {}) for line in lines)
        return -cost - (self._noisier(spans) if cost < -BETTER else 0.0)

    def _cover(self, line: Line, spans: Mapping[int, list[Span]]) -> float:
        """How much of a line is covered by legs [mm], some wires' legs replaced."""
        if not spans and line in self.covered:
            return self.covered[line]
        rows = [row for index, mine in self.on.get(line, {}).items() if index not in spans
                for row in mine]
        rows += [(a, b) for legs in spans.values() for where, a, b in legs if where == line]
        whole, far = 0.0, -np.inf
        for a, b in sorted(rows):
            if b > far:
                whole += b - max(a, far)
                far = b
        if not spans:
            self.covered[line] = whole
        return whole

    def _noisier(self, spans: Mapping[int, list[Span]]) -> float:
        """What it costs more that quiet wires lie nearer beside loud ones."""
        more = 0.0
        for mine, others in ((self._quiet, self._loud), (self._loud, self._quiet)):
            for index in mine & spans.keys():
                new, old = set(spans[index]), set(self.legs[index])
                for legs, sign in ((new - old, 1.0), (old - new, -1.0)):
                    more += sign * sum(self._beside(leg, others - spans.keys()) for leg in legs)
        return self.weights.noise * more

    def _beside(self, leg: Span, others: set[int]) -> float:
        """Length [mm] of a leg beside other wires, less the farther they are apart."""
        (face, axis, c), a, b = leg
        reach, whole = QUIET_FROM_LOUD.value, 0.0
        for (side, way, d), there in self.on.items():
            if side == face and way == axis and abs(c - d) < reach:
                for index in others & there.keys():
                    for low, high in there[index]:
                        shared = min(b, high) - max(a, low)
                        whole += max(0.0, shared) * (1.0 - abs(c - d) / reach)
        return whole

    # Whether there is room

    def _fits(self, change: _Change) -> bool:
        """Whether all legs that are new have room on the ground, with what lies there already."""
        lines: dict[Line, list[tuple[float, float]]] = {}
        for index, path in change.paths.items():
            known = set(self.legs[index])
            for line, a, b in _legs(self._without_ends(index, path)):
                if (line, a, b) not in known:
                    lines.setdefault(line, []).append((a, b))
        for face in {line[0] for line in lines}:
            pieces, bundles = [], []
            for line, spans in lines.items():
                if line[0] == face:
                    for a, b, outers in self._bundles(line, spans, change.legs):
                        across = line[2]
                        pieces.append(((a, across), (b, across)) if line[1] == 0 else
                                      ((across, a), (across, b)))
                        bundles.append(outers)
            if pieces and not self._room(face, np.array(pieces), bundles):
                return False
        return True

    def _bundles(self, line: Line, spans: Sequence[tuple[float, float]],
                 legs: Mapping[int, list[Span]]
                 ) -> Iterator[tuple[float, float, list[float]]]:
        """Pieces of a line on which the same wires will lie, as far as some spans go, and their
        outer diameters.
        """
        rows = [(a, b, index) for index, mine in self.on.get(line, {}).items()
                if index not in legs for a, b in mine]
        rows += [(a, b, index) for index, mine in legs.items()
                 for where, a, b in mine if where == line]
        cuts = sorted({x for row in rows for x in row[:2]} | {x for span in spans for x in span})
        for a, b in pairwise(cuts):
            if b - a > SAME and any(low < b and high > a for low, high in spans):
                there = {index for low, high, index in rows if low < b - SAME and high > a + SAME}
                yield a, b, [self.laying.demands[index].outer for index in sorted(there)]

    def _room(self, face: int, pieces: Floats, bundles: Sequence[list[float]]) -> bool:
        widths = free_widths(self.site, face, pieces)
        for width, outers in zip(widths.tolist(), bundles, strict=True):
            if bundle_diameter(outers) > width + 1e-9 and (
                    flat_height(outers, width) > FLAT_MOST.value):
                return False
        low, high = pieces.min(axis=1), pieces.max(axis=1)
        for aerial in self.site.aerials:
            if aerial.face == face:
                spot = np.array([aerial.x, aerial.y])
                away = np.hypot(*np.maximum(np.maximum(low - spot, spot - high), 0.0).T)
                if bool(np.any(away < aerial.radius)):
                    return False
        return True


def _anchor(start: Start) -> _Anchor:
    (x, y), (a, b) = start.points[0], start.last
    return _Anchor(x, y, start.way, abs(a - x) + abs(b - y) if start.length > SAME else 0.0)


def _line(p: Seen, q: Seen) -> Line | None:
    """The line on which a leg lies; None where it lies along neither axis or on no face."""
    if p[2] != q[2]:
        return None
    if -SAME < p[1] - q[1] < SAME:
        return p[2], 0, p[1]
    if -SAME < p[0] - q[0] < SAME:
        return p[2], 1, p[0]
    return None


def _legs(path: Sequence[Seen]) -> list[Span]:
    found = []
    for p, q in pairwise(path):
        line = _line(p, q)
        if line is not None:
            a, b = p[line[1]], q[line[1]]
            found.append((line, a, b) if a < b else (line, b, a))
    return found


def _corners(path: Sequence[Seen]) -> list[Seen]:
    return list(path[1:-1])


def _cleaned(path: Iterable[Seen]) -> list[Seen]:
    """A path without points that repeat or lie on a leg, and without ways there and back."""
    kept: list[Seen] = []
    for point in path:
        x, y, face = point
        while len(kept) > 1:
            (a, b, side), (p, q, here) = kept[-2:]
            turn = (p - a) * (y - q) - (q - b) * (x - p)
            if not (side == here == face and -SAME < turn < SAME):
                break
            kept.pop()
        if kept:
            p, q, here = kept[-1]
            if here == face and -SAME < x - p < SAME and -SAME < y - q < SAME:
                continue
        kept.append(point)
    return kept


def _port_legs(path: Sequence[Seen], ports: set[tuple[float, float]]) -> set[Span]:
    """Legs that lead to an edge or a cut-out, where a wire changes face."""
    through = {p[:2] for p, q in pairwise(path) if p[2] != q[2]} & ports
    return {leg for p, q in pairwise(path) for leg in _legs((p, q))
            if p[:2] in through or q[:2] in through}

"""What wires to fixed points cost at least when the bodies at their other ends need ground.

Bodies i = 1..n are wired to points q: body i by wires k of weight w from its terminal t. All bodies
of a face take disjoint ground R of area A, none of it where ground is taken already. For the
distance |.| along the axes, and any p in R,

    |t - q| >= |p - q| - |p - t|,

so the wires of i cost at least the mean over R of sum_k w |p - q|, less the constant
K = sum_k w x mean |p - t|, which is the same wherever the body stands (the greatest over its poses
is taken). With c(p) = sum_k w |p - q| / A they cost at least T = integral over R of c, less K; and
at least P, what they cost when the others are not there.

For any numbers 0 <= s <= 1 and u, one of each for each body,

    sum of max(P, T) >= sum of (1 - s) P + s T
                     >= sum of (1 - s) P - s K + A u - integral of max(0, max over i of u - s c),

since s c = u - (u - s c) on R, and the R are disjoint. Between the coordinates of the points each
c is linear, so what is integrated is convex there, and corners' mean times area is no less than its
integral. The numbers s and u are found by climbing; the bound holds whatever they are. It is the
dual of a transport problem: ground to be carried to where wires are cheap.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from layout_engine.arranging.bound_climb import climbed
from layout_engine.arranging.compiled import compiled
from layout_engine.arranging.puzzle import Box, Point
from layout_engine.arranging.vectors import Floats

# Lines of the grid along each axis, beside those through points and edges of taken ground: to climb
# by, and to sum up by.
COARSE, FINE = 16, 44
ROUNDS, STEP = 150, 0.05  # of the climb
ROUNDING = 1e-9  # of the bound, taken off it
NOT_THERE = 1e15


@dataclass(frozen=True, slots=True)
class Wired:
    """A body and its wires to points.

    Attributes:
        area: of the ground it takes, mm2.
        alone: P, what its wires cost at least.
        own: K, what is taken off.
        points, weights: other ends of its wires.
        extra: for each sheet of ground, what its wires cost more there; NOT_THERE where it cannot
            be: a price that nobody pays.
    """

    area: float
    alone: float
    own: float
    points: tuple[Point, ...]
    weights: tuple[float, ...]
    extra: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """Ground that bodies can take: bounds (None: without end) but for rectangles taken."""

    bounds: Box | None
    taken: tuple[Box, ...] = ()


@dataclass(frozen=True, eq=False)
class _Grid:
    """Cells of all sheets: costs (bodies, corners), and how much area each corner stands for."""

    costs: Floats
    weights: Floats
    rim: np.ndarray[tuple[int], np.dtype[np.bool_]]


def least_of_crowd(wired: list[Wired], sheets: list[Sheet]) -> float:
    """Proven least price of all these wires together, at least the sum of what each costs alone."""
    plain = sum(body.alone for body in wired)
    if len(wired) < 2:
        return plain
    best = _climbed(_Climb(wired, _grid_of(wired, sheets, COARSE)))
    fine = _Climb(wired, _grid_of(wired, sheets, FINE))
    if fine.reaches_rim(best):
        return plain
    bound = fine.value(best)[0]
    return max(plain, bound - ROUNDING * abs(bound))


def _climbed(climb: _Climb) -> Floats:
    """Numbers s, at most 1, and u with a high bound."""
    count = len(climb.wired)
    start = np.concatenate((np.ones(count), np.full(count, 0.5)))
    most = np.concatenate((np.ones(count), np.full(count, np.inf)))
    return climbed(climb.value, start, lambda x: np.clip(x, 0.0, most), ROUNDS, STEP)


@compiled
def crowd_value(costs: Floats, weights: Floats, areas: Floats, alone: Floats, own: Floats,
                unit: Floats, x: Floats, slopes: Floats) -> float:
    """The bound for the numbers x; its slopes are filled in.

    Args:
        costs: (corners, bodies) c of each body at each corner of the grid.
        weights: area that each corner stands for, mm2.
        areas: of the bodies' ground, mm2.
        alone: their P.
        own: their K.
        unit: of their u.
        x: their s, then their u in those units.
        slopes: as many as x.
    """
    count, total = len(areas), 0.0
    for body in range(count):
        share, level = x[body], x[count + body] * unit[body]
        total += (1.0 - share) * alone[body] - share * own[body] + areas[body] * level
        slopes[body], slopes[count + body] = -alone[body] - own[body], areas[body] * unit[body]
    for corner in range(len(weights)):
        best, top = -1, 0.0
        for body in range(count):
            over = x[count + body] * unit[body] - x[body] * costs[corner, body]
            if over > top:
                best, top = body, over
        if best >= 0:
            total -= top * weights[corner]
            slopes[best] += weights[corner] * costs[corner, best]
            slopes[count + best] -= weights[corner] * unit[best]
    return total


@dataclass(eq=False)
class _Climb:
    """The bound as a function of the numbers s, then u in units of `unit`: wires as long as the
    side of all the ground.
    """

    wired: list[Wired]
    grid: _Grid

    def __post_init__(self) -> None:
        self.alone = np.array([body.alone for body in self.wired])
        self.own = np.array([body.own for body in self.wired])
        areas = np.array([body.area for body in self.wired])
        weights = np.array([sum(body.weights) for body in self.wired])
        self.areas = areas
        self.unit = weights * float(np.sqrt(np.sum(areas))) / areas
        self.costs = np.ascontiguousarray(self.grid.costs.T)

    def value(self, x: Floats) -> tuple[float, Floats]:
        """The bound, and its slopes."""
        slopes = np.empty(len(x))
        bound = crowd_value(self.costs, self.grid.weights, self.areas, self.alone, self.own,
                            self.unit, x, slopes)
        return bound, slopes

    def reaches_rim(self, x: Floats) -> bool:
        """Whether ground without end is taken to the end of the grid, where it is not summed."""
        count = len(self.wired)
        share, level = x[:count], x[count:] * self.unit
        over = level[:, None] - share[:, None] * self.grid.costs[:, self.grid.rim]
        return bool(np.any(over > 0))


def _grid_of(wired: list[Wired], sheets: list[Sheet], lines: int) -> _Grid:
    points = np.array([point for body in wired for point in body.points])
    costs, weights, rims = [], [], []
    for number, sheet in enumerate(sheets):
        if all(body.extra[number] >= NOT_THERE for body in wired):
            continue
        xs, ys = (_lines(wired, sheet, points, axis, lines) for axis in (0, 1))
        x, y = (grid.ravel() for grid in np.meshgrid(xs, ys, indexing="ij"))
        costs.append(np.stack([
            (np.sum(np.array(body.weights)[:, None] * (
                np.abs(x - np.array(body.points)[:, :1])
                + np.abs(y - np.array(body.points)[:, 1:])), axis=0) + body.extra[number])
            / body.area for body in wired]))
        weights.append(_corner_weights(xs, ys, sheet.taken))
        on_rim = (x == xs[0]) | (x == xs[-1]) | (y == ys[0]) | (y == ys[-1])
        rims.append(on_rim if sheet.bounds is None else np.zeros(len(x), dtype=bool))
    return _Grid(np.concatenate(costs, axis=1), np.concatenate(weights), np.concatenate(rims))


def _lines(wired: list[Wired], sheet: Sheet, points: Floats, axis: int, lines: int) -> Floats:
    """Lines of the grid across an axis: finer near the points, through all kinks and edges."""
    edges = [box[side] for box in sheet.taken for side in (axis, axis + 2)]
    if sheet.bounds is not None:
        low, high = sheet.bounds[axis], sheet.bounds[axis + 2]
        inner = np.concatenate((np.linspace(low, high, lines), points[:, axis], edges))
        return np.unique(np.clip(inner, low, high))
    reach = float(np.sqrt(sum(body.area for body in wired)))
    spread = [*points[:, axis], *edges]
    low, high = min(spread), max(spread)
    outer = [low - 6 * reach, low - 2.5 * reach, high + 2.5 * reach, high + 6 * reach]
    return np.unique(np.concatenate((
        np.linspace(low - 1.5 * reach, high + 1.5 * reach, lines), spread, outer)))


def _corner_weights(xs: Floats, ys: Floats, taken: tuple[Box, ...]) -> Floats:
    """Area, mm2, that each corner stands for in a sum over cells of area x mean of corners."""
    areas = np.outer(np.diff(xs), np.diff(ys))
    mx, my = (xs[1:] + xs[:-1]) / 2, (ys[1:] + ys[:-1]) / 2
    for x0, y0, x1, y1 in taken:
        areas[np.ix_((mx > x0) & (mx < x1), (my > y0) & (my < y1))] = 0.0
    weights = np.zeros((len(xs), len(ys)))
    for i, j in ((0, 0), (0, 1), (1, 0), (1, 1)):
        weights[i: len(xs) - 1 + i, j: len(ys) - 1 + j] += areas / 4
    flat: Floats = weights.ravel()
    return flat

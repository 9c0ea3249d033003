"""The best spot of each face and turn: found on the raster, made fine, confirmed by the checks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import floor, sqrt

import numpy as np

from layout_engine.arranging.cost import QUARTER_TURNS, missed_musts, turn_is_allowed
from layout_engine.arranging.vectors import Floats
from layout_engine.arranging.verdict import Given, stops, unavoidable
from layout_engine.model.part import Part, Placement, TurnsWish
from layout_engine.model.plate import Face
from layout_engine.spots.around import Around
from layout_engine.spots.forms import Stance
from layout_engine.spots.raster import Cells, Grid, covered, ground_cells, rings
from layout_engine.spots.region import fit_of

FINE_MM = 0.5  # spots offered end on half millimetres from the datum corner
WINDOW = 6  # fine cells each way round a cell of the raster
TRIES = 4  # spots offered to the checks before a face and turn is given up
APART_MM = 12.0  # between such spots


@dataclass(frozen=True, eq=False)
class CostMap:
    """One face and turn: which cells are free for the module's middle, and what they cost."""

    stance: Stance
    grid: Grid
    free: Cells
    costs: Floats

    @property
    def least(self) -> float:
        """Cost of the cheapest free cell; infinite where none is free."""
        return float(self.costs[self.free].min()) if self.free.any() else float("inf")


@dataclass(frozen=True, slots=True)
class Spot:
    """A place that the checks have confirmed, and what it costs, weight x mm."""

    placement: Placement
    cost: float


def cost_map(around: Around, face: str, turn: float, grid: Grid | None = None) -> CostMap:
    """Free cells and costs over the plate, on a raster of 2 mm, in one face and turn."""
    own = grid or Grid(*around.job.plate.size)
    stance = around.stance(face, turn)
    free = ground_cells(own, around, stance)
    if free.any():
        free &= covered(own, rings(around, stance)) == 0
    for other, within in around.near_to():
        gaps = around.prices.gaps_to(stance, other, own.xs, own.ys)
        free &= gaps + own.step * sqrt(0.5) <= within  # all of the cell
    return CostMap(stance, own, free, around.prices.over(stance, own.xs, own.ys))


def turns_of(part: Part, now: float = 0.0) -> tuple[float, ...]:
    """The turns that a module may have: those it has now, the quarter turns, those wished for."""
    wishes = [wish for wish in part.wishes if isinstance(wish, TurnsWish)]
    tried = [now % 360.0, *QUARTER_TURNS]
    tried += [t % 360.0 for wish in wishes if not isinstance(wish.allowed, str)
              for t in wish.allowed]
    musts = [wish for wish in wishes if wish.must]
    return tuple(t for t in dict.fromkeys(tried)
                 if all(turn_is_allowed(t, wish.allowed) for wish in musts))


def best_spots(around: Around, maps: Sequence[CostMap]) -> list[Spot]:
    """The best spot of each map that has one which the checks let stand, the cheapest first."""
    judge = Judge(around)
    found = [spot for own in maps if (spot := _best(around, own, judge)) is not None]
    return sorted(found, key=lambda spot: spot.cost)


def _best(around: Around, own: CostMap, judge: Judge) -> Spot | None:
    spots = _on_raster(around, own) if own.free.any() else _in_slots(around, own)
    return next((spot for spot in spots if judge.lets(spot.placement)), None)


def _on_raster(around: Around, own: CostMap) -> Iterator[Spot]:
    for row, column in _cheapest(own):
        yield _fine(around, own, float(own.grid.xs[column]), float(own.grid.ys[row]))


def _in_slots(around: Around, own: CostMap) -> Iterator[Spot]:
    """Spots of places so narrow that no cell of the raster lies in them, the cheapest first."""
    stance = own.stance
    points = fit_of(around, stance.face, stance.posed.pose.turn).middles.inner_points
    spots = [_spot(around, stance, x, y) for x, y in points.tolist()]
    yield from sorted(spots, key=lambda spot: spot.cost)[:TRIES]


def _spot(around: Around, stance: Stance, x: float, y: float) -> Spot:
    place, (dx, dy) = placement_of(stance, x, y), stance.posed.centre
    there = around.prices.over(stance, np.array([place.x + dx]), np.array([place.y + dy]))
    return Spot(place, float(there[0, 0]))


def _cheapest(own: CostMap) -> Iterator[tuple[int, int]]:
    """Free cells, cheapest first, some way apart from each other."""
    costs = np.where(own.free, own.costs, np.inf)
    reach = round(APART_MM / own.grid.step)
    for _ in range(TRIES):
        row, column = divmod(int(np.argmin(costs)), costs.shape[1])
        if not np.isfinite(costs[row, column]):
            return
        yield row, column
        costs[max(0, row - reach): row + reach + 1, max(0, column - reach): column + reach + 1] = (
            np.inf)


def _fine(around: Around, own: CostMap, x: float, y: float) -> Spot:
    """The cheapest free spot round a free cell, its outline's corner on half millimetres."""
    outline = own.stance.posed.outline
    low = outline.min(axis=0)
    start = [at + least for at, least in ((x, low[0]), (y, low[1]))]
    first = [floor(s / FINE_MM) * FINE_MM - least - (WINDOW + 0.5) * FINE_MM
             for s, least in zip(start, low, strict=True)]
    side = (2 * WINDOW + 2) * FINE_MM
    window = Grid(side, side, FINE_MM, (float(first[0]), float(first[1])))
    near = cost_map(around, own.stance.face, own.stance.posed.pose.turn, window)
    if near.free.any():
        costs = np.where(near.free, near.costs, np.inf)
        row, column = divmod(int(np.argmin(costs)), costs.shape[1])
        x, y = float(window.xs[column]), float(window.ys[row])
    return _spot(around, own.stance, x, y)


def placement_of(stance: Stance, x: float, y: float) -> Placement:
    """The document's placement of a module whose outline's bounds have their middle at (x, y)."""
    cx, cy = stance.posed.centre
    face: Face = "back" if stance.face == "back" else "front"
    return Placement(face=face, x=round(x - cx, 3) + 0.0, y=round(y - cy, 3) + 0.0,
                     turn=stance.posed.pose.turn)


class Judge:
    """The checks' word on places of one module: no new stop, and no requirement is missed."""

    def __init__(self, around: Around) -> None:
        self._around = around
        self._given: Given = unavoidable(around.job.with_places({around.part.id: None}),
                                         frozenset({around.part.id}))

    def lets(self, placement: Placement) -> bool:
        """Whether the module may stand there."""
        job = self._around.job.with_places({self._around.part.id: placement})
        if any((f.rule, f.subjects) not in self._given for f in stops(job)):
            return False
        mine = self._around.part.id
        return not any(mine == part_id or getattr(wish, "part", "") == mine
                       for part_id, wish, _ in missed_musts(job))

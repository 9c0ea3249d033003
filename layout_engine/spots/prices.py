"""What each spot costs: the part of an arrangement's cost that hangs on one module, at many places.

The contract's cost (`arranging/cost.py`) of the module's connections and wishes, and of wishes of
others about it: between two spots it differs as the cost of the whole arrangement does. Wires are
Manhattan, so their cost is f(x) + g(y).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from layout_engine.arranging import classes as c
from layout_engine.arranging.cost import (
    MISSED_MM,
    THROUGH_PLATE_MM,
    exit_of,
    high_point,
    nearest_shield,
    turn_is_allowed,
    weight_of,
)
from layout_engine.arranging.vectors import Floats
from layout_engine.checks.standing import Standing
from layout_engine.geometry.free_places import grid_gaps, grown_sums
from layout_engine.geometry.shapes import shape_of
from layout_engine.model.part import (
    AwayFromShieldsWish,
    FaceWish,
    HighWish,
    InsideWish,
    NearEdgeWish,
    NearWish,
    TurnsWish,
    Wish,
)
from layout_engine.once import cached_property
from layout_engine.spots.forms import Stance

if TYPE_CHECKING:
    from layout_engine.spots.around import Around, Stood


@dataclass(frozen=True, slots=True)
class _Wire:
    """A connection of the module: weight, own terminal in the part frame, the other end."""

    weight: float
    terminal: tuple[float, float]
    to: tuple[float, float]
    face: str | None


@dataclass(frozen=True, slots=True)
class _Own:
    """A connection between two terminals of the module."""

    weight: float
    ends: tuple[tuple[float, float], tuple[float, float]]


class Prices:
    """What spots of one module cost."""

    def __init__(self, around: Around) -> None:
        self._around = around
        self._places = {other.part.id: other for other in around.others}

    def over(self, stance: Stance, xs: Floats, ys: Floats) -> Floats:
        """Cost of the module's middle at every (x, y), shape (len(ys), len(xs)), weight x mm."""
        across, along = np.zeros(len(xs)), np.zeros(len(ys))
        total = 0.0
        through = self._around.job.plate.thickness + THROUGH_PLATE_MM
        for wire in self._wires:
            x, y = stance.posed.about(*wire.terminal)
            across += wire.weight * np.abs(xs + x - wire.to[0])
            along += wire.weight * np.abs(ys + y - wire.to[1])
            if wire.face is not None and wire.face != stance.face:
                total += wire.weight * through
        for own in self._own:
            (ax, ay), (bx, by) = (stance.posed.about(*end) for end in own.ends)
            total += own.weight * (abs(ax - bx) + abs(ay - by))
        cost: Floats = across[None, :] + along[:, None] + total
        for wish in self._around.part.wishes:
            if not wish.must:
                cost += wish.factor * self._short(stance, wish, xs, ys)
        for factor, missed in self._of_others(stance, xs, ys):
            cost += factor * missed
        return cost

    @cached_property
    def _wires(self) -> tuple[_Wire, ...]:
        return tuple(wire for wire in self._ends if isinstance(wire, _Wire))

    @cached_property
    def _own(self) -> tuple[_Own, ...]:
        return tuple(wire for wire in self._ends if isinstance(wire, _Own))

    @cached_property
    def _ends(self) -> tuple[_Wire | _Own, ...]:
        job, mine = self._around.job, self._around.part.id
        found: list[_Wire | _Own] = []
        for connection in job.connections:
            ends = connection.ends
            own = [self._terminal(*end) for end in ends if end[0] == mine]
            if len(own) == 2:
                found.append(_Own(weight_of(job, connection), (own[0], own[1])))
            elif own:
                other = next(end for end in ends if end[0] != mine)
                to = self._end(*other)
                if to is not None:
                    found.append(_Wire(weight_of(job, connection), own[0], *to))
        return tuple(found)

    def _terminal(self, part_id: str, terminal_id: str) -> tuple[float, float]:
        terminal = self._around.job.type_of(part_id).terminal(terminal_id)
        return terminal.x, terminal.y

    def _end(self, part_id: str, terminal_id: str) -> tuple[tuple[float, float], str | None] | None:
        """Where the other end of a connection lies, and its face; None while it is in the tray."""
        job = self._around.job
        part = job.part(part_id)
        if part.away is not None:
            return exit_of(job, part), None
        other = self._places.get(part_id)
        if other is None:
            return None
        x, y = other.stance.posed.about(*self._terminal(part_id, terminal_id))
        return (other.at[0] + x, other.at[1] + y), other.stance.face

    def _short(self, stance: Stance, wish: Wish, xs: Floats, ys: Floats) -> Floats | float:
        """By how many mm a wish of the module is missed at every spot."""
        match wish:
            case FaceWish():
                return 0.0 if stance.face == wish.face else MISSED_MM
            case TurnsWish():
                turn = stance.posed.pose.turn
                return 0.0 if turn_is_allowed(turn, wish.allowed) else MISSED_MM
            case NearEdgeWish():
                return self._edge_short(stance, wish, xs, ys)
            case HighWish():
                _, y = stance.posed.about(*high_point(self._around.form.kind))
                return _shortfall(wish.above - y - ys)[:, None]
            case InsideWish():
                zone = shape_of(wish.outline)
                corners = np.unique(stance.posed.outline, axis=0).tolist()
                gaps = np.array([grid_gaps(zone, xs + x, ys + y) for x, y in corners])
                worst: Floats = gaps.max(axis=0)
                return worst
            case NearWish():
                other = self._places.get(wish.part)
                if other is None:
                    return 0.0
                return _shortfall(self.gaps_to(stance, other, xs, ys) - wish.within)
            case AwayFromShieldsWish():
                return _shortfall(wish.distance - self._to_shields(stance, xs, ys))

    def _edge_short(self, stance: Stance, wish: NearEdgeWish, xs: Floats, ys: Floats) -> Floats:
        outline = stance.posed.outline
        width, height = self._around.job.plate.size
        if wish.edge in {"left", "right"}:
            least, most = outline[:, 0].min(), outline[:, 0].max()
            away = xs + least if wish.edge == "left" else width - xs - most
            return _shortfall(away - wish.within)[None, :]
        least, most = outline[:, 1].min(), outline[:, 1].max()
        away = ys + least if wish.edge == "bottom" else height - ys - most
        return _shortfall(away - wish.within)[:, None]

    def gaps_to(self, stance: Stance, other: Stood, xs: Floats, ys: Floats) -> Floats:
        """Distance in plan from the module's outline to another's, at every spot, mm."""
        at = np.array(other.at)
        touching = grown_sums([(theirs + at, mine, 0.0) for theirs in other.stance.outline
                               for mine in stance.outline])
        nearest: Floats = np.array([grid_gaps(area, xs, ys) for area in touching]).min(axis=0)
        return nearest

    def _to_shields(self, stance: Stance, xs: Floats, ys: Floats) -> Floats:
        """Distance in space from the module's aerial to the nearest shield of another module."""
        far = np.full((len(ys), len(xs)), np.inf)
        if self._around.form.kind.antenna is None:
            return far
        x, y, w = stance.posed.antenna
        for other in self._around.others:
            at = np.array(other.at)
            for bit in other.stance.bits:
                if isinstance(bit.kind, c.Metal):
                    apart = max(0.0, bit.kind.low - w, w - bit.kind.high)
                    plan = grid_gaps(shape_of(bit.corners + at), xs + x, ys + y)
                    far = np.minimum(far, np.hypot(plan, apart))
        return far

    def _of_others(self, stance: Stance, xs: Floats, ys: Floats
                   ) -> Iterator[tuple[float, Floats]]:
        """(factor, mm missed) of wishes of other modules about this one."""
        mine = self._around.part.id
        for other in self._around.others:
            for wish in other.part.wishes:
                if wish.must:
                    continue
                if isinstance(wish, NearWish) and wish.part == mine:
                    gaps = self.gaps_to(stance, other, xs, ys)
                    yield wish.factor, _shortfall(gaps - wish.within)
                elif isinstance(wish, AwayFromShieldsWish) and self._around.form.kind.shields:
                    near = np.minimum(self._to_aerial(stance, other, xs, ys),
                                      self._shield_near(other))
                    yield wish.factor, _shortfall(wish.distance - near)

    def _shield_near(self, other: Stood) -> float:
        """Distance from another module's aerial to the nearest shield of a third one."""
        job = self._around.job
        standing = {o.part.id: Standing.of(job, o.part) for o in self._around.others}
        return nearest_shield(job, standing, standing[other.part.id])

    def _to_aerial(self, stance: Stance, other: Stood, xs: Floats, ys: Floats) -> Floats:
        """Distance in space from the module's shields to another module's aerial."""
        far = np.full((len(ys), len(xs)), np.inf)
        if self._around.job.type_of(other.part).antenna is None:
            return far
        x, y, w = other.stance.posed.antenna
        spot = np.array(other.at) + np.array([x, y])
        for bit in stance.bits:
            if isinstance(bit.kind, c.Metal):
                apart = max(0.0, bit.kind.low - w, w - bit.kind.high)
                plan = grid_gaps(shape_of(spot - bit.corners), xs, ys)
                far = np.minimum(far, np.hypot(plan, apart))
        return far


def _shortfall(missed: Floats) -> Floats:
    short: Floats = np.maximum(missed, 0.0)
    return short

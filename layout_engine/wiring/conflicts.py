"""What does not work out: the narrowest gap on the best way there is, and the part to move."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, hypot

import numpy as np
from numpy.typing import NDArray

from layout_engine.geometry.frames import EPS_MM
from layout_engine.geometry.wire_ground import Beside
from layout_engine.model.part import Placement
from layout_engine.tables.dressing import WIRE_GAP
from layout_engine.wiring.corridors import RUN
from layout_engine.wiring.demands import Demand
from layout_engine.wiring.laying import Laying
from layout_engine.wiring.search import NO_WAY
from layout_engine.wiring.site import Site
from layout_engine.wiring.wire import Conflict, Moved, Run

SAME_MM = 0.01  # widths that differ less are the same
OPPOSITE = -0.5  # cosine between the ways to what stands on both sides, at most
NARROW_COST = 1e3  # of a mm that the wire does not fit: on the best blocked way there are few
SHIFT_STEP_MM = 0.5  # shifts are told in steps of the grid on which holes are drilled
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class _Gap:
    """A narrow place, as seen: room [mm] about the way's middle, distance [mm] between what stands
    on both sides, which, and where.
    """

    width: float
    apart: float
    sides: tuple[Beside, ...]
    spot: Floats


@dataclass(frozen=True, slots=True)
class Narrow:
    """The narrowest place of the best blocked way of a wire.

    Attributes:
        gap: the gap.
        face: number of its face, as seen.
        needs: distance [mm] that what stands on both sides must have there.
        more: how many more narrow places the way has.
    """

    gap: _Gap
    face: int
    needs: float
    more: int


def no_corridor(laying: Laying, demand: Demand) -> Conflict:
    """Why a wire has no way: the narrowest place of the best blocked way."""
    found, wires = narrowest(laying, demand), (demand.connection.id,)
    if found is None:
        keys = demand.connection.from_, demand.connection.to
        part = next((k for k in keys if k not in laying.graph.ends), keys[1]).partition(".")[0]
        return Conflict("no_corridor", wires, (part,), 0.0, demand.outer, 0.0, 0.0, "front",
                        (part, ""))
    return _conflict(laying.site, "no_corridor", wires, (found.face, found.gap, demand.outer),
                     found.more)


def narrowest(laying: Laying, demand: Demand) -> Narrow | None:
    """Where a wire that has no way does not fit; None where an end of it has no place at all.

    Of all blocked ways it is the one whose narrowest place is the widest, and of such the one with
    the least length where the wire does not fit.
    """
    graph, connection = laying.graph, demand.connection
    ends = [graph.ends.get(key) for key in (connection.from_, connection.to)]
    for node, key in zip(ends, (connection.from_, connection.to), strict=True):
        if node is None:
            return _at_end(laying.site, demand, key)
    one, other = (int(node) for node in ends if node is not None)
    open_ = laying.open_to(demand)
    room = np.where(open_, np.minimum(graph.width, demand.outer), -1.0)
    widest = laying.search.widest(room, one, other)
    if widest is None:
        return _at_end(laying.site, demand, connection.to)
    narrow = graph.width < demand.outer
    costs = graph.length + 1e-6
    costs[narrow] += NARROW_COST * costs[narrow]
    costs[~open_ | (graph.width < widest)] = NO_WAY
    way = laying.search.way(costs, one, other) or []
    tight = [e for e in way if graph.kind[e] == RUN and narrow[e]]
    if not tight:
        return _at_end(laying.site, demand, connection.to)
    least = float(graph.width[tight].min())
    gap, face = min((_gap_at(laying, e) for e in tight if graph.width[e] <= least + SAME_MM),
                    key=lambda found: found[0].apart)
    known = [bool(narrow[e]) for e in way]
    places = sum(now and not before for before, now in pairwise([False, *known]))
    return Narrow(gap, face, _needs(demand.outer), places - 1)


def _gap_at(laying: Laying, edge: int) -> tuple[_Gap, int]:
    """The gap that a piece of track passes, and the number of its face."""
    face = int(laying.graph.face[laying.graph.u[edge]])
    return _gap(laying.site, face, laying.pieces[edge]), face


def _at_end(site: Site, demand: Demand, key: str) -> Narrow | None:
    """Where a wire does not fit whose end comes to no corridor at all."""
    end = site.ends.get(key)
    if end is None or not end.starts:
        return None
    start = end.starts[0]
    spot = np.array(start.last)
    piece = np.stack((spot - 1e-3 * np.array(start.way), spot + 1e-3 * np.array(start.way)))
    gap = _gap(site, start.face, piece, frozenset((end.part,)))
    return Narrow(gap, start.face, _needs(demand.outer), 0)


def _needs(diameter: float) -> float:
    """Distance [mm] of what stands on both sides of so thick a wire or bundle."""
    return diameter + 2 * WIRE_GAP.value


def _gap(site: Site, face: int, piece: Floats, without: frozenset[str] = frozenset()) -> _Gap:
    """What stands on both sides of a straight piece, the nearest first, and the room for a wire."""
    ground, owners = site.grounds[face], [o.owner for o in site.obstacles[face]]
    first = next(b for b in ground.beside(piece)
                 if b.thing is None or owners[b.thing] not in without)
    spot = np.array(first.on)
    if first.away > EPS_MM:
        around = ground.beside(np.stack((spot, spot)))
        other = next((b for b in around if np.dot(b.way, first.way) < OPPOSITE), None)
        sides = (first,) if other is None else (first, other)
        return _Gap(2 * first.away, 0.0 if other is None else first.away + other.away, sides, spot)
    if first.thing is None:
        return _Gap(0.0, 0.0, (first,), spot)
    # It stands in the middle of the way, which may open between it and its nearest neighbour.
    around = ground.beside_thing(first.thing)
    other = next((b for b in around if b.thing is None or owners[b.thing] != owners[first.thing]),
                 None)
    if other is None:
        return _Gap(0.0, 0.0, (first,), spot)
    away = Beside(first.thing, 0.0, first.on, (-other.way[0], -other.way[1]))
    return _Gap(0.0, other.away, (away, other), spot)


def _conflict(site: Site, kind: str, wires: tuple[str, ...], where: tuple[int, _Gap, float],
              more: int) -> Conflict:
    face, gap, diameter = where
    needs = _needs(diameter)
    owners = [o.owner for o in site.obstacles[face]]
    names = ["" if b.thing is None else owners[b.thing] for b in gap.sides]
    one, other = [*names, ""][:2]
    x, y = site.view.back(float(gap.spot[0]), float(gap.spot[1]))
    return Conflict(
        kind, wires, tuple(dict.fromkeys(n for n in names if n)),  # type: ignore[arg-type]
        round(gap.width, 3), round(needs, 3), round(x, 3) + 0.0, round(y, 3) + 0.0,
        site.view.face_back(face), (one, other),
        _who_moves(site, list(zip(names, gap.sides, strict=True)), needs - gap.apart), more)


def _who_moves(site: Site, sides: Sequence[tuple[str, Beside]], lacking: float) -> Moved | None:
    """The part that gives way, and how far: one that meets nothing there, else any that may move.

    Of several the one with the smaller outline.
    """
    found: dict[tuple[bool, float, str], Moved] = {}
    for owner, beside in sides if len({owner for owner, _ in sides}) == len(sides) else ():
        standing = site.scene.standing.get(owner)
        if standing is None or standing.part.locked or standing.part.placement is None:
            continue
        dx, dy = site.view.way_back(*beside.way)
        length = hypot(dx, dy) or 1.0
        by = ceil(round(max(lacking, SHIFT_STEP_MM) / SHIFT_STEP_MM, 6)) * SHIFT_STEP_MM
        dx, dy = (round(by * k / length, 3) + 0.0 for k in (dx, dy))
        where = standing.part.placement
        there = Placement(face=where.face, x=where.x + dx, y=where.y + dy, turn=where.turn)
        clear = site.scene.is_clear(owner, there)
        found[not clear, standing.outline.area, owner] = Moved(owner, dx, dy, clear)
    return found[min(found)] if found else None


def too_full(site: Site, runs: tuple[Run, ...], demands: Sequence[Demand]) -> Iterator[Conflict]:
    """Runs that are wider than their corridor.

    The parts at which their wires end do not narrow it: near those each has a way of its own.
    """
    parts = {c.id: {key.partition(".")[0] for key in (c.from_, c.to)}
             for c in (demand.connection for demand in demands)}
    for run in runs:
        if run.fill <= 1 + 1e-6:
            continue
        own = frozenset().union(*(parts[wire] for wire in run.wires))
        face = site.view.face(run.face)
        points = site.view.points(np.array(run.path))
        gaps = [_gap(site, face, np.stack(leg), own) for leg in pairwise(points)]
        least = min(gaps, key=lambda g: g.width)
        yield _conflict(site, "too_full", run.wires, (face, least, run.diameter), 0)


def near_aerials(laying: Laying) -> Iterator[Conflict]:
    """Wires that pass an antenna's ground without ending there.

    One that finds its own way may also end on that ground; a person could lead a pinned one off it.
    """
    graph, site = laying.graph, laying.site
    for part, inside, ends in laying.zones:
        known = set(inside.tolist())
        for index, edges in sorted((laying.ways | laying.fixed).items()):
            connection = laying.demands[index].connection
            pinned = connection.pinned and bool(connection.via)
            if part in {owner for owner, _ in connection.ends} or (
                    not pinned and {connection.from_, connection.to} & ends):
                continue
            here = [e for e in edges if e in known]
            if here:
                spot = graph.xy[graph.u[here[0]]]
                x, y = site.view.back(float(spot[0]), float(spot[1]))
                face = site.view.face_back(int(graph.face[graph.u[here[0]]]))
                yield Conflict("near_aerial", (connection.id,), (part,), 0.0, 0.0, x, y, face,
                               (part, ""))

"""Which wires stay as they lie: pinned ones, and those that a change does not touch."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from layout_engine.geometry.wire_ground import WireGround
from layout_engine.model.job import Connection, Job
from layout_engine.tables.dressing import GROMMETS, WIRE_GAP
from layout_engine.wiring.drilling import HAIR_MM as HOLE_HAIR_MM
from layout_engine.wiring.grommets import hole_spare
from layout_engine.wiring.paths import Seen, to_seen
from layout_engine.wiring.site import Aerial, Site
from layout_engine.wiring.weights import RouteWeights
from layout_engine.wiring.wire import Routing

Floats = NDArray[np.float64]
HOLE_ROOM_MM = GROMMETS[-1].rim / 2  # a changed part nearer to a hole is looked at


def pinned_path(site: Site, connection: Connection) -> list[Seen] | None:
    """The path of a pinned wire: straight from its end over its `via` points to the other end."""
    if not connection.pinned or not connection.via:
        return None
    via = to_seen(site, connection.via)
    ends = [site.ends.get(connection.from_), site.ends.get(connection.to)]
    if ends[0] is None or ends[1] is None or not (ends[0].starts and ends[1].starts):
        return None
    first, last = ends[0].starts[0], ends[1].starts[0]
    one = (*first.points[0], via[0][2] if ends[0].away else first.face)
    other = (*last.points[0], via[-1][2] if ends[1].away else last.face)
    return [one, *via, other]


def kept_paths(site: Site, previous: Routing | None, weights: RouteWeights,
               outers: Mapping[str, float]) -> dict[str, list[Seen]]:
    """Paths of wires that a change since `previous` does not touch, by connection.

    outers: outer diameters as they are now [mm]; a wire that grew thicker is laid anew.
    """
    if previous is None or previous.weights != weights:
        return {}
    old, new = previous.job, site.job
    if old.plate != new.plate:
        return {}
    changed = changed_parts(old, new)
    known = {c.id: c for c in old.connections}
    bundle = _widest(previous)
    walls = [_ground(site, face, changed) for face in (0, 1)]
    aerials = [a for a in site.aerials if a.part in changed]
    paths: dict[str, list[Seen]] = {}
    rooms = []
    for connection in new.connections:
        if known.get(connection.id) != connection or connection.pinned:
            continue
        if any(part_id in changed for part_id, _ in connection.ends):
            continue
        wire = previous.wire(connection.id)
        if wire.state != "routed" or outers[wire.id] > wire.outer + 1e-9:
            continue
        paths[wire.id] = to_seen(site, wire.path)
        rooms.append(bundle.get(wire.id, wire.outer) / 2 + WIRE_GAP.value)
    clear = _clear(list(paths.values()), walls, np.array(rooms), aerials)
    moved = _through_holes_that_go(site, previous)
    return {wire: path for (wire, path), free in zip(paths.items(), clear, strict=True)
            if free and wire not in moved}


def changed_parts(old: Job, new: Job) -> frozenset[str]:
    """Ids of parts that were added, removed, moved or are of another or a changed type."""
    before, after = old.parts_by_id, new.parts_by_id
    changed = {
        part_id for part_id in before.keys() | after.keys()
        if part_id not in before or part_id not in after
        or before[part_id].placement != after[part_id].placement
        or before[part_id].away != after[part_id].away
        or old.type_of(part_id) != new.type_of(part_id)
    }
    return frozenset(changed)


def still_lost(previous: Routing, job: Job) -> frozenset[str]:
    """Ids of wires that had no corridor, and whose narrowest gap and ends a change leaves alone."""
    changed = changed_parts(previous.job, job)
    gaps = {wire: conflict.parts for conflict in previous.conflicts
            if conflict.kind == "no_corridor" for wire in conflict.wires}
    return frozenset(
        wire.id for wire in previous.wires
        if wire.state == "no_corridor" and changed.isdisjoint((
            *gaps.get(wire.id, ()), *(key.partition(".")[0] for key in (wire.from_, wire.to)))))


def _through_holes_that_go(site: Site, previous: Routing) -> frozenset[str]:
    """Ids of wires through drilled holes that are too near now to an edge or another hole."""
    holes = [p for p in previous.passes if p.kind == "drilled"]
    spots = np.array([site.view.point(p.x, p.y) for p in holes]).reshape(-1, 2)
    spare = np.diagonal(hole_spare(site, spots, [p.hole for p in holes]))
    return frozenset(wire for one, left in zip(holes, spare, strict=True)
                     if left < -HOLE_HAIR_MM for wire in one.wires)


def _widest(previous: Routing) -> dict[str, float]:
    """The thickest bundle that each wire lies in, mm."""
    widest: dict[str, float] = {}
    for run in previous.runs:
        for wire in run.wires:
            widest[wire] = max(widest.get(wire, 0.0), run.diameter)
    return widest


def _ground(site: Site, face: int, changed: frozenset[str]) -> WireGround | None:
    shapes = [o.shape for o in site.obstacles[face] if o.owner in changed]
    return WireGround(shapes, [site.outer]) if shapes else None


def _clear(paths: Sequence[Sequence[Seen]], walls: Sequence[WireGround | None], rooms: Floats,
           aerials: Sequence[Aerial]) -> NDArray[np.bool_]:
    """Which paths keep off what has changed.

    rooms: mm that the middle of each path keeps from things.
    """
    free = np.ones(len(paths), dtype=bool)
    legs = [(n, p, q) for n, path in enumerate(paths) for p, q in pairwise(path)]
    through = [(n, (p[:2], p[:2])) for n, p, q in legs if p[2] != q[2]]
    for face, wall in enumerate(walls):
        flat = [(n, (p[:2], q[:2])) for n, p, q in legs if p[2] == q[2] == face]
        owner = np.array([n for n, _ in flat], dtype=np.intp)
        pieces = np.array([piece for _, piece in flat]).reshape(-1, 2, 2)
        if wall is not None:
            holes = np.array([piece for _, piece in through]).reshape(-1, 2, 2)
            near = wall.thing_clearances(holes) < HOLE_ROOM_MM
            free[np.array([n for n, _ in through], dtype=np.intp)[near]] = False
            free[owner[wall.thing_clearances(pieces) < rooms[owner] - 1e-6]] = False
        low, high = pieces.min(axis=1), pieces.max(axis=1)
        for aerial in aerials:
            if aerial.face == face:
                spot = np.array([aerial.x, aerial.y])
                away = np.hypot(*np.maximum(np.maximum(low - spot, spot - high), 0.0).T)
                free[owner[away < aerial.radius]] = False
    return free

"""The whole way from a job to its routes."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from layout_engine.model.job import Connection, Job
from layout_engine.wiring.conflicts import near_aerials, no_corridor, too_full
from layout_engine.wiring.corridors import corridors_of
from layout_engine.wiring.demands import Demand, demands_of
from layout_engine.wiring.gathering import gather
from layout_engine.wiring.improving import Improvement, order_of
from layout_engine.wiring.keeping import changed_parts, kept_paths, pinned_path, still_lost
from layout_engine.wiring.laying import Laying
from layout_engine.wiring.lengths import Laid, as_leads, reaches, wire_length
from layout_engine.wiring.marking import colour_of, markers_of, role_of
from layout_engine.wiring.parting import part_holes
from layout_engine.wiring.paths import (
    Seen,
    TrackPlaces,
    changes_of,
    edges_under,
    seen_path,
    to_plate,
    tracks_of,
)
from layout_engine.wiring.pinned import pinned_faults
from layout_engine.wiring.runs import Gathered, gathered
from layout_engine.wiring.site import Site
from layout_engine.wiring.sliding import Sliding
from layout_engine.wiring.weights import RouteWeights
from layout_engine.wiring.wire import Conflict, Routing, State, Wire

FINE_MM = 6.5  # tracks nearer to each other are many more than are needed for a few wires


def planned(job: Job, previous: Routing | None, weights: RouteWeights,
            sizes: Mapping[str, str] | None = None) -> Routing:
    """Routes of a job; what a change since `previous` does not touch stays."""
    site = Site(job)
    demands = demands_of(job, sizes)
    outers = {d.connection.id: d.outer for d in demands}
    kept = kept_paths(site, previous, weights, outers)
    pinned = {c.id: path for c in job.connections if (path := pinned_path(site, c)) is not None}
    fixed = kept | pinned
    states = {d.index: _state(job, d.connection) for d in demands}
    open_ = [d for d in demands if states[d.index] == "routed" and d.connection.id not in fixed]
    choices = _face_choices(site, demands, fixed)
    if previous is not None and kept and (
            len(open_) < len(kept) or changed_parts(previous.job, job)):
        lost = still_lost(previous, job)
        laying, more = _beside(site, demands, open_, fixed, choices, weights, lost)
        return _result(job, laying, demands, states, fixed | more, frozenset(kept))
    laying = _corridors(site, demands, open_, fixed, choices[0], weights)
    for faces in choices[1:]:
        if all(laying.find(d) is not None for d in open_):
            break
        laying = _corridors(site, demands, open_, fixed, faces, weights)
    stay = {d.index: fixed[d.connection.id] for d in demands if d.connection.id in fixed}
    known = _lay(laying, open_, stay)
    slid, paths = _slid(laying, stay, known)
    return _result(job, slid, demands, states, fixed | paths, frozenset(kept), laying)


def _beside(site: Site, demands: Sequence[Demand], open_: Sequence[Demand],
            fixed: dict[str, list[Seen]], choices: Sequence[tuple[int, ...]],
            weights: RouteWeights, lost: Collection[str]
            ) -> tuple[Laying, dict[str, list[Seen]]]:
    """Wires laid beside those that stay: on fewer tracks, where that saves much, and on all tracks
    those that find no way so; on both faces only those that find none on the face that is needed.

    lost: ids of wires for which no corridor can have opened. Paths of wires laid on fewer tracks
    are given back where others had to be laid after them.
    """
    left, laid = list(open_), dict[str, list[Seen]]()
    if len(choices[0]) > 1 or site.pitch <= FINE_MM:
        site.use_fewer_tracks()
    laying = _corridors(site, demands, left, fixed, choices[0], weights)
    _lay(laying, left)
    for faces in choices if site.coarse else choices[1:]:
        here = {d.connection.id: seen_path(
            laying.graph, laying.graph.ends[d.connection.from_], laying.ways[d.index])
            for d in left if d.index in laying.ways}
        left = [d for d in left if d.connection.id not in here and d.connection.id not in lost
                and (site.coarse or laying.reaches(d))]
        if not left:
            break
        laid |= here
        site.use_all_tracks()
        laying = _corridors(site, demands, left, fixed | laid, faces, weights)
        _lay(laying, left)
    return laying, laid


def _slid(laying: Laying, stay: dict[int, list[Seen]], known: Sliding | None
          ) -> tuple[Laying, dict[str, list[Seen]]]:
    """The wires slid onto lines nearby where that makes them straighter; their paths.

    stay: paths of wires that stay; known: the wires slid, where they lie still as they did then.
    """
    demands, site = laying.demands, laying.site
    sliding = known
    if sliding is None:
        sliding = Sliding(laying, stay)
        sliding.slide()
    paths = {index: sliding.in_corridors(index) for index in sliding.paths}
    through = [spot for path in paths.values() for spot in changes_of(path)]
    faces = tuple({face for path in paths.values() for _, _, face in path})
    points = [(face, x, y) for path in paths.values() for x, y, face in path]
    before = laying.graph  # there the room beside wires that stay is known piece by piece
    nodes = sorted({int(n) for edges in laying.fixed.values() for e in edges
                   for n in (before.u[e], before.v[e])})
    points += [(int(before.face[n]), float(before.xy[n, 0]), float(before.xy[n, 1]))
               for n in nodes]
    graph = corridors_of(site, (0, 1) if len(faces) != 1 else faces, (), points,
                         tracks_of(paths.values()), through, only=True)
    slid, places = Laying(site, graph, demands, laying.weights), TrackPlaces(graph)
    for index, path in paths.items():
        slid.put(index, edges_under(places, path, demands[index].outer), fixed=True)
    return slid, {demands[index].connection.id: sliding.paths[index] for index in laying.ways}


def _state(job: Job, connection: Connection) -> State:
    parts = [job.part(part_id) for part_id, _ in connection.ends]
    if any(p.placement is None and p.away is None for p in parts):
        return "not_placed"
    return "off_board" if all(p.away is not None for p in parts) else "routed"


def _face_choices(site: Site, demands: Sequence[Demand], fixed: dict[str, list[Seen]]
                  ) -> list[tuple[int, ...]]:
    """The faces that wires need; both, should that not do."""
    used = {end.starts[0].face for end in site.ends.values() if not end.away}
    used |= {site.view.face(face) for d in demands for _, _, face in d.connection.via}
    used |= {face for path in fixed.values() for _, _, face in path}
    return [tuple(used), (0, 1)] if len(used) == 1 else [(0, 1)]


def _corridors(site: Site, demands: Sequence[Demand], open_: Sequence[Demand],
          fixed: dict[str, list[Seen]], faces: tuple[int, ...], weights: RouteWeights) -> Laying:
    via = [(site.view.face(face), *site.view.point(x, y))
           for d in open_ for x, y, face in d.connection.via]
    holes = [(path, spot) for path in fixed.items() for spot in changes_of(path[1])]
    via += [(face, x, y) for _, (x, y) in holes for face in (0, 1)]
    pinned = {d.connection.id for d in demands if d.connection.pinned}
    through = [spot for (wire, _), spot in holes if wire in pinned]
    needed = {key for d in open_ for key in (d.connection.from_, d.connection.to)}
    graph = corridors_of(site, faces, needed, via, tracks_of(fixed.values()), through)
    laying = Laying(site, graph, demands, weights)
    places = TrackPlaces(graph)
    for demand in demands:
        if demand.connection.id in fixed:
            edges = edges_under(places, fixed[demand.connection.id], demand.outer)
            laying.put(demand.index, edges, fixed=True)
    for demand in open_:
        nodes = [graph.node_at(site.view.face(face), *site.view.point(x, y), 0)
                 for x, y, face in demand.connection.via]
        if None in nodes:
            laying.missed[demand.index] = nodes.index(None)
        elif nodes:
            laying.via[demand.index] = [node for node in nodes if node is not None]
    return laying


def _lay(laying: Laying, open_: Sequence[Demand], stay: dict[int, list[Seen]] | None = None
         ) -> Sliding | None:
    """Lay the wires that do not stay; one that cannot pass its points is laid without them.

    stay: paths of those that stay; without them wires are not gathered in fewer runs. Returns the
    wires slid, where that is known.
    """
    improvement, order = Improvement(laying, widely=stay is not None), order_of(open_)
    slid = None
    if stay is None:
        improvement.lay(order)
        improvement.rounds(order, 1, 0)
    else:
        slid = gather(improvement, order, stay)
    done = len(laying.changes)
    improvement.fit(order)
    lost = [d for d in open_ if d.index in laying.via and d.index not in laying.ways]
    for demand in lost:
        laying.missed[demand.index] = laying.first_missed(demand)
        del laying.via[demand.index]
    if lost:
        improvement.lay(order_of(lost))
    part_holes(laying, improvement)
    return slid if len(laying.changes) == done else None


def _result(job: Job, laying: Laying, demands: Sequence[Demand], states: dict[int, State],
            fixed: dict[str, list[Seen]], kept: frozenset[str], whole: Laying | None = None
            ) -> Routing:
    """Routes of wires as they lie; `whole`: in all corridors, where those of `laying` are fewer."""
    site, whole = laying.site, whole or laying
    together = gathered(laying)
    conflicts: list[Conflict] = []
    wires = []
    for demand in demands:
        state, seen = states[demand.index], fixed.get(demand.connection.id)
        if state == "routed" and seen is None:
            way = laying.ways.get(demand.index)
            if way is None:
                state = "no_corridor"
                conflicts.append(no_corridor(whole, demand))
            else:
                start = laying.graph.ends[demand.connection.from_]
                seen = seen_path(laying.graph, start, way)
        wires.append(_wire(site, demand, state, seen, together, whole))
    conflicts += [*too_full(site, together.runs, demands), *near_aerials(laying)]
    for demand in demands:
        if demand.connection.pinned and states[demand.index] == "routed" and (
                path := fixed.get(demand.connection.id)):
            conflicts += pinned_faults(site, whole.graph, demand, path)
    return Routing(job, laying.weights, site, as_leads(job, wires), together.runs, together.passes,
                   tuple(conflicts), kept)


def _wire(site: Site, demand: Demand, state: State, seen: list[Seen] | None, together: Gathered,
          laying: Laying) -> Wire:
    job, connection, index = site.job, demand.connection, demand.index
    path = to_plate(site, seen) if seen else ()
    runs = together.runs_of.get(index, ())
    twisted = bool(connection.cable) and demand.partner is not None and (
        role_of(job, connection) == "motor"
        and job.connections[demand.partner].cable == connection.cable)
    laid = None
    if state in ("routed", "off_board"):
        widest = max((r.diameter for r in together.runs if r.id in runs), default=demand.outer)
        ends = site.ends[connection.from_], site.ends[connection.to]
        laid = Laid(path, ends, widest, demand.outer, twisted)
    length, working = wire_length(job, connection, laid)
    size = demand.size
    second = demand.partner is not None and demand.partner < index
    return Wire(
        id=connection.id, number=index + 1, from_=connection.from_, to=connection.to, path=path,
        state=state, length=length, working=working, runs=runs,
        reaches=reaches(job, laid) if laid and state == "routed" else None,
        passes=together.passes_of.get(index, ()), mm2=size.area if size else None,
        awg=size.gauge if size and size.is_awg else None,
        outer=demand.outer, colour=colour_of(job, connection, second=second),
        markers=markers_of(job, connection, index + 1), cable=connection.cable, twisted=twisted,
        pinned=connection.pinned and bool(connection.via),
        why=_why(connection, state, index, laying),
    )


def _why(connection: Connection, state: State, index: int, laying: Laying) -> str:
    if state == "not_placed":
        return "one of its ends lies in the tray"
    if state == "off_board" and connection.length is None:
        return "both ends are elsewhere in the body: give its length"
    if state == "no_corridor":
        return "no way is wide enough"
    if connection.via and not connection.pinned and index not in laying.via and (
            index in laying.ways):
        missed, count = laying.missed.get(index), len(connection.via)
        if count == 1:
            return "it cannot pass its point"
        if missed is None:
            return "it cannot pass all its points"
        return f"it cannot pass its point {missed + 1} of {count}"
    return ""

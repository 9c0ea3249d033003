"""What does not work out, with the narrowest gap and what stands there."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from layout_engine.geometry.shapes import gap
from layout_engine.geometry.wire_ground import strip_about
from layout_engine.model.plate import Face
from layout_engine.wiring.corridors import RUN
from layout_engine.wiring.demands import Demand
from layout_engine.wiring.laying import Laying
from layout_engine.wiring.site import Site
from layout_engine.wiring.wire import Conflict, Run

TIGHT_COST = 1e5  # of a gap too narrow for the wire, over its width
LEAST_MM = 0.05


def no_corridor(laying: Laying, demand: Demand) -> Conflict:
    """Why a wire has no way: the narrowest place of the way that lacks least."""
    graph, connection = laying.graph, demand.connection
    ends = [graph.ends.get(key) for key in (connection.from_, connection.to)]
    for node, key in zip(ends, (connection.from_, connection.to), strict=True):
        if node is None:
            return _at_end(laying.site, demand, key)
    assert ends[0] is not None
    assert ends[1] is not None
    narrow = graph.width < demand.outer
    costs = graph.length + 1e-6
    costs[narrow] += TIGHT_COST / np.maximum(graph.width[narrow], LEAST_MM)
    way = laying.search.way(costs, ends[0], ends[1])
    if way is None:
        return _at_end(laying.site, demand, connection.to)
    tight = min((e for e in way if graph.kind[e] == RUN), key=lambda e: float(graph.width[e]),
                default=way[0])
    piece = np.stack((graph.xy[graph.u[tight]], graph.xy[graph.v[tight]]))
    face = int(graph.face[graph.u[tight]])
    parts = beside(laying.site, face, piece)
    x, y = laying.site.view.back(*(float(k) for k in piece.mean(axis=0)))
    return Conflict("no_corridor", (connection.id,), parts, float(graph.width[tight]),
                    demand.outer, x, y, laying.site.view.face_back(face))


def _at_end(site: Site, demand: Demand, key: str) -> Conflict:
    """A wire whose end comes to no corridor at all."""
    end = site.ends.get(key)
    if end is None or not end.starts:
        part = key.split(".")[0]
        return Conflict("no_corridor", (demand.connection.id,), (part,), 0.0, demand.outer, 0.0,
                        0.0, "front")
    start = end.starts[0]
    spot = np.array([start.last, start.last])
    others = tuple(p for p in beside(site, start.face, spot) if p != end.part)
    x, y = site.view.back(*start.last)
    room = 2 * float(site.grounds[start.face].clearances(spot[None])[0])
    return Conflict("no_corridor", (demand.connection.id,), others or (end.part,), room,
                    demand.outer, x, y, site.view.face_back(start.face))


def beside(site: Site, face: int, piece: np.ndarray[tuple[int, int], np.dtype[np.float64]]
           ) -> tuple[str, ...]:
    """The two owners nearest to a straight piece, the nearest first."""
    line = strip_about(piece)
    near = sorted((round(gap(o.shape, line), 6), o.owner) for o in site.obstacles[face])
    owners = list(dict.fromkeys(owner for _, owner in near))
    return tuple(owners[:2])


def too_full(laying: Laying, runs: tuple[Run, ...]) -> Iterator[Conflict]:
    """Runs that are wider than their corridor."""
    site = laying.site
    for run in runs:
        if run.fill <= 1 + 1e-6:
            continue
        a, b = run.path[0], run.path[-1]
        seen = site.view.points(np.array([a, b]))
        face: Face = run.face
        yield Conflict("too_full", run.wires, beside(site, site.view.face(face), seen), run.width,
                       run.diameter, (a[0] + b[0]) / 2, (a[1] + b[1]) / 2, face)


def near_aerials(laying: Laying) -> Iterator[Conflict]:
    """Wires that pass an antenna's ground without ending there."""
    graph, site = laying.graph, laying.site
    for part, inside, ends in laying.zones:
        known = set(inside.tolist())
        for index, edges in sorted((laying.ways | laying.fixed).items()):
            connection = laying.demands[index].connection
            if {graph.ends.get(connection.from_), graph.ends.get(connection.to)} & ends:
                continue
            here = [e for e in edges if e in known]
            if here:
                spot = graph.xy[graph.u[here[0]]]
                x, y = site.view.back(float(spot[0]), float(spot[1]))
                face = site.view.face_back(int(graph.face[graph.u[here[0]]]))
                yield Conflict("near_aerial", (connection.id,), (part,), 0.0, 0.0, x, y, face)

"""Wires for which no way is wide enough, told without routing: each alone on fewer tracks.

A wire has a way where its ends lie in one piece of the corridor graph that is left when all that is
narrower than the wire is taken out. With 51 wires that takes a tenth of a second, and on fewer
tracks (`Site.use_fewer_tracks`) it told of the same wires as on all of them, on twelve arrangements
of the demo jobs. What others leave of a way is not looked at.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components

from layout_engine.geometry.frames import Points
from layout_engine.geometry.shapes import vertices
from layout_engine.model.job import Job
from layout_engine.once import cached_property
from layout_engine.wiring.conflicts import narrowest
from layout_engine.wiring.corridors import Corridors, corridors_of
from layout_engine.wiring.demands import Demand, demands_of
from layout_engine.wiring.laying import Laying
from layout_engine.wiring.paths import tracks_of
from layout_engine.wiring.site import Site
from layout_engine.wiring.weights import RouteWeights


@dataclass(frozen=True, eq=False)
class Side:
    """What stands on one side of a narrow place.

    Attributes:
        owner: id of the part or of what else it belongs to; "": the edge of the plate.
        corners: of its shape, (n, 2), plate coordinates [mm]; none of the plate's edge.
        way: unit vector to it from where the wire would lie, plate coordinates.
    """

    owner: str
    corners: Points
    way: tuple[float, float]


@dataclass(frozen=True, eq=False)
class Pinch:
    """A narrow place: what stands on both sides, how far apart that is, and is to be [mm]."""

    sides: tuple[Side, Side]
    apart: float
    needs: float


@dataclass(frozen=True, eq=False)
class Lost:
    """A wire without a way, by its connection's id; `find` looks for where it is narrowest."""

    wire: str
    find: Callable[[], Pinch | None]

    @cached_property
    def pinch(self) -> Pinch | None:
        """The narrowest place of the best blocked way, None where nothing stands on one of its
        sides. Some ms for each wire.
        """
        return self.find()


def lost_wires(job: Job, sizes: Mapping[str, str] | None = None) -> list[Lost]:
    """The wires of a job that have no way, in the document's order; those with an end in the tray
    and those with both ends elsewhere are left out.

    sizes: names of sizes that were chosen, as in `plan_routes`.
    """
    site = Site(job)
    site.use_fewer_tracks()
    demands = [d for d in demands_of(job, sizes) if _is_laid(job, d)]
    keys = {key for d in demands for key in (d.connection.from_, d.connection.to)}
    graph = corridors_of(site, (0, 1), keys, (), tracks_of(()))
    labels: dict[float, NDArray[np.intp]] = {}
    lost = []
    for demand in demands:
        if demand.outer not in labels:
            labels[demand.outer] = _pieces(graph, demand.outer)
        pieces = labels[demand.outer]
        ends = [graph.ends.get(k) for k in (demand.connection.from_, demand.connection.to)]
        if ends[0] is None or ends[1] is None or pieces[ends[0]] != pieces[ends[1]]:
            lost.append(demand)
    if not lost:
        return []
    laying = Laying(site, graph, demands, RouteWeights())
    return [Lost(demand.connection.id, partial(_pinch, laying, demand)) for demand in lost]


def _is_laid(job: Job, demand: Demand) -> bool:
    parts = [job.part(part_id) for part_id, _ in demand.connection.ends]
    return (all(p.placement is not None or p.away is not None for p in parts)
            and not all(p.away is not None for p in parts))


def _pieces(graph: Corridors, outer: float) -> NDArray[np.intp]:
    """Of each node the number of the piece of the graph that it is in, for so thick a wire."""
    wide, count = np.flatnonzero(graph.width >= outer), len(graph.xy)
    joined = csr_array((np.ones(len(wide)), (graph.u[wide], graph.v[wide])), shape=(count, count))
    return np.asarray(connected_components(joined, directed=False)[1])


def _pinch(laying: Laying, demand: Demand) -> Pinch | None:
    found = narrowest(laying, demand)
    if found is None or len(found.gap.sides) < 2:
        return None
    site, sides = laying.site, []
    for beside in found.gap.sides:
        obstacle = None if beside.thing is None else site.obstacles[found.face][beside.thing]
        corners = np.empty((0, 2)) if obstacle is None else np.array(
            [site.view.back(float(x), float(y)) for x, y in vertices(obstacle.shape)])
        sides.append(Side(obstacle.owner if obstacle else "", corners,
                          site.view.way_back(*beside.way)))
    return Pinch((sides[0], sides[1]), found.gap.apart, found.needs)

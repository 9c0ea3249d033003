"""Ground round antennas: which track of the corridor graph lies there, which wires end there."""

from __future__ import annotations

from math import hypot

import numpy as np
from numpy.typing import NDArray

from layout_engine.checks.scene import Scene
from layout_engine.model.job import Job
from layout_engine.wiring.congestion import way_out
from layout_engine.wiring.corridors import RUN, Corridors
from layout_engine.wiring.site import Aerial, Site, aerials_of
from layout_engine.wiring.symmetry import View

Zone = tuple[str, NDArray[np.intp], frozenset[str]]


def aerial_zones(site: Site, graph: Corridors) -> list[Zone]:
    """Of each antenna: its part, the track pieces on its ground, and the keys of ends there.

    Also ends of wires that stay as they lie, which have no node.
    """
    run = np.flatnonzero(graph.kind == RUN)
    a, b = graph.xy[graph.u[run]], graph.xy[graph.v[run]]
    low, high = np.minimum(a, b), np.maximum(a, b)
    zones: list[Zone] = []
    for aerial in site.aerials:
        spot = np.array([aerial.x, aerial.y])
        near = np.hypot(*np.maximum(np.maximum(low - spot, spot - high), 0.0).T)
        here = graph.face[graph.u[run]] == aerial.face
        inside = run[here & (near < aerial.radius)]
        ends = frozenset(key for key in site.ends
                         if key.startswith(f"{aerial.part}.") or _within(site, key, aerial))
        zones.append((aerial.part, inside, ends))
    return zones


def _within(site: Site, key: str, aerial: Aerial) -> bool:
    """Whether an end of a wire lies on an antenna's ground."""
    spot = np.array([aerial.x, aerial.y])
    return any(float(np.hypot(*(np.array(point) - spot))) < aerial.radius
               for start in site.ends[key].starts for point in start.points)


def wires_at_aerials(job: Job, scene: Scene | None = None) -> int:
    """How many wires begin or end on an antenna's ground that is not their own part's.

    They cannot be led round it. Some ms, without a graph; to compare arrangements of one job by.

    `scene`: the job's, where it is at hand.
    """
    if not any(job.type_of(part).antenna for part in job.placed):
        return 0
    scene, view = scene or Scene(job), View(*job.plate.size)
    aerials = aerials_of(scene, view)
    return sum(
        any(_leaves_on(job, scene, end, aerial, view)
            for aerial in aerials if aerial.part not in {part_id for part_id, _ in c.ends}
            for end in c.ends)
        for c in job.connections)


def _leaves_on(job: Job, scene: Scene, end: tuple[str, str], aerial: Aerial, view: View) -> bool:
    """Whether a wire leaves a part, or the plate, on an aerial's ground."""
    spot = way_out(job, scene, *end)
    return (spot is not None and view.face_back(aerial.face) in spot[2]
            and hypot(spot[0] - aerial.x, spot[1] - aerial.y) < aerial.radius)

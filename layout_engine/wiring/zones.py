"""Ground round antennas on the corridor graph: which track lies there, which wires end there."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from layout_engine.wiring.corridors import RUN, Corridors
from layout_engine.wiring.site import Aerial, Site

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

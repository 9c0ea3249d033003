"""Whether a path that a person pinned keeps the laws that every other route keeps."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from layout_engine.geometry.frames import EPS_MM
from layout_engine.geometry.shapes import shape_of
from layout_engine.geometry.wire_ground import rests_on
from layout_engine.wiring.corridors import Corridors
from layout_engine.wiring.demands import Demand
from layout_engine.wiring.paths import Seen
from layout_engine.wiring.site import Site
from layout_engine.wiring.wire import Conflict

SLACK_MM = 0.01


def pinned_faults(site: Site, graph: Corridors, demand: Demand, path: Sequence[Seen]
                  ) -> Iterator[Conflict]:
    """Where a pinned wire leaves the plate, meets something, or changes face through solid plate.

    On its first and last leg a wire leaves its own part, and passes over nuts and heads.
    """
    for number, (p, q) in enumerate(pairwise(path)):
        if p[2] != q[2]:
            if not any(abs(w.x - p[0]) < SLACK_MM and abs(w.y - p[1]) < SLACK_MM
                       for w in graph.passes.values()):
                yield _fault(site, demand, p, (), (0.0, demand.outer))
            continue
        at_ends = (number == 0, number == len(path) - 2)
        yield from _leg_fault(site, demand, (p, q), at_ends)


def _leg_fault(site: Site, demand: Demand, leg: tuple[Seen, Seen], at_ends: tuple[bool, bool]
               ) -> Iterator[Conflict]:
    (x, y, face), (a, b, _) = leg
    keys = (demand.connection.from_, demand.connection.to)
    ends = [site.ends[key] for key, here in zip(keys, at_ends, strict=True) if here]
    own = {end.part for end in ends}
    low = {n for n, o in enumerate(site.obstacles[face]) if o.low} if ends else set()
    owners = [o.owner for o in site.obstacles[face]]
    leaves = any(end.away for end in ends)
    for beside in site.grounds[face].beside(np.array([(x, y), (a, b)])):
        if 2 * beside.away >= demand.outer - SLACK_MM:
            break
        thing = beside.thing
        if (leaves and thing is None) or thing in low or (
                thing is not None and owners[thing] in own):
            continue
        sides = () if thing is None else (owners[thing],)
        yield _fault(site, demand, (*beside.on, face), sides, (2 * beside.away, demand.outer))
        return
    middle = np.array([((x + a) / 2, (y + b) / 2)])
    inside = rests_on([shape_of(site.outer[:-1])], middle)[0] >= 0
    in_hole = len(site.cut_outs) and rests_on(
        [shape_of(ring[:-1]) for ring in site.cut_outs], middle)[0] >= 0
    if not leaves and (not inside or in_hole):
        yield _fault(site, demand, (*middle[0], face), (), (0.0, demand.outer))


def _fault(site: Site, demand: Demand, place: Sequence[float], parts: tuple[str, ...],
           figures: tuple[float, float]) -> Conflict:
    gap, needs = figures
    x, y = site.view.back(float(place[0]), float(place[1]))
    return Conflict("pinned", (demand.connection.id,), parts,
                    0.0 if gap < EPS_MM else round(gap, 3), round(needs, 3),
                    round(x, 3) + 0.0, round(y, 3) + 0.0, site.view.face_back(int(place[2])),
                    (parts[0] if parts else "", ""))

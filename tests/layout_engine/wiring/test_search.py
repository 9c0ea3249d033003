"""The search for ways: as cheap as any, however much it leaves out; narrow places it must find."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from layout_engine import Job, load_document
from layout_engine.wiring import plan_routes
from layout_engine.wiring.corridors import RUN, corridors_of
from layout_engine.wiring.search import NO_WAY, Search
from layout_engine.wiring.site import Site
from layout_engine.wiring.tracks import gaps
from tests.layout_engine.wiring.boards import at, block, facing_pair
from tests.layout_engine.wiring.laws import faults


def corner_job() -> Job:
    """A pair on either side of two blocks, both faces, that only leave 3 mm between corners."""
    document = facing_pair(edge_margin=0)
    document["types"] |= {"low": block(size=(14, 71.8), clearance=0),
                          "high": block(size=(14, 74.8), clearance=0)}
    for face, low, high in (("front", 86, 100), ("back", 100, 114)):
        document["parts"] += [at(f"low_{face}", "low", low, 0.2, face=face),
                              at(f"high_{face}", "high", high, 75, face=face)]
    return load_document(document)


def test_a_wire_goes_between_two_corners() -> None:
    job = corner_job()
    routing = plan_routes(job)
    assert [w.state for w in routing.wires] == ["routed"]
    assert faults(job, routing) == []
    through = [a[1] for a, b in pairwise(routing.wires[0].path)
               if min(a[0], b[0]) < 100 < max(a[0], b[0])]
    assert [72 < y < 75 for y in through] == [True]


@pytest.mark.parametrize(("x", "there"), [(14.0, True), (10.0, True), (17.0, True), (19.0, False)])
def test_a_gap_between_corners_is_one_though_the_boxes_pass_each_other(x: float, there: bool
                                                                      ) -> None:
    """Two boxes, 3 mm apart across, the second from `x` on; more than 4 mm on it is open ground."""
    boxes = np.array([(0.0, 10.0, 14.0, 40.0), (x, 43.0, x + 20.0, 80.0)])
    rows = gaps(boxes, (100.0, 100.0), 0, 12.0)
    found = rows[np.all(np.isclose(rows[:, :2], (40.0, 43.0)), axis=1)]
    assert len(found) == there
    if there:
        low, high = sorted((14.0, x))
        assert found[0, 2] <= low + 1e-9
        assert found[0, 3] >= high - 1e-9


def test_ways_are_as_cheap_as_any_whatever_is_left_out() -> None:
    """Against all distances from a node, on costs of at least 1.3 a mm and more here and there."""
    job = corner_job()
    site = Site(job)
    graph = corridors_of(site, (0,), set(site.ends), (), [[np.empty((0, 3))] * 2] * 2)
    draw = np.random.default_rng(7)
    costs = 1.3 * graph.length + draw.uniform(1e-3, 20.0, len(graph.u))
    costs[draw.uniform(size=len(costs)) < 0.1] = NO_WAY
    open_ = costs < NO_WAY
    count = len(graph.xy)
    whole = csr_array((costs[open_], (graph.u[open_], graph.v[open_])), shape=(count, count))
    search, nodes = Search(graph), np.unique(graph.u[graph.kind == RUN])
    for start, *ends in draw.choice(nodes, (6, 6)).tolist():
        away = dijkstra(whole, directed=False, indices=start)
        for end in ends:
            ways = [search.way(costs, start, end), search.way(costs, start, end, per_mm=1.3)]
            if np.isfinite(away[end]):
                ways.append(search.way(costs, start, end, float(away[end]) * (1 + 1e-9), 1.3))
                assert [float(costs[w].sum()) for w in ways if w is not None] == pytest.approx(
                    [away[end]] * 3)
            else:
                assert ways == [None, None]

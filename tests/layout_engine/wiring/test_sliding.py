"""Runs slid sideways: straighter where the ground is free, and nothing else changes."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

import pytest
from shapely import union_all
from shapely.geometry import LineString, Point

from layout_engine import load_document
from layout_engine.wiring import PathPoint, RouteWeights, Routing, plan_routes
from layout_engine.wiring.sliding import Sliding
from tests.benchmarks.arranging import family_job
from tests.layout_engine.wiring.boards import Document, at, block, board, terminal, wire
from tests.layout_engine.wiring.laws import faults


def two_gaps(low: float, high: float) -> Document:
    """Terminals that face each other at y = 75, behind two walls with gaps from 68 to 80 mm and
    from `low` to `high`.
    """
    types = {"left": block(terminal("t", 40, 15, 0)), "right": block(terminal("t", 0, 15, 180))}
    parts = [at("a", "left", 30, 60), at("b", "right", 230, 60)]
    for name, x, (under, over) in (("one", 110, (68, 80)), ("two", 180, (low, high))):
        types |= {f"{name}_low": block(size=(10, under)),
                  f"{name}_high": block(size=(10, 150 - over))}
        parts += [at(f"{name}_{side}", f"{name}_{side}", x, y)
                  for side, y in (("low", 0), ("high", over))]
    return board(types, parts, [wire("w", "a.t", "b.t")], size=(300, 150))


def test_a_wire_passes_two_gaps_straight_whose_middles_do_not_meet() -> None:
    (one,) = plan_routes(load_document(two_gaps(72, 86))).wires
    assert one.path == ((70.0, 75.0, "front"), (230.0, 75.0, "front"))


def test_a_wire_is_led_aside_no_farther_than_a_gap_asks() -> None:
    job = load_document(two_gaps(79, 95))
    routing = plan_routes(job)
    (one,) = routing.wires
    assert faults(job, routing) == []
    room = one.outer / 2
    rises = [p[1] for p, q in pairwise(one.path) if min(p[0], q[0]) < 185 < max(p[0], q[0])]
    assert rises
    assert all(79 + room <= y <= 87 + 1e-6 for y in rises)  # at most in its middle
    assert one.on_board == pytest.approx(160 + 2 * (rises[0] - 75))


def bends(routing: Routing) -> int:
    return sum(max(0, len(wire.path) - 2) for wire in routing.wires)


def cost(routing: Routing) -> float:
    """Every mm of wire, and of plate under runs: a leg where others lie too counts once."""
    weights = RouteWeights()
    amps = {c.id: c.weight or 0.0 for c in routing.job.connections}
    return sum(weights.per_mm(amps[w.id]) * w.on_board for w in routing.wires) + (
        weights.first_weighing * weights.opening * covered(w.path for w in routing.wires))


def covered(paths: Iterable[tuple[PathPoint, ...]]) -> float:
    """Length [mm] of plate under legs of both faces."""
    legs: dict[str, list[LineString]] = {"front": [], "back": []}
    for p, q in (leg for path in paths for leg in pairwise(path) if leg[0][2] == leg[1][2]):
        legs[p[2]].append(LineString([p[:2], q[:2]]))
    return sum(float(union_all(lines).length) for lines in legs.values())


@pytest.mark.parametrize(("modules", "seed"), [(12, 2), (12, 3)])
def test_slid_runs_bend_less_and_cost_less(modules: int, seed: int,
                                           monkeypatch: pytest.MonkeyPatch) -> None:
    job = family_job(modules, seed)
    slid = plan_routes(job)
    assert faults(job, slid) == []
    monkeypatch.setattr(Sliding, "slide", lambda *_: None)
    before = plan_routes(job)
    assert bends(slid) < bends(before)
    assert cost(slid) < cost(before)
    # Straight parts at terminals are as long as before, or longer.
    for one, other in zip(slid.wires, before.wires, strict=True):
        for (p, q), (a, b) in ((one.path[:2], other.path[:2]),
                               (one.path[:-3:-1], other.path[:-3:-1])):
            assert p == a
            assert (q[0] - p[0]) * (b[0] - a[0]) + (q[1] - p[1]) * (b[1] - a[1]) > 0


def test_wires_over_points_of_a_person_do_not_slide() -> None:
    document = two_gaps(72, 86)
    document["connections"][0]["via"] = [[145, 84, "front"]]
    (one,) = plan_routes(load_document(document)).wires
    path = LineString([(x, y) for x, y, _ in one.path])
    assert path.distance(Point(145, 84)) < 1e-6

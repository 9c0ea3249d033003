"""Wires gather, returns lie beside feeds, quiet wires keep off loud ones, ties and holes fit."""

from __future__ import annotations

from collections.abc import Callable
from itertools import combinations, pairwise
from math import hypot

import pytest
from shapely.geometry import LineString, Point

from layout_engine import load_document
from layout_engine.wiring import RouteWeights, Routing, plan_routes
from layout_engine.wiring.worked import bundle_working, fill_working, ties_working
from tests.benchmarks.arranging import family_job
from tests.layout_engine.wiring.boards import at, block, board, terminal, wire
from tests.layout_engine.wiring.laws import faults, low_things, solids
from tests.layout_engine.wiring.test_laws import routed


def union_of(routing: Routing) -> float:
    return sum(run.length for run in routing.runs)


def test_opening_weight_makes_wires_gather() -> None:
    job = family_job(25, 2)
    alone = plan_routes(job, weights=RouteWeights(opening=0.0, loop=0.0, weighings=0))
    shared = plan_routes(job, weights=RouteWeights(weighings=0))
    assert union_of(shared) < 0.8 * union_of(alone)
    assert sum(w.on_board for w in shared.wires) < 1.2 * sum(w.on_board for w in alone.wires)


def test_where_nothing_may_be_tried_twice_all_wires_are_laid_all_the_same(
        monkeypatch: pytest.MonkeyPatch) -> None:
    job = family_job(12, 2)
    gathered = plan_routes(job)
    monkeypatch.setattr("layout_engine.wiring.improving.MOST_EFFORT", 0)
    first = plan_routes(job)
    assert [w.state for w in first.wires] == ["routed"] * len(job.connections)
    assert faults(job, first) == []
    assert union_of(first) > union_of(gathered)


def test_heavy_wires_are_kept_shorter_than_light_ones_want() -> None:
    job = family_job(25, 3)
    light = plan_routes(job, weights=RouteWeights(current=0.0))
    heavy = plan_routes(job, weights=RouteWeights(current=1.0))
    amps = [c.weight or 0.0 for c in job.connections]

    def weighted(routing: Routing) -> float:
        return sum(a * w.on_board for a, w in zip(amps, routing.wires, strict=True))

    assert weighted(heavy) <= weighted(light)


def test_a_return_lies_beside_its_feed() -> None:
    supply = block(terminal("p", 40, 10, 0, "positive"), terminal("n", 40, 20, 0, "negative"))
    load = block(terminal("p", 0, 10, 180, "positive"), terminal("n", 0, 20, 180, "negative"),
                 loads=[{"plus": "p", "minus": "n", "typical": 1}])
    types = {"supply": supply, "load": load, "wall": block(size=(40, 40))}
    parts = [at("a", "supply", 10, 60), at("b", "load", 150, 60), at("wall", "wall", 80, 55)]
    wires = [wire("w1", "a.p", "b.p"), wire("w2", "a.n", "b.n")]
    routing = plan_routes(load_document(board(types, parts, wires)),
                          weights=RouteWeights(opening=0.0))
    one, other = (LineString([(x, y) for x, y, _ in w.path]) for w in routing.wires)
    middle = one.interpolate(0.5, normalized=True)
    assert other.distance(middle) < 8  # both on one side of the wall, the plate is symmetric


def test_audio_keeps_off_motor_wires() -> None:
    loud = block(terminal("m", 40, 15, 0, "motor"), size=(40, 30))
    motor = block(terminal("m", 0, 15, 180, "motor"), size=(40, 30))
    left = block(terminal("s", 40, 15, 0, "audio"), size=(40, 30))
    right = block(terminal("s", 0, 15, 180, "audio"), size=(40, 30))
    types = {"loud": loud, "motor": motor, "left": left, "right": right,
             "wall": block(size=(30, 60))}
    parts = [at("a", "loud", 5, 60), at("m", "motor", 255, 60), at("b", "left", 5, 100),
             at("c", "right", 255, 100), at("wall", "wall", 130, 85)]
    wires = [wire("w1", "a.m", "m.m"), wire("w2", "b.s", "c.s")]
    document = board(types, parts, wires, size=(300, 250))

    def beside(noise: float) -> float:
        routing = plan_routes(load_document(document), weights=RouteWeights(noise=noise))
        motor_way, audio_way = (
            LineString([(x, y) for x, y, _ in w.path]) for w in routing.wires)
        near = audio_way.intersection(motor_way.buffer(45))
        return float(near.length)

    assert beside(3.0) <= beside(0.0)


@pytest.mark.parametrize("make", [lambda: routed("lighthouse"),
                                  lambda: plan_routes(family_job(25, 5))],
                         ids=["lighthouse", "family of 25"])
def test_ties_are_drilled_where_no_part_stands_on_either_face(
        make: Callable[[], Routing]) -> None:
    routing = make()
    job = routing.job
    runs = {run.id: run for run in routing.runs}
    things = {face: [s for group in (solids(job, face), low_things(job, face))
                     for shapes in group.values() for s in shapes]
              for face in ("front", "back")}
    assert routing.ties
    for tie in routing.ties:
        run = runs[tie.run]
        assert LineString(run.path).distance(Point(tie.x, tie.y)) < 0.01
        assert tie.face == run.face
        for x, y, diameter in tie.holes:
            hole = Point(x, y).buffer(diameter / 2)
            assert not any(hole.intersects(s) for shapes in things.values() for s in shapes)
        if tie.kind == "foot":
            assert all(Point(tie.x, tie.y).distance(s) >= 9.9 for s in things[tie.face])
    for one, other in combinations(routing.ties, 2):
        if one.face == other.face:
            assert hypot(one.x - other.x, one.y - other.y) > 10


def test_long_free_run_is_tied_at_the_stated_spacing() -> None:
    types = {"left": block(terminal("t", 40, 15, 0)), "right": block(terminal("t", 0, 15, 180))}
    parts = [at("a", "left", 10, 60), at("b", "right", 450, 60)]
    routing = plan_routes(load_document(
        board(types, parts, [wire("w", "a.t", "b.t")], size=(500, 150))))
    places = sorted(tie.x for tie in routing.ties)
    assert places[0] - 50 <= 45
    assert 450 - places[-1] <= 45
    gaps = [b - a for a, b in pairwise(places)]
    assert max(gaps) <= 75 + 1e-6  # 50 to 100 mm on a small plate: common practice


def test_holes_take_their_bundle_and_keep_two_diameters_from_the_edge() -> None:
    routing = routed("lighthouse")
    drilled = [p for p in routing.passes if p.kind == "drilled"]
    assert drilled
    width, height = routing.job.plate.size
    for through in drilled:
        assert through.bundle <= through.grommet + 1e-6
        edge = min(through.x, through.y, width - through.x, height - through.y)
        assert edge >= 2.0 * through.hole  # as for any other hole


def test_runs_hold_only_what_fits_and_their_workings_end_in_their_figures() -> None:
    routes = routed("lighthouse")
    for run in routes.runs:
        assert run.fill <= 1 + 1e-6
        assert bundle_working(routes, run.wires).result == pytest.approx(run.diameter, abs=1e-3)
        assert fill_working(routes, run).result == pytest.approx(100 * run.fill)
        assert ties_working(routes, run).result == sum(tie.run == run.id for tie in routes.ties)
    for one in routes.passes:
        assert bundle_working(routes, one.wires).result == pytest.approx(one.bundle, abs=1e-3)

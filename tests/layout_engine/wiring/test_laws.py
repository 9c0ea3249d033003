"""Laws that every route keeps, judged by plain shapely."""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import cache
from math import hypot
from pathlib import Path

import pytest
from shapely.geometry import LineString, Polygon

from layout_engine import Job, dump_document, load_document, route
from layout_engine.wiring import Routing, Wire, plan_routes
from tests.benchmarks.arranging import family_job
from tests.layout_engine.wiring.boards import (
    at,
    block,
    board,
    facing_pair,
    seen_from_behind,
    terminal,
    turned_left,
    wire,
)
from tests.layout_engine.wiring.laws import faults

DEMOS = Path(__file__).parents[3] / "seed_data" / "demos"


def lighthouse() -> Job:
    return load_document(json.loads((DEMOS / "rolling_lighthouse.json").read_text()))


JOBS = {
    "lighthouse": lighthouse,
    "pair": lambda: load_document(facing_pair()),
    **{f"family {n}": lambda n=n: family_job(12, n) for n in range(1, 7)},
    "family of 25": lambda: family_job(25, 4),
}


@cache
def routed(name: str) -> Routing:
    """One of the jobs, routed once for all laws."""
    return plan_routes(JOBS[name]())


@cache
def wires_of(name: str) -> list[Wire]:
    """Its wires, with the sizes that are chosen for their lengths."""
    return route(JOBS[name]())


@pytest.mark.parametrize("name", JOBS)
def test_routes_keep_every_law(name: str) -> None:
    routing = routed(name)
    job = routing.job
    assert [w.id for w in routing.wires if w.state == "no_corridor"] == []
    assert faults(job, routing) == []


@pytest.mark.parametrize("name", JOBS)
def test_same_job_same_routes(name: str) -> None:
    assert route(load_document(dump_document(JOBS[name]()))) == wires_of(name)


@pytest.mark.parametrize("move", [seen_from_behind, turned_left])
@pytest.mark.parametrize("name", ["lighthouse", "family 1", "family 3"])
def test_moved_whole_job_changes_no_length(name: str, move: Callable[[Job], Job]) -> None:
    lengths = [w.length for w in wires_of(name)]
    assert None not in lengths
    assert [w.length for w in route(move(JOBS[name]()))] == lengths


def test_every_wire_begins_and_ends_at_its_terminals() -> None:
    job = load_document(facing_pair())
    (one,) = route(job)
    assert one.path[0] == (70.0, 75.0, "front")
    assert one.path[-1] == (130.0, 75.0, "front")


def test_a_straight_way_is_taken_straight() -> None:
    (one,) = route(load_document(facing_pair()))
    assert one.path == ((70.0, 75.0, "front"), (130.0, 75.0, "front"))


def test_way_round_a_block_is_the_shortest_along_the_axes() -> None:
    document = facing_pair()
    document["types"]["wall"] = block(size=(20, 60))
    document["parts"].append(at("wall", "wall", 90, 45))
    (one,) = route(load_document(document))
    # 60 mm across, and 30 mm up beside the wall and down again, clear of it by a corridor's half.
    assert 120 <= one.on_board <= 120 + 2 * 12
    wall = Polygon([(90, 45), (110, 45), (110, 105), (90, 105)])
    assert LineString([(x, y) for x, y, _ in one.path]).distance(wall) >= one.outer / 2


def test_wires_go_under_a_part_only_where_it_allows_it() -> None:
    document = facing_pair()
    document["types"]["wall"] = block(size=(20, 148), standoff=8, wires_under=True)
    document["parts"].append(at("wall", "wall", 90, 1))
    (under,) = route(load_document(document))
    assert under.on_board == pytest.approx(60.0)
    document["types"]["wall"]["kind"] = "fuse_block"
    (around,) = route(load_document(document))
    assert around.on_board > 100 or around.passes


def test_a_wire_is_bent_aside_where_the_ground_before_its_terminal_is_widest() -> None:
    document = facing_pair()
    document["types"]["wall"] = block(size=(54.5, 69))
    document["parts"].append(at("wall", "wall", 72.75, 76))  # 1 mm beside the straight line
    document["connections"][0]["wire"] = {"size": "1 mm2"}
    routing = plan_routes(load_document(document))
    (one,) = routing.wires
    (x, y, _), (p, q, _) = one.path[1:3]
    assert 70 < x < 72.75  # beyond that the wall leaves no ground beside the wire
    assert (y, p) == (75, x)
    assert q < 75
    assert faults(routing.job, routing) == []


def test_a_plate_zone_is_kept_free() -> None:
    zone = [[85, 40], [115, 40], [115, 110], [85, 110]]
    document = facing_pair(keep_outs=[{"label": "clamp", "outline": zone}])
    (one,) = route(load_document(document))
    assert LineString([(x, y) for x, y, _ in one.path]).distance(Polygon(zone)) > 0.5


def test_a_closed_face_is_left_through_a_drilled_hole() -> None:
    document = facing_pair()
    document["types"]["wall"] = block(size=(10, 149))
    document["parts"].append(at("wall", "wall", 95, 0.5))
    routing = plan_routes(load_document(document))
    (one,) = routing.wires
    kinds = {p.kind for p in routing.passes}
    assert one.state == "routed"
    assert {face for _, _, face in one.path} == {"front", "back"}
    assert len(one.passes) == 2
    assert kinds <= {"drilled", "plate_edge"}
    assert faults(routing.job, routing) == []


def test_a_cut_out_serves_as_a_way_through_where_one_is_near() -> None:
    types = {"left": block(terminal("t", 40, 15, 0)), "right": block(terminal("t", 0, 15, 180))}
    parts = [at("a", "left", 30, 60), at("b", "left", 30, 60, face="back")]
    parts[1]["placement"]["x"] = 170
    hole = [[90, 65], [110, 65], [110, 85], [90, 85]]
    document = board(types, parts, [wire("w", "a.t", "b.t")], holes=[hole])
    routing = plan_routes(load_document(document))
    (through,) = routing.passes
    assert through.kind == "cut_out"
    assert Polygon(hole).contains(LineString([(through.x, through.y), (through.x, through.y + 1)]))
    assert faults(routing.job, routing) == []


def test_no_wire_passes_within_the_quarter_wave_of_an_aerial() -> None:
    document = facing_pair()
    aerial = {"x": 5, "y": 5, "z": 4, "band_mhz": 2440}
    document["types"]["radio"] = block(size=(10, 10), antenna=aerial, standoff=0)
    document["parts"].append(at("radio", "radio", 95, 90))
    (one,) = route(load_document(document))
    quarter = 299.792458 / 2440 * 1000 / 4  # mm, c / f / 4
    path = LineString([(x, y) for x, y, _ in one.path])
    assert path.distance(LineString([(100, 95), (100, 95.001)])) > quarter - 1.0
    del document["parts"][-1]
    (free,) = route(load_document(document))
    assert free.on_board < one.on_board


def test_a_dropped_part_moves_only_what_it_touches() -> None:
    before = routed("lighthouse")
    job = before.job
    old = {w.id: w.path for w in before.wires}
    for part, least in (("meter", 30), ("fuses", 15)):  # one with two wires, one with many
        document = dump_document(job)
        moved = next(p for p in document["parts"] if p["id"] == part)
        moved["placement"]["y"] += 2
        after_job = load_document(document)
        after = plan_routes(after_job, previous=before)
        touched = {c.id for c in job.connections if part in {p for p, _ in c.ends}}
        assert all(w.path == old[w.id] for w in after.wires if w.id in after.kept)
        assert touched.isdisjoint(after.kept)
        assert len(after.kept) > least
        assert faults(after_job, after) == []


def test_without_a_change_everything_is_kept() -> None:
    before = routed("lighthouse")
    after = plan_routes(lighthouse(), previous=before)
    assert len(after.kept) == len(before.wires)
    assert [w.path for w in after.wires] == [w.path for w in before.wires]
    assert [w.length for w in after.wires] == [w.length for w in before.wires]


def test_a_wire_goes_through_its_points() -> None:
    document = facing_pair()
    document["connections"][0]["via"] = [[100, 120, "front"]]
    (one,) = route(load_document(document))
    path = LineString([(x, y) for x, y, _ in one.path])
    assert path.distance(LineString([(100, 120), (100, 120.0001)])) < 1e-3
    assert one.on_board == pytest.approx(60 + 2 * 45)


def over(*points: tuple[float, float]) -> tuple[str, str]:
    """State of the pair's wire that is to pass points, and what is said of it. A wall stands over
    (100, 120), and on both faces walls close (120, 20) in.
    """
    document = facing_pair(edge_margin=0)
    document["connections"][0] |= {"via": [[x, y, "front"] for x, y in points],
                                   "wire": {"size": "10 mm2"}}
    document["types"]["wall"] = block(size=(10, 30))
    document["parts"].append(at("wall", "wall", 95, 105))
    for name, x, y, size in (("n", 95, 35.4, (50, 5)), ("w", 89.5, 0.4, (10, 34)),
                             ("e", 140.5, 0.4, (10, 34))):
        document["types"][f"k{name}"] = block(size=size, clearance=0)
        document["parts"] += [at(name, f"k{name}", x, y),
                              at(f"{name}b", f"k{name}", x + size[0], y, face="back")]
    (one,) = plan_routes(load_document(document)).wires
    return one.state, one.why


def test_a_point_that_no_wire_can_pass_is_named() -> None:
    assert over((100, 90)) == ("routed", "")
    assert over((100, 120)) == ("routed", "it cannot pass its point")
    assert over((100, 90), (100, 120)) == ("routed", "it cannot pass its point 2 of 2")
    assert over((100, 120), (100, 90)) == ("routed", "it cannot pass its point 1 of 2")


def test_a_point_to_which_no_corridor_leads_is_named() -> None:
    assert over((120, 20), (100, 90)) == ("routed", "it cannot pass its point 1 of 2")
    assert over((100, 90), (120, 20)) == ("routed", "it cannot pass its point 2 of 2")


def test_a_pinned_wire_runs_as_it_was_laid() -> None:
    document = facing_pair()
    document["connections"][0] |= {"via": [[80, 75, "front"], [80, 30, "front"],
                                           [120, 30, "front"], [120, 75, "front"]],
                                   "pinned": True}
    (one,) = route(load_document(document))
    assert one.pinned
    assert one.path == ((70.0, 75.0, "front"), (80.0, 75.0, "front"), (80.0, 30.0, "front"),
                        (120.0, 30.0, "front"), (120.0, 75.0, "front"), (130.0, 75.0, "front"))


def test_a_wire_without_a_corridor_names_the_gap_and_what_stands_there() -> None:
    document = facing_pair()
    document["types"]["box"] = block(terminal("t", 20, 30, 90), size=(40, 30))
    document["parts"] += [at("c", "box", 100, 5)]
    for name, x, y, size in (("n", 95, 35.4, (50, 20)), ("w", 89.5, 0.4, (10, 34)),
                             ("e", 140.5, 0.4, (10, 34))):
        document["types"][f"k{name}"] = block(size=size)
        document["parts"] += [at(name, f"k{name}", x, y), at(f"{name}b", f"k{name}", x, y)]
        document["parts"][-1]["placement"] |= {"face": "back", "x": x + size[0]}
    document["connections"] = [wire("w2", "c.t", "a.t", wire={"size": "10 mm2"})]
    routing = plan_routes(load_document(document))
    (one,) = routing.wires
    assert one.state == "no_corridor"
    assert one.path == ()
    (conflict,) = routing.conflicts
    assert conflict.kind == "no_corridor"
    assert conflict.wires == ("w2",)
    assert conflict.parts
    assert conflict.gap < conflict.needs
    assert hypot(conflict.x - 120, conflict.y - 35) < 40


def test_parts_in_the_tray_and_elsewhere_leave_wires_unrouted() -> None:
    document = facing_pair()
    del document["parts"][1]["placement"]
    (tray,) = route(load_document(document))
    assert (tray.state, tray.path, tray.length) == ("not_placed", (), None)
    for part in document["parts"]:
        part.pop("placement", None)
        part["away"] = {"exit": "left", "lead": 100}
    (off,) = route(load_document(document))
    assert off.state == "off_board"
    assert off.path == ()

"""Runs on the board: bands as wide as they are, to the terminal, on the face where they lie."""

from __future__ import annotations

from math import dist
from typing import Any

import pytest

from layout_engine import Job, load_document
from layout_engine.wiring import Routing, plan_routes
from tests.layout_engine.wiring.boards import at, block, board, facing_pair, terminal, wire
from tests.layout_engine.wiring.test_conflicts import walled
from webapp.drawings.primitives import Circle, Group, Line, Path, bent
from webapp.drawings.runs import flag_places, pieces_on, routed_board, run_layers, way_of
from webapp.drawings.seen import Seen, View

FRONT = Seen("front", 200, 150)


def routed(document: dict[str, Any]) -> Routing:
    return plan_routes(load_document(document))


def paths(groups: tuple[Group, ...], role: str) -> list[Path]:
    (group,) = (group for group in groups if group.role == role)
    return [item for item in group.items if isinstance(item, Path)]


def crossing() -> dict[str, Any]:
    """One wire whose ends stand on two faces; a hole of the plate is its way through."""
    types = {"left": block(terminal("t", 40, 15, 0)), "right": block(terminal("t", 0, 15, 180))}
    parts = [at("a", "left", 30, 60), at("b", "right", 170, 60, face="back")]
    return board(types, parts, [wire("w", "a.t", "b.t")])


def test_a_band_has_the_outer_width_of_its_wire_and_edges_lie_below_grounds() -> None:
    routing = routed(facing_pair())
    (own,) = routing.wires
    drawn = paths(run_layers(routing, "front").under, "runs")
    assert [path.pen for path in drawn] == ["band_edge", "band"]
    assert {path.width for path in drawn} == {round(own.outer, 1)}


def test_a_bundle_is_as_wide_as_its_wires_lie_together() -> None:
    """Two equal wires have a bundle of two diameters (plane geometry)."""
    ends = [terminal("t", 40, 12, 0), terminal("u", 40, 18, 0)]
    facing = [terminal("t", 0, 12, 180), terminal("u", 0, 18, 180)]
    types = {"left": block(*ends), "right": block(*facing)}
    parts = [at("a", "left", 10, 60), at("b", "right", 150, 60)]
    routing = routed(board(types, parts, [wire("v", "a.t", "b.t"), wire("w", "a.u", "b.u")]))
    together = [run for run in routing.runs if len(run.wires) == 2]
    assert together
    widths = {path.width for path in paths(run_layers(routing, "front").under, "runs")}
    assert round(2 * routing.wires[0].outer, 1) in widths


def test_above_a_module_its_wire_goes_on_to_the_edge_of_the_terminal() -> None:
    """The terminal stands at x 65, 5 mm inside the module's edge; its circle is 3.1 mm wide."""
    document = facing_pair()
    document["types"]["left"]["terminals"][0]["x"] = 35
    (edge, _ground) = paths(run_layers(routed(document), "front").over, "wire_ends")
    assert edge.d == "M66.55 75L70 75"


def test_a_wire_that_starts_at_the_edge_has_nothing_above_the_module() -> None:
    assert paths(run_layers(routed(facing_pair()), "front").over, "wire_ends") == []


@pytest.mark.parametrize(("view", "shown"), [("front", 1), ("back", 1), ("through", 2)])
def test_each_face_has_its_own_stretch_and_seen_through_both(view: View, shown: int) -> None:
    routing = routed(crossing())
    layers = run_layers(routing, view)
    groups = [g for g in layers.under if g.role.startswith("runs") and g.items]
    assert len(groups) == shown
    assert ("runs far" in {g.role for g in groups}) == (view == "through")
    numbers = [g for face in layers.flags.items if isinstance(face, Group) for g in face.items]
    assert len(numbers) == shown


def test_from_behind_left_and_right_are_exchanged() -> None:
    routing = routed(crossing())
    (own,) = routing.wires
    drawn = way_of(own, "back", Seen("back", 200, 150)).d
    x, y, _ = next(point for point in own.path if point[2] == "back")
    assert drawn.startswith(f"M{200 - x:g} {y:g}L")


def test_numbers_stand_on_their_wire() -> None:
    (own,) = routed(facing_pair()).wires
    for places in flag_places(own, FRONT, "front"):
        assert all(y == pytest.approx(75) and 70 < x < 130 for x, y in places)
    assert len(list(flag_places(own, FRONT, "front"))) == 2


def forked(apart: float) -> Routing:
    """From one terminal to two of another module: together as far as the fork."""
    types = {"left": block(terminal("t", 40, 15, 0, max_wires=2)),
             "right": block(terminal("u", 0, 15 - apart / 2, 180),
                            terminal("v", 0, 15 + apart / 2, 180))}
    parts = [at("a", "left", 30, 60), at("b", "right", 130, 60)]
    return routed(board(types, parts, [wire("w", "a.t", "b.u"), wire("x", "a.t", "b.v")]))


@pytest.mark.parametrize(("view", "shown"), [("front", ["R1"]), ("back", []), ("through", ["R1"])])
def test_a_shared_run_has_its_name_on_it_on_the_face_where_it_lies(view: View, shown: list[str]
                                                                   ) -> None:
    routing = forked(14)
    (run,) = (run for run in routing.runs if run.is_named)
    flags = [flag for face in run_layers(routing, view).flags.items if isinstance(face, Group)
             for flag in face.items if isinstance(flag, Group) and "run" in flag.data]
    assert [flag.data["words"] for flag in flags] == shown
    for flag in flags:
        assert float(flag.data["long"]) == pytest.approx(run.length, abs=0.01)
        xs = [float(place.split()[0]) for place in flag.data["places"].split(";")]
        assert all(70 < x < 130 for x in xs)  # between the modules
        assert len(set(xs)) == len(xs) > 1


def test_a_path_is_cut_where_it_changes_face() -> None:
    path = ((0.0, 0.0, "front"), (5.0, 0.0, "front"), (5.0, 0.0, "back"), (9.0, 0.0, "back"))
    assert pieces_on(path, "front") == (((0.0, 0.0), (5.0, 0.0)),)  # type: ignore[arg-type]
    assert pieces_on(path, "back") == (((5.0, 0.0), (9.0, 0.0)),)  # type: ignore[arg-type]


def test_a_bend_takes_its_radius_from_both_legs_and_at_most_half_of_one() -> None:
    wide = Path(bent([(0, 0), (20, 0), (20, 20)], 4)).d
    assert wide.startswith("M0 0L16 0C")
    assert wide.endswith(" 20 4L20 20")
    assert Path(bent([(0, 0), (20, 0), (20, 6)], 4)).d.endswith(" 20 3L20 6")


def test_the_traced_wire_is_told_on_the_board_of_its_page() -> None:
    job: Job = load_document(facing_pair())
    drawing = routed_board(plan_routes(job), "front", traced="w")
    layers = run_layers(forked(14), "front", "x")
    flags = [flag for face in layers.flags.items if isinstance(face, Group) for flag in face.items
             if isinstance(flag, Group) and "traced" in flag.data]
    assert {flag.key or flag.data["run"] for flag in flags} == {"x", "R1"}  # not the other wire
    roles = [item.role for item in drawing.items if isinstance(item, Group)]
    assert roles.index("runs") < roles.index("modules") < roles.index("traced")


def test_holes_for_wires_bear_the_names_that_the_list_gives_them() -> None:
    types = {"left": block(terminal("t", 40, 15, 0)), "right": block(terminal("t", 0, 15, 180))}
    parts = [at("a", "left", 30, 60), at("b", "right", 170, 60, face="back")]
    routing = routed(board(types, parts, [wire("w", "a.t", "b.t")]) | {})
    drilled = [one for one in routing.passes if one.hole]
    for view, x in (("front", drilled[0].x), ("back", 200 - drilled[0].x)):
        (group,) = (g for g in routed_board(routing, view).items  # type: ignore[arg-type]
                    if isinstance(g, Group) and g.role == "hole_names")
        (name,) = (item for item in group.items if isinstance(item, Group))
        assert name.data["words"] == drilled[0].id
        spots = [tuple(map(float, spot.split())) for spot in name.data["places"].split(";")]
        assert {dist(spot, (x, drilled[0].y)) for spot in spots} == {drilled[0].hole / 2 + 4.5}


def test_a_mark_stands_where_a_wire_finds_no_way() -> None:
    """The wall's upper part leaves 5 mm at the plate's upper edge, y 150, from x 90 on."""
    routing = plan_routes(walled(gap=3.5, over=5.0))
    for view, places in (("front", [(90.0, 147.5)]), ("back", [])):
        (group,) = (g for g in routed_board(routing, view).items  # type: ignore[arg-type]
                    if isinstance(g, Group) and g.role == "conflicts")
        assert [item.transform[2:] for item in group.items
                if isinstance(item, Group) and item.transform] == places


def test_beneath_a_module_that_stands_off_its_way_is_a_hidden_line() -> None:
    """A bridge over the straight way, from x 90 to 110; at its own modules a wire lies above."""
    document = facing_pair()
    document["types"]["bridge"] = block(size=(20, 149)) | {"wires_under": True, "standoff": 12}
    document["parts"].append(at("bridge", "bridge", 90, 0.5))
    routing = routed(document)
    for view, drawn in (("front", [(90, 75, 110, 75)]), ("back", [])):
        layers = run_layers(routing, view)  # type: ignore[arg-type]
        (group,) = (g for g in layers.over if g.role == "runs_beneath")
        assert [(i.x1, i.y1, i.x2, i.y2) for i in group.items if isinstance(i, Line)] == drawn


def test_the_clamp_of_a_lead_is_a_bar_across_it_with_its_screws() -> None:
    document = facing_pair()
    document["parts"][0] = {"id": "a", "type": "left", "away": {"exit": "left", "lead": 200}}
    routing = routed(document)
    (clamp,) = routing.clamps
    (group,) = (g for g in run_layers(routing, "front").under if g.role == "clamps")
    bars = [item for item in group.items if isinstance(item, Line)]
    screws = [item for item in group.items if isinstance(item, Circle)]
    assert len(bars) == 2
    assert {abs(bar.x1 - bar.x2) for bar in bars} == {0}  # the lead comes in level
    assert all(min(bar.y1, bar.y2) < clamp.y < max(bar.y1, bar.y2) for bar in bars)
    assert [(s.x, s.y, s.diameter) for s in screws] == [*clamp.holes]

"""What is drilled for wires: ties, clamps of leads, holes with a grommet, and what is not."""

from __future__ import annotations

from itertools import combinations
from math import hypot
from typing import Any

import pytest
import shapely

from layout_engine import Job, check, load_document
from layout_engine.sheets.holes import Hole, board_holes
from layout_engine.wiring import Routing, plan_routes
from tests.layout_engine.wiring.boards import at, block, board, terminal, wire
from tests.webapp.pages.forms import demo

GROMMET_HOLE = {4: 6, 6: 8, 8: 11, 10: 13, 12: 16, 16: 20}  # common practice, no source


def routed(document: dict[str, Any]) -> tuple[Job, Routing]:
    job = load_document(document)
    return job, plan_routes(job)


def far_apart(material: str = "acrylic", **more: Any) -> dict[str, Any]:
    """One wire of 160 mm over free ground."""
    types = {"left": block(terminal("t", 40, 15, 0)), "right": block(terminal("t", 0, 15, 180))}
    parts = [at("a", "left", 20, 60), at("b", "right", 220, 60)]
    return board(types, parts, [wire("w", "a.t", "b.t")], size=(280, 150), material=material,
                 **more)


def two_faces() -> dict[str, Any]:
    types = {"left": block(terminal("t", 40, 15, 0)), "right": block(terminal("t", 0, 15, 180))}
    parts = [at("a", "left", 30, 60), at("b", "right", 170, 60, face="back")]
    return board(types, parts, [wire("w", "a.t", "b.t")])


def with_lead(**away: Any) -> dict[str, Any]:
    """A block whose wire leaves the plate on the left."""
    document = far_apart()
    document["parts"][0] = {"id": "a", "type": "left", "label": "Horn",
                            "away": {"exit": "left", "lead": 200, **away}}
    return document


def of_kind(job: Job, routing: Routing, kind: str) -> list[Hole]:
    return [hole for hole in board_holes(job, routing).holes if hole.kind == kind]


def test_without_routes_nothing_is_drilled_for_wires() -> None:
    job, routing = routed(far_apart())
    assert board_holes(job).holes == ()
    assert board_holes(job, routing).holes


def test_a_tie_in_slots_has_a_pair_of_holes_square_across_its_bundle() -> None:
    job, routing = routed(far_apart())
    ties = [tie for tie in routing.ties if tie.kind == "slots"]
    assert ties
    for tie in ties:
        one, other = (hole for hole in of_kind(job, routing, "tie") if hole.part == tie.id)
        assert (one.x + other.x) / 2 == pytest.approx(tie.x)
        assert (one.y + other.y) / 2 == pytest.approx(tie.y)
        assert hypot(one.x - other.x, one.y - other.y) >= tie.bundle + one.diameter
        assert one.for_ == f"tie {tie.id}, threaded through a pair"
        assert (one.thread, one.slack) == ("", None)


def test_on_metal_ties_are_screwed_down_with_one_hole_of_iso_273() -> None:
    """ISO 273 medium for M3: 3.4 mm."""
    job, routing = routed(far_apart("aluminium"))
    holes = of_kind(job, routing, "tie")
    assert holes
    assert {(hole.wanted, hole.thread) for hole in holes} == {(3.4, "M3")}
    assert len(holes) == len({hole.part for hole in holes})


def test_a_tie_that_is_stuck_on_is_not_drilled() -> None:
    """A part on the back covers all ground under the wire: nothing can be drilled there."""
    document = far_apart()
    document["types"]["slab"] = block(size=(150, 140))
    document["parts"].append(at("s", "slab", 215, 5, face="back"))
    job, routing = routed(document)
    assert {tie.kind for tie in routing.ties} == {"foot"}
    assert of_kind(job, routing, "tie") == []


def test_a_way_through_the_plate_has_the_hole_of_its_grommet() -> None:
    job, routing = routed(two_faces())
    (hole,) = of_kind(job, routing, "grommet")
    (passed,) = (one for one in routing.passes if one.kind == "drilled")
    assert (hole.x, hole.y) == (passed.x, passed.y)
    assert hole.wanted == GROMMET_HOLE[int(passed.grommet)]
    assert passed.grommet >= passed.bundle
    assert hole.for_ == f"wire 1, grommet for {passed.grommet:g} mm"
    assert hole.faces == "both"


def test_a_lead_that_leaves_is_clamped_beside_the_edge() -> None:
    job, routing = routed(with_lead())
    (clamp,) = routing.clamps
    assert (clamp.kind, clamp.leaves, clamp.parts) == ("saddle", (0, 75), ("a",))
    assert 12 <= clamp.x <= 50
    one, other = of_kind(job, routing, "clamp")
    assert hypot(one.x - other.x, one.y - other.y) == pytest.approx(clamp.bundle + 8)
    assert one.for_ == "clamp C1, leads of Horn"
    assert one.thread == "M3"


def test_where_no_screw_may_go_a_tie_or_nothing_holds_the_lead() -> None:
    document = with_lead()
    document["types"]["slab"] = block(size=(278, 148))
    document["parts"].append(at("s", "slab", 279, 1, face="back"))
    job, routing = routed(document)
    (clamp,) = routing.clamps
    assert (clamp.kind, clamp.holes) == ("none", ())
    (found,) = (f for f in check(job) if f.rule == "board_tethered")
    assert (found.severity, set(found.subjects)) == ("warn", {"a", "w"})
    assert "are missing" in found.message
    assert of_kind(job, routing, "clamp") == []


@pytest.mark.parametrize("name", ["rolling_lighthouse", "parade_tortoise"])
def test_holes_for_wires_leave_a_bridge_to_each_other_and_keep_off_modules(name: str) -> None:
    """The limits of the rule `hole_spacing`; modules of the same face stand over no hole."""
    job, routing = routed(demo(name))
    kinds = ("tie", "clamp", "grommet")
    holes = [hole for hole in board_holes(job, routing).holes if hole.kind in kinds]
    assert len(holes) > 10
    for one, other in combinations(holes, 2):
        if one.part == other.part:
            continue
        bridge = hypot(one.x - other.x, one.y - other.y) - (one.wanted + other.wanted) / 2
        assert bridge >= max(one.wanted, other.wanted, 2.0) - 1e-6, (one, other)
    beneath = {(clamp.id, part) for clamp in routing.clamps for part in clamp.beneath}
    for hole in holes:
        for part in job.placed:
            assert part.placement is not None
            kind = job.type_of(part)
            if (hole.part, part.id) in beneath:  # a pan head of M3 (2.4 mm) and 2 mm of air
                assert kind.standoff >= 2.4 + 2.0
                assert part.placement.face != hole.face
                continue
            if kind.wires_under or part.placement.turn % 90:
                continue
            xs, ys = zip(*_corners(job, part.id), strict=True)
            within = min(xs) < hole.x < max(xs) and min(ys) < hole.y < max(ys)
            assert not within or len(kind.outline) > 4, (hole, part.id)


def _corners(job: Job, part_id: str) -> list[tuple[float, float]]:
    """A part's outline on the plate, by the rule of the contract: R(turn) (qx, qy) + (x, y)."""
    place = job.part(part_id).placement
    assert place is not None
    c, s = {0: (1, 0), 90: (0, 1), 180: (-1, 0), 270: (0, -1)}[int(place.turn) % 360]
    side = -1 if place.face == "back" else 1
    return [(c * side * x - s * y + place.x, s * side * x + c * y + place.y)
            for x, y in job.type_of(part_id).outline]


@pytest.mark.parametrize("name", ["rolling_lighthouse", "parade_tortoise"])
def test_a_foot_is_stuck_under_no_module_of_its_face_and_over_no_hole(name: str) -> None:
    job, routing = routed(demo(name))
    board_of = board_holes(job, routing)
    assert len(board_of.feet) == sum(tie.kind == "foot" for tie in routing.ties)
    for foot in board_of.feet:
        for hole in board_of.holes:
            if hole.kind in ("tie", "grommet"):
                off = max(abs(hole.x - foot.x), abs(hole.y - foot.y))
                assert off >= 10 + hole.wanted / 2 - 1e-6, (foot, hole)
        for part in job.placed:
            assert part.placement is not None
            if part.placement.face != foot.face or part.placement.turn % 90:
                continue
            xs, ys = zip(*_corners(job, part.id), strict=True)
            square = shapely.box(foot.x - 10, foot.y - 10, foot.x + 10, foot.y + 10)
            outline = shapely.Polygon(list(zip(xs, ys, strict=True)))
            assert square.intersection(outline).area < 1e-6, (foot, part.id)


def with_slabs(gap: float, **slab: Any) -> dict[str, Any]:
    """The same lead to a block 20 mm from the edge; behind it slabs, `gap` mm between them."""
    document = with_lead(lead=400)
    document["parts"][1]["placement"]["x"] = 20
    high = (148 - gap) / 2
    document["types"]["slab"] = block(size=(278, high), **slab)
    document["parts"] += [at("low", "slab", 279, 1, face="back"),
                          at("high", "slab", 279, 75 + gap / 2, face="back")]
    return document


def test_a_lead_is_strapped_down_where_two_slots_just_have_room() -> None:
    # Slots stand 3 mm beside the bundle of d, each in 2.5 mm of free ground: d + 2 (3 + 2.5).
    _, routing = routed(with_slabs(14.0))
    (clamp,) = routing.clamps
    just = clamp.bundle + 11.0
    assert clamp.kind == "strap"
    assert clamp.leaves == (0, 75)
    assert [y - 75 for _, y, _ in clamp.holes] == pytest.approx(
        [clamp.bundle / 2 + 3, -clamp.bundle / 2 - 3], abs=1e-3)
    assert {wide for _, _, wide in clamp.holes} == {2.5}
    for more, kind in ((0.01, "strap"), (-0.01, "none")):
        assert [c.kind for c in routed(with_slabs(just + more))[1].clamps] == [kind]


def test_what_is_missing_for_slots_follows_from_the_ground_and_the_edge_there() -> None:
    job, routing = routed(with_slabs(12.0))
    (clamp,) = routing.clamps
    (found,) = (f for f in check(job) if f.rule == "board_tethered")
    ground = 6.0 - (clamp.bundle / 2 + 3)  # from a slot's middle to the slab beside it
    assert found.working is not None
    given = {one.symbol: one.value for one in found.working.given}
    # Of the places every mm the first is told where the edge lacks no more than the ground:
    # 2.5 diameters are 6.25 mm, of which 0.56 may be missing.
    assert given == pytest.approx({"r": 2.5, "f": ground, "k": 2.5, "d": 2.5, "e": 6.0}, abs=1e-3)
    assert found.value == pytest.approx(2.5 - ground, abs=1e-3)


def test_screws_lie_under_a_module_that_stands_off_over_their_heads() -> None:
    # A pan head of M3 is 2.4 mm high (ISO 7045); 2 mm of air stay over it.
    for standoff, kind, beneath in ((4.5, "saddle", ("low", "high")), (4.3, "none", ())):
        (clamp,) = routed(with_slabs(2.0, standoff=standoff))[1].clamps
        assert (clamp.kind, set(clamp.beneath)) == (kind, set(beneath))

"""Boards that nobody builds, but that the reader accepts: all that is found, found in bounds.

What an overlay costs is counted in the corners and crossings that it has, not by a clock.
"""

from __future__ import annotations

from itertools import combinations
from math import cos, pi, sin
from typing import Any

import numpy as np
import pytest

from layout_engine import DocumentError, Job, load_document
from layout_engine.checks import check
from layout_engine.checks.rules import PLACEMENT
from layout_engine.checks.scene import Scene
from layout_engine.geometry.effort import Effort, overlay_us
from layout_engine.geometry.plate_shape import PlateShape
from layout_engine.geometry.shapes import box, overlap_area, overlaps, shape_of
from layout_engine.model.part import Placement

Json = dict[str, Any]
Ring = list[tuple[float, float]]


def gear(teeth: int, radius: float, depth: float) -> Ring:
    """A toothed disc."""
    ends = [(n * pi / teeth, radius - depth * (n % 2)) for n in range(2 * teeth)]
    return [(r * cos(a), r * sin(a)) for a, r in ends]


def comb(teeth: int, width: float, height: float) -> Ring:
    """A bar whose teeth point up."""
    step = width / (2 * teeth)
    edge = [(n * step, height if n % 2 else height / 10) for n in range(2 * teeth + 1)]
    return [(0.0, 0.0), (width, 0.0), *edge[::-1]]


def board(of_parts: Ring, places: list[Json], shields: list[Json] | None = None, **plate: Any
          ) -> Job:
    """Parts of one outline on a large plate."""
    return load_document({
        "format": "platewright/1", "name": "Heavy",
        "types": {"t": {"name": "t", "kind": "other", "outline": of_parts, "height": 20,
                        "clearance": 2, "shields": shields or []}},
        "parts": [{"id": f"p{n}", "type": "t", "placement": at} for n, at in enumerate(places)],
        "body": {"shape": "box", "width": 1000, "depth": 500, "height": 1000,
                 "opening": {"in": "front", "shape": "rectangle", "width": 950, "height": 950},
                 "reach_from": "front"},
        "plate": {"outline": [[0, 0], [900, 0], [900, 900], [0, 900]], "thickness": 4,
                  "material": "acrylic", "stands": "upright", "base": 20, **plate},
    })


def test_an_overlay_is_dear_where_sides_cross_and_cheap_where_they_do_not() -> None:
    across = shape_of([(60 - y, x) for x, y in comb(999, 100, 60)])
    beside = shape_of([(x + 0.02, y + 0.4) for x, y in comb(999, 100, 60)])
    one = shape_of(comb(999, 100, 60))
    assert overlay_us(one, across) > 100 * overlay_us(one, beside)
    assert overlay_us(box(0, 0, 10, 10), box(5, 5, 15, 15)) < 20


def test_effort_is_spent_once_and_then_affords_nothing() -> None:
    a, b = shape_of(gear(15, 30, 2)), shape_of(gear(15, 28, 2))
    effort = Effort(1.5 * overlay_us(a, b))
    assert effort.affords(a, b)
    assert not effort.affords(a, b)
    assert Effort(1e9).affords(a, b)


def test_every_pair_of_a_pile_is_found_and_figures_stop_when_they_would_take_too_long() -> None:
    places = [{"x": 450 + 3 * n, "y": 450 + n, "turn": 11 * n} for n in range(14)]
    job = board(comb(990, 100, 60), places)
    found = [f for f in check(job, rules=["overlap"]) if f.rule == "overlap"]
    pairs = {frozenset(f.subjects) for f in found}
    turned = Scene(job).standing
    meet = {frozenset((a, b)) for a, b in combinations(turned, 2)
            if turned[a].outline.intersects(turned[b].outline)}
    assert pairs >= meet
    assert len(found) == len(pairs)
    assert any(f.value is None for f in found)
    assert all("overlap" in f.message for f in found if f.value is None)


@pytest.mark.parametrize("turn", [0, 33, 90])
def test_many_cornered_outlines_overlap_where_their_area_says_so(turn: float) -> None:
    one = shape_of(gear(200, 50, 2))
    for away in (0.0, 60.0, 96.1, 99.9, 104.0):
        other = shape_of([(x + away * cos(turn), y + away * sin(turn))
                          for x, y in gear(200, 50, 2)])
        assert overlaps(one, other) == (overlap_area(one, other) > 1e-6)


def test_combs_that_touch_along_a_line_do_not_overlap() -> None:
    up, down = comb(300, 100, 60), [(x, -y) for x, y in comb(300, 100, 60)]
    assert not overlaps(shape_of(up), shape_of(down))


def test_a_drag_through_a_pile_tells_each_part_it_touches() -> None:
    job = board(gear(999, 50, 2), [{"x": 300 + 2 * n, "y": 300} for n in range(60)])
    touched = Scene(job).verdict("p0", Placement(x=320, y=310))
    assert {t.other for t in touched} == {f"p{n}" for n in range(1, 60)}
    assert {t.kind for t in touched} == {"outlines"}


def test_a_rounded_corner_is_only_for_what_stands_in_it() -> None:
    """A plate like a U: what stands in one arm is beside the rounded corner of the other one."""
    arms = [[0, 0], [100, 0], [100, 110], [60, 110], [60, 30], [40, 30], [40, 100], [0, 100]]
    plate = {"outline": arms, "corner_radius": 10, "edge_margin": 2}
    small = [(0, 0), (10, 0), (10, 10), (0, 10)]
    assert not check(board(small, [{"x": 75, "y": 92}], **plate), rules=["off_plate"])
    in_corner, = check(board(small, [{"x": 87, "y": 97}], **plate), rules=["off_plate"])
    # the corner (97, 107) lies 7 and 7 from the arc's centre (90, 100)
    assert in_corner.value == pytest.approx(10 - 98**0.5, abs=1e-9)


def test_a_toothed_plate_measures_its_corners_alike_by_table_and_by_search() -> None:
    ring = [(x + 400, y + 400) for x, y in gear(300, 400, 30)]
    low = min(x for x, _ in ring), min(y for _, y in ring)
    job = board([(0, 0), (10, 0), (10, 10), (0, 10)], [],
                outline=[[x - low[0], y - low[1]] for x, y in ring], corner_radius=1)
    shape = PlateShape.of(job.plate)
    rim = [(x - low[0], y - low[1]) for x, y in gear(300, 399, 29)]
    points = shape_of([(x + 400, y + 400) for x, y in rim]).exterior.coords[:-1]
    spots = np.array(points)
    assert len(spots) * len(shape.arcs) > 100_000
    at_once = shape.point_distances(spots)
    one_by_one = [shape.point_distances(spots[n: n + 1])[0] for n in range(len(spots))]
    assert at_once == pytest.approx(one_by_one, abs=1e-9)


@pytest.mark.parametrize(("where", "count", "allowed"), [
    ("fixings", 101, "at most 100 entries"), ("terminals", 201, "at most 200 entries"),
    ("keep_outs", 101, "at most 100 entries"),
])
def test_lists_that_make_a_check_endless_are_refused_by_name(where: str, count: int, allowed: str
                                                             ) -> None:
    one: Json = {
        "fixings": {"x": 1, "y": 1, "thread": "M3"},
        "terminals": {"x": 1, "y": 1, "leaves": 0, "role": "signal", "joint": "pin"},
        "keep_outs": {"outline": [[0, 0], [5, 0], [5, 5]], "height": [0, 5]},
    }[where]
    entries = [{**one, "id": f"t{n}"} if where == "terminals" else one for n in range(count)]
    with pytest.raises(DocumentError) as caught:
        load_document({
            "format": "platewright/1", "name": "x", "parts": [],
            "types": {"t": {"name": "t", "kind": "other", "height": 5, where: entries,
                            "outline": [[0, 0], [9, 0], [9, 9], [0, 9]]}},
            "body": {"shape": "box", "width": 100, "depth": 100, "height": 100,
                     "opening": {"in": "top", "shape": "rectangle", "width": 90, "height": 90},
                     "reach_from": "top"},
            "plate": {"outline": [[0, 0], [80, 0], [80, 80], [0, 80]], "thickness": 3,
                      "material": "acrylic", "stands": "upright"},
        })
    faults = {fault.path: fault.allowed for fault in caught.value.errors}
    assert faults == {f"$.types.t.{where}": allowed}


def test_the_outlines_of_one_type_have_a_limit_together() -> None:
    shields = [{"outline": gear(999, 40 - n, 1), "height": [0, 5]} for n in range(2)]
    with pytest.raises(DocumentError) as caught:
        board(gear(999, 50, 2), [], shields)
    assert [(f.path, f.value, f.allowed) for f in caught.value.errors] == [
        ("$.types.t", "5994 points", "at most 4000 points in all outlines of one type")]


def test_the_rules_of_placement_are_checked_on_a_pile_of_everything() -> None:
    job = board(gear(400, 20, 1), [{"x": 60 + 25 * (n % 20), "y": 60 + 25 * (n // 20)}
                                   for n in range(120)], corner_radius=10)
    assert {f.rule for f in check(job, rules=PLACEMENT)} >= {"overlap", "not_measured"}

"""Lettering finds clear ground: the geometry of it against shapely."""

from __future__ import annotations

import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from webapp.printing.labels import Spot, hole_labels
from webapp.printing.names import Name, module_names
from webapp.printing.placing import CLEAR_MM, Box, Ground

SHEET = Box(0, 0, 200, 200)
place = st.floats(1, 199)
strokes = st.lists(st.tuples(place, place, place, place), max_size=25)
boxes = st.tuples(place, place, st.floats(0.5, 40), st.floats(0.5, 10))


@given(strokes, boxes)
@settings(max_examples=200, deadline=None)
def test_clear_ground_is_what_another_library_calls_clear(
        drawn: list[tuple[float, float, float, float]],
        asked: tuple[float, float, float, float]) -> None:
    ground = Ground(SHEET)
    for stroke in drawn:
        ground.add_stroke(*stroke)
    x, y, width, height = asked
    box = Box(x, y, x + width, y + height)
    wide = shapely.box(x - CLEAR_MM, y - CLEAR_MM, x + width + CLEAR_MM, y + height + CLEAR_MM)
    lines = [shapely.LineString([(a, b), (c, d)]) for a, b, c, d in drawn]
    near = [line.distance(wide) for line in lines]
    if all(gap > 1e-6 for gap in near) and SHEET.holds(box):
        assert ground.is_clear(box)
        assert ground.cost(box) == 0
    if any(line.intersects(wide.buffer(-1e-6)) for line in lines) or not SHEET.holds(box):
        assert not ground.is_clear(box)
        assert ground.cost(box) > 0


def test_labels_of_a_crowd_stand_apart() -> None:
    ground = Ground(SHEET)
    spots = [Spot(40 + 9 * column, 60 + 9 * row, 3.4, (str(10 * row + column), "d 3.4"))
             for column in range(5) for row in range(5)]
    for spot in spots:
        ground.add_box(Box(spot.x, spot.y, spot.x, spot.y).grown(2))
    items = hole_labels(ground, spots)
    texts = [item.text for item in items if hasattr(item, "text")]
    assert all(any(spot.lines[0] in text.split() for text in texts) for spot in spots)


def test_a_name_stands_inside_its_module_where_it_fits() -> None:
    ground = Ground(SHEET)
    outline = ((50.0, 50.0), (110.0, 50.0), (110.0, 80.0), (50.0, 80.0))
    ground.add_ring(outline)
    (name,) = module_names(ground, (Name(outline, "Fuse block", "name"),))
    assert 50 < name.x < 110
    assert 50 < name.y < 80


def test_a_name_too_long_for_its_module_stands_beside_it_on_a_leader() -> None:
    ground = Ground(SHEET)
    outline = ((50.0, 50.0), (58.0, 50.0), (58.0, 58.0), (50.0, 58.0))
    ground.add_ring(outline)
    leader, name = module_names(ground, (Name(outline, "Charge socket, weatherproof", "name"),))
    assert not (50 < name.x < 58 and 50 < name.y < 58)
    assert hasattr(leader, "x2")

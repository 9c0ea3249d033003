"""The sections of the body: dimensions carry the fields' names and the document's lengths."""

from __future__ import annotations

from collections.abc import Iterator
from math import sqrt
from typing import Any

import pytest

from layout_engine import Job, load_document
from tests.webapp.pages.forms import demo
from webapp.drawings.passing import depth_of, passing_view, way_of
from webapp.drawings.plate import plate_drawing
from webapp.drawings.primitives import Dimension, Drawing, Group, Item
from webapp.drawings.sections import front_view, side_view, top_view

DEMOS = ("rolling_lighthouse", "parade_tortoise", "puppet_wagon")
VIEWS = (front_view, side_view, top_view, passing_view)


def dimensions(items: tuple[Item, ...]) -> Iterator[Dimension]:
    for item in items:
        if isinstance(item, Dimension):
            yield item
        elif isinstance(item, Group):
            yield from dimensions(item.items)


def by_key(*drawings: Drawing) -> dict[str, Dimension]:
    return {d.key: d for one in drawings for d in dimensions(one.items) if d.key}


def job(name: str, **body: Any) -> Job:
    document = demo(name)
    document["body"] = {**document["body"], **body}
    return load_document(document)


@pytest.mark.parametrize("name", DEMOS)
def test_front_and_side_have_one_scale(name: str) -> None:
    front, side = front_view(job(name)), side_view(job(name))
    assert (front.width, front.height, front.bottom) == (side.width, side.height, side.bottom)


@pytest.mark.parametrize("name", DEMOS)
@pytest.mark.parametrize("view", VIEWS, ids=lambda v: v.__name__)
def test_each_dimension_is_as_long_as_it_says(name: str, view: Any) -> None:
    for one in dimensions(view(job(name)).items):
        figure = one.text.removeprefix("⌀ ").removesuffix(" free").lstrip("-")
        if figure:
            assert one.length == pytest.approx(float(figure), abs=0.051)


def test_fields_of_a_tapered_body_have_their_dimensions() -> None:
    lighthouse = job("rolling_lighthouse")
    found = by_key(front_view(lighthouse), side_view(lighthouse), top_view(lighthouse))
    lengths = {key: one.length for key, one in found.items()}
    expected = {
        "diameter": 380, "top_diameter": 330, "body_height": 900, "base": 180, "offset": 20,
        "opening_width": 276, "opening_height": 350, "opening_low": 170,
    }
    assert lengths == pytest.approx(expected)


def test_fields_of_a_box_open_at_the_top_have_their_dimensions() -> None:
    tortoise = job("parade_tortoise")
    found = by_key(front_view(tortoise), side_view(tortoise), top_view(tortoise))
    lengths = {key: one.length for key, one in found.items()}
    expected = {"body_width": 700, "body_depth": 340, "body_height": 170, "base": 33, "shift": 95,
                "opening_width": 640, "opening_height": 320}
    assert lengths == pytest.approx(expected)


def test_free_heights_are_those_of_the_circle() -> None:
    """Chord geometry: sqrt(R^2 - x^2) + offset - half the thickness, at the plate's middle."""
    lighthouse = job("rolling_lighthouse")
    radius = (380 - 50 * 345 / 900) / 2
    expected = {sqrt(radius**2 - x**2) + 20 - 2 for x in (0.22 * 260, 0.47 * 260)}
    free = {one.length for one in dimensions(top_view(lighthouse).items) if not one.key}
    assert sorted(free) == pytest.approx(sorted(expected), abs=1e-6)


def test_gaps_beside_the_loaded_plate() -> None:
    """A 260 x 330 plate in the middle of a 276 x 350 door: 8 and 10 mm."""
    lighthouse = job("rolling_lighthouse")
    assert way_of(lighthouse).size == pytest.approx((260, 330))
    gaps = [one.length for one in dimensions(passing_view(lighthouse).items)]
    assert gaps == pytest.approx([8, 10])


def test_depth_counts_both_faces_and_the_plate() -> None:
    empty = demo("puppet_wagon")
    empty["parts"], empty["connections"] = [], []
    for key in ("cases", "groups", "accepted"):
        empty.pop(key, None)
    bare = load_document(empty)
    assert depth_of(bare) == bare.plate.thickness
    lighthouse = job("rolling_lighthouse")
    assert 46 + 4 <= depth_of(lighthouse) <= 46 + 4 + 46


def test_a_free_section_is_cut_through_its_middle() -> None:
    """An L-shaped section: on the line x = 0 it runs from -160 to 100."""
    section = [[-190, -160], [190, -160], [190, 100], [-20, 100], [-20, 190], [-190, 190]]
    document = demo("rolling_lighthouse")
    document["body"] = {
        "shape": "free", "section": section, "height": 900, "reach_from": "front",
        "opening": document["body"]["opening"],
    }
    depth = by_key(side_view(load_document(document)))["body_depth"]
    assert depth.length == pytest.approx(260)


@pytest.mark.parametrize("handles", [True, False])
def test_the_plate_shows_its_size_and_handles_when_asked(handles: bool) -> None:
    drawing = plate_drawing(job("rolling_lighthouse"), handles=handles)
    found = by_key(drawing)
    assert (found["width"].length, found["height"].length) == (260, 330)
    groups = [i for i in drawing.items if isinstance(i, Group) and i.data.get("handle")]
    assert [g.data["handle"] for g in groups] == (["x", "y", "xy"] if handles else [])

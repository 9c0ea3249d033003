"""Forbidden ground and ground under walls, against distances and heights point by point."""

from __future__ import annotations

from random import Random
from typing import Any

import numpy as np
import pytest
import shapely

from layout_engine import load_document
from layout_engine.geometry.cavity import Cavity
from layout_engine.geometry.frames import Points
from layout_engine.geometry.free_places import (
    CHORD_MM,
    border_by_height,
    eroded,
    grid_gaps,
    grown_sums,
    near_sums,
    ring_round,
    united,
)
from layout_engine.geometry.shapes import Shape, shape_of
from layout_engine.geometry.wall_ground import skin_ground, wall_ground

Json = dict[str, Any]
SEEDS = range(25)
EXACT_MM = 0.01


def hull(rng: Random, count: int) -> Points:
    """Corners of a convex polygon; of a line or a point where count is 2 or 1."""
    points = np.array([(rng.uniform(-40, 40), rng.uniform(-25, 25)) for _ in range(count)])
    if count < 3:
        return points
    found = shapely.convex_hull(shapely.multipoints(points))
    return np.asarray(shapely.get_coordinates(found)[:-1])


def solid(points: Points) -> shapely.Geometry:
    return shapely.convex_hull(shapely.multipoints(points))


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_forbidden_is_what_comes_nearer_than_wanted(seed: int) -> None:
    rng = Random(seed)
    rest, moving = hull(rng, rng.choice((1, 2, 4, 9))), hull(rng, rng.choice((1, 3, 4, 12)))
    wanted = rng.choice((0.5, 3.0, 8.0, 20.0))
    (area,) = grown_sums([(rest, moving, wanted)])
    for _ in range(60):
        at = np.array([rng.uniform(-120, 120), rng.uniform(-90, 90)])
        gap = solid(rest).distance(solid(moving + at))
        inside = bool(shapely.intersects(area, shapely.Point(at)))
        if gap < wanted:
            assert inside
        if gap > wanted + EXACT_MM:
            assert not inside


def test_sides_are_grown_exactly_and_corners_by_tangents() -> None:
    """A square grown by 5: its sides lie at exactly 5, its corners within the chord's error."""
    square = np.array([(0, 0), (10, 0), (10, 10), (0, 10)], dtype=float)
    (area,) = grown_sums([(square, np.zeros((1, 2)), 5.0)])
    assert area.bounds == pytest.approx((-5, -5, 15, 15), abs=1e-9)
    corners = shapely.points(shapely.get_coordinates(area))
    gaps = shapely.distance(corners, shapely.polygons(square))
    assert (gaps >= 5 - 1e-9).all()
    assert (gaps <= 5 + CHORD_MM + 1e-9).all()


def test_within_a_distance_is_never_given_too_freely() -> None:
    square = np.array([(0, 0), (10, 0), (10, 10), (0, 10)], dtype=float)
    area = near_sums([(square, np.zeros((1, 2)), 5.0)])
    corners = shapely.points(shapely.get_coordinates(area))
    assert (shapely.distance(corners, shapely.polygons(square)) <= 5 + 1e-9).all()


def test_a_ring_leaves_its_middle() -> None:
    ring = ring_round(10, 20, 1, 4)
    spots = shapely.points([(10, 20), (10.99, 20), (11.01, 20), (13.99, 20), (14.02, 20)])
    assert shapely.intersects(ring, spots).tolist() == [False, False, True, True, False]


def test_a_union_covers_all_its_pieces() -> None:
    """Right-angled pieces with edges that almost coincide, where a plain union has gone wrong."""
    rng = Random(3)
    for _ in range(40):
        boxes = [shapely.box(x, y, x + w + rng.choice((0, 1e-9)), y + h)
                 for x, y, w, h in ((rng.randint(0, 9), rng.randint(0, 9), rng.randint(1, 9),
                                     rng.randint(1, 9)) for _ in range(12))]
        union = united(np.array(boxes, dtype=object))
        assert union.area == pytest.approx(sum_of_cells(boxes), abs=1e-3)


def sum_of_cells(boxes: list[Shape]) -> float:
    """Area of a union of boxes with whole corners, counted cell by cell."""
    cells = np.zeros((20, 20), dtype=bool)
    for one in boxes:
        x0, y0, x1, y1 = (round(v) for v in one.bounds)
        cells[y0:y1, x0:x1] = True
    return float(cells.sum())


def test_a_shape_lies_in_ground_where_all_its_corners_do() -> None:
    rng = Random(4)
    ground, shape = hull(rng, 12), hull(rng, 5) / 6
    places = eroded(shape_of(ground), shape)
    for _ in range(200):
        at = np.array([rng.uniform(-40, 40), rng.uniform(-25, 25)])
        lies = bool(shapely.covers(solid(ground), solid(shape + at)))
        if shapely.distance(places.boundary, shapely.Point(at)) > EXACT_MM:
            assert bool(shapely.intersects(places, shapely.Point(at))) == lies


def test_borders_of_ground_by_height() -> None:
    left, right = border_by_height(shape_of(np.array([(5, 0), (10, 0), (12, 6), (7, 9), (2, 4)])))
    assert left.tolist() == [[5, 0], [2, 4], [7, 9]]
    assert right.tolist() == [[10, 0], [12, 6], [7, 9]]


def test_gaps_over_a_grid_are_distances() -> None:
    xs, ys = np.linspace(-5, 20, 7), np.linspace(-3, 15, 5)
    points = shapely.points(*np.meshgrid(xs, ys))
    for shape in (shapely.box(0, 0, 9, 6), shapely.Polygon([(0, 0), (9, 0), (3, 6)])):
        assert grid_gaps(shape, xs, ys) == pytest.approx(shapely.distance(shape, points))


BODIES: dict[str, Json] = {
    "cylinder": {"shape": "round", "diameter": 300, "height": 260},
    "narrowing": {"shape": "round", "diameter": 320, "top_diameter": 240, "height": 260},
    "widening": {"shape": "round", "diameter": 240, "top_diameter": 330, "height": 260},
    "box": {"shape": "box", "width": 240, "depth": 220, "height": 250},
    "free": {"shape": "free", "height": 260, "section": [
        [-120, -110], [120, -110], [130, 60], [60, 110], [20, 40], [-20, 110], [-120, 100]]},
}


def cavity(body: str, stands: str, offset: float) -> Cavity:
    job = load_document({
        "format": "platewright/1", "name": "Walls", "types": {}, "parts": [],
        "body": {"opening": {"in": "top", "shape": "rectangle", "width": 50, "height": 50},
                 "reach_from": "top", **BODIES[body]},
        "plate": {"outline": [[0, 0], [200, 0], [200, 180], [0, 180]], "thickness": 4,
                  "material": "acrylic", "stands": stands, "offset": offset, "shift": 7,
                  "base": 130 if stands == "flat" else 30},
    })
    return Cavity.of(job.body, job.plate)


@pytest.mark.parametrize("face", ["front", "back"])
@pytest.mark.parametrize("stands", ["upright", "flat"])
@pytest.mark.parametrize("body", BODIES)
def test_ground_under_the_wall_is_where_the_height_is_free(
        body: str, stands: str, face: str) -> None:
    rng = Random(f"{body} {stands} {face}")
    for offset in (0.0, 31.0, -45.0):
        place = cavity(body, stands, offset)
        height = rng.uniform(10, 115)
        ground, bars = wall_ground(place, face, height)
        shape = shape_of(ground) if ground is not None else shapely.Polygon()
        spots = np.array([(rng.uniform(-60, 260), rng.uniform(-60, 240)) for _ in range(150)])
        small = np.array([(-0.001, -0.001), (0.001, -0.001), (0.001, 0.001), (-0.001, 0.001)])
        for spot in spots:
            tile = shape_of(spot + small)
            border = [shape.boundary, *(shape_of(bar).boundary for bar in bars)]
            if ground is not None and min(b.distance(tile) for b in border) < EXACT_MM:
                continue
            given = shape.covers(tile) and not any(shape_of(b).intersects(tile) for b in bars)
            assert given == (place.height_over(tile, face) >= height)


@pytest.mark.parametrize("stands", ["upright", "flat"])
@pytest.mark.parametrize("body", BODIES)
def test_ground_away_from_the_skin_keeps_its_distance(body: str, stands: str) -> None:
    rng = Random(f"{body} {stands}")
    place = cavity(body, stands, 12.0)
    for w in (20.0, -35.0):
        ground, bars = skin_ground(place, w, 18.0)
        assert ground is not None
        shape = shape_of(ground)
        for _ in range(150):
            x, y = rng.uniform(0, 200), rng.uniform(0, 180)
            spot = shapely.Point(x, y)
            if min(g.boundary.distance(spot) for g in (shape, *map(shape_of, bars))) < EXACT_MM:
                continue
            bx, by, bz = place.frame.to_body(x, y, w)
            if place.section is not None and not place.section.covers(shapely.Point(bx, by)):
                continue  # outside the body, where the wall is met anyhow
            given = shape.covers(spot) and not any(shape_of(b).covers(spot) for b in bars)
            assert given == (place.wall_distance(bx, by, bz) >= 18.0)

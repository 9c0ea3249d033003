"""Ground for wires: the arithmetic against shapely's distances, thing by thing."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from layout_engine.geometry.wire_ground import WireGround, circle_about

SIZE = 200.0
ROUGH_MM = 0.05  # a circle is kept off by its polygon's corners, a hair outside its sides


def things() -> list[shapely.Polygon]:
    """Boxes, circles, a slanting block and an L, as boards have them."""
    slanting = shapely.Polygon([(120, 40), (150, 60), (140, 75), (110, 55)])
    bent = shapely.Polygon([(20, 120), (70, 120), (70, 135), (40, 135), (40, 170), (20, 170)])
    return [shapely.box(30, 30, 60, 55), shapely.box(100, 100, 160, 130), slanting, bent,
            circle_about(90, 80, 4.0), circle_about(150, 170, 3.2), circle_about(160, 165, 3.2)]


def ground() -> WireGround:
    """The same on a plate with a slanting corner and a cut-out."""
    edge = [(0, 0), (SIZE, 0), (SIZE, 180), (180, SIZE), (0, SIZE), (0, 0)]
    hole = [(80, 140), (95, 140), (95, 155), (80, 155), (80, 140)]
    return WireGround(things(), [np.array(edge, float), np.array(hole, float)])


def edges() -> list[shapely.Geometry]:
    return [shapely.LineString([(0, 0), (SIZE, 0), (SIZE, 180), (180, SIZE), (0, SIZE), (0, 0)]),
            shapely.LinearRing([(80, 140), (95, 140), (95, 155), (80, 155)])]


def pieces(count: int, slant: bool) -> np.ndarray:
    rng = np.random.default_rng(7)
    starts = rng.uniform(1, SIZE - 1, (count, 2))
    ends = starts + rng.uniform(-20, 20, (count, 2))
    if not slant:
        fixed = rng.integers(0, 2, count)
        ends[np.arange(count), fixed] = starts[np.arange(count), fixed]
        ends[::9] = starts[::9]  # points
    return np.stack((starts, ends), axis=1)


@pytest.mark.parametrize("slant", [False, True])
@pytest.mark.parametrize("rim", [False, True])
def test_clearances_are_shapely_s_distances(slant: bool, rim: bool) -> None:
    some = pieces(600, slant)
    found = ground().clearances(some) if rim else ground().thing_clearances(some)
    all_things = [*things(), *(edges() if rim else [])]
    lines = [shapely.LineString(p) for p in some]
    expected = np.array([min(line.distance(t) for t in all_things) for line in lines])
    assert np.all(found <= expected + 1e-6)
    assert np.all(found >= expected - ROUGH_MM)


@pytest.mark.parametrize("turn", [0.0, 90.0, 180.0, 270.0, 33.0])
def test_free_runs_end_where_the_ray_first_meets_something(turn: float) -> None:
    rng = np.random.default_rng(3)
    starts = rng.uniform(1, SIZE - 20, (200, 2))
    way = np.round([np.cos(np.radians(turn)), np.sin(np.radians(turn))], 12)
    found = ground().free_runs(starts, np.tile(way, (200, 1)), 80.0)
    for start, free in zip(starts, found, strict=True):
        ray = shapely.LineString([start, start + 80.0 * way])
        spot = shapely.Point(start)
        met = [spot.distance(ray.intersection(t)) for t in [*things(), *edges()]
               if ray.intersects(t) and not t.covers(spot)]
        assert free <= min(met, default=80.0) + 1e-6
        assert free >= min(met, default=80.0) - 0.5  # a ray that grazes a circle meets its corner


@pytest.mark.parametrize("axis", [0, 1])
def test_slices_of_a_round_thing_show_the_ground_beside_it(axis: int) -> None:
    """A circle of 20 mm: a slice from a to b along an axis is as wide as its widest chord there."""
    square = shapely.Polygon([(60.0, 0.0), (70.0, 0.0), (70.0, 10.0), (60.0, 10.0)])
    ground = WireGround([circle_about(30.0, 30.0, 20.0), square], [])
    boxes = ground.slices(axis)
    assert [60.0, 0.0, 70.0, 10.0] in boxes.tolist()
    for box in boxes[:-1] - 30.0:
        low, high = box[axis], box[axis + 2]
        nearest = 0.0 if low < 0 < high else min(abs(low), abs(high))
        chord = (20.0**2 - nearest**2) ** 0.5
        assert box[3 - axis] == pytest.approx(chord, abs=0.3)  # the circle has 32 sides
        assert box[1 - axis] == pytest.approx(-chord, abs=0.3)
    assert boxes[:-1, axis].min() == pytest.approx(10.0, abs=0.3)
    assert boxes[:-1, axis + 2].max() == pytest.approx(50.0, abs=0.3)


@pytest.mark.parametrize(("axis", "expected"), [
    (0, [(0.0, 0.0, 20.0, 40.0), (20.0, 0.0, 60.0, 10.0)]),
    (1, [(0.0, 0.0, 60.0, 10.0), (0.0, 10.0, 20.0, 40.0)]),
])
def test_slices_of_an_angle_are_its_two_arms(axis: int, expected: list[tuple[float, ...]]) -> None:
    angle = shapely.Polygon([(0.0, 0.0), (60.0, 0.0), (60.0, 10.0), (20.0, 10.0), (20.0, 40.0),
                      (0.0, 40.0)])
    assert WireGround([angle], []).slices(axis).tolist() == [pytest.approx(e) for e in expected]

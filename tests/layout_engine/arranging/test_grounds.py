"""Boxes in a pose's ground, and how far off it a place is: against polygons of shapely."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
import shapely

from layout_engine.arranging.grounds import MANY_PLANES, boxes_within
from layout_engine.arranging.meeting import depth_off_ground
from layout_engine.arranging.packing import packed
from layout_engine.arranging.puzzle import Body, Box, Piece, Plane, Pose, Puzzle, edge_rows
from layout_engine.arranging.vectors import Floats

BARELY_MM = 1e-7


def ellipse(width: float, height: float, corners: int) -> shapely.Polygon:
    turns = np.linspace(0.0, 2 * pi, corners, endpoint=False) + 0.05
    return shapely.Polygon(np.column_stack((width * np.cos(turns), height * np.sin(turns))))


GROUNDS = {
    "round": ellipse(80, 80, 60),
    "oval": shapely.affinity.translate(ellipse(90, 50, 36), 130, -40),
    "slanted": shapely.affinity.rotate(ellipse(90, 30, 24), 30),
    "rounded corners": shapely.box(20, 30, 180, 250).buffer(15, quad_segs=6),
    "cut corner": shapely.box(0, 0, 100, 60).buffer(5, quad_segs=3).intersection(
        shapely.Polygon([(-20, -20), (90, -20), (130, 90), (-20, 90)])),
}


def rows_of(ground: shapely.Polygon) -> Floats:
    ring = np.array(shapely.geometry.polygon.orient(ground).exterior.coords)[:-1]
    return np.array(edge_rows(ring))


def planes_of(ground: shapely.Polygon) -> tuple[Plane, ...]:
    return tuple((nx, ny, o) for _, _, nx, ny, o in rows_of(ground).tolist())


@pytest.mark.parametrize("name", GROUNDS)
def test_boxes_lie_in_the_ground_and_cover_most_of_it(name: str) -> None:
    ground = GROUNDS[name]
    one, two = boxes_within(planes_of(ground), ground.bounds)
    around = ground.buffer(BARELY_MM)
    assert around.contains(shapely.box(*one))
    assert around.contains(shapely.box(*two))
    both = shapely.union(shapely.box(*one), shapely.box(*two))
    assert both.area > shapely.box(*one).area * 1.02
    least = {"slanted": 0.38, "round": 0.75, "oval": 0.75}  # of a slanted one boxes cover less
    assert both.area > least.get(name, 0.85) * ground.area


def test_the_first_is_nearly_the_largest_there_is() -> None:
    """In a circle that is a square, of 2 r2, and in an ellipse with half axes a and b 2 a b."""
    for name, most in (("round", 2 * 80 * 80), ("oval", 2 * 90 * 50)):
        (x0, y0, x1, y1), _ = boxes_within(planes_of(GROUNDS[name]), GROUNDS[name].bounds)
        assert 0.97 * most < (x1 - x0) * (y1 - y0) <= most


@pytest.mark.parametrize("planes", [
    planes_of(shapely.box(0, 0, 9, 9)),  # so few are quickly looked at
    ((1.0, 0.0, -1e6), (-1.0, 0.0, -1e6)) * MANY_PLANES,  # nothing is within these
])
def test_there_may_be_none(planes: tuple[Plane, ...]) -> None:
    for x0, _, x1, _ in boxes_within(planes, (0.0, 0.0, 9.0, 9.0)):
        assert x0 > x1


def off(ground: shapely.Polygon, span: Box, at: Floats) -> Floats:
    """How far off a ground the search takes a pose's centre to be, at places (n, 2)."""
    corners = np.array([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)])
    pose = Pose((Piece(corners, 0),), (-1, -1, 1, 1), planes_of(ground), span)
    of = Puzzle((200.0, 200.0), (pose,), (Body("one", (0,)),), 1, np.zeros((1, 1)))
    f, n = packed(of)
    return np.array([depth_off_ground(f, n, 0, float(x), float(y)) for x, y in at])


@pytest.mark.parametrize("name", GROUNDS)
def test_how_far_a_place_is_off_is_the_sum_over_the_edges_it_lies_beyond(name: str) -> None:
    ground = GROUNDS[name]
    x0, y0, x1, y1 = ground.bounds
    at = np.random.default_rng(3).uniform((x0 - 9, y0 - 9), (x1 + 9, y1 + 9), (2_000, 2))
    beyond = np.maximum(at @ rows_of(ground)[:, 2:4].T - rows_of(ground)[:, 4], 0.0)
    found = off(ground, ground.bounds, at)
    assert found == pytest.approx(beyond.sum(axis=1), abs=BARELY_MM)
    inside = shapely.contains_xy(ground, at)
    assert 200 < np.count_nonzero(inside) < 1_900
    assert not found[inside].any()
    assert found[~inside].all()

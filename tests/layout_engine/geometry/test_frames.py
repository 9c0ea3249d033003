"""The contract's conventions of placement and of the plate in the body."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout_engine.geometry.frames import BodyFrame, Pose

UPRIGHT = BodyFrame("upright", 200.0, 150.0, 4.0, 60.0, 50.0, 10.0)
FLAT = BodyFrame("flat", 200.0, 150.0, 4.0, 60.0, 50.0, 10.0)
mm = st.floats(-500, 500)
degrees = st.floats(-360, 360)


@pytest.mark.parametrize(
    ("face", "turn", "expected"),
    [
        ("front", 0, (103, 202)), ("front", 90, (98, 203)), ("front", 180, (97, 198)),
        ("front", 270, (102, 197)), ("back", 0, (97, 202)), ("back", 90, (98, 197)),
    ],
)
def test_part_point_3_2_placed_at_100_200(face: str, turn: float, expected: tuple[float, float]
                                          ) -> None:
    assert Pose(face, 100, 200, turn).point(3, 2) == expected


@pytest.mark.parametrize(
    ("face", "turn", "own", "expected"),
    [("front", 0, 0, 0), ("front", 90, 90, 180), ("back", 0, 0, 180), ("back", 90, 90, 180),
     ("back", 45, 0, 225)],
)
def test_directions_follow_the_same_transform(face: str, turn: float, own: float, expected: float
                                              ) -> None:
    assert Pose(face, 0, 0, turn).direction(own) == pytest.approx(expected)


@given(mm, mm, mm, mm, degrees, st.sampled_from(["front", "back"]), degrees)
def test_a_direction_points_where_its_points_go(x: float, y: float, qx: float, qy: float,
                                                turn: float, face: str, own: float) -> None:
    pose = Pose(face, x, y, turn)
    step = (qx + np.cos(np.radians(own)), qy + np.sin(np.radians(own)))
    (ax, ay), (bx, by) = pose.point(qx, qy), pose.point(*step)
    turned = np.radians(pose.direction(own))
    assert (bx - ax, by - ay) == pytest.approx((np.cos(turned), np.sin(turned)), abs=1e-9)


@given(mm, mm, mm, mm, degrees, st.sampled_from(["front", "back"]))
def test_points_and_point_agree_and_keep_distances(x: float, y: float, qx: float, qy: float,
                                                   turn: float, face: str) -> None:
    pose = Pose(face, x, y, turn)
    origin, there = pose.points([(0.0, 0.0), (qx, qy)])
    assert tuple(there) == pytest.approx(pose.point(qx, qy), abs=1e-9)
    assert np.hypot(*(there - origin)) == pytest.approx(np.hypot(qx, qy), abs=1e-9)


def test_upright_front_looks_to_the_front_of_the_body() -> None:
    """A point h over the front is at body y = offset - thickness/2 - h (the contract's frames)."""
    w = UPRIGHT.level("front", 30.0)
    assert UPRIGHT.to_body(0.0, 0.0, w) == (10 - 100, 60 - 2 - 30, 50)
    assert UPRIGHT.to_body(200.0, 150.0, UPRIGHT.level("back", 30.0)) == (110, 60 + 2 + 30, 200)


def test_flat_front_looks_up() -> None:
    assert FLAT.to_body(0.0, 0.0, FLAT.level("front", 30.0)) == (-90, 60 - 75, 50 + 2 + 30)
    assert FLAT.to_body(100.0, 75.0, FLAT.level("back", 30.0)) == (10, 60, 50 - 2 - 30)


@given(mm, mm, mm, st.sampled_from([UPRIGHT, FLAT]))
def test_the_way_to_the_body_and_back(x: float, y: float, w: float, frame: BodyFrame) -> None:
    assert frame.from_body(*frame.to_body(x, y, w)) == pytest.approx((x, y, w), abs=1e-9)

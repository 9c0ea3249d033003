"""Published and worked figures of tests/data/mechanical.csv that speak of a board in its body.

Each asks the engine itself: the largest width, height or opening at which its verdict turns.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from layout_engine import check, load_document
from layout_engine.geometry.cavity import Cavity
from layout_engine.geometry.frames import Points
from layout_engine.geometry.openings import enclosing_diameter, turn_through_rectangle
from layout_engine.geometry.shapes import box
from tests.layout_engine.tables.published_rows import ROWS, Key, assert_row, row_id

THIN = 1e-5  # the rows' plates have no thickness


def largest(holds: Callable[[float], bool], low: float, high: float) -> float:
    """The largest figure for which a verdict that turns once still holds."""
    assert holds(low)
    assert not holds(high)
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low


def _document(width: float, distance: float, radius: float, **plate: object) -> dict[str, Any]:
    """A round body with an upright plate whose front stands `distance` from the axis."""
    return {
        "format": "platewright/1",
        "name": "A worked row",
        "body": {
            "shape": "round",
            "diameter": 2 * radius,
            "height": 400,
            "opening": {"in": "top", "shape": "round", "diameter": 2 * radius},
            "reach_from": "top",
        },
        "plate": {
            "outline": [[0, 0], [width, 0], [width, 100], [0, 100]],
            "thickness": THIN,
            "material": "acrylic",
            "stands": "upright",
            "offset": -distance,
            "base": 100,
            **plate,
        },
        "types": {},
        "parts": [],
    }


def _plate_width(distance: float) -> float:
    def fits(width: float) -> bool:
        found = check(load_document(_document(width, distance, 150)))
        return not any(f.rule == "plate_too_big" for f in found)

    return largest(fits, 10, 299.999) if distance else largest(fits, 10, 310)


def _cavity(radius: float, distance: float) -> Cavity:
    job = load_document(_document(200, distance, radius))
    return Cavity.of(job.body, job.plate)


def _half_offset(radius: float, distance: float, tall: float) -> float:
    cavity = _cavity(radius, distance)
    return largest(lambda x: cavity.free_height(100 + x, 50, "front") >= tall, 0, 140)


def _box_width(radius: float, distance: float, tall: float) -> float:
    cavity = _cavity(radius, distance)
    return largest(
        lambda w: cavity.height_over(box(100 - w / 2, 40, 100 + w / 2, 60), "front") >= tall, 1, 280
    )


def _section(wide: float, deep: float) -> Points:
    return np.array([[0, 0], [wide, 0], [wide, deep], [0, deep]], dtype=float)


def _least_opening(wide: float, deep: float, width: float) -> float:
    section = _section(wide, deep)
    return -largest(lambda h: turn_through_rectangle(section, width, -h) is not None, -224, -deep)


def _edge_worry(diameter: float, severities: set[str]) -> float:
    """Largest clear distance, hole's edge to plate's edge, at which a mount is found wrong."""

    def wrong(clear: float) -> bool:
        mount = {"id": "m1", "x": clear + diameter / 2, "y": 50, "diameter": diameter}
        job = load_document(_document(100, 0, 150, mounts=[mount]))
        return any(f.rule == "hole_edge" and f.severity in severities for f in check(job))

    return largest(wrong, 0.1, 30)


def _bridge_worry(one: float, other: float) -> float:
    """Largest bridge between two mounts' holes that is found too thin."""

    def thin(bridge: float) -> bool:
        mounts = [
            {"id": "m1", "x": 30, "y": 50, "diameter": one},
            {"id": "m2", "x": 30 + bridge + (one + other) / 2, "y": 50, "diameter": other},
        ]
        job = load_document(_document(100, 0, 150, mounts=mounts))
        return any(f.rule == "hole_spacing" for f in check(job))

    return largest(thin, 0.1, 30)


Q_WIDTH = "plate width at distance d from axis"
CHECKS: dict[Key, Callable[[], float]] = {
    ("geometry-cylinder", Q_WIDTH, "R=150; d=0"): lambda: _plate_width(0),
    ("geometry-cylinder", Q_WIDTH, "R=150; d=90"): lambda: _plate_width(90),
    ("geometry-cylinder", Q_WIDTH, "R=150; d=120"): lambda: _plate_width(120),
    (
        "geometry-cylinder",
        "largest half-offset for a 40 mm tall point",
        "R=150; d=60",
    ): lambda: _half_offset(150, 60, 40),
    (
        "geometry-cylinder",
        "largest width of a centred 40 mm tall box",
        "R=150; d=60",
    ): lambda: _box_width(150, 60, 40),
    ("geometry-cylinder", "same with wall 3 and air 5", "R=150 outer"): lambda: _box_width(
        150 - 3 - 5, 60, 40
    ),
    ("opening-round", "section 240 x 60 through 250 mm", "edge-on"): lambda: enclosing_diameter(
        _section(240, 60)
    ),
    (
        "opening-rect",
        "turned pass: opening height needed",
        "section 225 x 20, opening width 200",
    ): lambda: _least_opening(225, 20, 200),
    (
        "hole-edge",
        "edge of hole to edge of sheet, minimum",
        "polycarbonate, hole 6.35",
    ): lambda: _edge_worry(6.35, {"stop"}),
    (
        "hole-edge",
        "edge of hole to edge of sheet, better",
        "polycarbonate, hole 6.35",
    ): lambda: _edge_worry(6.35, {"stop", "warn"}),
    (
        "hole-edge",
        "hole CENTRE to sheet edge, default rule",
        "hole 3.4; 2 x d clear + d/2",
    ): lambda: _edge_worry(3.4, {"stop", "warn"}) + 1.7,
    (
        "hole-hole",
        "bridge between two drilled holes",
        "hole 3.4 and 4.5: max(larger d, 2 mm)",
    ): lambda: _bridge_worry(3.4, 4.5),
}


@pytest.mark.parametrize("key", [pytest.param(key, id=row_id(key)) for key in CHECKS])
def test_published_row(key: Key) -> None:
    assert_row(key, (CHECKS[key](),), found_within=1e-4)


def test_straight_pass_needs_no_turn() -> None:
    row = ROWS["opening-rect", "straight pass", "section 190 x 60, opening 200 x 80"]
    assert row["expected"] == "true"
    assert turn_through_rectangle(_section(190, 60), 200, 80) == 0.0


def test_sections_of_the_worked_openings() -> None:
    """Carver 1957, notes of the rows: 225 x 20 passes 200 x 150, 225 x 40 does not."""
    assert turn_through_rectangle(_section(225, 20), 200, 150) is not None
    assert turn_through_rectangle(_section(225, 40), 200, 150) is None

"""Staying near: every part that stands on the plate keeps face and turn, and moves a little."""

from __future__ import annotations

from math import cos, hypot, pi

import numpy as np

from layout_engine.arranging.classes import ROUNDED_MM
from layout_engine.arranging.footprints import Posed
from layout_engine.arranging.vectors import Floats
from layout_engine.model.part import Part, Placement

SIDES = 24  # of the polygon within the circle that a centre may move in
LEAST_WAY_MM = 0.01  # less than this is no way to move


def circle_planes(own: Posed, where: Placement, at_most: float) -> Floats:
    """Rows (a, b, c), a x + b y <= c, that keep a centre within `at_most` mm of where it stands.

    A polygon within the circle: what it allows, the circle allows.
    """
    x, y = where.x + own.centre[0], where.y + own.centre[1]
    turns = np.linspace(0.0, 2 * pi, SIDES, endpoint=False)
    normals = np.column_stack((np.cos(turns), np.sin(turns)))
    inner = (at_most - ROUNDED_MM) * cos(pi / SIDES)
    rows: Floats = np.column_stack((normals, normals @ (x, y) + inner))
    return rows


def moved_by(before: Part, after: Part) -> float | None:
    """How far a part moved between two jobs, mm; None where its face or turn is another one."""
    a, b = before.placement, after.placement
    if a is None or b is None or (a.face, a.turn) != (b.face, b.turn):
        return None
    return hypot(b.x - a.x, b.y - a.y)

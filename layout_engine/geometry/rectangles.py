"""Rectangles with rounded corners, built fast: the search for a plate asks for hundreds."""

from __future__ import annotations

from functools import cache

import numpy as np
import shapely

from layout_engine.geometry.frames import Points
from layout_engine.geometry.plate_shape import ARC_SEGMENTS, once
from layout_engine.geometry.shapes import Shape, box

QUADRANTS = ((1, 1, 0.0), (0, 1, 90.0), (0, 0, 180.0), (1, 0, 270.0))  # right?, upper?, from degree


def rounded_rectangle(width: float, height: float, radius: float) -> Shape:
    """A rectangle from 0, 0 with rounded corners, the same polygon that a plate of it has.

    A radius over half of a side is taken as half of it.
    """
    r = min(radius, width / 2, height / 2)
    if r <= 0:
        return box(0.0, 0.0, width, height)
    ring = [
        np.array([width - r if right else r, height - r if upper else r]) + r * _arc(start)
        for right, upper, start in QUADRANTS
    ]
    return shapely.Polygon(shapely.linearrings(once(np.vstack(ring))))


def cut_rectangle(width: float, height: float, radius: float) -> Shape:
    """The same with its corners cut off where the arcs begin: it lies inside the rounded one."""
    x, y = width - radius, height - radius
    return shapely.Polygon([
        (radius, 0.0), (x, 0.0), (width, radius), (width, y), (x, height), (radius, height),
        (0.0, y), (0.0, radius),
    ])


@cache
def _arc(start: float) -> Points:
    angles = np.radians(np.linspace(start, start + 90.0, ARC_SEGMENTS + 1))
    return np.column_stack((np.cos(angles), np.sin(angles)))

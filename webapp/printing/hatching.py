"""Parallel lines over a rectangle, for areas that print as hatching."""

from __future__ import annotations

from math import ceil, cos, floor, hypot, radians, sin

Box = tuple[float, float, float, float]


def hatch_lines(box: Box, spacing: float, direction: float) -> list[Box]:
    """Lines (x1, y1, x2, y2) [mm] that cover `box` at `spacing` [mm] and `direction` [degrees].

    They lie on one grid through the origin, so that neighbouring areas hatch alike.
    """
    left, bottom, right, top = box
    ux, uy = cos(radians(direction)), sin(radians(direction))
    across = [-uy * x + ux * y for x in (left, right) for y in (bottom, top)]
    half = hypot(right - left, top - bottom) / 2
    middle = ux * (left + right) / 2 + uy * (bottom + top) / 2
    lines = []
    for step in range(ceil(min(across) / spacing), floor(max(across) / spacing) + 1):
        ox, oy = -uy * step * spacing, ux * step * spacing
        lines.append((ox + (middle - half) * ux, oy + (middle - half) * uy,
                      ox + (middle + half) * ux, oy + (middle + half) * uy))
    return lines

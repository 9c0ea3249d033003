"""Closed outlines as the document holds them: what makes one usable, and simple measures."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

Point = tuple[float, float]
Outline = Sequence[Point]

MIN_AREA_MM2 = 1.0  # the contract's least area of a polygon


def outline_fault(points: Outline) -> str | None:
    """What keeps `points` from being a simple polygon of at least 1 mm2, in words; None if fine."""
    if points[0] == points[-1]:
        return "a polygon that is not closed: leave out the repeated last point"
    shape = shapely.Polygon(points)
    if not shape.is_valid:
        return f"a simple polygon that does not cross or touch itself ({_reason(shape)})"
    if shape.area < MIN_AREA_MM2:
        return f"a polygon of at least {MIN_AREA_MM2:g} mm2 (this one has {shape.area:.3g})"
    return None


def _reason(shape: shapely.Polygon) -> str:
    said = shapely.is_valid_reason(shape)
    words, _, place = said.partition("[")
    where = place.rstrip("]").replace(" ", ", ")
    return f"{words.strip().lower()} at {where}" if where else words.strip().lower()


def holes_fault(outline: Outline, holes: Sequence[Outline]) -> list[tuple[int, str]]:
    """Index and words for every hole that is not inside the outline or meets an earlier one."""
    board = shapely.Polygon(outline)
    shapes = [shapely.Polygon(hole) for hole in holes]
    faults = []
    for index, shape in enumerate(shapes):
        if not board.contains_properly(shape):
            faults.append((index, "a cut-out wholly inside the plate's outline"))
        elif any(shape.intersects(other) for other in shapes[:index]):
            faults.append((index, "a cut-out that keeps clear of the other cut-outs"))
    return faults


def bounds(points: Outline) -> tuple[float, float, float, float]:
    """Least x, least y, greatest x, greatest y."""
    xs = [p[0] for p in points]
    ys = [p[1] for p in points]
    return min(xs), min(ys), max(xs), max(ys)


def simplified(points: Outline, tolerance: float) -> list[Point]:
    """An outline with fewer corners, nowhere farther than a tolerance, mm, from it; for pictures.

    Douglas and Peucker, The Canadian Cartographer 10, 1973; it stays simple.
    """
    plain = shapely.Polygon(points).simplify(tolerance)
    return [(float(x), float(y)) for x, y in shapely.get_coordinates(plain)[:-1]]

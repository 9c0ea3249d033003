"""A section made smaller all round: what lies at least a gap from its wall."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from layout_engine.geometry.shapes import shape_of, vertices

ARC_SEGMENTS = 32  # of a quarter; only inward corners of the section become arcs


def inset_section(
    section: Sequence[tuple[float, float]], gap: float, about: tuple[float, float]
) -> tuple[tuple[float, float], ...] | None:
    """The ground at least `gap` from the wall, the piece that holds or is nearest to `about`.

    Arcs lie outside the true circle by at most 0.03 % of the gap. None where nothing is left.
    """
    left = shapely.buffer(shape_of(section), -gap, quad_segs=ARC_SEGMENTS)
    pieces = [p for p in shapely.get_parts(left) if not p.is_empty]
    if not pieces:
        return None
    spot = shapely.Point(about)
    nearest = min(pieces, key=lambda piece: float(piece.distance(spot)))
    return tuple((float(x), float(y)) for x, y in vertices(nearest))


def nearest_inside(
    section: Sequence[tuple[float, float]], gap: float, point: tuple[float, float]
) -> tuple[float, float]:
    """The point of the ground at least `gap` from the wall that is nearest to a point, mm.

    The point itself where it lies on that ground, or where none is left.
    """
    ground = inset_section(section, gap, point)
    if ground is None:
        return point
    way = shapely.shortest_line(shape_of(ground), shapely.Point(point))
    x, y = shapely.get_coordinates(way)[0]
    return float(x), float(y)


def outset_section(
    section: Sequence[tuple[float, float]], thickness: float
) -> tuple[tuple[float, float], ...]:
    """The outside of a wall round a section, sharp corners kept; for pictures."""
    grown = shapely.buffer(shape_of(section), thickness, join_style="mitre")
    return tuple((float(x), float(y)) for x, y in vertices(grown))


def cuts(section: Sequence[tuple[float, float]], at: float, axis: int) -> list[tuple[float, float]]:
    """The runs of a section on the line where x (axis 0) or y (axis 1) is `at`."""
    met = []
    for a, b in zip(section, (*section[1:], section[0]), strict=True):
        low, high = sorted((a, b), key=lambda p: p[axis])
        if low[axis] <= at < high[axis]:
            share = (at - low[axis]) / (high[axis] - low[axis])
            met.append(low[1 - axis] + share * (high[1 - axis] - low[1 - axis]))
    met.sort()
    return list(zip(met[::2], met[1::2], strict=False))

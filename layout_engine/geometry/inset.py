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

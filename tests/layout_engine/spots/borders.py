"""How far points lie from the border of places, by a reference library."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from layout_engine.geometry.frames import Points
from layout_engine.geometry.free_places import Places


def border_gaps(places: Places, points: Points) -> NDArray[np.float64]:
    """Distance, mm, of points (n, 2) from the border of the places; inf where there is none."""
    if places.is_empty:
        return np.full(len(points), np.inf)
    return np.asarray(shapely.distance(places.area.boundary, shapely.points(points)))

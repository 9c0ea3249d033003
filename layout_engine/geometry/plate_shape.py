"""The plate as a shape: outline with rounded convex corners, cut-outs, true distance to its edge."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import shapely

from layout_engine.geometry.corners import Corner, rounded
from layout_engine.geometry.frames import EPS_MM, Points
from layout_engine.geometry.shapes import MIN_OVERLAP_MM2, Shape, shape_of, vertices

if TYPE_CHECKING:
    from layout_engine.model.plate import Plate

ARC_SEGMENTS = 64  # straight pieces of a quarter circle, for pictures and areas; never a verdict


@dataclass(frozen=True, eq=False)
class PlateShape:
    """Outline and cut-outs of a plate.

    Distances are exact: straight edges by shapely, rounded corners by their circles. Inside the
    wedge of a rounded corner the edge is the arc, and a polygon comes nearest to an arc that it
    lies within at one of its corners.
    """

    outline: Shape
    holes: tuple[Shape, ...]
    corners: tuple[tuple[float, float] | Corner, ...]

    @classmethod
    def of(cls, plate: Plate) -> PlateShape:
        """The shape of a document's plate."""
        outline = shape_of(plate.outline)
        shapely.prepare(outline)
        holes = tuple(shape_of(hole) for hole in plate.holes)
        return cls(outline, holes, tuple(rounded(plate.outline, plate.corner_radius)))

    @cached_property
    def arcs(self) -> tuple[Corner, ...]:
        """The rounded corners."""
        return tuple(c for c in self.corners if isinstance(c, Corner))

    def edge_distance(self, shape: Shape) -> float:
        """Distance, mm, from a polygon to the plate's edge; negative: how far it sticks out."""
        if not self.outline.covers(shape):
            corners = shapely.points(vertices(shape))
            return -float(np.max(shapely.distance(corners, self.outline), initial=EPS_MM))
        straight = float(shapely.distance(self.outline.exterior, shape))
        return min(straight, self._arc_distance(vertices(shape)))

    def hole_distance(self, shape: Shape) -> float:
        """Distance, mm, from a polygon to the nearest cut-out; 0 where it meets one."""
        return min((float(shapely.distance(hole, shape)) for hole in self.holes), default=np.inf)

    def clears(self, shape: Shape, margin: float) -> bool:
        """Whether a polygon lies inside, at least `margin` from edge and cut-outs."""
        if not self.outline.covers(shape):
            return False
        if self.edge_distance(shape) < margin - EPS_MM:
            return False
        meets = any(shapely.intersection(hole, shape).area > MIN_OVERLAP_MM2 for hole in self.holes)
        return not meets and self.hole_distance(shape) >= margin - EPS_MM

    def point_distance(self, x: float, y: float) -> float:
        """Distance, mm, from a point to the edge or a cut-out; negative outside the plate."""
        point = shapely.Point(x, y)
        edge = float(shapely.distance(self.outline.exterior, point))
        if not self.outline.covers(point):
            return -edge
        edge = min(edge, self._arc_distance(np.array([[x, y]])))
        for hole in self.holes:
            to_hole = float(shapely.distance(hole.exterior, point))
            if hole.contains(point):
                return -to_hole
            edge = min(edge, to_hole)
        return edge

    def _arc_distance(self, points: Points) -> float:
        """Least distance of points in the wedges of rounded corners to the arcs, inf if none."""
        least = np.inf
        for arc in self.arcs:
            centre = np.array(arc.centre)
            a, b = np.array(arc.start) - centre, np.array(arc.end) - centre
            v = points - centre
            within = (a[0] * v[:, 1] - a[1] * v[:, 0] >= 0) & (v[:, 0] * b[1] - v[:, 1] * b[0] >= 0)
            if within.any():
                far = float(np.max(np.hypot(v[within, 0], v[within, 1])))
                least = min(least, arc.radius - far)
        return float(least)

    def polygon(self, segments: int = ARC_SEGMENTS) -> Shape:
        """The plate as one polygon, arcs as `segments` pieces a quarter; for pictures and areas."""
        ring: list[tuple[float, float]] = []
        for corner in self.corners:
            ring.extend(_arc_points(corner, segments) if isinstance(corner, Corner) else [corner])
        return shapely.Polygon(ring, [vertices(hole) for hole in self.holes])


def _arc_points(arc: Corner, segments: int) -> list[tuple[float, float]]:
    count = max(2, round(arc.sweep / 90.0 * segments) + 1)
    start = np.arctan2(arc.start[1] - arc.centre[1], arc.start[0] - arc.centre[0])
    angles = start + np.linspace(0.0, np.radians(arc.sweep), count)
    xs = arc.centre[0] + arc.radius * np.cos(angles)
    ys = arc.centre[1] + arc.radius * np.sin(angles)
    return list(zip(xs.tolist(), ys.tolist(), strict=True))

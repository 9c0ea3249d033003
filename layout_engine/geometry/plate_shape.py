"""The plate as a shape: rounded convex corners, cut-outs, true distance to its edge."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import shapely
from numpy.typing import NDArray

from layout_engine.geometry.corners import Corner, rounded
from layout_engine.geometry.frames import EPS_MM, Points
from layout_engine.geometry.shapes import MIN_OVERLAP_MM2, Shape, Shapes, shape_of, vertices

if TYPE_CHECKING:
    from layout_engine.model.plate import Plate

Distances = NDArray[np.float64]
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

    @cached_property
    def _edge(self) -> shapely.LinearRing:
        return self.outline.exterior

    def edge_distance(self, shape: Shape) -> float:
        """Distance, mm, from a polygon to the plate's edge; negative: how far it sticks out."""
        return float(self.edge_distances(np.array([shape], dtype=object))[0])

    def edge_distances(self, shapes: Shapes) -> Distances:
        """The same for many polygons at once."""
        corners, owner = shapely.get_coordinates(shapes, return_index=True)
        first = np.searchsorted(owner, np.arange(len(shapes)))
        arcs = np.minimum.reduceat(self._arc_distances(corners), first)
        distances = np.minimum(np.asarray(shapely.distance(self._edge, shapes)), arcs)
        for index in np.flatnonzero(~shapely.covers(self.outline, shapes)):
            out = shapely.distance(shapely.points(corners[owner == index]), self.outline)
            distances[index] = -float(np.max(out, initial=EPS_MM))
        return distances

    def hole_distance(self, shape: Shape) -> float:
        """Distance, mm, from a polygon to the nearest cut-out; 0 where it meets one."""
        return min((float(shapely.distance(hole, shape)) for hole in self.holes), default=np.inf)

    def clears_holes(self, shape: Shape, margin: float) -> bool:
        """Whether a polygon keeps `margin` from all cut-outs."""
        if not self.holes:
            return True
        meets = any(shapely.intersection(hole, shape).area > MIN_OVERLAP_MM2 for hole in self.holes)
        return not meets and self.hole_distance(shape) >= margin - EPS_MM

    def over_holes(self, shape: Shape) -> float:
        """How far, mm, a polygon reaches over a cut-out; 0 where it lies over none.

        The lesser of width and height of the ground that it shares with a cut-out, along the
        plate's axes; of several cut-outs the most.
        """
        most = 0.0
        for hole in self.holes:
            shared = shapely.intersection(hole, shape, grid_size=EPS_MM)
            if shared.area > MIN_OVERLAP_MM2:
                x0, y0, x1, y1 = shared.bounds
                most = max(most, min(x1 - x0, y1 - y0))
        return most

    def point_distances(self, points: Points) -> Distances:
        """Distance, mm, from points, shape (n, 2), to edge or cut-outs; negative off the plate."""
        spots = np.asarray(shapely.points(points))
        edge = np.asarray(shapely.distance(self._edge, spots))
        arc = self._arc_distances(points)
        distances = np.where(shapely.covers(self.outline, spots), np.minimum(edge, arc), -edge)
        for hole in self.holes:
            away = np.asarray(shapely.distance(hole.exterior, spots))
            away = np.where(shapely.contains(hole, spots), -away, away)
            distances = np.minimum(distances, away)
        return distances

    def _arc_distances(self, points: Points) -> Distances:
        """Distance of each point to the arc in whose wedge it lies, inf where it lies in none."""
        if not self.arcs:
            return np.full(len(points), np.inf)
        centres, starts, ends, radii = self._wedges
        v = points[:, None, :] - centres
        after_start = starts[:, 0] * v[..., 1] - starts[:, 1] * v[..., 0] >= 0
        before_end = v[..., 0] * ends[:, 1] - v[..., 1] * ends[:, 0] >= 0
        to_arc = np.where(after_start & before_end, radii - np.hypot(v[..., 0], v[..., 1]), np.inf)
        least: Distances = np.min(to_arc, axis=1)
        return least

    @cached_property
    def _wedges(self) -> tuple[Points, Points, Points, Distances]:
        """Centres, their arms to the arcs' starts and ends, and radii of the rounded corners."""
        centres = np.array([arc.centre for arc in self.arcs])
        starts = np.array([arc.start for arc in self.arcs]) - centres
        ends = np.array([arc.end for arc in self.arcs]) - centres
        return centres, starts, ends, np.array([arc.radius for arc in self.arcs])

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

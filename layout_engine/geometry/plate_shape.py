"""The plate as a shape: rounded convex corners, cut-outs, true distance to its edge."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from numpy.typing import NDArray

from layout_engine.geometry.corners import Corner, rounded
from layout_engine.geometry.frames import EPS_MM, Points
from layout_engine.geometry.shapes import (
    MIN_OVERLAP_MM2,
    Ground,
    Shape,
    Shapes,
    gap,
    has_many,
    overlaps,
    shape_of,
    shared_box,
)
from layout_engine.once import cached_property

if TYPE_CHECKING:
    from layout_engine.model.plate import Plate

Distances = NDArray[np.float64]
FEW_PAIRS = 100_000  # points times rounded corners that are simply all looked at
NOTCH_MM = 0.5  # between points of which it is asked how far they are off the outline
GROWN = np.array([-EPS_MM, -EPS_MM, EPS_MM, EPS_MM])[:, None]
FEWEST, MOST_PIECES = 4, 4096  # pieces a quarter, and of a plate of very many rounded corners
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
        edge = self.outline.exterior
        shapely.prepare(edge)
        return edge

    @cached_property
    def _cut_outs(self) -> Ground:
        return Ground(self.holes)

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
            out = [corners[owner == index], self._over_notches(shapes[index])]
            away = shapely.distance(self.outline, shapely.points(np.vstack(out)))
            distances[index] = -float(np.max(away, initial=EPS_MM))
        return distances

    def _over_notches(self, shape: Shape) -> Points:
        """Points, shape (n, 2), round what of a polygon lies off the outline between its corners.

        None over a convex outline, off which a corner lies farthest, and for very many corners.
        """
        if self._is_convex or has_many(shape, self.outline):
            return np.empty((0, 2))
        off = shapely.difference(shape, self.outline, grid_size=EPS_MM)
        return shapely.get_coordinates(shapely.segmentize(off, NOTCH_MM))

    @cached_property
    def _is_convex(self) -> bool:
        return bool(self.outline.convex_hull.area - self.outline.area <= MIN_OVERLAP_MM2)

    def hole_distance(self, shape: Shape) -> float:
        """Distance, mm, from a polygon to the nearest cut-out; 0 where it meets one."""
        return min((gap(hole, shape) for hole in self.holes), default=np.inf)

    def clears_holes(self, shape: Shape, margin: float) -> bool:
        """Whether a polygon keeps `margin` from all cut-outs."""
        if not self.holes:
            return True
        near = [self.holes[i] for i in self._cut_outs.near(shape, max(margin, EPS_MM)).tolist()]
        if any(overlaps(hole, shape) for hole in near):
            return False
        return all(gap(hole, shape) >= margin - EPS_MM for hole in near)

    def over_holes(self, shape: Shape) -> float:
        """How far, mm, a polygon reaches over a cut-out; 0 where it lies over none.

        The lesser of width and height of the ground that it shares with a cut-out, along the
        plate's axes; of several cut-outs the most.
        """
        most = 0.0
        for index in self._cut_outs.met_by(shape).tolist():
            hole = self.holes[index]
            if has_many(hole, shape):
                x0, y0, x1, y1 = shared_box(hole, shape)
                most = max(most, min(x1 - x0, y1 - y0)) if overlaps(hole, shape) else most
                continue
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
        if len(points) * len(radii) <= FEW_PAIRS:
            away = _to_arc(points[:, None, :] - centres, starts, ends, radii)
            nearest: Distances = away.min(axis=1)
            return nearest
        least = np.full(len(points), np.inf)
        spots, arcs = self._in_corners(points)
        v = points[spots] - centres[arcs]
        np.minimum.at(least, spots, _to_arc(v, starts[arcs], ends[arcs], radii[arcs]))
        return least

    def _in_corners(self, points: Points) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Pairs (point, rounded corner) that may have to do with each other."""
        x, y = points.T
        order = np.argsort(x, kind="stable")
        across = x[order]
        x0, y0, x1, y1 = self._corner_boxes.T + GROWN
        first, after = np.searchsorted(across, x0), np.searchsorted(across, x1, side="right")
        reached = (after > first) & (y1 >= y.min()) & (y0 <= y.max())
        found = [np.empty((2, 0), dtype=np.intp)]
        for arc in np.flatnonzero(reached).tolist():
            run = order[first[arc]: after[arc]]
            run = run[(y[run] >= y0[arc]) & (y[run] <= y1[arc])]
            found.append(np.stack((run, np.full(len(run), arc))))
        spots, arcs = np.hstack(found)
        return spots, arcs

    @cached_property
    def _corner_boxes(self) -> NDArray[np.float64]:
        """Bounds of what lies between each arc, its centre and the corner that it rounds."""
        centres, starts, ends, radii = self._wedges
        between = starts + ends
        between *= (2 * radii**2 / np.maximum(np.sum(between**2, axis=1), EPS_MM))[:, None]
        points = np.stack((centres, centres + starts, centres + ends, centres + between))
        return np.hstack((points.min(axis=0), points.max(axis=0)))

    @cached_property
    def _wedges(self) -> tuple[Points, Points, Points, Distances]:
        """Centres, their arms to the arcs' starts and ends, and radii of the rounded corners."""
        centres = np.array([arc.centre for arc in self.arcs])
        starts = np.array([arc.start for arc in self.arcs]) - centres
        ends = np.array([arc.end for arc in self.arcs]) - centres
        return centres, starts, ends, np.array([arc.radius for arc in self.arcs])

    def polygon(self, segments: int | None = None) -> Shape:
        """The plate as one polygon, arcs as `segments` pieces a quarter; for pictures and areas.

        Corners are left sharp where rounding one would cut into another part of the outline.
        """
        if segments is None:
            segments = min(ARC_SEGMENTS, max(FEWEST, MOST_PIECES // max(1, len(self.arcs))))
        ring: list[tuple[float, float]] = []
        for corner in self.corners:
            ring.extend(_arc_points(corner, segments) if isinstance(corner, Corner) else [corner])
        shell = shapely.Polygon(once(np.array(ring)))
        whole = shapely.Polygon(shell.exterior, [hole.exterior for hole in self.holes])
        return whole if whole.is_valid else _cut(shell if shell.is_valid else self.outline,
                                                 self.holes)


def _cut(shell: Shape, holes: Sequence[Shape]) -> Shape:
    """The largest piece that holes leave of a shell, also such as reach over a rounded corner."""
    taken = shapely.union_all(holes, grid_size=EPS_MM)
    pieces = shapely.get_parts(shapely.difference(shell, taken, grid_size=EPS_MM))
    return max((piece for piece in pieces if isinstance(piece, Shape)), key=lambda p: float(p.area))


def once(ring: Points) -> Points:
    """A ring, shape (n, 2), without points that repeat the one before them.

    Where two arcs meet, the end of the one and the start of the other may differ by a rounding,
    and a polygon through both may cross itself.
    """
    apart: Points = ring[np.hypot(*(ring - np.roll(ring, 1, axis=0)).T) > EPS_MM]
    return apart


def _to_arc(v: Points, start: Points, end: Points, radius: Distances) -> Distances:
    """Distance to arcs of points in their corners, inf of all others.

    v: from the arcs' centres, shape (..., 2); start, end: from there to the arcs' ends.
    """
    x, y = v[..., 0], v[..., 1]
    (sx, sy), (ex, ey) = start.T, end.T
    over = radius * radius + EPS_MM  # of the edges that the corner lies between
    inside = (sx * y - sy * x >= 0) & (x * ey - y * ex >= 0)
    inside &= (x * sx + y * sy <= over) & (x * ex + y * ey <= over)
    return np.where(inside, radius - np.hypot(x, y), np.inf)


def _arc_points(arc: Corner, segments: int) -> list[tuple[float, float]]:
    count = max(2, round(arc.sweep / 90.0 * segments) + 1)
    start = np.arctan2(arc.start[1] - arc.centre[1], arc.start[0] - arc.centre[0])
    angles = start + np.linspace(0.0, np.radians(arc.sweep), count)
    xs = arc.centre[0] + arc.radius * np.cos(angles)
    ys = arc.centre[1] + arc.radius * np.sin(angles)
    return list(zip(xs.tolist(), ys.tolist(), strict=True))

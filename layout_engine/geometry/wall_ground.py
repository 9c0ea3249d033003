"""Ground of the plate over which a height, or a distance from the skin, is free of the wall.

Round bodies and boxes are convex, so their ground is one convex polygon: straight for boxes and
cylinders, a piece of a hyperbola over an upright plate in a taper (a cone cut by a plane along
its axis: hypot(x, k) <= R(z)), a disc over a flat plate. Curves are cut along chords that lie at
most 0.006 mm within. Sections of free form give ground and bars, in which there is no room.
"""

from __future__ import annotations

from itertools import pairwise
from math import acosh, atan2, ceil, cos, cosh, hypot, pi, sinh, sqrt

import numpy as np
import shapely

from layout_engine.geometry.arrange_support import hull_and_gaps
from layout_engine.geometry.cavity import Cavity
from layout_engine.geometry.frames import EPS_MM, Points
from layout_engine.geometry.free_places import CHORD_MM
from layout_engine.geometry.shapes import MIN_OVERLAP_MM2, shape_of, vertices

Ground = tuple[Points | None, list[Points]]
NONE: Ground = (None, [])
Span = tuple[float, float]


def wall_ground(cavity: Cavity, face: str, height: float) -> Ground:
    """Where a height, mm, over a face is free of the wall: convex ground, and bars in it.

    The ground is None where there is none. Obstructions are left out.
    """
    body, frame = cavity.body, cavity.frame
    if body.shape == "free":
        return _free_ground(cavity, face, height)
    half = frame.thickness / 2
    if frame.stands == "flat":
        start = frame.base + (half if face == "front" else -half)
        end = start + height if face == "front" else start - height
        if min(start, end) < -EPS_MM or max(start, end) > body.height + EPS_MM:
            return NONE
        return _flat_ground(cavity, (start, end), 0.0), []
    out = -frame.offset if face == "front" else frame.offset  # of the mid-plane, away from the wall
    reach = max(out + half + height, -out - half)
    return _upright_ground(cavity, reach, 0.0, (0.0, body.height)), []


def skin_ground(cavity: Cavity, w: float, distance: float) -> Ground:
    """Where a point at `w` from the mid-plane keeps a distance, mm, from the body's skin."""
    body, frame = cavity.body, cavity.frame
    top = body.height - (0.0 if body.opening.in_ == "top" else distance)
    if frame.stands == "flat":
        level = frame.base + w
        if not distance - EPS_MM <= level <= top + EPS_MM:
            return NONE
        if body.shape == "free":
            return _free_plan(cavity, distance)
        return _flat_ground(cavity, (level, level), distance), []
    if body.shape == "free":
        return _free_upright(cavity, frame.offset - w, distance, (distance, top))
    return _upright_ground(cavity, abs(frame.offset - w), distance, (distance, top)), []


def _flat_ground(cavity: Cavity, levels: Span, inset: float) -> Points | None:
    body, frame = cavity.body, cavity.frame
    middle = np.array([frame.width / 2 - frame.shift, frame.height / 2 - frame.offset])
    if body.shape == "box":
        return _box(middle, body.width / 2 - inset, body.depth / 2 - inset)
    least = min(float(r) for r in cavity.radius_at(np.array(levels))) - inset / _lean(cavity)
    if least <= 0:
        return None
    count = max(8, ceil(pi / sqrt(2 * CHORD_MM / least)))
    turns = np.linspace(0.0, 2 * pi, count, endpoint=False)
    disc: Points = middle + least * np.column_stack((np.cos(turns), np.sin(turns)))
    return disc


def _box(middle: Points, half_x: float, half_y: float) -> Points | None:
    if min(half_x, half_y) <= 0:
        return None
    corners: Points = middle + np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * [half_x, half_y]
    return corners


def _upright_ground(cavity: Cavity, reach: float, inset: float, levels: Span) -> Points | None:
    """Ground whose points are inside the wall at `reach` mm across the plate."""
    body, frame = cavity.body, cavity.frame
    low, high = levels
    if high - low <= 0:
        return None
    if body.shape == "box":
        if reach > body.depth / 2 - inset + EPS_MM or body.width / 2 - inset <= 0:
            return None
        wide = body.width / 2 - inset
        right = np.array([(wide, low), (wide, high)])
    else:
        found = _bulge(cavity, max(reach, 0.0), inset / _lean(cavity), levels)
        if found is None:
            return None
        right = found
    left = right[::-1] * [-1.0, 1.0]
    ring: Points = np.vstack((right, left)) + np.array([frame.width / 2 - frame.shift, -frame.base])
    return ring


def _bulge(cavity: Cavity, k: float, inset: float, levels: Span) -> Points | None:
    """Right border (x, z), z growing, of hypot(x, k) <= R(z) - inset between two levels."""
    radii = cavity.radius_at(np.array(levels)) - inset
    (z0, z1), (r0, r1) = levels, (float(radii[0]), float(radii[1]))
    if max(r0, r1) <= k:
        return None
    slope = (r1 - r0) / (z1 - z0)
    if abs(slope) * (z1 - z0) < EPS_MM / 10 or k < EPS_MM:
        return _straight(k, (z0, r0), (z1, r1))
    first, last = (acosh(max(r / k, 1.0)) for r in (r0, r1))
    small = min(first, last)
    bend = k / abs(slope) / hypot(cosh(small), sinh(small) / slope)
    count = max(2, ceil(abs(last - first) / sqrt(8 * CHORD_MM / bend)) + 1)
    u = np.linspace(first, last, count)
    z = z0 + (k * np.cosh(u) - r0) / slope
    return np.column_stack((k * np.sinh(u), np.clip(z, z0, z1)))


def _straight(k: float, low: Span, high: Span) -> Points | None:
    """The border where it is straight: of a cylinder, or through the axis of a taper."""
    (z0, r0), (z1, r1) = low, high
    if min(r0, r1) < k:  # only through the axis: the cone's tip lies between
        z = z0 + (k - r0) / (r1 - r0) * (z1 - z0)
        (z0, r0), (z1, r1) = ((z, k), high) if r0 < k else (low, (z, k))
    return np.array([(sqrt(max(r0 * r0 - k * k, 0.0)), z0), (sqrt(max(r1 * r1 - k * k, 0.0)), z1)])


def _lean(cavity: Cavity) -> float:
    """Cosine of the wall's angle to the axis; 1 for boxes."""
    body = cavity.body
    if body.shape != "round":
        return 1.0
    return cos(atan2((body.diameter - body.top) / 2, body.height))


def _free_plan(cavity: Cavity, distance: float) -> Ground:
    """Over a flat plate: the section made smaller, its hull and what the hull has too much."""
    assert cavity.section is not None
    frame = cavity.frame
    left = shapely.buffer(cavity.section, -distance, quad_segs=64)
    pieces = [vertices(p) for p in shapely.get_parts(left) if not p.is_empty]
    if not pieces:
        return NONE
    to_plate = np.array([frame.width / 2 - frame.shift, frame.height / 2 - frame.offset])
    if len(pieces) == 1:
        return hull_and_gaps(shape_of(pieces[0] + to_plate))
    hull = shapely.convex_hull(left)
    gaps = shapely.difference(hull, left, grid_size=EPS_MM)
    bars = [vertices(t) + to_plate
            for t in shapely.get_parts(shapely.constrained_delaunay_triangles(gaps))]
    assert isinstance(hull, shapely.Polygon)
    return vertices(hull) + to_plate, bars


def _free_upright(cavity: Cavity, by: float, distance: float, levels: Span) -> Ground:
    """Over an upright plate: the runs of the section's line at body y, with bars between."""
    assert cavity.section is not None
    frame, (low, high) = cavity.frame, levels
    x0, _, x1, _ = cavity.section.bounds
    line = shapely.LineString([(x0 - 1, by), (x1 + 1, by)])
    inner = shapely.buffer(cavity.section, -distance, quad_segs=64)
    runs = sorted(
        (piece.bounds[0], piece.bounds[2])
        for piece in shapely.get_parts(shapely.intersection(inner, line)) if piece.length > 0
    )
    if not runs or high <= low:
        return NONE
    to_plate = frame.width / 2 - frame.shift

    def upright(a: float, b: float) -> Points:
        corners = np.array([(a, low), (b, low), (b, high), (a, high)])
        ring: Points = corners + np.array([to_plate, -frame.base])
        return ring

    bars = [upright(a[1], b[0]) for a, b in pairwise(runs)]
    return upright(runs[0][0], runs[-1][1]), bars


def _free_ground(cavity: Cavity, face: str, height: float) -> Ground:
    """Over a plate in a section of free form: the section itself, or the runs beside its wall."""
    section, frame = cavity.section, cavity.frame
    assert section is not None
    if frame.stands == "flat":
        to_plate = np.array([frame.width / 2 - frame.shift, frame.height / 2 - frame.offset])
        ground, pockets = hull_and_gaps(shape_of(vertices(section) + to_plate))
        top = cavity.body.height - frame.base if face == "front" else frame.base
        return (ground if top - frame.thickness / 2 >= height else None), pockets
    out = -1.0 if face == "front" else 1.0
    start = frame.offset + out * frame.thickness / 2
    x0, _, x1, _ = section.bounds
    low, high = sorted((start, start + out * height))
    wall = shapely.difference(shapely.box(x0, low, x1, high), section, grid_size=EPS_MM)
    to_plate_x = frame.width / 2 - frame.shift
    levels = -frame.base, cavity.body.height - frame.base

    def upright(a: float, b: float) -> Points:
        return vertices(shapely.box(a + to_plate_x, levels[0], b + to_plate_x, levels[1]))

    return upright(x0, x1), [
        upright(piece.bounds[0], piece.bounds[2]) for piece in shapely.get_parts(wall)
        if piece.area > MIN_OVERLAP_MM2
    ]

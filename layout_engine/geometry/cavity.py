"""The cavity of the body round the plate: what fits in it, and how much height is free where.

Round bodies (straight or tapered) and boxes are convex: a prism lies inside when its corners do,
so the FAR TOP CORNER of a part decides. A free section is tested as the rectangle or polygon that
the prism covers in it. Obstructions are boxes along the body's axes.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, cos, hypot, inf
from typing import TYPE_CHECKING

import numpy as np
import shapely
from numpy.typing import NDArray

from layout_engine.geometry.frames import EPS_MM, BodyFrame, Points
from layout_engine.geometry.shapes import Shape, Shapes, box, overlaps, shape_of, vertices
from layout_engine.once import cached_property

if TYPE_CHECKING:
    from layout_engine.model.body import Body, Obstruction
    from layout_engine.model.plate import Plate

Heights = NDArray[np.float64]
NO_ROOM = -inf


@dataclass(frozen=True, slots=True)
class Block:
    """An obstruction in the plate's frame: the rectangle it covers and its range of w."""

    label: str
    shape: Shape
    w: tuple[float, float]


@dataclass(frozen=True, eq=False)
class Cavity:
    """The inside of a body seen from the plate that stands in it."""

    body: Body
    frame: BodyFrame

    @classmethod
    def of(cls, body: Body, plate: Plate) -> Cavity:
        """The cavity of a document's body round its plate."""
        return cls(body, BodyFrame.of(plate))

    @cached_property
    def section(self) -> Shape | None:
        """The section of a body of one section (box, free) in body x, y; None for round bodies."""
        if self.body.shape == "round":
            return None
        if self.body.shape == "box":
            half_x, half_y = self.body.width / 2, self.body.depth / 2
            return box(-half_x, -half_y, half_x, half_y)
        return shape_of(self.body.section)

    @cached_property
    def _grown_section(self) -> Shape:
        """The section and a hair round it, ready for many questions."""
        assert self.section is not None
        grown = self.section.buffer(EPS_MM)
        shapely.prepare([grown, self.section])
        return grown

    @cached_property
    def blocks(self) -> tuple[Block, ...]:
        """The obstructions in the plate's frame."""
        return tuple(_block(o, i, self.frame) for i, o in enumerate(self.body.obstructions))

    def radius_at(self, z: float | Heights) -> Heights:
        """Inner radius of a round body at height z over the floor, mm."""
        assert self.body.shape == "round"
        low, high = self.body.diameter / 2, self.body.top / 2
        return np.asarray(low + (high - low) * np.asarray(z, dtype=float) / self.body.height)

    def free_height(self, x: float, y: float, face: str) -> float:
        """Free height, mm, over one point of a face up to wall or obstruction; 0 if none."""
        point = np.array([[x, y]])
        height = float(self._wall_heights(point, face)[0])
        spot = shapely.Point(x, y)
        for block in self.blocks:
            if block.shape.covers(spot):
                height = min(height, self._block_height(block, face))
        return max(0.0, height)

    def height_over(self, shape: Shape, face: str) -> float:
        """Greatest height, mm, that a prism on this outline may have; -inf where none may stand.

        Negative where the wall comes through the plate itself.
        """
        return float(self.heights_over(np.array([shape], dtype=object), face)[0])

    def heights_over(self, shapes: Shapes, face: str) -> Heights:
        """`height_over` of many outlines at once."""
        if len(shapes) == 0:
            return np.empty(0)
        heights = self.wall_heights(shapes, face)
        for block in self.blocks:
            over = self._block_height(block, face)
            for index in np.flatnonzero(shapely.intersects(block.shape, shapes)):
                if overlaps(block.shape, shapes[index]):
                    heights[index] = min(heights[index], over)
        return heights

    def wall_heights(self, shapes: Shapes, face: str) -> Heights:
        """`wall_height` of many outlines at once."""
        if len(shapes) == 0:
            return np.empty(0)
        if self.body.shape == "free":
            return np.array([self._free_section_height(shape, face) for shape in shapes])
        corners, owner = shapely.get_coordinates(shapes, return_index=True)
        first = np.searchsorted(owner, np.arange(len(shapes)))
        least: Heights = np.minimum.reduceat(self._wall_heights(corners, face), first)
        return least

    def wall_height(self, shape: Shape, face: str) -> float:
        """Greatest height, mm, up to the wall only."""
        return float(self.wall_heights(np.array([shape], dtype=object), face)[0])

    def plate_fits(self, shape: Shape) -> bool:
        """Whether a bare plate of this outline, at its place, lies inside wall, floor and roof."""
        if self.body.shape == "free" and self.frame.stands == "upright":
            return self._slab_fits(shape)
        return min(self.wall_height(shape, face) for face in ("front", "back")) >= -EPS_MM

    def _slab_fits(self, shape: Shape) -> bool:
        assert self.section is not None
        f, (x0, y0, x1, y1) = self.frame, shape.bounds
        if f.base + y0 < -EPS_MM or f.base + y1 > self.body.height + EPS_MM:
            return False
        left, half = f.shift - f.width / 2, f.thickness / 2
        slab = box(left + x0, f.offset - half, left + x1, f.offset + half)
        return bool(self._grown_section.covers(slab))

    def obstruction_in(self, shape: Shape, w: tuple[float, float]) -> str | None:
        """The label of an obstruction that a prism between two distances w meets, else None."""
        for block in self.blocks:
            low, high = max(block.w[0], w[0]), min(block.w[1], w[1])
            if high - low > EPS_MM and overlaps(block.shape, shape):
                return block.label
        return None

    def wall_distance(self, bx: float, by: float, bz: float) -> float:
        """Distance, mm, from a body point inside to the nearest side wall, floor or roof.

        A roof that is open (opening in the top) does not count. Round bodies: radial gap times
        the cosine of the wall's angle.
        """
        ends = [bz] if self.body.opening.in_ == "top" else [bz, self.body.height - bz]
        if self.body.shape != "round":
            assert self.section is not None
            side = float(shapely.distance(self.section.exterior, shapely.Point(bx, by)))
            return max(0.0, min(side, *ends))
        lean = atan2((self.body.diameter - self.body.top) / 2, self.body.height)
        radial = float(self.radius_at(bz)) - hypot(bx, by)
        return max(0.0, min(radial * cos(lean), *ends))

    def _wall_heights(self, points: Points, face: str) -> Heights:
        """Free height over each point of a face up to the wall, -inf outside the body."""
        f = self.frame
        bx = f.shift + points[:, 0] - f.width / 2
        if f.stands == "upright":
            return self._upright_heights(bx, f.base + points[:, 1], face)
        return self._flat_heights(bx, f.offset + points[:, 1] - f.height / 2, face)

    def _upright_heights(self, bx: Heights, bz: Heights, face: str) -> Heights:
        outside = (bz < -EPS_MM) | (bz > self.body.height + EPS_MM)
        near, far = self._reach_in_y(bx, np.clip(bz, 0.0, self.body.height))
        middle, half = self.frame.offset, self.frame.thickness / 2
        if face == "front":
            heights, outside = middle - near - half, outside | (middle - half > far + EPS_MM)
        else:
            heights, outside = far - middle - half, outside | (middle + half < near - EPS_MM)
        return np.where(outside, NO_ROOM, heights)

    def _reach_in_y(self, bx: Heights, bz: Heights) -> tuple[Heights, Heights]:
        """Least and greatest body y inside the wall at each x, z; (inf, -inf) where outside."""
        if self.body.shape == "round":
            square = self.radius_at(bz) ** 2 - bx**2
            reach = np.sqrt(np.maximum(square, 0.0))
            outside = square < -EPS_MM
            return np.where(outside, inf, -reach), np.where(outside, -inf, reach)
        if self.body.shape == "box":
            half = self.body.depth / 2
            outside = np.abs(bx) > self.body.width / 2 + EPS_MM
            return np.where(outside, inf, -half), np.where(outside, -inf, half)
        spans = [self._section_span(float(x)) for x in bx]
        return np.array([s[0] for s in spans]), np.array([s[1] for s in spans])

    def _section_span(self, bx: float) -> tuple[float, float]:
        """The run of body y inside a free section at x that holds the plate's mid-plane."""
        assert self.section is not None
        _, y0, _, y1 = self.section.bounds
        line = shapely.LineString([(bx, y0 - 1), (bx, y1 + 1)])
        for piece in shapely.get_parts(shapely.intersection(self.section, line)):
            _, low, _, high = piece.bounds
            if low - EPS_MM <= self.frame.offset <= high + EPS_MM:
                return low, high
        return inf, -inf

    def _flat_heights(self, bx: Heights, by: Heights, face: str) -> Heights:
        f, height = self.frame, self.body.height
        top, floor = np.full(len(bx), height), np.zeros(len(bx))
        if self.body.shape == "round":
            top, floor = self._cone_span(np.hypot(bx, by))
        else:
            assert self.section is not None
            outside = ~shapely.dwithin(self.section, shapely.points(bx, by), EPS_MM)
            top, floor = np.where(outside, -inf, top), np.where(outside, inf, floor)
        start = f.level(face, 0.0) + f.base
        if face == "front":
            return np.where(start < floor - EPS_MM, NO_ROOM, top - start)
        return np.where(start > top + EPS_MM, NO_ROOM, start - floor)

    def _cone_span(self, radius: Heights) -> tuple[Heights, Heights]:
        """Greatest and least z at which a round body is at least as wide as `radius`."""
        assert self.body.shape == "round"
        low, high, height = self.body.diameter / 2, self.body.top / 2, self.body.height
        top, floor = np.full(len(radius), height), np.zeros(len(radius))
        if low != high:
            z = (radius - low) / (high - low) * height
            if high < low:
                top = np.minimum(top, z)
            else:
                floor = np.maximum(floor, z)
        too_wide = radius > max(low, high) + EPS_MM
        return np.where(too_wide, -inf, top), np.where(too_wide, inf, floor)

    def _free_section_height(self, shape: Shape, face: str) -> float:
        """Height to the wall of a free section: of the whole outline, not of its corners only."""
        f = self.frame
        assert self.section is not None
        if f.stands == "flat":
            shift = np.array([f.shift - f.width / 2, f.offset - f.height / 2])
            plan = shape_of(vertices(shape) + shift)
            if not self._grown_section.covers(plan):
                return NO_ROOM
            x, y = vertices(plan)[:1].T
            return float(self._flat_heights(x, y, face)[0])
        x0, y0, x1, y1 = shape.bounds
        if f.base + y0 < -EPS_MM or f.base + y1 > self.body.height + EPS_MM:
            return NO_ROOM
        return self._strip_height(f.shift + x0 - f.width / 2, f.shift + x1 - f.width / 2, face)

    def _strip_height(self, x0: float, x1: float, face: str) -> float:
        """Depth of the free section over the whole run of body x from x0 to x1."""
        assert self.section is not None
        _, y0, _, y1 = self.section.bounds
        middle, half = self.frame.offset, self.frame.thickness / 2
        start = middle - half if face == "front" else middle + half
        end = min(y0 - 1, start - 1) if face == "front" else max(y1 + 1, start + 1)
        column = box(x0 + EPS_MM, min(start, end), x1 - EPS_MM, max(start, end))
        if column.area <= 0:
            return NO_ROOM
        wall = shapely.difference(column, self.section, grid_size=EPS_MM)
        ys = shapely.get_coordinates(wall)[:, 1]
        return float(np.min(np.abs(ys - start))) if len(ys) else abs(end - start)

    def _block_height(self, block: Block, face: str) -> float:
        """Free height up to an obstruction over its rectangle."""
        half = self.frame.thickness / 2
        low, high = block.w if face == "front" else (-block.w[1], -block.w[0])
        if high <= half + EPS_MM:
            return inf
        return max(low - half, 0.0)


def _block(obstruction: Obstruction, index: int, frame: BodyFrame) -> Block:
    x0, y0, w0 = frame.from_body(obstruction.x[0], obstruction.y[0], obstruction.z[0])
    x1, y1, w1 = frame.from_body(obstruction.x[1], obstruction.y[1], obstruction.z[1])
    label = obstruction.label or f"obstruction {index + 1}"
    shape = box(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))
    return Block(label, shape, (min(w0, w1), max(w0, w1)))

"""Metal round an antenna: distance in three dimensions, and the share of rays it shadows."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil, floor, inf, sqrt
from typing import TYPE_CHECKING

import numpy as np
import shapely
from numpy.typing import NDArray

from layout_engine.geometry.cavity import Cavity
from layout_engine.geometry.frames import EPS_MM, BodyFrame, Points
from layout_engine.geometry.shapes import Shape, bounds_of, extent, prepared

if TYPE_CHECKING:
    from layout_engine.model.body import Opening

SAME_RAY = 1e-9  # degrees by which a ray may miss a corner that it touches
PLATE = "the plate"  # among ids of parts, which have no spaces
FAR_MM = 1e9  # farther than any body reaches
RAYS = 360  # the contract: horizontal rays at antenna height


@dataclass(frozen=True, eq=False)
class Metal:
    """A metal prism: owner (a part's id, or `PLATE`), outline in plate x, y, range of w, mm."""

    owner: str
    shape: Shape
    w: tuple[float, float]

    def level_section(self, frame: BodyFrame, z: float) -> list[Shape]:
        """Where it cuts the horizontal plane at body z, as polygons in body x, y.

        None where it misses the plane, which may be by less than `EPS_MM`.
        """
        if frame.stands == "flat":
            shift = np.array([frame.shift - frame.width / 2, frame.offset - frame.height / 2])
            return [shapely.transform(self.shape, lambda p: p + shift)]
        x0, _, x1, _ = extent(self.shape)
        level = shapely.LineString([(x0 - 1, z - frame.base), (x1 + 1, z - frame.base)])
        sections = []
        for piece in shapely.get_parts(shapely.intersection(self.shape, level)):
            if piece.is_empty:
                continue
            left, _, right, _ = piece.bounds
            ax, ay, _ = frame.to_body(left, 0.0, self.w[1])
            bx, by, _ = frame.to_body(right, 0.0, self.w[0])
            sections.append(shapely.box(ax, ay, bx, by))
        return sections


class AllMetal:
    """All metal of a board, ready for questions about points."""

    def __init__(self, pieces: Sequence[Metal], frame: BodyFrame) -> None:
        self.pieces = tuple(pieces)
        self.frame = frame
        self.owners = np.array([piece.owner for piece in pieces], dtype=object)
        self._shapes = prepared([piece.shape for piece in pieces])
        self._w = np.array([piece.w for piece in pieces]).reshape(-1, 2)
        top = self._w[:, 1] if frame.stands == "flat" else bounds_of(self._shapes)[:, 3]
        self._tops = frame.base + top

    def highest(self, but: str) -> tuple[float, str] | None:
        """Body z, mm, of the highest point of metal that is not one part's, and whose it is."""
        others = np.flatnonzero(self.owners != but)
        if not len(others):
            return None
        first = others[int(np.argmax(self._tops[others]))]
        return float(self._tops[first]), str(self.owners[first])

    def nearest(self, x: float, y: float, w: float, but: str) -> tuple[float, str] | None:
        """Distance, mm, from plate x, y, w to metal that is not one part's, and whose it is."""
        others = np.flatnonzero(self.owners != but)
        if not len(others):
            return None
        away = np.asarray(shapely.distance(shapely.Point(x, y), self._shapes[others]))
        deep = np.maximum(np.maximum(self._w[others, 0] - w, w - self._w[others, 1]), 0.0)
        space = np.hypot(away, deep)
        first = int(np.argmin(space))
        return float(space[first]), str(self.owners[others[first]])

    def sections(self, z: float, but: str) -> Iterator[Shape]:
        """Where metal that is not one part's cuts the horizontal plane at body z, body x, y."""
        if self.frame.stands == "flat":
            low, high = self._w[:, 0], self._w[:, 1]
        else:
            low, high = bounds_of(self._shapes)[:, [1, 3]].T
        level = z - self.frame.base
        at_level = (low - EPS_MM <= level) & (level <= high + EPS_MM) & (self.owners != but)
        for index in np.flatnonzero(at_level).tolist():
            yield from self.pieces[index].level_section(self.frame, z)


def shadowed_share(
    cavity: Cavity, metal: AllMetal, antenna: tuple[float, float, float], *, but: str = "",
    skin: bool,
) -> float:
    """Share, 0 to 1, of 360 horizontal rays from an antenna (plate x, y, w) that meet metal.

    Metal of the part `but` does not count. With `skin` the body's wall is metal too, except where
    its opening is.
    """
    frame = cavity.frame
    bx, by, bz = frame.to_body(*antenna)
    hit = np.zeros(RAYS, dtype=bool)
    for section in metal.sections(bz, but):
        hit |= _rays_met(section, bx, by)
    if skin and not hit.all():
        hit |= ~_through_opening(cavity, bx, by, bz)
    return float(np.count_nonzero(hit)) / RAYS


def _rays_met(section: Shape, x: float, y: float) -> NDArray[np.bool_]:
    """Which of the rays from a point meet a polygon: those between its outermost corners.

    Seen from a point outside, what is connected covers one run of directions.
    """
    spot = shapely.Point(x, y)
    if section.intersects(spot):
        return np.ones(RAYS, dtype=bool)
    hull = section.convex_hull
    ring = section.exterior if hull.intersects(spot) else hull
    dx, dy = (shapely.get_coordinates(ring) - (x, y)).T
    angles = np.degrees(np.unwrap(np.arctan2(dy, dx))) * (RAYS / 360.0)
    first, last = ceil(angles.min() - SAME_RAY), floor(angles.max() + SAME_RAY)
    met = np.zeros(RAYS, dtype=bool)
    met[np.arange(first, last + 1)[:RAYS] % RAYS] = True
    return met


def _through_opening(cavity: Cavity, bx: float, by: float, bz: float) -> NDArray[np.bool_]:
    """Which rays from a body point leave the body through an opening in its front or back."""
    opening = cavity.body.opening
    if opening.in_ == "top":
        return np.zeros(RAYS, dtype=bool)
    along, over = opening.at or (0.0, cavity.body.height / 2)
    outwards = -1.0 if opening.in_ == "front" else 1.0
    x, y = _wall_met(cavity, (bx, by, bz), outwards)
    within = np.abs(x - along) <= _half_width(opening, bz - over) + EPS_MM
    return np.asarray(within & (y * outwards > 0))


def _half_width(opening: Opening, off: float) -> float:
    """Half of an opening's width, mm, so far from the height of its middle; negative beyond it."""
    width, height = opening.span
    if abs(off) > height / 2:
        return -inf
    return sqrt((width / 2) ** 2 - off * off) if opening.shape == "round" else width / 2


def _wall_met(cavity: Cavity, at: tuple[float, float, float], outwards: float) -> Points:
    """Body x and y where the rays from a body point meet the wall, shape (2, 360).

    In a body that is not round the front or back alone, square to y; rays that do not go there
    end far away.
    """
    bx, by, bz = at
    turns = np.radians(np.arange(RAYS) * (360.0 / RAYS))
    ways = np.stack((np.cos(turns), np.sin(turns)))
    if cavity.body.shape == "round":
        ahead = -(bx * ways[0] + by * ways[1])
        inner = float(cavity.radius_at(bz)) ** 2 - bx * bx - by * by
        far = ahead + np.sqrt(np.maximum(ahead**2 + inner, 0.0))
    else:
        deep = outwards * cavity.body.plan[1] / 2 - by
        towards = ways[1] * outwards > SAME_RAY
        far = np.where(towards, deep / np.where(towards, ways[1], 1.0), FAR_MM)
    met: Points = np.array([[bx], [by]]) + ways * far
    return met

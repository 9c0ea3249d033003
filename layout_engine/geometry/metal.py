"""Metal round an antenna: distance in three dimensions, and the share of rays it shadows."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil, floor

import numpy as np
import shapely
from numpy.typing import NDArray

from layout_engine.geometry.cavity import Cavity
from layout_engine.geometry.frames import EPS_MM, BodyFrame
from layout_engine.geometry.shapes import Shape, bounds_of, extent, prepared

SAME_RAY = 1e-9  # degrees by which a ray may miss a corner that it touches
PLATE = "the plate"  # among ids of parts, which have no spaces
RAYS = 360  # the contract: horizontal rays at antenna height


@dataclass(frozen=True, eq=False)
class Metal:
    """A metal prism: owner (a part's id, or `PLATE`), outline in plate x, y, range of w, mm."""

    owner: str
    shape: Shape
    w: tuple[float, float]

    def level_section(self, frame: BodyFrame, z: float) -> list[Shape]:
        """Where it cuts the horizontal plane at body z, as polygons in body x, y."""
        if frame.stands == "flat":
            if not frame.base + self.w[0] - EPS_MM <= z <= frame.base + self.w[1] + EPS_MM:
                return []
            shift = np.array([frame.shift - frame.width / 2, frame.offset - frame.height / 2])
            return [shapely.transform(self.shape, lambda p: p + shift)]
        x0, y0, x1, y1 = extent(self.shape)
        if not y0 <= z - frame.base <= y1:
            return []
        level = shapely.LineString([(x0 - 1, z - frame.base), (x1 + 1, z - frame.base)])
        sections = []
        for piece in shapely.get_parts(shapely.intersection(self.shape, level)):
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
        reach = 4 * (sum(cavity.body.plan) + abs(bx) + abs(by))
        turns = np.radians(np.arange(RAYS) * (360.0 / RAYS))
        ends = np.column_stack((bx + reach * np.cos(turns), by + reach * np.sin(turns)))
        rays = np.asarray(shapely.linestrings(
            np.stack((np.broadcast_to([bx, by], ends.shape), ends), axis=1)
        ))
        hit |= ~_through_opening(cavity, bz, rays)
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


def _through_opening(cavity: Cavity, bz: float, rays: NDArray[np.object_]) -> NDArray[np.bool_]:
    """Which rays leave the body through an opening in its front or back."""
    opening = cavity.body.opening
    if opening.in_ == "top":
        return np.zeros(len(rays), dtype=bool)
    width, height = opening.span
    along, across = opening.at or (0.0, cavity.body.height / 2)
    off = bz - across
    if opening.shape == "round":
        half = (max(0.0, (width / 2) ** 2 - off * off)) ** 0.5
    else:
        half = width / 2 if abs(off) <= height / 2 else 0.0
    deep = cavity.body.plan[1] / 2
    side = -deep if opening.in_ == "front" else deep
    if half <= 0:
        return np.zeros(len(rays), dtype=bool)
    # Rays leave through the opening when they cross its chord, drawn where the wall is.
    chord_y = side if cavity.body.shape != "round" else _chord_y(cavity, bz, along, half, side)
    chord = shapely.LineString([(along - half, chord_y), (along + half, chord_y)])
    crossing: NDArray[np.bool_] = shapely.intersects(chord, rays)
    return crossing


def _chord_y(cavity: Cavity, bz: float, along: float, half: float, side: float) -> float:
    """Body y of the chord between the opening's edges in a round wall."""
    radius = float(cavity.radius_at(bz))
    edge = min(max(abs(along - half), abs(along + half)), radius)
    depth: float = (radius * radius - edge * edge) ** 0.5
    return depth if side > 0 else -depth

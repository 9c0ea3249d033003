"""A part type in each pose: pieces with their classes, terminals and points, about its centre."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from layout_engine.arranging import classes as c
from layout_engine.arranging.puzzle import BACK, FRONT, Point, bounds_of
from layout_engine.arranging.vectors import Floats
from layout_engine.checks.rules.no_reach import AT_ONCE
from layout_engine.checks.rules.sink_crowded import air_column_outlines
from layout_engine.checks.rules.terminal_blocked import LEAST_SHARE
from layout_engine.geometry.arrange_support import convex_parts, merged_parts, turning_left
from layout_engine.geometry.frames import BodyFrame, Pose
from layout_engine.geometry.shapes import leaves_at, strip, vertices
from layout_engine.model.part_type import Fixing, PartType, RoundCutOut
from layout_engine.tables.access import SERVICE_WAYS, TERMINAL_STRIP_HALF
from layout_engine.tables.fasteners import counter_diameter, counter_height, medium_hole
from layout_engine.tables.holes import LEAST_BRIDGE, HoleWanted, fixing_hole
from layout_engine.tables.radio import metal_stop_distance, metal_warn_distance

FACES = {"front": FRONT, "back": BACK}
FACE_NAMES = ("front", "back")
FAR_UP_MM = 1e4  # higher than any module
POINT_MM = 1e-4  # half side of the box that stands for a point
ROUND_CORNERS = 24  # of a polygon round a circular cut-out


@dataclass(frozen=True, eq=False)
class Footprint:
    """Convex pieces of a type in the part frame, made once a type."""

    kind: PartType
    outline: tuple[Floats, ...]
    behind: tuple[tuple[Floats, float], ...]
    zones: tuple[tuple[Floats, float, float], ...]
    strips: tuple[Floats, ...]
    cut_outs: tuple[Floats, ...]
    shields: tuple[tuple[Floats, float, float], ...]
    holes: tuple[tuple[Fixing, bool], ...]
    care: c.Care = c.Care.NONE

    @property
    def needs(self) -> float:
        """Height over the plate that must be free of wall: with room for what must be reached."""
        reach = self.kind.reach
        wanted = self.care or self.kind.kind in AT_ONCE
        return self.kind.top + (reach.room if reach and reach.by != "none" and wanted else 0.0)

    @property
    def off_metal(self) -> float:
        """Distance from its aerial to metal, mm."""
        antenna = self.kind.antenna
        if antenna is None:
            return 0.0
        least = metal_stop_distance(antenna.band_mhz)
        wished = metal_warn_distance(antenna.band_mhz, antenna.keep_from_metal)
        return max(least, wished) if self.care else least


@lru_cache(maxsize=512)
def _parts(outline: tuple[Point, ...]) -> tuple[Floats, ...]:
    return tuple(convex_parts(outline))


def footprint(kind: PartType, care: c.Care = c.Care.NONE) -> Footprint:
    """The pieces of a type, with the room that is to be free."""
    rise = kind.standoff
    ways = [(p, low, high) for outline, low, high in wished_rooms(kind)
            for p in _parts(outline)] if care else []
    return Footprint(
        kind,
        _parts(kind.outline),
        tuple((p, b.height) for b in kind.behind for p in _parts(b.outline)),
        (*((p, rise + z.height[0], rise + z.height[1])
           for z in kind.keep_outs for p in _parts(z.outline)), *ways),
        tuple(_strips(kind, 1.0 if care else LEAST_SHARE)),
        tuple(p for cut in kind.through for p in (
            (_circle(cut),) if isinstance(cut, RoundCutOut) else _parts(cut))),
        tuple((p, rise + s.height[0], rise + s.height[1])
              for s in kind.shields for p in _parts(s.outline)),
        tuple((x, _hidden(kind, x.x, x.y, _half(x.thread, care)))
              for x in kind.fixings if kind.fixing == "screws"),
        care,
    )


def _half(thread: str, care: c.Care) -> float:
    """Half of a hole, with the whole bridge beside it where that is wanted."""
    diameter = medium_hole(thread)
    return diameter / 2 + (max(diameter, LEAST_BRIDGE.value) if care >= c.Care.BRIDGED else 0.0)


def wished_rooms(kind: PartType) -> list[tuple[tuple[Point, ...], float, float]]:
    """Where nothing else should stand: ways to service points, air beyond fins; range of heights.

    Outlines in the part frame, heights over the plate.
    """
    rooms = []
    for point in kind.service:
        way, level = SERVICE_WAYS[point.by], kind.standoff + point.z
        if point.towards == "top":
            spot = strip(point.x, point.y, 0.0, -way.width / 2, way.width, way.width / 2)
            rooms.append((spot, max(level, kind.top), FAR_UP_MM))
        else:
            start = leaves_at(point.x, point.y, point.towards, kind.outline)
            lane = strip(point.x, point.y, point.towards, start, way.length, way.width / 2)
            rooms.append((lane, level - way.width / 2, level + way.width / 2))
    found = [(tuple((float(x), float(y)) for x, y in vertices(shape)), low, high)
             for shape, low, high in rooms]
    return found + [(column, kind.standoff, kind.top) for column in air_column_outlines(kind)]


def _circle(cut: RoundCutOut) -> Floats:
    turns = np.linspace(0, 2 * np.pi, ROUND_CORNERS, endpoint=False)
    radius = cut.diameter / 2 / np.cos(np.pi / ROUND_CORNERS)
    return np.column_stack((cut.x + radius * np.cos(turns), cut.y + radius * np.sin(turns)))


def _strips(kind: PartType, share: float) -> list[Floats]:
    """The share of the terminals' bend rooms that is to stay free, put together."""
    lanes = []
    for terminal in kind.terminals:
        if terminal.room > 0:
            start = leaves_at(terminal.x, terminal.y, terminal.leaves, kind.outline)
            lane = strip(terminal.x, terminal.y, terminal.leaves, start,
                         terminal.room * share, TERMINAL_STRIP_HALF.value)
            lanes.append(turning_left(vertices(lane)))
    return merged_parts(lanes) if lanes else []


def _hidden(kind: PartType, x: float, y: float, radius: float) -> bool:
    """Whether a hole lies wholly inside the outline's bounds and the outline is a plain box."""
    ring = np.array(kind.outline)
    x0, y0, x1, y1 = bounds_of(ring)
    whole = len(_parts(kind.outline)) == 1 and len(ring) == 4
    return whole and min(x - x0, x1 - x, y - y0, y1 - y) >= radius


@dataclass(frozen=True, eq=False)
class Posed:
    """A footprint in one face and turn, everything about the centre of its outline's bounds.

    Attributes:
        centre: that centre as an offset from the placement's x, y.
        pieces: (corners, class); the outline's come first.
        outline: corners of the outline's hull pieces together.
        holes: places and diameters of its fixing holes; `wanted`: which old ones serve for them.
    """

    pose: Pose
    centre: Point
    pieces: tuple[tuple[Floats, c.Kind], ...]
    outline: Floats
    heights: tuple[tuple[Floats, int, float], ...]
    holes: tuple[tuple[Floats, float], ...]
    wanted: tuple[HoleWanted, ...]
    metal: tuple[tuple[Floats, float, float], ...]
    antenna: tuple[float, float, float]

    def about(self, x: float, y: float) -> Point:
        """A point of the part frame about the centre."""
        px, py = self.pose.point(x, y)
        return px - self.centre[0], py - self.centre[1]


def posed(foot: Footprint, face: int, turn: float, frame: BodyFrame) -> Posed:
    """A footprint in a face and turn."""
    pose = Pose(FACE_NAMES[face], 0.0, 0.0, turn)
    x0, y0, x1, y1 = bounds_of(pose.points(foot.kind.outline))
    centre = ((x0 + x1) / 2, (y0 + y1) / 2)

    def place(points: Floats) -> Floats:
        moved: Floats = pose.points(points) - centre
        return turning_left(moved)

    kind, clearance = foot.kind, foot.kind.clearance
    own = c.Solid(face, kind.standoff, kind.top, foot.needs, clearance)
    solids: list[tuple[Floats, c.Solid]] = [(place(p), own) for p in foot.outline]
    solids += [(place(p), c.Solid(1 - face, 0.0, h, h, clearance, behind=True))
               for p, h in foot.behind]
    shields = [(place(p), *_span(frame, face, low, high)) for p, low, high in foot.shields]
    holes = [(_point(pose, centre, x.x, x.y), x.thread, hidden, fixing_hole(x.thread, x.head))
             for x, hidden in foot.holes]
    aerial = _aerial(foot, pose, centre, face, frame)
    pieces: list[tuple[Floats, c.Kind]] = [
        *solids,
        *((place(p), c.Zone(face, low, high)) for p, low, high in foot.zones),
        *((place(p), c.Strip(face)) for p in foot.strips),
        *((spot, c.Counter(1 - face, counter_diameter(t) / 2, counter_height(t)))
          for spot, t, _, _ in holes),
        *((spot, c.Drilled(face, medium_hole(t), hidden, wanted=wanted))
          for spot, t, hidden, wanted in holes),
        *((place(p), c.CutOut()) for p in foot.cut_outs),
        *((p, c.Metal(low, high)) for p, low, high in shields),
        *([(spot_box(*aerial[:2]), c.Aerial(aerial[2], foot.off_metal))]
          if kind.antenna else []),
        *([(_over(frame, *aerial[:2]), c.Over())]
          if kind.antenna and foot.care and frame.stands == "upright" else []),
    ]
    return Posed(
        pose, centre, tuple(pieces), np.vstack([place(p) for p in foot.outline]),
        tuple((p, s.face, s.needs) for p, s in solids),
        tuple((spot, medium_hole(t)) for spot, t, _, _ in holes),
        tuple(wanted for *_, wanted in holes),
        tuple(shields), aerial,
    )


def _over(frame: BodyFrame, x: float, y: float) -> Floats:
    """Whatever is higher than a point of an upright plate."""
    wide, high = frame.width, frame.height
    return np.array([(x - wide, y), (x + wide, y), (x + wide, y + high), (x - wide, y + high)])


def _span(frame: BodyFrame, face: int, low: float, high: float) -> tuple[float, float]:
    return frame.span(FACE_NAMES[face], low, high)


def spot_box(x: float, y: float) -> Floats:
    """The small box that stands for a point."""
    corners = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * POINT_MM
    box: Floats = corners + np.array([x, y])
    return box


def _point(pose: Pose, centre: Point, x: float, y: float) -> Floats:
    px, py = pose.point(x, y)
    return spot_box(px - centre[0], py - centre[1])


def _aerial(foot: Footprint, pose: Pose, centre: Point, face: int, frame: BodyFrame
            ) -> tuple[float, float, float]:
    antenna = foot.kind.antenna
    if antenna is None:
        return 0.0, 0.0, 0.0
    x, y = pose.point(antenna.x, antenna.y)
    w = frame.level(FACE_NAMES[face], foot.kind.standoff + antenna.z)
    return x - centre[0], y - centre[1], w

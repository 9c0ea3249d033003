"""The way in: whether the loaded board can be brought through the opening to its place.

The board is moved straight along the opening's normal, with each of its three axes tried first,
turned freely about that axis. Entering from the top it must also pass every section of the body
above its place. When it only passes with another axis first, or turned, it must be turned after
entry; whether there is room for that is tried wholly inside, degree by degree.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Literal, cast

import numpy as np
import shapely

from layout_engine.geometry.arrange_support import hull_and_gaps
from layout_engine.geometry.cavity import Cavity
from layout_engine.geometry.frames import EPS_MM, Points
from layout_engine.geometry.free_places import NOWHERE, Area, eroded, grown_sums, without
from layout_engine.geometry.openings import (
    enclosing_diameter,
    passes_circle,
    turn_through_rectangle,
)
from layout_engine.geometry.shapes import (
    Shape,
    box,
    convex_hull,
    hull_shape,
    shape_of,
    vertices,
)
from layout_engine.once import cached_property

Axis = Literal[0, 1, 2]  # plate x, plate y, w (out of the plate)
Entry = Literal["straight", "turned", "blocked"]
Need = tuple[float, float]  # what something needs and what there is, mm
FEW_TRIES, TRIES = 3, 7  # shifts each way that are tried first, and where it stays at those
MOST_SUMS = 50_000  # corners of what is in the way times corners of the board's outline
STEP_DEG = 1.0  # turning is tried in steps of this
ALL_TURNS = tuple(sorted(range(0, 360, int(STEP_DEG)), key=lambda turn: min(turn, 360 - turn)))


@dataclass(frozen=True, slots=True)
class WayIn:
    """How the loaded board gets in.

    Attributes:
        entry: "straight", "turned" (must be turned after entry, and can), or "blocked".
        needs: size that the best way needs, mm: circle diameter, or the tighter side.
        has: what the opening (or the body above the place) offers in the same measure, mm.
        first: the axis that leads on the best way, in words.
        tight: "opening", "body above the place" or "room to turn it inside".
    """

    entry: Entry
    needs: float
    has: float
    first: str
    tight: str


def prism_corners(prisms: Sequence[tuple[Shape, tuple[float, float]]]) -> Points:
    """The corners, shape (n, 3), of prisms (outline, range of w) in plate x, y, w."""
    shapes = np.array([shape for shape, _ in prisms], dtype=object)
    levels = np.array([w for _, w in prisms])
    corners, owner = shapely.get_coordinates(shapes, return_index=True)
    return np.vstack([np.column_stack((corners, levels[owner, side])) for side in (0, 1)])


def way_in(cavity: Cavity, corners: Points) -> WayIn:
    """How a loaded board, given by the corners of its prisms (n, 3), gets into the body."""
    natural = natural_axis(cavity)
    turned: WayIn | None = None
    tightest: WayIn | None = None
    for axis in sorted((0, 1, 2), key=lambda a: a != natural):
        outline = _across(corners, axis)
        turns = _turns_through(cavity, outline)
        if not turns:
            tightest = _tighter(tightest, _blocked(cavity, outline, axis))
            continue
        turn = _turn_above(cavity, corners, outline, turns, either_edge=axis != natural)
        if turn is None:
            tightest = _tighter(tightest, _narrow_above(cavity, corners, outline, axis))
            continue
        if axis == natural and turn == 0.0:
            return WayIn("straight", *_needs_unturned(cavity, outline), AXIS_WORDS[axis], "opening")
        needs, has = _turning(cavity, corners, axis, natural, turn)
        if needs <= has + EPS_MM:
            turned = turned or _passed(cavity, outline, axis, "turned")
        else:
            stuck = WayIn("blocked", needs, has, AXIS_WORDS[axis], "room to turn it inside")
            tightest = _tighter(tightest, stuck)
    return turned or tightest or _blocked(cavity, _across(corners, natural), natural)


def straight_obstacle(cavity: Cavity, corners: Points) -> str | None:
    """What keeps a board from going straight in as it will stand, in words; None if nothing does.

    Asked often while a plate's size is sought, so nothing but the straight way is tried.
    """
    outline = _across(corners, natural_axis(cavity))
    opening = cavity.body.opening
    if opening.shape == "round":
        passes = passes_circle(outline, opening.diameter)
    else:
        width, height = np.ptp(outline, axis=0)
        passes = width <= opening.width + EPS_MM and height <= opening.height + EPS_MM
    if not passes:
        return "opening"
    if _column_free(cavity, corners):
        return None
    above = _turn_above(cavity, corners, outline, (0.0,), either_edge=False)
    return "body above the place" if above is None else None


def _column_free(cavity: Cavity, corners: Points) -> bool:
    """From the top: whether the body is free straight above the place; asked first, being quick."""
    if cavity.body.opening.in_ != "top":
        return True
    f = cavity.frame
    upright = f.stands == "upright"
    y = f.offset - corners[:, 2] if upright else corners[:, 1] + f.offset - f.height / 2
    column = hull_shape(np.column_stack((corners[:, 0] + f.shift - f.width / 2, y)))
    return bool(_section_above(cavity, _place_top(cavity, corners)).covers(column))


AXIS_WORDS = {0: "its left or right edge first", 1: "its lower edge first", 2: "its face first"}


def natural_axis(cavity: Cavity) -> Axis:
    """The board axis along the opening's normal when the board stands as it finally will."""
    from_top = cavity.body.opening.in_ == "top"
    upright = cavity.frame.stands == "upright"
    return 1 if from_top == upright else 2


def _across(corners: Points, axis: int) -> Points:
    """The board's outline across the leading axis, seen against its way, shape (n, 2).

    With its lower edge first, from the top, the front (w) looks along -y of the body.
    """
    across = {0: corners[:, 1:], 1: corners[:, [0, 2]] * [1.0, -1.0], 2: corners[:, :2]}[axis]
    return convex_hull(np.ascontiguousarray(across))


def _turns_through(cavity: Cavity, outline: Points) -> Sequence[float]:
    """Turns, degrees, in which an outline passes the opening, the least first; all that are tried.

    Through a rectangle only the least one either way, and those with the other edge in front.
    """
    opening = cavity.body.opening
    if opening.shape == "round":
        return ALL_TURNS if passes_circle(outline, opening.diameter) else ()
    least = turn_through_rectangle(outline, opening.width, opening.height)
    if least is None:
        return ()
    size = np.array([opening.width, opening.height]) + 2 * EPS_MM
    ways = dict.fromkeys(turn % 360.0 for turn in (least, -least, 180.0 - least, 180.0 + least))
    return [turn for turn in ways if (np.ptp(_rotated(outline, turn), axis=0) <= size).all()]


def passing_diameter(cavity: Cavity) -> float | None:
    """Diameter of the circle within which a board surely passes; None for a rectangular opening.

    That of a round opening, and in a round body the narrowest one above the board's place.
    """
    body = cavity.body
    if body.opening.shape != "round":
        return None
    if body.opening.in_ != "top" or body.shape != "round":
        return body.opening.diameter
    low = cavity.frame.base + (cavity.frame.height if cavity.frame.stands == "upright" else 0.0)
    return min(body.opening.diameter, 2 * _least_radius(cavity, low))


def _place_top(cavity: Cavity, corners: Points) -> float:
    column, start = (1, cavity.frame.base) if cavity.frame.stands == "upright" else (
        2, cavity.frame.base)
    return float(np.max(corners[:, column]) + start)


def _turn_above(cavity: Cavity, corners: Points, outline: Points, turns: Sequence[float], *,
                either_edge: bool) -> float | None:
    """The first of some turns in which the outline passes all sections above its place, or None.

    With `either_edge` it may be mirrored: the edge across from the one told goes first.
    """
    if cavity.body.opening.in_ != "top":
        return turns[0]
    low = _place_top(cavity, corners)
    if cavity.body.shape == "round" and not _blocks_above(cavity, low):
        return turns[0] if passes_circle(outline, 2 * _least_radius(cavity, low)) else None
    ways = (outline, outline * [1.0, -1.0]) if either_edge else (outline,)
    shafts = [_Shaft(cavity, low, way) for way in ways]
    return next((turn for turn in turns if any(shaft.takes(turn) for shaft in shafts)), None)


def _least_radius(cavity: Cavity, low: float) -> float:
    return float(min(cavity.radius_at(min(low, cavity.body.height)),
                     cavity.radius_at(cavity.body.height)))


def _blocks_above(cavity: Cavity, low: float) -> list[Shape]:
    return [
        box(o.x[0], o.y[0], o.x[1], o.y[1])
        for o in cavity.body.obstructions
        if o.z[1] > low + EPS_MM
    ]


def _section_above(cavity: Cavity, low: float) -> Shape:
    """The ground free at every height above `low`, in body x, y."""
    section, blocks = _section(cavity, low), _blocks_above(cavity, low)
    if not blocks:
        return section
    blocked = shapely.union_all(blocks, grid_size=EPS_MM)
    return cast("Shape", shapely.difference(section, blocked, grid_size=EPS_MM))


def _section(cavity: Cavity, low: float) -> Shape:
    """The narrowest section above `low`, obstructions left out."""
    if cavity.section is not None:
        return cavity.section
    return shapely.Point(0, 0).buffer(_least_radius(cavity, low), quad_segs=64)


def _rotated(points: Points, degrees: float) -> Points:
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    turned: Points = points @ np.array([[c, s], [-s, c]])
    return turned


class _Shaft:
    """The ground free at every height above a board's place, for its outline to be let down.

    Where the outline, turned, may stand: what its convex hull leaves of the hull of the section,
    less the sums of all that is not free there and the mirrored outline.
    """

    def __init__(self, cavity: Cavity, low: float, outline: Points) -> None:
        self._ground = _section_above(cavity, low)
        shapely.prepare(self._ground)
        self._shape = cavity.body.shape
        hull, gaps = hull_and_gaps(_section(cavity, low))
        self._hull, self._outline = shape_of(hull), outline
        self._in_way = [*gaps, *map(vertices, _blocks_above(cavity, low))]
        self._is_plain = sum(map(len, self._in_way)) * len(outline) <= MOST_SUMS
        self._tries = FEW_TRIES if self._is_plain else TRIES

    def takes(self, turn: float) -> bool:
        """Whether the outline at a turn can be shifted into the ground.

        A few shifts are tried first; with very many corners it stays at those.
        """
        if self._ground.is_empty:
            return False
        outline = _rotated(self._outline, turn)
        width, depth = np.ptp(outline, axis=0)
        x0, y0, x1, y1 = self._ground.bounds
        if width > x1 - x0 + EPS_MM or depth > y1 - y0 + EPS_MM:
            return False
        corners = np.stack(np.meshgrid(
            np.linspace(x0, x1 - width, self._tries), np.linspace(y0, y1 - depth, self._tries),
        ), axis=-1).reshape(-1, 1, 2)
        tried = shapely.polygons(outline - outline.min(axis=0) + corners)
        if shapely.covers(self._ground, tried).any():
            return True
        return self._is_plain and not self._places(turn).is_empty

    def _places(self, turn: float) -> Area:
        """Where the outline at a turn may stand, by its own origin; it is taken a hair smaller."""
        own = _rotated(self._smaller, turn)
        sums = grown_sums([(piece, own, 0.0) for piece in self._in_way])
        return without(self._within(own, turn), sums)

    def _within(self, own: Points, turn: float) -> Area:
        """Where it lies in the hull of the section."""
        if self._shape == "round":  # which turns into itself
            return shapely.transform(self._within_round, lambda points: _rotated(points, turn))
        if self._shape == "free":
            return eroded(self._hull, own)
        x0, y0, x1, y1 = self._hull.bounds
        (left, low), (right, high) = own.min(axis=0), own.max(axis=0)
        fits = x0 - left <= x1 - right and y0 - low <= y1 - high
        return box(x0 - left, y0 - low, x1 - right, y1 - high) if fits else NOWHERE

    @cached_property
    def _smaller(self) -> Points:
        middle, narrow = self._outline.mean(axis=0), np.ptp(self._outline, axis=0).min()
        smaller: Points = middle + (self._outline - middle) * (1.0 - 2 * EPS_MM / narrow)
        return smaller

    @cached_property
    def _within_round(self) -> Area:
        return eroded(self._hull, self._smaller)


def _turning(cavity: Cavity, corners: Points, axis: int, natural: int, turn: float) -> Need:
    """What turning it, wholly inside, from the pose of entry to its final one needs, and has."""
    if axis == natural:
        outline, still = _across(corners, axis), axis
        last = min(turn, 360.0 - turn)
    else:
        outline = convex_hull(np.ascontiguousarray(corners[:, [axis, natural]]))
        still, last = ({0, 1, 2} - {axis, natural}).pop(), 90.0
    through = float(np.ptp(corners[:, still]))
    about = _body_axis(cavity, still)
    first_is_tall = _body_axis(cavity, axis) == "z"
    needs = []
    for degrees in np.arange(0.0, last + STEP_DEG, STEP_DEG):
        a, b = _extents(outline, float(degrees))
        if about == "z":
            needs.append(_needs_inside(cavity, through, a, b))
        else:
            tall, level = (a, b) if first_is_tall else (b, a)
            needs.append(_needs_inside(cavity, tall, through, level))
    return max(needs, key=_lack)


def _body_axis(cavity: Cavity, plate_axis: int) -> str:
    """The body axis along which a plate axis finally lies."""
    upright = {0: "x", 1: "z", 2: "y"}
    flat = {0: "x", 1: "y", 2: "z"}
    return (upright if cavity.frame.stands == "upright" else flat)[plate_axis]


def _extents(outline: Points, degrees: float) -> tuple[float, float]:
    width, height = np.ptp(_rotated(outline, degrees), axis=0)
    return float(width), float(height)


def _needs_inside(cavity: Cavity, tall: float, a: float, b: float) -> Need:
    """What a block, `tall` high and a x b in plan, needs and has inside, where it is tightest."""
    wide, deep, high = _room(cavity)
    if cavity.body.shape == "box":
        ways = [max((a, wide), (b, deep), key=_lack), max((a, deep), (b, wide), key=_lack)]
        plan = min(ways, key=_lack)
    else:
        plan = sqrt(a * a + b * b), wide
    return max((tall, high), plan, key=_lack)


def _lack(need: Need) -> float:
    return need[0] - need[1]


def _room(cavity: Cavity) -> tuple[float, float, float]:
    """Width, depth, height to turn in; a round body by its narrower end, a free one by a circle."""
    body = cavity.body
    if body.shape == "box":
        return body.width, body.depth, body.height
    if body.shape == "round":
        least = min(body.diameter, body.top)
        return least, least, body.height
    diameter = 2 * _inscribed_radius(_section_above(cavity, body.height))
    return diameter, diameter, body.height


def _inscribed_radius(shape: Shape) -> float:
    return 0.0 if shape.is_empty else float(shapely.length(shapely.maximum_inscribed_circle(shape)))


def _needs(cavity: Cavity, outline: Points) -> tuple[float, float]:
    """What the opening would need, and what it has, in one measure: the tighter one."""
    opening = cavity.body.opening
    if opening.shape == "round":
        return enclosing_diameter(outline), opening.diameter
    turns = np.radians(np.arange(0.0, 180.0, STEP_DEG))
    across = outline @ np.array([np.cos(turns), np.sin(turns)])
    along = outline @ np.array([-np.sin(turns), np.cos(turns)])
    widths, heights = np.ptp(across, axis=0), np.ptp(along, axis=0)
    over = np.maximum(widths - opening.width, heights - opening.height)
    best = int(np.argmin(over))
    if widths[best] - opening.width >= heights[best] - opening.height:
        return float(widths[best]), opening.width
    return float(heights[best]), opening.height


def _needs_unturned(cavity: Cavity, outline: Points) -> Need:
    """The same for an outline that passes as it is."""
    opening = cavity.body.opening
    if opening.shape == "round":
        return enclosing_diameter(outline), opening.diameter
    width, height = (float(extent) for extent in np.ptp(outline, axis=0))
    return max((width, opening.width), (height, opening.height), key=_lack)


def _passed(cavity: Cavity, outline: Points, axis: int, entry: Entry) -> WayIn:
    needs, has = _needs(cavity, outline)
    return WayIn(entry, needs, has, AXIS_WORDS[axis], "opening")


def _blocked(cavity: Cavity, outline: Points, axis: int) -> WayIn:
    needs, has = _needs(cavity, outline)
    return WayIn("blocked", needs, has, AXIS_WORDS[axis], "opening")


def _narrow_above(cavity: Cavity, corners: Points, outline: Points, axis: int) -> WayIn:
    has = 2 * _inscribed_radius(_section_above(cavity, _place_top(cavity, corners)))
    return WayIn("blocked", enclosing_diameter(outline), has, AXIS_WORDS[axis],
                 "body above the place")


def _tighter(known: WayIn | None, new: WayIn) -> WayIn:
    """The one of two blocked ways that lacks less."""
    if known is None or new.needs - new.has < known.needs - known.has:
        return new
    return known

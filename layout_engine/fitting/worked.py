"""How the limit of an offered plate was worked out: formula, values, source.

Where the solid has a closed form, the form that binds is shown with its values; where it has none
(free sections, blocks, unequal depths through a round opening) it says that the figure was found
by halving.
"""

from __future__ import annotations

from math import cos

from layout_engine.fitting.room import AIR_GAP, PASSING_GAP, Room, Stop, lean
from layout_engine.model.body import BoxBody, RoundBody
from layout_engine.tables.sourced import Sourced
from layout_engine.working import Given, Working

MEASURED = "inside, as given"
PLACE = "place of the plate"
TRIED = "found by halving to under 0.000001 mm"
SOLID = "solid geometry"
Terms = tuple[Given, ...]


def working(room: Room, stop: Stop, side: str, exact: float, other: float) -> Working:
    """The working of a side's greatest length, mm; `other` is the other side's length."""
    formula, given = _derivation(room, stop, side, other)
    return Working(formula, given, exact, "mm", SOLID)


def _derivation(room: Room, stop: Stop, side: str, other: float) -> tuple[str, Terms]:
    if stop.kind == "wish":
        return f"{side} = the greatest asked for", ()
    if stop.kind == "roof":
        return _roof(room)
    if stop.kind == "opening":
        return _opening(room, side, other)
    if stop.kind == "wall" and isinstance(room.body, BoxBody):
        return _box(room, room.body, side)
    if stop.kind == "wall" and isinstance(room.body, RoundBody):
        return _round(room, room.body, stop, side, other)
    if stop.kind == "obstruction":
        return f"{side} = clear of {stop.label} by g; {TRIED}", (_gap(room),)
    return f"{side} = what the body leaves free, less g; {TRIED}", (_gap(room),)


def _gap(room: Room) -> Given:
    gap = room.wanted.air_gap
    return Given("g", "air gap to the wall", gap, "mm", _source(gap, AIR_GAP))


def _source(value: float, usual: Sourced) -> str:
    return usual.source if value == usual.value else "as asked for"


def _passing(room: Room) -> Given:
    gap = room.wanted.passing_gap
    return Given("p", "gap on each side in the opening", gap, "mm", _source(gap, PASSING_GAP))


def _roof(room: Room) -> tuple[str, Terms]:
    body, wanted = room.body, room.wanted
    given = (Given("H", "inside height", body.height, "mm", MEASURED),
             Given("b", "above the floor", wanted.base, "mm", PLACE))
    if body.opening.in_ == "top":
        return "h = H - b", given
    return "h = H - g - b", (*given, _gap(room))


def _box(room: Room, body: BoxBody, side: str) -> tuple[str, Terms]:
    wanted = room.wanted
    across = side == "width"
    size, away = (body.width, wanted.shift) if across else (body.depth, wanted.offset)
    symbol, name = ("W", "inside width") if across else ("D", "inside depth")
    return f"{side} = {symbol} - 2 g - 2 |s|", (
        Given(symbol, name, size, "mm", MEASURED), _gap(room),
        Given("s", "out of the middle", away, "mm", PLACE),
    )


def _opening(room: Room, side: str, other: float) -> tuple[str, Terms]:
    opening, wanted = room.body.opening, room.wanted
    face_first = (opening.in_ == "top") != (wanted.stands == "upright")
    if opening.shape == "rectangle":
        across = side == "width"
        size = opening.width if across else opening.height
        name = "width" if across else "height"
        return f"{side} = a - 2 p", (
            Given("a", f"{name} of the opening", size, "mm", MEASURED), _passing(room))
    given = (Given("D", "diameter of the opening", opening.diameter, "mm", MEASURED),
             _passing(room))
    if face_first:
        return f"{side} = 2 (r + sqrt((D/2 - p - r)^2 - (o/2 - r)^2))", (
            *given,
            Given("r", "corner radius", min(wanted.corner_radius, other / 2), "mm", "the plate"),
            Given("o", "the other side", other, "mm", "this offer"))
    return f"{side}: smallest circle round plate and modules = D - 2 p; {TRIED}", (
        *given, Given("t", "plate and modules", wanted.depth, "mm", "heights of modules"))


def _round(room: Room, body: RoundBody, stop: Stop, side: str, other: float
           ) -> tuple[str, Terms]:
    if room.wanted.stands == "flat":
        return f"{side} = the farthest corner g off the wall; {TRIED}", (_gap(room),)
    if side == "height":
        return f"height = where the taper leaves g beside the width; {TRIED}", (_gap(room),)
    if stop.what == "plate" and room.wanted.corner_radius > 0 and body.top != body.diameter:
        radius = Given("r", "corner radius", room.wanted.corner_radius, "mm", "the plate")
        return f"width = where the rounded corners are g off the taper; {TRIED}", (
            _gap(room), radius)
    return _chord(room, body, stop, other)


def _chord(room: Room, body: RoundBody, stop: Stop, height: float) -> tuple[str, Terms]:
    """Width at a distance from the axis, at the narrower end of the plate or of its modules."""
    wanted = room.wanted
    inner = 0.0 if stop.what == "plate" else wanted.edge_margin
    distance = _distance(room, stop)
    ends = (wanted.base + inner, wanted.base + height - inner)
    radius = min(_radius(body, end) for end in ends)
    gap = wanted.air_gap / cos(lean(body))
    given = (
        Given("R", "inside radius at its narrower end", radius, "mm", MEASURED),
        Given("g", "air gap, along the radius", gap, "mm",
              _source(wanted.air_gap, AIR_GAP)),
        Given("d", "from the axis to the farther face", distance, "mm", PLACE),
        Given("s", "out of the middle, sideways", wanted.shift, "mm", PLACE),
    )
    if stop.what == "plate":
        return "w = 2 sqrt((R - g)^2 - d^2) - 2 |s|", given
    margin = Given("m", "edge margin without modules", inner, "mm", "the plate")
    return "w = 2 sqrt((R - g)^2 - d^2) - 2 |s| + 2 m", (*given, margin)


def _distance(room: Room, stop: Stop) -> float:
    wanted = room.wanted
    half = wanted.thickness / 2
    if stop.what == "front":
        return abs(wanted.offset - half - wanted.front)
    if stop.what == "back":
        return abs(wanted.offset + half + wanted.back)
    return abs(wanted.offset) + half


def _radius(body: RoundBody, z: float) -> float:
    return (body.diameter + (body.top - body.diameter) * z / body.height) / 2

"""What the sections of a body are made of: profile, cut walls, opening, obstructions, plate.

Body frame, mm: x to the right, y to the back, z up from the floor. A view shows two of them.
`u` is the size of a screen pixel in mm at the size a view is meant to have; it sets what is no
measure: how thick a wall is drawn, how far dimensions stand off.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import cos, pi, sin, sqrt

from layout_engine.checks.standing import Standing
from layout_engine.geometry.frames import BodyFrame
from layout_engine.geometry.inset import cuts
from layout_engine.geometry.outlines import bounds
from layout_engine.geometry.shapes import extent
from layout_engine.model.body import Body, Obstruction
from layout_engine.model.job import Job
from layout_engine.units import format_number
from webapp.drawings.primitives import (
    Circle,
    Fill,
    Group,
    Item,
    Line,
    Path,
    Pen,
    Text,
    polygon,
    rings,
)

Span = tuple[float, float]
WALL_PX = 4.0
GAP_PX = 26.0  # from what is measured to its dimension
ARC_STEPS = 96


def words(value: float) -> str:
    """A length on a drawing: mm, at most one decimal."""
    return format_number(round(value, 1))


def rectangle(x: Span, y: Span, pen: Pen, fill: Fill = "none") -> Path:
    """The rectangle over two ranges."""
    return polygon(((x[0], y[0]), (x[1], y[0]), (x[1], y[1]), (x[0], y[1])), pen, fill)


def radius_at(body: Body, z: float) -> float:
    """Inside radius of a round body, mm."""
    if body.shape != "round":
        raise ValueError("not a round body")
    return (body.diameter + (body.top - body.diameter) * z / body.height) / 2


def across(body: Body, z: float, axis: int) -> Span:
    """Least and greatest x (axis 0) or y (axis 1) inside at height z."""
    if body.shape == "round":
        radius = radius_at(body, z)
        return -radius, radius
    if body.shape == "box":
        half = (body.width if axis == 0 else body.depth) / 2
        return -half, half
    x0, y0, x1, y1 = bounds(body.section)
    return (x0, x1) if axis == 0 else (y0, y1)


def cut_runs(body: Body, z: float) -> list[Span]:
    """Runs of y inside on the plane through the middle (x = 0) at height z."""
    if body.shape != "free":
        return [across(body, z, 1)]
    return cuts(body.section, 0.0, 0) or [across(body, z, 1)]


@dataclass(frozen=True, slots=True)
class OpeningPlace:
    """The opening's side, its span and centre: along x, and z (front, back) or y (top)."""

    side: str
    is_round: bool
    width: float
    height: float
    along: float
    over: float

    @classmethod
    def of(cls, body: Body) -> OpeningPlace:
        """The opening of a body, in the middle of its side unless it says where."""
        opening = body.opening
        width, height = opening.span
        along, over = opening.at or (0.0, 0.0 if opening.in_ == "top" else body.height / 2)
        return cls(opening.in_, opening.shape == "round", width, height, along, over)

    @property
    def x(self) -> Span:
        """Its range along x."""
        return self.along - self.width / 2, self.along + self.width / 2

    @property
    def run(self) -> Span:
        """Its range across: z, or y of an opening in the top."""
        return self.over - self.height / 2, self.over + self.height / 2

    def outline(self, pen: Pen) -> Item:
        """The opening seen face on."""
        if self.is_round:
            return Circle(self.along, self.over, self.width, pen)
        return rectangle(self.x, self.run, pen)


def without(whole: Span, gap: Span | None) -> list[Span]:
    """A range less another."""
    if gap is None:
        return [whole]
    pieces = [(whole[0], min(whole[1], gap[0])), (max(whole[0], gap[1]), whole[1])]
    return [piece for piece in pieces if piece[1] - piece[0] > 1e-6]


def side_walls(body: Body, place: OpeningPlace, u: float) -> Iterator[Item]:
    """Both cut walls of the section through the middle, hatched, with the opening left out."""
    wall = WALL_PX * u
    floor, top = cut_runs(body, 0.0), cut_runs(body, body.height)
    ends = [(floor[0][0], top[0][0], -wall, "front"), (floor[-1][1], top[-1][1], wall, "back")]
    for low, high, out, side in ends:
        gap = place.run if place.side == side else None
        for z0, z1 in without((0.0, body.height), gap):
            y0, y1 = (low + (high - low) * z / body.height for z in (z0, z1))
            corners = ((y0, z0), (y0 + out, z0), (y1 + out, z1), (y1, z1))
            yield polygon(corners, "outline", "section")


def roof(body: Body, place: OpeningPlace, span: Span, axis: int, u: float) -> Iterator[Item]:
    """The top in a side view: a line where it is closed."""
    wall = WALL_PX * u
    whole = (span[0] - wall, span[1] + wall)
    gap = None
    if place.side == "top":
        gap = place.x if axis == 0 else place.run
    for a, b in without(whole, gap):
        yield Line(a, body.height, b, body.height, "outline")


def floor_line(span: Span, u: float) -> Item:
    """The floor."""
    beyond = (WALL_PX + 8) * u
    return Line(span[0] - beyond, 0.0, span[1] + beyond, 0.0, "edge")


def plan_ring(body: Body, z: float) -> tuple[tuple[float, float], ...]:
    """The section from above at height z as a ring."""
    if body.shape == "free":
        return body.section
    x, y = across(body, z, 0)[1], across(body, z, 1)[1]
    return ((-x, -y), (x, -y), (x, y), (-x, y))


def plan_wall(body: Body, z: float, u: float, outer: tuple[tuple[float, float], ...]) -> Item:
    """The cut wall from above, hatched."""
    if body.shape == "round":
        radius, wall = radius_at(body, z), WALL_PX * u
        both = (_circle_ring(radius), _circle_ring(radius + wall))
        return rings(both, "outline", "section")
    return rings((plan_ring(body, z), outer), "outline", "section")


def _circle_ring(radius: float) -> tuple[tuple[float, float], ...]:
    steps = (2 * pi * step / ARC_STEPS for step in range(ARC_STEPS))
    return tuple((radius * cos(a), radius * sin(a)) for a in steps)


def plan_gap(body: Body, z: float, place: OpeningPlace, u: float) -> Iterator[Item]:
    """The opening of a side wall from above: the wall left out, its inner line dashed."""
    if place.side == "top" or not place.run[0] <= z <= place.run[1]:
        return
    sign = -1.0 if place.side == "front" else 1.0
    wall = (WALL_PX + 1.5) * u
    half = _half_at(place, z)
    x0, x1 = place.along - half, place.along + half
    steps = [x0 + (x1 - x0) * step / 24 for step in range(25)]
    inner = [(x, sign * _depth_at(body, z, x, sign)) for x in steps]
    outer = [(x, y + sign * wall * 1.35) for x, y in reversed(inner)]
    near = [(x, y - sign * u) for x, y in inner]
    yield polygon((*near, *outer), "none", "sheet")
    yield Path((("M", *inner[0]), *(("L", *p) for p in inner[1:])), "hidden")
    for x, y in (inner[0], inner[-1]):
        yield Line(x, y, x, y + sign * wall, "outline")


def _half_at(place: OpeningPlace, z: float) -> float:
    if not place.is_round:
        return place.width / 2
    return sqrt(max(0.0, (place.width / 2) ** 2 - (z - place.over) ** 2))


def _depth_at(body: Body, z: float, x: float, sign: float) -> float:
    if body.shape == "round":
        return sqrt(max(0.0, radius_at(body, z) ** 2 - x * x))
    if body.shape == "box":
        return body.depth / 2
    runs = cuts(body.section, x, 0) or [across(body, z, 1)]
    return -runs[0][0] if sign < 0 else runs[-1][1]


def obstructions(
    body: Body, first: str, second: str, u: float, is_cut: Callable[[Obstruction], bool]
) -> Iterator[Item]:
    """Everything in the way, hatched where it is cut, with its name where there is room."""
    for number, block in enumerate(body.obstructions):
        a, b = getattr(block, first), getattr(block, second)
        cut = is_cut(block)
        shape = rectangle(a, b, "thin" if cut else "hidden", "keep_free" if cut else "none")
        clear = cut or (first, second) == ("x", "z")
        room = clear and (a[1] - a[0]) / u > 6.2 * len(block.label) and (b[1] - b[0]) / u > 16
        label = Text((a[0] + a[1]) / 2, (b[0] + b[1]) / 2, block.label, "small", plaque=True)
        yield Group((shape, label) if room and block.label else (shape,),
                    "obstruction", f"obstructions-{number}")


@dataclass(frozen=True, slots=True)
class Box3:
    """A block in the body frame."""

    x: Span
    y: Span
    z: Span


def block_of(frame: BodyFrame, x: Span, y: Span, w: Span) -> Box3:
    """A block given in plate x, y, w."""
    a, b = frame.to_body(x[0], y[0], w[0]), frame.to_body(x[1], y[1], w[1])
    (x0, x1), (y0, y1), (z0, z1) = (sorted(pair) for pair in zip(a, b, strict=True))
    return Box3((x0, x1), (y0, y1), (z0, z1))


def plate_block(job: Job) -> Box3:
    """The plate's bounding block."""
    frame = BodyFrame.of(job.plate)
    half = frame.thickness / 2
    return block_of(frame, (0.0, frame.width), (0.0, frame.height), (-half, half))


def module_blocks(job: Job) -> list[Box3]:
    """The bounding block of every placed module, what stands out behind included."""
    return [block for _, block in named_blocks(job)]


def named_blocks(job: Job) -> list[tuple[str, Box3]]:
    """The same, each with its part's id; what stands out behind is a block of its own."""
    frame = BodyFrame.of(job.plate)
    blocks = []
    for part in job.placed:
        for solid in Standing.of(job, part).solids:
            x0, y0, x1, y1 = extent(solid.shape)
            span = frame.span(solid.face, solid.low, solid.high)
            blocks.append((part.id, block_of(frame, (x0, x1), (y0, y1), span)))
    return blocks

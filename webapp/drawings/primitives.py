"""The display list: what a drawing consists of, before it is SVG on a screen or PDF on paper.

All positions and sizes are millimetres in a frame with x to the right and y UP; the renderer
turns y over where its medium wants that. Angles are degrees counter-clockwise. Nothing here
knows a colour or a line width: a `pen` and a `fill` name a role of the look, and each medium
looks the role up in its own table (custom properties on the screen, widths in mm on paper).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from math import atan2, cos, degrees, hypot, radians, sin, tan
from typing import ClassVar, Literal

from layout_engine.geometry.corners import Corner, rounded

Pen = Literal[
    "edge",  # plate edge: extra wide, full
    "outline",  # module outlines, hole circles: wide
    "thin",  # terminals, dimensions, leaders, centre crosses: narrow
    "fine",  # scale ticks, fins, rules
    "margin",  # dotted, inside the plate edge
    "hidden",  # dashed: what lies on the other face
    "axis",  # chain line: centre lines, aerial distance, chalk lines
    "fold",  # registration marks and tile borders on paper
    "band",  # the ground of a wire or a run of wires, as wide as it is
    "band_edge",  # the edge round it: drawn below all grounds
    "none",
]
Fill = Literal[
    "none", "plate", "part", "sheet", "ink", "keep_free", "room", "section", "fits", "hole"
]
Lettering = Literal["name", "small", "mark", "dimension", "title", "scale"]
Anchor = Literal["start", "middle", "end"]
Command = tuple[str, *tuple[float, ...]]


@dataclass(frozen=True, slots=True)
class Line:
    """A straight stroke."""

    shape: ClassVar[str] = "line"
    x1: float
    y1: float
    x2: float
    y2: float
    pen: Pen = "thin"


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle of true diameter, round its centre."""

    shape: ClassVar[str] = "circle"
    x: float
    y: float
    diameter: float
    pen: Pen = "outline"
    fill: Fill = "none"


@dataclass(frozen=True, slots=True)
class Path:
    """An outline of `("M", x, y)`, `("L", x, y)`, `("C", x1, y1, x2, y2, x, y)` and `("Z",)`.

    Several closed rings in one path fill by the even-odd rule, so that holes stay open; bend room
    alone fills all that any of its rings holds. `width` is that of a band [mm]; all other strokes
    have the width of their pen.
    """

    shape: ClassVar[str] = "path"
    commands: tuple[Command, ...]
    pen: Pen = "outline"
    fill: Fill = "none"
    width: float = 0.0

    @property
    def d(self) -> str:
        """The commands as the `d` of an SVG path."""
        return "".join(c[0] + " ".join(map(figure, c[1:])) for c in self.commands)


@dataclass(frozen=True, slots=True)
class Text:
    """One line of lettering; `turn` 90 reads from the right. Sizes follow from `lettering`.

    `dx` and `dy` shift it on a screen by pixels, right and up, whatever the zoom.
    """

    shape: ClassVar[str] = "text"
    x: float
    y: float
    text: str
    lettering: Lettering = "small"
    anchor: Anchor = "middle"
    turn: float = 0.0
    plaque: bool = False  # clear ground behind the lettering
    dx: float = 0.0
    dy: float = 0.0


@dataclass(frozen=True, slots=True)
class Dimension:
    """A dimension between two points, drawn `off` mm beside them (left of the way from 1 to 2)."""

    shape: ClassVar[str] = "dimension"
    x1: float
    y1: float
    x2: float
    y2: float
    text: str
    off: float = 0.0
    key: str = ""  # the field that this dimension belongs to, so that the page can light it

    @property
    def length(self) -> float:
        """Distance of the two points, mm."""
        return hypot(self.x2 - self.x1, self.y2 - self.y1)

    @property
    def ends(self) -> tuple[float, float, float, float]:
        """Where the dimension line itself starts and ends: x1, y1, x2, y2."""
        ux, uy = cos(radians(self.direction)), sin(radians(self.direction))
        nx, ny = -uy * self.off, ux * self.off
        return self.x1 + nx, self.y1 + ny, self.x2 + nx, self.y2 + ny

    @property
    def direction(self) -> float:
        """Direction of the way from 1 to 2, degrees counter-clockwise."""
        return degrees(atan2(self.y2 - self.y1, self.x2 - self.x1))

    @property
    def reading(self) -> float:
        """The turn of its figure: from below, or from the right where the line is upright."""
        turn = self.direction % 180
        return turn - 180 if turn > 90 + 1e-6 else turn


@dataclass(frozen=True, slots=True)
class Group:
    """Drawn things that belong together: a module, a layer, one hole.

    On a screen the items of a group with role "px" are pixels, those of "px_x" ("px_y") have only
    their x (y) in pixels, and "mark" is the sign that `data["sign"]` names; such groups keep their
    size at any zoom. `transform` is (turn in degrees, mirrored in x first, x, y): the placement
    rule of the document.
    `role` becomes a class on the screen and decides on paper; `data` becomes data-* attributes.
    """

    shape: ClassVar[str] = "group"
    items: tuple[Item, ...]
    role: str = ""
    key: str = ""  # id of the thing drawn, for the page's script
    label: str = ""  # accessible name
    transform: tuple[float, bool, float, float] | None = None
    data: Mapping[str, str] = field(default_factory=dict, hash=False)


Item = Line | Circle | Path | Text | Dimension | Group


@dataclass(frozen=True, slots=True)
class Drawing:
    """A display list with the window of the frame (left, bottom, width, height in mm) it shows."""

    left: float
    bottom: float
    width: float
    height: float
    items: tuple[Item, ...]
    title: str = ""
    clip: Path | None = None  # groups with role "aerials" show only inside it

    @property
    def fills(self) -> frozenset[Fill]:
        """Every fill that is used in it."""
        return frozenset(_fills(self.items))


def figure(value: float) -> str:
    """A number for a drawing: to a thousandth, without a tail of noughts."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def strokes(items: Iterable[Item]) -> tuple[Item, ...]:
    """The items, with lines of one pen that follow each other made one path: fewer elements."""
    drawn: list[Item] = []
    for pen, run in groupby(items, key=lambda item: item.pen if isinstance(item, Line) else None):
        if pen is None:
            drawn.extend(run)
            continue
        ends = ((line.x1, line.y1, line.x2, line.y2) for line in run if isinstance(line, Line))
        drawn.append(Path(tuple(
            step for x1, y1, x2, y2 in ends for step in (("M", x1, y1), ("L", x2, y2))
        ), pen))
    return tuple(drawn)


def _fills(items: Iterable[Item]) -> Iterator[Fill]:
    for item in items:
        if isinstance(item, Group):
            yield from _fills(item.items)
        elif isinstance(item, Circle | Path):
            yield item.fill


def polygon(points: tuple[tuple[float, float], ...], pen: Pen = "outline", fill: Fill = "none",
            *, radius: float = 0.0) -> Path:
    """A closed path through `points`; with `radius` every convex corner becomes an arc."""
    return Path(_ring(points, radius), pen, fill)


def rings(outlines: Iterable[tuple[tuple[float, float], ...]], pen: Pen = "outline",
          fill: Fill = "none") -> Path:
    """One path of several closed rings (an outline and its holes)."""
    return Path(tuple(c for ring in outlines for c in _ring(ring, 0.0)), pen, fill)


def arc(x: float, y: float, radius: float, start: float, sweep: float) -> tuple[Command, ...]:
    """Cubic pieces of at most 90 degrees for an arc round (x, y), without the move to its start.

    The error of one piece is below 0.03 % of the radius.
    """
    pieces = max(1, int(abs(sweep) // 90.0001) + 1)
    step = radians(sweep) / pieces
    reach = 4 / 3 * tan(step / 4) * radius
    commands: list[Command] = []
    for piece in range(pieces):
        a, b = radians(start) + piece * step, radians(start) + (piece + 1) * step
        commands.append((
            "C",
            x + radius * cos(a) - reach * sin(a), y + radius * sin(a) + reach * cos(a),
            x + radius * cos(b) + reach * sin(b), y + radius * sin(b) - reach * cos(b),
            x + radius * cos(b), y + radius * sin(b),
        ))
    return tuple(commands)


def bent(points: Sequence[tuple[float, float]], radius: float) -> tuple[Command, ...]:
    """An open way through points, its bends rounded; each takes at most half of a leg."""
    commands: list[Command] = [("M", *points[0])]
    for before, corner, after in zip(points, points[1:], points[2:], strict=False):
        (ax, ay), (bx, by) = _towards(corner, before, radius), _towards(corner, after, radius)
        # the control points of a parabola: two thirds of the way to the corner
        commands += [("L", ax, ay), (
            "C", ax + (corner[0] - ax) * 2 / 3, ay + (corner[1] - ay) * 2 / 3,
            bx + (corner[0] - bx) * 2 / 3, by + (corner[1] - by) * 2 / 3, bx, by)]
    return (*commands, ("L", *points[-1]))


def _towards(corner: tuple[float, float], other: tuple[float, float], radius: float
             ) -> tuple[float, float]:
    length = hypot(other[0] - corner[0], other[1] - corner[1])
    share = min(radius / length, 0.5) if length else 0.0
    return corner[0] + (other[0] - corner[0]) * share, corner[1] + (other[1] - corner[1]) * share


def _ring(points: tuple[tuple[float, float], ...], radius: float) -> tuple[Command, ...]:
    if radius <= 0:
        first, *rest = points
        return (("M", *first), *(("L", *p) for p in rest), ("Z",))
    commands: list[Command] = []
    for corner in rounded(points, radius):
        if isinstance(corner, Corner):
            x, y = corner.centre
            start = degrees(atan2(corner.start[1] - y, corner.start[0] - x))
            commands.append(("L", *corner.start))
            commands.extend(arc(x, y, corner.radius, start, corner.sweep))
        else:
            commands.append(("L", *corner))
    return (("M", *commands[0][1:]), *commands[1:], ("Z",))

"""How a face is looked at: the front as the plate's own frame, the back as seen from behind.

From behind, x runs the other way: a point at plate x is drawn at W - x. A module is drawn by
bringing its own items into the view, so that no lettering is ever turned or mirrored.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Literal

from layout_engine.geometry.frames import Pose, unit
from layout_engine.model.part import Placement
from webapp.drawings.primitives import Circle, Command, Dimension, Group, Item, Line, Path, Text

View = Literal["front", "back", "through"]
Point = tuple[float, float]
USUAL_PX = (640.0, 620.0)  # what a board takes on the Layout page


@dataclass(frozen=True, slots=True)
class Seen:
    """A view of a plate, `width` x `height` mm; `through` looks from the front."""

    view: View
    width: float
    height: float

    @property
    def face(self) -> Literal["front", "back"]:
        """The face nearer to the eye."""
        return "back" if self.view == "back" else "front"

    @property
    def mirrored(self) -> bool:
        """Whether x runs from right to left."""
        return self.view == "back"

    @property
    def pixel(self) -> float:
        """A screen pixel at the usual zoom, mm: what lettering and margins are reckoned by."""
        return max(self.width / USUAL_PX[0], self.height / USUAL_PX[1])

    def point(self, x: float, y: float) -> Point:
        """Where a plate point is drawn."""
        return (self.width - x, y) if self.mirrored else (x, y)

    def points(self, outline: Iterable[Point]) -> tuple[Point, ...]:
        """Where plate points are drawn."""
        return tuple(self.point(x, y) for x, y in outline)

    def stand(self, placement: Placement) -> Stand:
        """How a placed part's own frame lies in this view."""
        turn = -placement.turn if self.mirrored else placement.turn
        on_back = placement.face == "back"
        return Stand(turn, on_back != self.mirrored, *self.point(placement.x, placement.y))


@dataclass(frozen=True, slots=True)
class Stand:
    """A part's frame in a view: turned, mirrored in its own x before that, origin at (x, y)."""

    turn: float
    mirrored: bool
    x: float
    y: float

    @property
    def axes(self) -> tuple[float, float, float, float]:
        """Where the part's x and y point in the view: (xx, xy, yx, yy)."""
        c, s = unit(self.turn)
        return (-c, -s, -s, c) if self.mirrored else (c, s, -s, c)

    def offset(self, qx: float, qy: float) -> Point:
        """A part point relative to the part's origin, in the view."""
        xx, xy, yx, yy = self.axes
        return xx * qx + yx * qy, xy * qx + yy * qy

    def offsets(self, points: Iterable[Point]) -> tuple[Point, ...]:
        """Part points relative to the part's origin, in the view."""
        xx, xy, yx, yy = self.axes
        return tuple((xx * qx + yx * qy, xy * qx + yy * qy) for qx, qy in points)

    def direction(self, degrees: float) -> float:
        """A direction of the part's frame, in the view."""
        return Pose("back" if self.mirrored else "front", 0.0, 0.0, self.turn).direction(degrees)

    def items(self, items: Iterable[Item]) -> Iterator[Item]:
        """Items of the part's frame relative to its origin, in the view; lettering upright."""
        for item in items:
            yield self._item(item)

    def _item(self, item: Item) -> Item:
        match item:
            case Line():
                (x1, y1), (x2, y2) = self.offsets(((item.x1, item.y1), (item.x2, item.y2)))
                return Line(x1, y1, x2, y2, item.pen)
            case Path():
                return Path(tuple(self._commands(item)), item.pen, item.fill)
            case Circle():
                return Circle(*self.offset(item.x, item.y), item.diameter, item.pen, item.fill)
            case Group():
                return replace(item, items=tuple(self.items(item.items)))
            case Text():
                x, y = self.offset(item.x, item.y)
                return replace(item, x=x, y=y)
            case Dimension():
                (x1, y1), (x2, y2) = self.offsets(((item.x1, item.y1), (item.x2, item.y2)))
                off = -item.off if self.mirrored else item.off
                return replace(item, x1=x1, y1=y1, x2=x2, y2=y2, off=off)

    def _commands(self, path: Path) -> Iterator[Command]:
        xx, xy, yx, yy = self.axes
        for letter, *n in path.commands:
            moved: list[float] = []
            for x, y in zip(n[::2], n[1::2], strict=True):
                moved += (xx * x + yx * y, xy * x + yy * y)
            yield letter, *moved

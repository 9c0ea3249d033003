"""The board as one face shows it at true size: plate, modules, holes, and what lettering avoids.

A view is what is printed: x to the right, y up, mm. The front is the plate's own frame; the back
is seen from behind, x_back = W - x, and its lettering stays upright.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import cos, pi, sin

from layout_engine.geometry.frames import Pose
from layout_engine.geometry.outlines import simplified
from layout_engine.model.job import Job
from layout_engine.model.part import Part
from layout_engine.model.plate import ExistingHole, Face
from layout_engine.once import cached_property
from layout_engine.sheets.cut_outs import CutOut
from layout_engine.sheets.holes import BoardHoles, Hole, board_holes
from layout_engine.tables.paper import back_x
from layout_engine.wiring import Routing
from webapp.drawings.primitives import Circle, Group, Item, Line, Path, polygon
from webapp.printing.labels import Spot, hole_labels
from webapp.printing.names import Name, module_names
from webapp.printing.placing import CELL_MM, Box, Ground

CROSS_BEYOND_MM = 1.7
CIRCLE_SIDES = 24
MANY_CORNERS = 100
UNSEEN_MM = 0.005  # a quarter of what a place on paper may be out
DATUM_OFF_MM = 2.5
DATUM_ARM_MM = 7.5
DIAMETER_SIGN = "\u2300"
Points = tuple[tuple[float, float], ...]


def figure(value: float, places: int = 1) -> str:
    """A length as it stands on a drawing: at most `places` decimals, no tail of noughts."""
    text = f"{value:.{places}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def diameter(value: float) -> str:
    """A diameter with its sign."""
    return f"{DIAMETER_SIGN}{figure(value, 2)}"


@dataclass(frozen=True)
class BoardView:
    """One face of a job's board, ready to be drawn on any number of sheets."""

    job: Job
    face: Face
    board: BoardHoles

    @classmethod
    def of(cls, job: Job, face: Face, routing: Routing | None = None) -> BoardView:
        """The view of one face; with the holes for its wires where they are told."""
        return cls(job, face, board_holes(job, routing))

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the plate, mm."""
        return self.job.plate.size

    def x(self, plate_x: float) -> float:
        """The view's x of a plate x."""
        return back_x(self.size[0], plate_x) if self.face == "back" else plate_x

    def points(self, plate_points: Sequence[tuple[float, float]]) -> Points:
        """The view's points of plate points."""
        return tuple((self.x(x), y) for x, y in plate_points)

    def module(self, part: Part) -> Points:
        """A placed part's outline in the view."""
        if part.placement is None:
            raise ValueError(f"part {part.id} is not placed")
        outline = Pose.of(part.placement).points(self._drawn[part.type])
        return self.points([(float(x), float(y)) for x, y in outline])

    @cached_property
    def _drawn(self) -> dict[str, Sequence[tuple[float, float]]]:
        """Outlines of the types as they are drawn, with no corners that nobody sees."""
        return {
            type_id: simplified(kind.outline, UNSEEN_MM)
            if len(kind.outline) > MANY_CORNERS else kind.outline
            for type_id, kind in self.job.types.items()
        }

    @cached_property
    def feet(self) -> tuple[tuple[str, Points], ...]:
        """Squares of the feet that are stuck on this face, with the ids of their ties."""
        return tuple((foot.id, self.points(foot.outline)) for foot in self.board.feet
                     if foot.face == self.face)

    @cached_property
    def outlines(self) -> tuple[Points, ...]:
        """Outlines of the placed parts in the view, in their order."""
        return tuple(self.module(part) for part in self.job.placed)

    def items(self) -> tuple[Item, ...]:
        """Everything but lettering, from below."""
        return (
            *self._modules("other"), *self._modules("own"), *self._cut_outs(),
            *(polygon(square, "fine") for _, square in self.feet),
            Group(tuple(i for old in self.board.unused for i in self._existing(old)), "existing"),
            *(i for hole in self.board.holes for i in self._hole(hole)), *plate_items(self),
        )

    def lettering(self, ground: Ground, *, datum: bool = True) -> tuple[Item, ...]:
        """Hole labels, then module names, on the clear ground of one window of the view.

        datum: whether the datum corner is named as well.
        """
        seen = ground.bounds
        corner = (Spot(*datum_box(self).centre, DATUM_ARM_MM / 2, ("datum corner",)),) * datum
        spots = tuple(spot for spot in (*self._spots(), *corner) if seen.grown(spot.reach).meets(
            Box(spot.x, spot.y, spot.x, spot.y).grown(0.01)))
        return (*hole_labels(ground, spots), *module_names(ground, self._names))

    def circles(self) -> tuple[tuple[float, float, float], ...]:
        """Every hole as (x, y, radius its cross reaches), mm, for marks that keep off them."""
        new = [(self.x(h.x), h.y, h.diameter / 2 + CROSS_BEYOND_MM) for h in self.board.holes]
        old = [(self.x(h.x), h.y, h.diameter / 2 + CROSS_BEYOND_MM) for h in self.board.unused]
        return (*new, *old)

    def _modules(self, which: str) -> Iterator[Item]:
        for part, outline in zip(self.job.placed, self.outlines, strict=True):
            own = part.placement is not None and part.placement.face == self.face
            if own == (which == "own"):
                yield polygon(outline, "thin" if own else "hidden")

    def _hole(self, hole: Hole) -> tuple[Item, ...]:
        crossed = crossed_circle(self.x(hole.x), hole.y, hole.diameter)
        return (Group(crossed, "existing"),) if hole.reused else crossed

    def _existing(self, old: ExistingHole) -> tuple[Item, ...]:
        return crossed_circle(self.x(old.x), old.y, old.diameter)

    def _cut_outs(self) -> Iterator[Item]:
        for cut in self.board.cut_outs:
            yield polygon(self.points(cut.outline), "outline")
            for x, y in cut.ends:
                yield from _cross(self.x(x), y, cut.width / 2 + CROSS_BEYOND_MM)

    def _spots(self) -> Iterator[Spot]:
        for hole in self.board.holes:
            words = "there already" if hole.reused else ""
            lines = tuple(w for w in (hole.id, diameter(hole.diameter), words) if w)
            yield Spot(self.x(hole.x), hole.y, hole.diameter / 2 + CROSS_BEYOND_MM, lines)
        for old in self.board.unused:
            yield Spot(self.x(old.x), old.y, old.diameter / 2 + CROSS_BEYOND_MM,
                       (diameter(old.diameter), "not used"))
        for cut in self.board.cut_outs:
            yield self._cut_out_spot(cut)
        for name, square in self.feet:
            (left, bottom), (right, top) = square[0], square[2]
            yield Spot((left + right) / 2, (bottom + top) / 2, -5.0, (name, "foot"))

    def _cut_out_spot(self, cut: CutOut) -> Spot:
        left, bottom, right, top = cut.box
        small = min(right - left, top - bottom) < 6
        reach = min(right - left, top - bottom) / 2 + CROSS_BEYOND_MM if small else -5.0
        return Spot(self.x((left + right) / 2), (bottom + top) / 2, reach, (cut.id,))

    @cached_property
    def _names(self) -> tuple[Name, ...]:
        return tuple(self._named())

    def _named(self) -> Iterator[Name]:
        for part, outline in zip(self.job.placed, self.outlines, strict=True):
            own = part.placement is not None and part.placement.face == self.face
            behind = "front" if self.face == "back" else "back"
            text = part.title if own else f"{part.title}, on the {behind}"
            yield Name(outline, text, "name" if own else "mark")

    def ground(self, window: Box) -> Ground:
        """What lettering must keep off within a window: every stroke of the drawing."""
        ground = Ground(window)
        for ring in (self.job.plate.outline, *self.job.plate.holes):
            ground.add_ring(self.points(ring))
        wide = window.grown(2 * CELL_MM)
        for name in self._names:
            if name.box.meets(wide):
                ground.add_ring(name.outline)
        for cut in self.board.cut_outs:
            ground.add_ring(self.points(cut.outline))
        for _, square in self.feet:
            ground.add_ring(square)
        ground.add_box(datum_box(self))
        near = window.grown(CROSS_BEYOND_MM)
        seen = (c for c in self.circles() if near.grown(c[2]).meets(Box(c[0], c[1], c[0], c[1])))
        for x, y, reach in seen:
            ground.add_ring(_ring(x, y, reach - CROSS_BEYOND_MM))
            ground.add_stroke(x - reach, y, x + reach, y)
            ground.add_stroke(x, y - reach, x, y + reach)
        return ground


def plate_items(view: BoardView) -> tuple[Item, ...]:
    """The plate's edge with its rounded corners, and its own cut-outs."""
    plate = view.job.plate
    edge = polygon(view.points(plate.outline), "edge", radius=plate.corner_radius)
    return (*(polygon(view.points(hole), "outline") for hole in plate.holes), edge)


def crossed_circle(x: float, y: float, size: float) -> tuple[Item, ...]:
    """A hole at true size with its centre cross."""
    return Circle(x, y, size, "outline"), *_cross(x, y, size / 2 + CROSS_BEYOND_MM)


def _cross(x: float, y: float, reach: float) -> tuple[Line, Line]:
    return Line(x - reach, y, x + reach, y), Line(x, y - reach, x, y + reach)


def _ring(x: float, y: float, radius: float) -> list[tuple[float, float]]:
    angles = (2 * pi * n / CIRCLE_SIDES for n in range(CIRCLE_SIDES))
    return [(x + radius * cos(angle), y + radius * sin(angle)) for angle in angles]


def datum_box(view: BoardView) -> Box:
    """The ground that the datum corner's mark takes."""
    x, side = _datum_at(view)
    left, right = sorted((x - side * 0.9, x + side * DATUM_ARM_MM))
    return Box(left, -DATUM_OFF_MM - 0.9, right, -DATUM_OFF_MM + DATUM_ARM_MM)


def _datum_at(view: BoardView) -> tuple[float, float]:
    side = -1.0 if view.face == "back" else 1.0
    return view.x(0.0) - side * DATUM_OFF_MM, side


def datum_items(view: BoardView) -> tuple[Item, ...]:
    """The heavy L with its filled square at the datum corner, outside the plate."""
    x, side = _datum_at(view)
    y, arm = -DATUM_OFF_MM, DATUM_ARM_MM
    square = Path((("M", x - 0.9, y - 0.9), ("L", x + 0.9, y - 0.9), ("L", x + 0.9, y + 0.9),
                   ("L", x - 0.9, y + 0.9), ("Z",)), "none", "ink")
    return Line(x, y, x + side * arm, y, "edge"), Line(x, y, x, y + arm, "edge"), square

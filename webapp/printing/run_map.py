"""Where the runs lie that the cut list names: one sheet a face, the board as large as it fits.

A run is a thick line with its name on it, a wire a thin one. Nothing is measured here: the
board is drawn as large as the sheet allows.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from layout_engine.model.plate import Face
from layout_engine.wiring import Routing, Run
from webapp.drawings.primitives import Path, Pen, Text, polygon
from webapp.drawings.runs import NAME_SHARES, along_path, pieces_on
from webapp.printing.board_view import BoardView
from webapp.printing.canvas import Sheets
from webapp.printing.fonts import shortened, width_mm
from webapp.printing.furniture import SMALL
from webapp.printing.placing import Box

Point = tuple[float, float]
Place = Callable[[Sequence[Point]], tuple[Point, ...]]
NAME_MM = 2.5  # height and type size of a run's name
FACE_WORDS: dict[Face, str] = {
    "front": "Runs on the front", "back": "Runs on the back, seen from behind",
}


def faces_with_runs(routing: Routing) -> tuple[Face, ...]:
    """The faces on which runs have names, the front first."""
    faces: tuple[Face, ...] = ("front", "back")
    return tuple(face for face in faces
                 if any(run.is_named and run.face == face for run in routing.runs))


def draw_runs(sheets: Sheets, routing: Routing, face: Face, box: Box) -> None:
    """The runs of one face in a box of the page, mm."""
    view = BoardView.of(routing.job, face)
    width, height = view.size
    scale = min((box.right - box.left) / width, (box.top - box.bottom) / height)

    def place(points: Sequence[Point]) -> tuple[Point, ...]:
        return tuple((box.left + x * scale, box.bottom + y * scale)
                     for x, y in view.points(points))

    sheets.draw((polygon(place(routing.job.plate.outline), "outline"),))
    for part in routing.job.placed:
        if part.placement is not None and part.placement.face == face:
            on_plate = view.points(view.module(part))  # seen from behind twice: from the front
            _module(sheets, place(on_plate), part.title)
    sheets.draw(_line(place(piece), "fine") for wire in routing.wires
                for piece in pieces_on(wire.path, face))
    named = [run for run in routing.runs if run.is_named and run.face == face]
    sheets.draw(_line(place(run.path), "edge") for run in named)
    sheets.draw(_names(named, place))


def _module(sheets: Sheets, outline: Sequence[Point], title: str) -> None:
    xs, ys = [x for x, _ in outline], [y for _, y in outline]
    sheets.draw((polygon(tuple(outline), "thin", "sheet"),))
    name = shortened(title, SMALL, max(xs) - min(xs) - 1.0)
    sheets.lettering((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2, name, SMALL,
                     anchor="middle", grey=0.35)


def _line(points: Sequence[Point], pen: Pen) -> Path:
    (x, y), *others = points
    return Path((("M", x, y), *(("L", a, b) for a, b in others)), pen)


def _names(named: Sequence[Run], place: Place) -> Iterator[Text]:
    """The name of each run, where no other name stands if it can be."""
    taken: list[Box] = []
    for run in named:
        boxes = []
        for share in NAME_SHARES:
            ((x, y),) = place((along_path(run.path, share * run.length),))
            half = width_mm(run.id, NAME_MM, "medium") / 2 + 0.5
            boxes.append(Box(x - half, y - NAME_MM / 2, x + half, y + NAME_MM / 2))
        free = next((b for b in boxes if not any(b.meets(other) for other in taken)), boxes[0])
        taken.append(free)
        yield Text(*free.centre, run.id, "mark", plaque=True)

"""Where on a module its name may stand: the largest clear rectangle between holes and terminals."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from math import cos, radians, sin

from layout_engine.geometry.outlines import bounds
from layout_engine.geometry.shapes import point_gap, shape_of
from layout_engine.model.part_type import PartType, RoundCutOut
from layout_engine.tables.fasteners import medium_hole

Box = tuple[float, float, float, float]  # x0, y0, x1, y1 in mm
Outline = Sequence[tuple[float, float]]
INSET_MM = 1.5
HOLE_FREE_MM = 2.2  # round a fixing: its cross and a little ground
TERMINAL_FREE_MM = 2.2
MARK_MM = 4.6  # a printed mark beside its terminal takes about this much at the usual zoom
USUAL_MM = (34.0, 13.0)  # a name with its height below it, at the usual zoom
UPRIGHT = 0.5  # what a name that reads from the right is worth beside one that lies
MOST_EDGES = 14  # more rows or columns than this change nothing that is seen
GRID = 9


def name_room(kind: PartType) -> Box:
    """The rectangle of the part frame in which a module's name stands best."""
    return _best(tuple(kind.outline), tuple(_taken(kind)))


def clear_room(outline: Outline, taken: Iterable[Box]) -> Box:
    """The rectangle within an outline that stays clear of boxes and holds a name best."""
    return _best(tuple(outline), tuple(taken))


def _taken(kind: PartType) -> Iterator[Box]:
    for f in kind.fixings:
        yield _square(f.x, f.y, medium_hole(f.thread) / 2 + HOLE_FREE_MM)
    for cut in kind.through:
        if isinstance(cut, RoundCutOut):
            yield _square(cut.x, cut.y, cut.diameter / 2 + 0.5)
        else:
            yield bounds(cut)
    for t in kind.terminals:
        yield _square(t.x, t.y, TERMINAL_FREE_MM)
        if t.mark:  # printed on the inner side of the terminal
            way = radians(t.leaves + 180.0)
            off = TERMINAL_FREE_MM + MARK_MM / 2
            yield _square(t.x + off * cos(way), t.y + off * sin(way), MARK_MM / 2)
    if kind.antenna:
        yield _square(kind.antenna.x, kind.antenna.y, 3.0)


def _square(x: float, y: float, half: float) -> Box:
    return x - half, y - half, x + half, y + half


@lru_cache(maxsize=512)
def _best(outline: tuple[tuple[float, float], ...], taken: tuple[Box, ...]) -> Box:
    x0, y0, x1, y1 = bounds(outline)
    whole = (x0 + INSET_MM, y0 + INSET_MM, x1 - INSET_MM, y1 - INSET_MM)
    blocked = (*taken, *_outside(outline, whole))
    return max(_clear(whole, blocked), key=lambda box: _worth(box, whole), default=whole)


def _outside(outline: tuple[tuple[float, float], ...], whole: Box) -> Iterator[Box]:
    """Cells of the bounding box that the outline does not cover."""
    x0, y0, x1, y1 = whole
    if len(outline) == 4 and len({x for x, _ in outline}) == len({y for _, y in outline}) == 2:
        return
    dx, dy = (x1 - x0) / GRID, (y1 - y0) / GRID
    ground = shape_of(outline)
    for column in range(GRID):
        for row in range(GRID):
            left, low = x0 + column * dx, y0 + row * dy
            if point_gap(left + dx / 2, low + dy / 2, ground) > 0:
                yield left, low, left + dx, low + dy


def _clear(whole: Box, blocked: tuple[Box, ...]) -> Iterator[Box]:
    """Clear rectangles: between any two rows of edges, the widest runs between what is taken."""
    x0, y0, x1, y1 = whole
    rows = _edges([y0, y1, *(b[1] for b in blocked), *(b[3] for b in blocked)], y0, y1)
    for index, low in enumerate(rows):
        for high in rows[index + 1:]:
            met = sorted((b[0], b[2]) for b in blocked if b[1] < high and b[3] > low)
            left = x0
            for start, end in met:
                if min(start, x1) > left:
                    yield left, low, min(start, x1), high
                left = max(left, end)
            if left < x1:
                yield left, low, x1, high


def _edges(values: list[float], least: float, most: float) -> list[float]:
    rows = sorted({round(min(max(v, least), most), 1) for v in values})
    step = max(1, len(rows) // MOST_EDGES)
    return [*rows[:-1:step], rows[-1]]


def _worth(box: Box, whole: Box) -> float:
    """What a rectangle holds of a usual name, less a little for being off the middle."""
    wide, high = box[2] - box[0], box[3] - box[1]
    across = min(wide, USUAL_MM[0]) * min(high, USUAL_MM[1])
    upright = min(wide, USUAL_MM[1]) * min(high, USUAL_MM[0])
    off = abs(box[0] + box[2] - whole[0] - whole[2]) + abs(box[1] + box[3] - whole[1] - whole[3])
    return max(across, UPRIGHT * upright) - 0.5 * off + 0.02 * wide * high

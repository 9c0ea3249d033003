"""Where on a module its name may stand: the largest clear rectangles between what is drawn."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import lru_cache
from math import cos, radians, sin

from layout_engine.geometry.outlines import bounds
from layout_engine.geometry.shapes import point_gap, shape_of
from layout_engine.model.part_type import PartType, RoundCutOut
from layout_engine.sheets.cut_outs import slot_outline
from layout_engine.tables.fasteners import medium_hole
from webapp.drawings.seen import Stand

Box = tuple[float, float, float, float]  # x0, y0, x1, y1 in mm
Outline = tuple[tuple[float, float], ...]
INSET_MM = 1.5
HOLE_FREE_MM = 2.2  # round a fixing: its cross and a little ground
TERMINAL_FREE_MM = 2.2
AERIAL_FREE_MM = 3.0
MARK_MM = 4.6  # a printed mark beside its terminal takes about this much at the usual zoom
USUAL_MM = (34.0, 13.0)  # a name with its height below it, at the usual zoom
UPRIGHT = 0.5  # what a name that reads from the right is worth beside one that lies
MOST_EDGES = 14  # more rows or columns than this change nothing that is seen
GRID = 9


def name_rooms(kind: PartType, stand: Stand) -> tuple[Box, ...]:
    """Where on a module its name may stand, round its origin as seen, the best first.

    On clear ground; wholly on its sink; wholly within a cut-out; over a sink's edge; over the sign
    of a point to reach; over printed marks, which the page then sets elsewhere. Never over a hole
    or a terminal.
    """
    outline = stand.offsets(kind.outline)
    cuts = tuple(_cut(cut, stand) for cut in kind.through)
    holes = (*_taken(kind, stand), *cuts)
    printed = tuple(_printed(kind, stand))
    marks = (*_points(kind, stand), *printed)
    sink = kind.heat.sink if kind.heat else None
    fins = () if sink is None else (stand.offsets(sink),)
    rooms = [
        *_bests(outline, (*holes, *marks, *(bounds(fin) for fin in fins))),
        *(room for fin in fins for room in _bests(fin, (*holes, *marks))),
        *(room for cut in kind.through
          for room in _bests(_inside(cut, stand), (*_taken(kind, stand), *marks))),
        *_bests(outline, (*holes, *marks)), *_bests(outline, (*holes, *printed)),
        *_bests(outline, holes),
    ]
    return tuple(dict.fromkeys(rooms))


def clear_room(outline: Outline, taken: Iterable[Box]) -> Box:
    """The rectangle within an outline that stays clear of boxes and holds a name best."""
    whole = _inset(outline)
    return max(_clear(whole, (*taken, *_outside(tuple(outline), whole))),
               key=lambda box: _worth(box, whole), default=whole)


def _taken(kind: PartType, stand: Stand) -> Iterator[Box]:
    """Fixings with their crosses, terminals, aerials: never lettered over."""
    for f in kind.fixings:
        yield _square(*stand.offset(f.x, f.y), medium_hole(f.thread) / 2 + HOLE_FREE_MM)
    for slot in kind.slots:
        yield bounds(stand.offsets(slot_outline(slot)))
    for t in kind.terminals:
        yield _square(*stand.offset(t.x, t.y), TERMINAL_FREE_MM)
    if kind.antenna:
        yield _square(*stand.offset(kind.antenna.x, kind.antenna.y), AERIAL_FREE_MM)


def _points(kind: PartType, stand: Stand) -> Iterator[Box]:
    """The signs of points to reach, which a name leaves clear where it can."""
    for point in kind.service:
        yield _square(*stand.offset(point.x, point.y), TERMINAL_FREE_MM)


def _printed(kind: PartType, stand: Stand) -> Iterator[Box]:
    """Printed marks, on the inner side of their terminals; left clear where that can be."""
    for t in kind.terminals:
        if t.mark:
            x, y = stand.offset(t.x, t.y)
            way = radians(stand.direction(t.leaves + 180.0))
            off = TERMINAL_FREE_MM + MARK_MM / 2
            yield _square(x + off * cos(way), y + off * sin(way), MARK_MM / 2)


def _cut(cut: RoundCutOut | Outline, stand: Stand) -> Box:
    if isinstance(cut, RoundCutOut):
        return _square(*stand.offset(cut.x, cut.y), cut.diameter / 2 + 0.5)
    return bounds(stand.offsets(cut))


def _inside(cut: RoundCutOut | Outline, stand: Stand) -> Outline:
    """A rectangle within a cut-out: of a circle the one with sides of 0.8 and 0.6 diameters."""
    if isinstance(cut, RoundCutOut):
        x, y = stand.offset(cut.x, cut.y)
        wide, high = cut.diameter * 0.4, cut.diameter * 0.3
        return _corners((x - wide, y - high, x + wide, y + high))
    return stand.offsets(cut)


def _corners(box: Box) -> tuple[tuple[float, float], ...]:
    x0, y0, x1, y1 = box
    return (x0, y0), (x1, y0), (x1, y1), (x0, y1)


def _square(x: float, y: float, half: float) -> Box:
    return x - half, y - half, x + half, y + half


@lru_cache(maxsize=2048)
def _bests(outline: tuple[tuple[float, float], ...], taken: tuple[Box, ...]) -> tuple[Box, ...]:
    """The clear rectangles that hold a usual name best: at all, from below, from the right."""
    whole = _inset(outline)
    clear = tuple(_clear(whole, (*taken, *_outside(outline, whole))))
    if not clear:
        return ()
    usual, tall = USUAL_MM, USUAL_MM[::-1]
    return (max(clear, key=lambda box: _worth(box, whole)),
            max(clear, key=lambda box: _holds(box, usual)),
            max(clear, key=lambda box: _holds(box, tall)))


def _inset(outline: Outline) -> Box:
    x0, y0, x1, y1 = bounds(outline)
    return x0 + INSET_MM, y0 + INSET_MM, x1 - INSET_MM, y1 - INSET_MM


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
    off = abs(box[0] + box[2] - whole[0] - whole[2]) + abs(box[1] + box[3] - whole[1] - whole[3])
    best = max(_holds(box, USUAL_MM), UPRIGHT * _holds(box, USUAL_MM[::-1]))
    return best - 0.5 * off + 0.02 * (box[2] - box[0]) * (box[3] - box[1])


def _holds(box: Box, usual: tuple[float, float]) -> float:
    """How much of a usual name a rectangle holds, mm2."""
    return min(box[2] - box[0], usual[0]) * min(box[3] - box[1], usual[1])

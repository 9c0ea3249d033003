"""A dimension on paper: line, slim filled arrows, extension lines, figure above the line."""

from __future__ import annotations

from math import atan2, cos, degrees, hypot, radians, sin

from webapp.drawings.primitives import Dimension, Item, Line, Path, Text

ARROW_LENGTH_MM = 2.1
ARROW_WIDTH_MM = 1.0
START_GAP_MM = 1.0
BEYOND_MM = 1.3
LIFT_MM = 1.6
SHORT_MM = 9.0  # arrows stand outside under this length


def dimension_lines(dimension: Dimension) -> tuple[Item, ...]:
    """The lines, arrows and figure of one dimension, in its own frame."""
    d = dimension
    length = hypot(d.x2 - d.x1, d.y2 - d.y1)
    if length == 0:
        return (Text(d.x1, d.y1, d.text, "dimension"),)
    ux, uy = (d.x2 - d.x1) / length, (d.y2 - d.y1) / length
    nx, ny = -uy * d.off, ux * d.off
    a, b = (d.x1 + nx, d.y1 + ny), (d.x2 + nx, d.y2 + ny)
    inward = length >= SHORT_MM
    return (
        Line(*a, *b, pen="thin"),
        *_extension(d.x1, d.y1, a), *_extension(d.x2, d.y2, b),
        _arrow(a, ux, uy, inward), _arrow(b, -ux, -uy, inward),
        _figure(a, b, d.text),
    )


def _extension(x: float, y: float, end: tuple[float, float]) -> tuple[Line, ...]:
    reach = hypot(end[0] - x, end[1] - y)
    if reach <= START_GAP_MM:
        return ()
    ux, uy = (end[0] - x) / reach, (end[1] - y) / reach
    return (Line(x + ux * START_GAP_MM, y + uy * START_GAP_MM,
                 end[0] + ux * BEYOND_MM, end[1] + uy * BEYOND_MM, pen="thin"),)


def _arrow(tip: tuple[float, float], ux: float, uy: float, inward: bool) -> Path:
    way = ARROW_LENGTH_MM if inward else -ARROW_LENGTH_MM
    base = (tip[0] + ux * way, tip[1] + uy * way)
    side = ARROW_WIDTH_MM / 2
    return Path((("M", *tip), ("L", base[0] - uy * side, base[1] + ux * side),
                 ("L", base[0] + uy * side, base[1] - ux * side), ("Z",)), "none", "ink")


def _figure(a: tuple[float, float], b: tuple[float, float], text: str) -> Text:
    """Above the line, or left of an upright one so that it reads from the right."""
    turn = degrees(atan2(b[1] - a[1], b[0] - a[0])) % 180
    if turn > 90 + 1e-6:
        turn -= 180
    up = radians(turn + 90)
    return Text((a[0] + b[0]) / 2 + cos(up) * LIFT_MM, (a[1] + b[1]) / 2 + sin(up) * LIFT_MM,
                text, "dimension", turn=turn)

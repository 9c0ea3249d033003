"""Typed text to plain document values and back.

A reader answers with a value, or raises NotReadableError with words that say what may stand there.
Lengths are in mm unless the text names a unit ("3/4 in" is understood); an outline is written as
"40 x 25 at 5, 3" (width x depth, lower left corner), "round 44 at 22, 22", or as its points.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from math import cos, isfinite, pi, sin
from typing import Any, TypeAlias

from layout_engine.units import parse_length

Plain: TypeAlias = Any  # a plain JSON value
Points = list[list[float]]
FEWEST_POINTS = 3
ROUND_CORNERS = 36  # corners of a circle written as a polygon; they lie on the circle
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?\Z", re.IGNORECASE)
_AT = re.compile(r"\s+at\s+", re.IGNORECASE)
_TIMES = re.compile(r"\s*[x×*]\s*", re.IGNORECASE)
_ROUND = re.compile(r"\s*(?:round|⌀)\s*", re.IGNORECASE)
OUTLINE_WORDS = (
    'an outline such as "40 x 25 at 5, 3", "round 44 at 22, 22", '
    'or at least 3 points "0, 0; 40, 0; 40, 25"'
)


class NotReadableError(ValueError):
    """A text that is not what the field takes; the message says what may stand there."""


def read_number(text: str) -> float:
    """A plain number with a decimal point, e.g. "1.5" or "-90"."""
    plain = text.strip().replace("\u2212", "-")
    if not _NUMBER.match(plain) or not isfinite(float(plain)):
        raise NotReadableError("a number such as 12 or 1.5")
    return float(plain)


def read_length(text: str) -> float:
    """A length in mm: "12.5", "3/4 in", "-8"."""
    try:
        return parse_length(text)
    except ValueError as words:
        raise NotReadableError(str(words)) from None


def read_pair(text: str) -> list[float]:
    """Two lengths "x, y"."""
    halves = re.split(r"[,\s]\s*", text.strip()) if "," not in text else text.split(",")
    if len(halves) != 2:
        raise NotReadableError('a pair "x, y" such as "12, 30.5"')
    return [read_length(half) for half in halves]


def read_outline(text: str) -> Points:
    """A polygon as points [x, y] in mm."""
    try:
        return _outline(text.strip())
    except NotReadableError:
        raise NotReadableError(OUTLINE_WORDS) from None


def _outline(text: str) -> Points:
    if _ROUND.match(text):
        return _round(_ROUND.sub("", text, count=1))
    if ";" in text or "\n" in text:
        pairs = [piece for piece in re.split(r"[;\n]", text) if piece.strip()]
        points = [read_pair(piece.strip().strip("[]()")) for piece in pairs]
        if len(points) < FEWEST_POINTS:
            raise NotReadableError(OUTLINE_WORDS)
        return points
    size, *place = _AT.split(text, maxsplit=1)
    sides = _TIMES.split(size)
    if len(sides) != 2:
        raise NotReadableError(OUTLINE_WORDS)
    width, depth = (read_length(side) for side in sides)
    x, y = read_pair(place[0]) if place else (0.0, 0.0)
    return rectangle(width, depth, x, y)


def _round(text: str) -> Points:
    size, *place = _AT.split(text, maxsplit=1)
    radius = read_length(size) / 2
    x, y = read_pair(place[0]) if place else (radius, radius)
    angles = [2 * pi * corner / ROUND_CORNERS for corner in range(ROUND_CORNERS)]
    return [[round(x + radius * cos(a), 3), round(y + radius * sin(a), 3)] for a in angles]


def rectangle(width: float, depth: float, x: float = 0.0, y: float = 0.0) -> Points:
    """The corners of a rectangle from its lower left corner, mm."""
    return [[x, y], [x + width, y], [x + width, y + depth], [x, y + depth]]


def read_towards(text: str) -> float | str:
    """Read "top", or degrees counter-clockwise from the right."""
    if text.strip().lower() == "top":
        return "top"
    try:
        return read_number(text)
    except NotReadableError:
        raise NotReadableError('"top" or degrees such as 90') from None


def read_turns(text: str) -> str | list[float]:
    """Read "any", or degrees "0, 90, 180"."""
    if text.strip().lower() == "any":
        return "any"
    try:
        return [read_number(piece) for piece in text.split(",")]
    except NotReadableError:
        raise NotReadableError('"any", or degrees such as "0, 90, 180, 270"') from None


def read_text(text: str) -> str:
    """The text without blanks at its ends."""
    return text.strip()


def show_number(value: float) -> str:
    """A number as a person types it: 12, 1.5."""
    return f"{value:.6f}".rstrip("0").rstrip(".") if value else "0"


def as_written(text: str) -> str:
    """Words with areas and sizes as they are written by hand.

    >>> as_written("ferrule 0.5 mm2 white"), as_written("189 x 240 mm, 272 cm2")
    ('ferrule 0.5 mm\u00b2 white', '189 \u00d7 240 mm, 272 cm\u00b2')
    """
    text = re.sub(r"\b([cm]m)2\b", "\\1\N{SUPERSCRIPT TWO}", text)
    return re.sub(r"(?<=\d) x (?=\d)", " \N{MULTIPLICATION SIGN} ", text)


def unit_words(unit: str) -> str:
    """A unit as it is written by hand.

    >>> unit_words("W/m2K"), unit_words("A2s")
    ('W/m\u00b2K', 'A\u00b2s')
    """
    return unit.replace("m2", "m\N{SUPERSCRIPT TWO}").replace("A2", "A\N{SUPERSCRIPT TWO}")


def show_pair(point: Sequence[float]) -> str:
    """A point as "x, y"."""
    return ", ".join(show_number(value) for value in point)


def show_outline(points: Sequence[Sequence[float]]) -> str:
    """A polygon as a person types it: a rectangle by its size and corner, else its points."""
    xs, ys = sorted({p[0] for p in points}), sorted({p[1] for p in points})
    corners = {(x, y) for x in xs for y in ys}
    if len(points) == len(corners) == 4 and {(p[0], p[1]) for p in points} == corners:
        size = f"{show_number(xs[1] - xs[0])} x {show_number(ys[1] - ys[0])}"
        return size if xs[0] == 0 and ys[0] == 0 else f"{size} at {show_pair((xs[0], ys[0]))}"
    return "; ".join(show_pair(point) for point in points)


def show_turns(value: str | Sequence[float]) -> str:
    """Allowed turns as a person types them."""
    return value if isinstance(value, str) else ", ".join(show_number(turn) for turn in value)


def show_any(value: object) -> str:
    """A text as it is, a number as a person types it."""
    return show_number(value) if isinstance(value, int | float) else str(value)


Reader = Callable[[str], Plain]

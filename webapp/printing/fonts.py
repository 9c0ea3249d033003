"""Which typeface prints which character, and how wide a line of lettering is.

A text is split by character: the drawing typeface first, then the marks, then the wide typeface,
then the PDF library's own. What no typeface has prints as its code point, `[U+1F600]`, so that
nothing vanishes and no empty box stands for a name.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache, lru_cache
from pathlib import Path
from typing import Literal

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from webapp.printing.reading_order import visual_order
from webapp.resources import folder

Weight = Literal["regular", "medium", "semibold"]
Run = tuple[str, str]

_FIRST: dict[Weight, str] = {
    "regular": "BarlowSemiCondensed-Regular.ttf",
    "medium": "BarlowSemiCondensed-Medium.ttf",
    "semibold": "BarlowSemiCondensed-SemiBold.ttf",
}
_SPARE = ("DejaVuSans.ttf",)
_BUNDLED: dict[Weight, str] = {
    "regular": "Vera.ttf", "medium": "Vera.ttf", "semibold": "VeraBd.ttf",
}
PEN_UNIT = 1000.0


@cache
def _font(file: str) -> TTFont:
    """A typeface by its file, registered under the file's stem; embedded as a subset."""
    font = TTFont(Path(file).stem, file)
    pdfmetrics.registerFont(font)
    return font


@cache
def chain(weight: Weight) -> tuple[TTFont, ...]:
    """Typefaces of one weight in the order they are asked for a character."""
    ours = [folder("static") / "fonts" / name for name in (_FIRST[weight], *_SPARE)]
    files = [str(path) for path in ours if path.is_file()]
    return tuple(_font(file) for file in (*files, _BUNDLED[weight]))


@lru_cache(maxsize=8192)
def _font_of(char: str, weight: Weight) -> TTFont | None:
    return next((f for f in chain(weight) if ord(char) in f.face.charToGlyph), None)


def printable(text: str, weight: Weight = "regular") -> str:
    """The text with every character that no typeface has as its code point in brackets."""
    return "".join(
        char if _font_of(char, weight) else " " if char.isspace() else f"[U+{ord(char):04X}]"
        for char in text)


def _pieces(text: str, weight: Weight) -> Iterator[Run]:
    for char in text:
        yield (_font_of(char, weight) or chain(weight)[-1]).fontName, char


@lru_cache(maxsize=8192)
def runs(text: str, weight: Weight = "regular") -> tuple[Run, ...]:
    """(typeface name, characters) from left to right, as they are set on the line."""
    joined: list[Run] = []
    for name, char in _pieces(visual_order(printable(text, weight)), weight):
        if joined and joined[-1][0] == name:
            joined[-1] = (name, joined[-1][1] + char)
        else:
            joined.append((name, char))
    return tuple(joined)


@lru_cache(maxsize=8192)
def _unit_width(text: str, weight: Weight) -> float:
    widths = (pdfmetrics.stringWidth(chars, name, PEN_UNIT) for name, chars in runs(text, weight))
    return float(sum(widths))


def width_mm(text: str, size: float, weight: Weight = "regular") -> float:
    """Width [mm] of one line at a type size [mm]."""
    return _unit_width(text, weight) * size / PEN_UNIT


@lru_cache(maxsize=2048)
def wrap(text: str, size: float, room: float, weight: Weight = "regular") -> tuple[str, ...]:
    """Lines of at most `room` [mm]; a word that is longer is broken where it must be."""
    lines = [""]
    for word in text.split():
        for piece in _fitting(word, size, room, weight):
            joined = f"{lines[-1]} {piece}".strip()
            if width_mm(joined, size, weight) <= room:
                lines[-1] = joined
            else:
                lines.append(piece)
    return tuple(line for line in lines if line) or ("",)


def _fitting(word: str, size: float, room: float, weight: Weight) -> Iterator[str]:
    if width_mm(word, size, weight) <= room:
        yield word
        return
    piece = ""
    for char in word:
        if piece and width_mm(piece + char, size, weight) > room:
            yield piece
            piece = ""
        piece += char
    yield piece


def shortened(text: str, size: float, room: float, weight: Weight = "regular") -> str:
    """The text, or as much of its start as fits `room` [mm], ending in three dots."""
    if width_mm(text, size, weight) <= room:
        return text
    kept = text
    while kept and width_mm(kept.rstrip() + "...", size, weight) > room:
        kept = kept[:-1]
    return kept.rstrip() + "..."

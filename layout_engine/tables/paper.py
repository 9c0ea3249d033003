"""Paper sizes and the scales of print: points, pixels, tiles. Lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from layout_engine.tables.sourced import COMMON_PRACTICE, Sourced

INCH = Sourced(25.4, "mm", "international yard and pound agreement 1959")
POINTS_PER_INCH = Sourced(72.0, "pt", "ISO 32000-1 sec. 8.3.2.3", "UserUnit 1")
PIXELS_PER_INCH = Sourced(96.0, "px", "CSS Values and Units, absolute lengths")
MARGIN = Sourced(10.0, "mm", COMMON_PRACTICE, "printers leave 4 to 5.1 blank")
OVERLAP = Sourced(10.0, "mm", COMMON_PRACTICE, "shared by neighbouring tiles, two crosses in it")
CHECK_BAR = Sourced(100.0, "mm", COMMON_PRACTICE, "on both axes")
CHECK_TOLERANCE = Sourced(0.5, "mm", COMMON_PRACTICE, "refuse the sheet beyond it")
POINT_MM = INCH.value / POINTS_PER_INCH.value
POINTS_PER_MM = POINTS_PER_INCH.value / INCH.value


@dataclass(frozen=True)
class Paper:
    """A sheet size, upright: width and height [mm]."""

    key: str
    label: str
    width: Sourced
    height: Sourced


@dataclass(frozen=True)
class Tiling:
    """How many sheets a drawing takes: columns x rows, paper `landscape` or not."""

    columns: int
    rows: int
    landscape: bool

    @property
    def sheets(self) -> int:
        """Number of sheets."""
        return self.columns * self.rows


def _paper(key: str, label: str, width: float, height: float, source: str) -> Paper:
    return Paper(key, label, Sourced(width, "mm", source), Sourced(height, "mm", source))


_ISO = "ISO 216:2007 (from memory)"
_ANSI = "ANSI/ASME Y14.1 size A (from memory)"
PAPERS = {
    "a4": _paper("a4", "A4", 210.0, 297.0, _ISO),
    "letter": _paper("letter", "Letter", 215.9, 279.4, _ANSI),
    "a3": _paper("a3", "A3", 297.0, 420.0, _ISO),
}


def points(mm: float) -> float:
    """Length in PDF points: 72 / 25.4 a mm (ISO 32000-1 sec. 8.3.2.3).

    >>> round(points(100), 3)
    283.465
    """
    return mm * POINTS_PER_MM


def pixels(mm: float) -> float:
    """Length in CSS pixels: 96 / 25.4 a mm."""
    return mm * PIXELS_PER_INCH.value / INCH.value


def tiles_along(length: float, usable: float, overlap: float = OVERLAP.value) -> int:
    """Sheets along one axis: ceil((W - o) / (u - o)), at least 1; ValueError unless u > o.

    length: what is drawn; usable: printable length of a sheet; overlap [mm].
    """
    if usable <= overlap:
        raise ValueError(f"usable length {usable:g} mm does not exceed the overlap {overlap:g} mm")
    return max(1, ceil(round((length - overlap) / (usable - overlap), 9)))


def tiling(
    width: float,
    height: float,
    paper: Paper,
    *,
    margin: float = MARGIN.value,
    overlap: float = OVERLAP.value,
) -> Tiling:
    """Fewest sheets for a drawing [mm x mm]; upright paper when both ways take as many."""

    def way(*, landscape: bool) -> Tiling:
        sides = (paper.width.value - 2 * margin, paper.height.value - 2 * margin)
        across, up = reversed(sides) if landscape else sides
        return Tiling(
            tiles_along(width, across, overlap), tiles_along(height, up, overlap), landscape
        )

    return min(
        way(landscape=False),
        way(landscape=True),
        key=lambda choice: (choice.sheets, choice.landscape),
    )


def fitted_scale(width: float, height: float, into_width: float, into_height: float) -> float:
    """Scale [1] of a page shrunk or grown to fit another: the smaller of both ratios."""
    return min(into_width / width, into_height / height)


def back_x(width: float, front_x: float) -> float:
    """Place [mm] across the sheet that shows a plate from behind: W - x; y stays."""
    return width - front_x

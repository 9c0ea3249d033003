"""What every sheet carries: check bars and square, title block, warnings, registration marks."""

from __future__ import annotations

from collections.abc import Sequence

from layout_engine.tables.paper import CHECK_BAR, CHECK_TOLERANCE
from webapp.drawings.primitives import Circle, Item, Line, Pen, Text, polygon
from webapp.printing.canvas import Sheets
from webapp.printing.fonts import Weight, shortened, width_mm, wrap
from webapp.printing.standing import Standing

BAR_MM = CHECK_BAR.value
SMALL, PLAIN, NAME, TITLE = 2.0, 2.5, 3.1, 3.6  # type sizes on paper, mm
TITLE_BLOCK_MM = 14.0
CHECK_WORDS = (
    f"Before drilling, measure both {BAR_MM:g} mm bars and the diagonal. If one is more than "
    f"{CHECK_TOLERANCE.value:g} mm off, do not use this sheet: print again at 100 %, without "
    "fitting to the page."
)
CHECK_WORDS_BARS = (
    f"Before drilling, measure both {BAR_MM:g} mm bars: more than {CHECK_TOLERANCE.value:g} mm "
    "off, do not use this sheet; print again at 100 %, without fitting to the page."
)
NOT_FOR_BUILDING = "NOT FOR BUILDING"


def bar_across(x: float, y: float, tick: float = 3.0) -> tuple[Item, ...]:
    """The bar along x from (x, y); ticks go up: every 10 mm, every 50 mm higher."""
    ticks = (Line(x + n, y, x + n, y + tick * _share(n), _tick_pen(n)) for n in _tick_places())
    return Line(x, y, x + BAR_MM, y, "outline"), *ticks


def bar_upright(x: float, y: float, tick: float = 3.0) -> tuple[Item, ...]:
    """The bar along y from (x, y); ticks go left."""
    ticks = (Line(x, y + n, x - tick * _share(n), y + n, _tick_pen(n)) for n in _tick_places())
    return Line(x, y, x, y + BAR_MM, "outline"), *ticks


def _tick_places() -> tuple[float, ...]:
    return tuple(n * 5.0 for n in range(int(BAR_MM / 5) + 1))


def _share(n: float) -> float:
    return 1.0 if n in (0.0, BAR_MM) else 0.85 if n == BAR_MM / 2 else 0.6 if n % 10 == 0 else 0.35


def _tick_pen(n: float) -> Pen:
    return "outline" if n in (0.0, BAR_MM) else "fine"


def check_square(x: float, y: float, side: float) -> tuple[Item, ...]:
    """A square with its diagonal, both sizes written in it; (x, y) is its lower left corner."""
    diagonal = side * 2 ** 0.5
    low, high = 0.42 * side, 0.58 * side
    return (
        polygon(((x, y), (x + side, y), (x + side, y + side), (x, y + side)), "thin"),
        Line(x, y, x + low, y + low), Line(x + high, y + high, x + side, y + side),
        Text(x + side / 2, y + side / 2, f"{diagonal:.1f}", "mark"),
        Text(x + side * 0.62, y + 2.2, f"{side:g} x {side:g}", "mark"),
    )


def registration_mark(x: float, y: float) -> tuple[Item, ...]:
    """A round mark with a cross through it, the same on both sheets that show it."""
    return (Circle(x, y, 4.0, "fold"), Line(x - 3, y, x + 3, y, "fold"),
            Line(x, y - 3, x, y + 3, "fold"))


def title_block(sheets: Sheets, left: float, bottom: float, width: float,
                cells: Sequence[Sequence[tuple[str, str, float]]]) -> None:
    """Rows of (caption, value, share of the width) in a wide frame, `TITLE_BLOCK_MM` high."""
    height = TITLE_BLOCK_MM / len(cells)
    box = ((left, bottom), (left + width, bottom), (left + width, bottom + TITLE_BLOCK_MM),
           (left, bottom + TITLE_BLOCK_MM))
    sheets.draw((polygon(box, "outline"),))
    for number, row in enumerate(cells):
        x, low = left, bottom + TITLE_BLOCK_MM - (number + 1) * height
        if number:
            sheets.draw((Line(left, low + height, left + width, low + height, "outline"),))
        for place, (caption, value, share) in enumerate(row):
            if place:
                sheets.draw((Line(x, low, x, low + height, "thin"),))
            _cell(sheets, x + 1.2, low, width * share - 2.4, caption, value)
            x += width * share


def _cell(sheets: Sheets, x: float, low: float, room: float, caption: str, value: str) -> None:
    sheets.lettering(x, low + 4.7, caption, SMALL)
    size = NAME if width_mm(value, NAME, "medium") <= room else PLAIN
    sheets.lettering(x, low + 1.5, shortened(value, size, room, "medium"), size, "medium")


def paragraph(sheets: Sheets, x: float, top: float, text: str, room: float, *,
              size: float = PLAIN, bold: bool = False) -> float:
    """Wrapped lettering from `top` downwards; returns the height it took, mm."""
    weight: Weight = "semibold" if bold else "regular"
    pitch = size * 1.3
    lines = wrap(text, size, room, weight)
    for number, line in enumerate(lines):
        sheets.lettering(x, top - size * 0.8 - number * pitch, line, size, weight)
    return len(lines) * pitch


def paragraph_height(text: str, room: float, *, size: float = PLAIN, bold: bool = False) -> float:
    """Height [mm] that `paragraph` takes."""
    return len(wrap(text, size, room, "semibold" if bold else "regular")) * size * 1.3


SHOWN_REASONS = 6
BAND_GAP_MM = 2.0
HEADING_MM = 9.5


def reason_lines(standing: Standing, most: int = SHOWN_REASONS) -> list[str]:
    """The reasons against building, `most` of them, and how many more there are."""
    reasons = list(standing.stops[:most])
    left_over = len(standing.stops) - len(reasons)
    if left_over:
        count = f"and {left_over} more" if reasons else f"{left_over} reason{'s' * (left_over > 1)}"
        reasons.append(f"{count}: see the findings on the Layout page")
    return reasons


def _heading(room: float) -> float:
    """Size [mm] of NOT FOR BUILDING in a room."""
    return min(HEADING_MM, room / width_mm(NOT_FOR_BUILDING, 1.0, "semibold"))


def warning_band(sheets: Sheets, x: float, top: float, room: float, standing: Standing,
                 most: int = SHOWN_REASONS) -> float:
    """NOT FOR BUILDING with its reasons, and what is not measured; returns the height used, mm."""
    used = 0.0
    if standing.stops:
        size = _heading(room)
        sheets.lettering(x, top - 0.78 * size, NOT_FOR_BUILDING, size, "semibold")
        used = size
        for reason in reason_lines(standing, most):
            used += paragraph(sheets, x, top - used, reason, room)
    if standing.unmeasured:
        used += 0.8
        used += paragraph(sheets, x, top - used, standing.unmeasured_words, room, size=NAME,
                          bold=True)
    return used + BAND_GAP_MM if used else 0.0


def warning_height(room: float, standing: Standing, most: int = SHOWN_REASONS) -> float:
    """Height [mm] that `warning_band` takes."""
    used = _heading(room) if standing.stops else 0.0
    if standing.stops:
        used += sum(paragraph_height(r, room) for r in reason_lines(standing, most))
    if standing.unmeasured:
        used += 0.8 + paragraph_height(standing.unmeasured_words, room, size=NAME, bold=True)
    return used + BAND_GAP_MM if used else 0.0

"""Bars and words in the margins of a sheet whose room belongs to the drawing.

Everything stands at least 5.5 mm from the paper's edge: laser printers leave 4 to 5.1 mm blank.
"""

from __future__ import annotations

from dataclasses import dataclass

from layout_engine.tables.paper import MARGIN
from webapp.printing.canvas import Sheets
from webapp.printing.fonts import shortened
from webapp.printing.furniture import CHECK_WORDS_BARS, SMALL, bar_across, bar_upright

MARGIN_MM = MARGIN.value
BAR_OFF_MM = 9.4  # from the paper's edge to a bar's line
TICK_MM = 3.4
WORDS_OFF_MM = 6.0
BAR_ROOM_MM = 114.0  # the bar along the top with its figure


@dataclass(frozen=True, slots=True)
class MarginWords:
    """Two lines at the top right, one at the bottom left."""

    first: str
    second: str
    bottom: str = CHECK_WORDS_BARS


def draw_margins(sheets: Sheets, paper: tuple[float, float], words: MarginWords) -> None:
    """Both 100 mm bars, along the top and up the left side, and the words of the sheet."""
    width, height = paper
    right, room = width - MARGIN_MM, width - 2 * MARGIN_MM - BAR_ROOM_MM
    sheets.draw(bar_across(MARGIN_MM, height - BAR_OFF_MM, TICK_MM))
    sheets.draw(bar_upright(BAR_OFF_MM, MARGIN_MM, TICK_MM))
    sheets.lettering(MARGIN_MM + 101, height - BAR_OFF_MM + 0.2, "100 mm", SMALL)
    sheets.lettering(BAR_OFF_MM - 0.4, MARGIN_MM + 101, "100 mm", SMALL, turn=90)
    sheets.lettering(right, height - BAR_OFF_MM + 2.2,
                     shortened(words.first, SMALL, room, "semibold"), SMALL, "semibold", "end")
    sheets.lettering(right, height - BAR_OFF_MM - 0.2, shortened(words.second, SMALL, room), SMALL,
                     anchor="end")
    sheets.lettering(MARGIN_MM, WORDS_OFF_MM, words.bottom, SMALL, "semibold")


def draw_neighbour_words(sheets: Sheets, paper: tuple[float, float], right: str, below: str
                         ) -> None:
    """Which sheets go on at the right and below; empty where none does."""
    width, height = paper
    if right:
        sheets.lettering(width - WORDS_OFF_MM, height / 2, f"sheet {right} goes on here", SMALL,
                         anchor="middle", turn=90)
    if below:
        sheets.lettering(width - MARGIN_MM, WORDS_OFF_MM, f"sheet {below} goes on here", SMALL,
                         anchor="end")

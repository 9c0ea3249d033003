"""The round holes as CSV (RFC 4180): plate coordinates from the datum corner, decimal point."""

from __future__ import annotations

import csv
from io import StringIO

from layout_engine.model.job import Job
from layout_engine.sheets.holes import Hole, board_holes
from layout_engine.wiring import Routing
from webapp.printing.plate_svg import number

HEADER = ("id", "x_mm", "y_mm", "diameter_mm", "for", "face")
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def drilling_csv(job: Job, routing: Routing | None = None) -> bytes:
    """One row a hole, in the order of the template; what is there already says so in `for`."""
    text = StringIO()
    rows = csv.writer(text, lineterminator="\r\n")
    rows.writerow(HEADER)
    for hole in board_holes(job, routing).holes:
        rows.writerow((hole.id, number(hole.x), number(hole.y), number(hole.diameter),
                       plain_text(_for(hole)), hole.face))
    return text.getvalue().encode("utf-8")


def _for(hole: Hole) -> str:
    return f"{hole.for_} (in the plate already)" if hole.reused else hole.for_


def plain_text(text: str) -> str:
    """A text that no table program takes for a formula: a leading apostrophe where it might.

    >>> plain_text("=1+1")
    "'=1+1"
    """
    return f"'{text}" if text.lstrip().startswith(FORMULA_STARTS) else text

"""The materials list as CSV (RFC 4180): one row a thing to buy, group by group."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from io import StringIO

from layout_engine.sheets.materials import Material
from webapp.printing.drilling_csv import plain_text
from webapp.printing.plate_svg import number

HEADER = ("group", "item", "size", "colour", "quantity", "unit", "for", "note")


def materials_csv(listed: Iterable[Material]) -> bytes:
    """The rows as UTF-8, decimal point."""
    text = StringIO()
    rows = csv.writer(text, lineterminator="\r\n")
    rows.writerow(HEADER)
    for one in listed:
        rows.writerow([plain_text(cell) for cell in (
            one.group, one.item, one.size, one.colour, number(one.quantity), one.unit, one.for_,
            one.note)])
    return text.getvalue().encode("utf-8")

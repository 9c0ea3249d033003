"""The cut list as CSV (RFC 4180): one row a wire, in the order in which it is best made."""

from __future__ import annotations

import csv
from io import StringIO

from layout_engine.sheets.cut_list import CutList, CutRow
from webapp.printing.drilling_csv import plain_text
from webapp.printing.plate_svg import number

HEADER = (
    "number", "id", "label", "size", "colour", "colour_words", "length_mm", "from", "from_strip_mm",
    "from_fitting", "from_marker", "to", "to_strip_mm", "to_fitting", "to_marker", "runs", "cable",
    "twisted", "remark",
)


def cut_list_csv(listed: CutList) -> bytes:
    """The rows as UTF-8; a length that is not known is left empty."""
    text = StringIO()
    rows = csv.writer(text, lineterminator="\r\n")
    rows.writerow(HEADER)
    for row in listed.rows:
        rows.writerow([plain_text(cell) for cell in _cells(row)])
    return text.getvalue().encode("utf-8")


def _cells(row: CutRow) -> tuple[str, ...]:
    one, other = row.ends
    remark = "; ".join(
        words for words in (row.remark, *(f"{end.at}: {end.clamp}" for end in row.ends if end.clamp)
                            ) if words)
    return (
        str(row.number), row.id, row.label, row.size, row.colour, row.colour_words,
        "" if row.length is None else number(row.length), one.at, number(one.strip), one.fitting,
        one.marker, other.at, number(other.strip), other.fitting, other.marker,
        " ".join(row.named), row.cable, "yes" if row.twisted else "", remark,
    )

"""The rows of tests/data/mechanical.csv: published and worked figures with their sources."""

from __future__ import annotations

import csv
import math
import re
from pathlib import Path

import pytest

Figures = tuple[float, ...]
Key = tuple[str, str, str]
Row = dict[str, str]

_TEXT = (Path(__file__).parents[2] / "data" / "mechanical.csv").read_text(encoding="utf-8")
ROWS: dict[Key, Row] = {
    (row["topic"], row["quantity"], row["inputs"]): row
    for row in csv.DictReader(_TEXT.splitlines())
}
RANGE = re.compile(r"(-?[\d.]+)\.\.(-?[\d.]+)")
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
RANGE_SLACK = 0.1  # "range" beside one figure: documents differ by about a tenth


def row_id(key: Key) -> str:
    """What is asserted, and the source that says so."""
    return f"{' '.join(key)} [{ROWS[key]['source']}]"


def _published(text: str) -> Figures:
    return tuple(float(n) for n in NUMBER.findall(text.replace("..", " ")))


def _allowed(row: Row, figure: float) -> float:
    if row["tolerance"] == "10 %":
        return abs(figure) * 0.1
    if row["tolerance"] == "range":
        return abs(figure) * RANGE_SLACK
    return float(row["tolerance"])


def assert_row(key: Key, ours: Figures, *, found_within: float = 1e-9) -> None:
    """Our figures against the row's; NaN stands for one that we do not hold."""
    row = ROWS[key]
    if row["expected"] in {"true", "false"}:
        assert set(ours) == {float(row["expected"] == "true")}
        return
    span = RANGE.fullmatch(row["expected"])
    if span and row["tolerance"] == "range":
        assert float(span[1]) <= ours[0] <= float(span[2])
        return
    for mine, theirs in zip(ours, _published(row["expected"]), strict=True):
        if not math.isnan(mine):
            allowed = _allowed(row, theirs) + found_within
            assert mine == pytest.approx(theirs, rel=1e-9, abs=allowed)

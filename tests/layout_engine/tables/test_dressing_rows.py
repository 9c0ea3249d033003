"""Dressing of wires against the published rows: bends, ties, ferrules, rings."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from layout_engine.tables import dressing

ROWS = list(csv.DictReader(
    (Path(__file__).parents[2] / "data" / "electrical.csv").read_text("utf-8").splitlines()))
LIMITS = {
    "bend_radius": dressing.BEND_RADIUS.value,
    "tie_spacing": dressing.TIE_SPACING_MOST.value,
    "slack_deflection": dressing.SLACK_MOST.value,
    "hole_clearance": dressing.HOLE_CLEARANCE.value,
}


def rows(topic: str, quantity: str) -> list[dict[str, str]]:
    found = [row for row in ROWS if row["topic"] == topic and row["quantity"] == quantity]
    assert found
    return found


@pytest.mark.parametrize("quantity", LIMITS)
def test_limits_are_the_published_ones(quantity: str) -> None:
    (row,) = rows("wiring", quantity)
    assert LIMITS[quantity] == float(row["expected"]), row["source"]


def test_ties_are_nearer_than_the_published_limit_and_as_boards_are_tied() -> None:
    assert dressing.TIE_SPACING.value < dressing.TIE_SPACING_MOST.value
    assert 50 <= dressing.TIE_SPACING.value <= 100  # on a small plate: common practice, no source


@pytest.mark.parametrize("row", rows("ferrule", "colour"), ids=lambda row: row["inputs"])
def test_ferrule_colours_are_those_of_din_46228_4(row: dict[str, str]) -> None:
    ferrule = dressing.ferrule_for(float(row["inputs"].removeprefix("mm2=")))
    assert ferrule is not None
    assert ferrule.colour == row["expected"], row["source"]


def test_strip_length_is_sleeve_and_two() -> None:
    (row,) = rows("terminal", "ferrule_strip")
    sleeve = 10.0  # the row's own: "10 mm sleeve"
    ferrule = dressing.Ferrule(1.0, "red", sleeve, row["source"])
    assert ferrule.strip == pytest.approx(float(row["expected"]), abs=1)


@pytest.mark.parametrize("row", rows("terminal", "ring_hole"), ids=lambda row: row["inputs"])
def test_ring_holes(row: dict[str, str]) -> None:
    hole = dressing.RING_HOLES[row["inputs"]]
    assert hole.value == pytest.approx(float(row["expected"]), abs=0.2), row["source"]


@pytest.mark.parametrize("row", rows("terminal", "ring_colour_range"), ids=lambda r: r["inputs"])
def test_ring_colours(row: dict[str, str]) -> None:
    low, high = (float(edge) for edge in row["expected"].split("-"))
    assert {dressing.ring_colour(low * 1.01), dressing.ring_colour(high)} == {row["inputs"]}

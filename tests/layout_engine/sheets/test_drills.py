"""Which drill makes a hole."""

from __future__ import annotations

import csv
from io import StringIO
from pathlib import Path

import pytest

from layout_engine.model.job import USUAL_DRILLS_MM
from layout_engine.sheets.drills import cut_out_drill, drill_for, fixing_drill, mount_drill
from layout_engine.tables.fasteners import hole_play, medium_hole

DATA = Path(__file__).parents[2] / "data" / "mechanical.csv"
ROWS = list(csv.DictReader(StringIO(DATA.read_text(encoding="utf-8"))))
HALVES = tuple(n / 2 for n in range(2, 27))


@pytest.mark.parametrize(("wanted", "drill"), [
    pytest.param(wanted, drill, id=f"{wanted} next half millimetre (common practice, no source)")
    for wanted, drill in ((2.4, 2.5), (2.9, 3.0), (3.4, 3.5), (4.5, 4.5), (5.5, 5.5), (6.6, 7.0))
])
def test_next_half_millimetre(wanted: float, drill: float) -> None:
    assert drill_for(wanted, HALVES).diameter == drill
    assert drill_for(wanted, USUAL_DRILLS_MM).diameter == drill


@pytest.mark.parametrize("row", [
    pytest.param(row, id=f"{row['inputs']} medium, {row['source']}")
    for row in ROWS if row["topic"] == "clearance-hole" and row["inputs"].startswith("M")
    and row["inputs"] != "M1.6"
])
def test_the_medium_hole_of_the_standard_is_drilled_as_such_where_the_drill_is_owned(
        row: dict[str, str]) -> None:
    fine, medium, coarse = (float(value) for value in row["expected"].split(";"))
    wanted = medium_hole(row["inputs"])
    assert wanted == medium
    assert fixing_drill(row["inputs"], "pan", wanted, (fine, medium, coarse)).diameter == medium
    assert fixing_drill(row["inputs"], "pan", wanted, (fine, coarse)).diameter == coarse


@pytest.mark.parametrize(("drill", "slack"), [(3.4, 0.4), (3.6, 0.6), (4.0, 1.0)])
def test_slack_of_m3_hand_drilled_pairs_common_practice_no_source(drill: float, slack: float
                                                                  ) -> None:
    assert hole_play(3.0, drill) == pytest.approx(slack)


def test_over_ten_a_drill_is_bought_by_half_millimetres_up_to_the_chuck() -> None:
    """Sold in steps of 0.5, and 13 is what a hand drill's chuck takes: common practice."""
    bought = [drill_for(tenths / 10, ()).diameter for tenths in range(101, 131)]
    assert bought == [-(-tenths // 5) / 2 for tenths in range(101, 131)]


def test_the_smallest_sufficient_owned_drill_is_taken_whatever_the_order() -> None:
    assert drill_for(3.4, (10, 3.4, 3.5, 2)).diameter == 3.4
    assert drill_for(3.4, (10, 4, 3.3)).diameter == 4
    assert drill_for(3.4, (10, 4, 3.3)).owned


def test_without_an_owned_drill_the_next_usual_size_is_named() -> None:
    drill = drill_for(3.4, (1, 2, 3))
    assert (drill.diameter, drill.owned) == (3.5, False)
    assert drill.note == "get a drill of 3.5 mm"
    assert drill_for(3.4, ()).diameter == 3.5


def test_a_drill_that_lets_the_head_through_is_not_taken() -> None:
    """M3: head 5.6 (ISO 7045), washer 7 (ISO 7089)."""
    drill = fixing_drill("M3", "pan", 3.4, (10.0,))
    assert (drill.diameter, drill.owned) == (3.5, False)


def test_a_wide_drill_asks_for_a_washer() -> None:
    drill = fixing_drill("M3", "pan", 3.4, (5.0,))
    assert drill.diameter == 5.0
    assert "washer of 7 mm" in drill.note


def test_a_countersunk_head_takes_no_washer() -> None:
    """M3 countersunk head 5.5 (ISO 7046-1, from memory): a hole of 5 is too wide for it."""
    assert fixing_drill("M3", "countersunk", 3.4, (5.0,)).diameter == 3.5


def test_large_cut_outs_are_cut_not_drilled() -> None:
    drill = cut_out_drill(20.0, USUAL_DRILLS_MM)
    assert (drill.diameter, drill.drilled) == (20.0, False)
    assert "hole saw" in drill.note


def test_a_cut_out_is_not_made_much_wider_than_its_part_wants() -> None:
    assert cut_out_drill(20.0, (40.0,)).diameter == 20.0
    assert cut_out_drill(6.0, (10.0,)).diameter == 6.0
    assert cut_out_drill(20.0, (20.0, 40.0)).owned


def test_a_mount_keeps_under_its_head() -> None:
    assert mount_drill(4.5, 9.0, (10.0,)).diameter == 4.5
    assert mount_drill(4.5, 9.0, (5.0,)).diameter == 5.0
    assert mount_drill(4.3, 0.0, (8.0,)).diameter == 4.5

"""The form of a part type: nothing is lost, and each fault stands beside its field."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from layout_engine import DocumentError
from layout_engine.errors import Fault
from layout_engine.model.document import load_record
from layout_engine.model.part_type import PartType
from webapp.forms.drawable import drawable
from webapp.forms.fields import Row, Typed, new_row, typed_form
from webapp.forms.part_type_form import (
    NEW,
    SHOWN_KEYS,
    SINGLE,
    TABLE,
    TABLES,
    read_type,
    typed_type,
)
from webapp.resources import folder
from webapp.seed import read_shelf

SHELF = read_shelf(folder("seed_data"))
ELECTRICAL = {"paths", "loads", "drives", "converters", "motor", "battery", "speaker_ohms",
              "amplifier"}


def loaded(record: dict[str, Any]) -> PartType:
    result: PartType = load_record(PartType, record, "$")
    return result


def typed(texts: dict[str, str], **rows: list[dict[str, str]]) -> Typed:
    form = dict(texts)
    for table, entries in rows.items():
        for number, entry in enumerate(entries):
            form.update({f"{table}-{number}-{key}": text for key, text in entry.items()})
    return typed_form(form, TABLES)


def test_the_form_shows_every_key_that_is_not_electrical() -> None:
    assert set(PartType.model_fields) - ELECTRICAL == SHOWN_KEYS


@pytest.mark.parametrize("type_id", sorted(SHELF))
def test_saving_a_form_as_it_was_changes_nothing(type_id: str) -> None:
    before = SHELF[type_id]
    record, reading = read_type(typed_type(before), before)
    assert reading.faults == {}
    assert loaded(record).model_dump() == loaded(before).model_dump()


def test_a_module_from_scratch_needs_name_width_depth_and_height() -> None:
    record, reading = read_type(typed({"kind": "other"}), {})
    assert set(reading.faults) == {"width", "depth"}
    with pytest.raises(DocumentError) as refusal:
        loaded({**record, "outline": [[0, 0], [1, 0], [1, 1]]})
    reading.take(refusal.value.errors, "$")
    assert set(reading.faults) == {"width", "depth", "name", "height"}


def test_width_depth_height_and_holes_make_a_module() -> None:
    record, reading = read_type(
        typed({"name": "Horn driver", "kind": "amplifier", "width": "1 1/2 in", "depth": "25",
               "height": "18"}, fixings=[{"x": "4", "y": "4", "thread": "M3"},
                                         {"x": "34", "y": "21", "thread": "M2.5"}]), {})
    assert reading.faults == {}
    kind = loaded(record)
    assert kind.outline[2] == (38.1, 25.0)
    assert [(f.x, f.y, f.thread) for f in kind.fixings] == [(4, 4, "M3"), (34, 21, "M2.5")]


def test_corners_outrank_width_and_depth() -> None:
    record, _ = read_type(typed({"width": "10", "depth": "10", "outline": "0,0; 9,0; 9,7"}), {})
    assert record["outline"] == [[0, 0], [9, 0], [9, 7]]


def test_an_untouched_row_is_no_hole() -> None:
    base = typed({"name": "a", "width": "10", "depth": "10", "height": "1"})
    with_row = replace(base, rows={**base.rows, "fixings": (new_row(TABLE["fixings"], ()),)})
    record, reading = read_type(with_row, {})
    assert reading.faults == {}
    assert "fixings" not in record


def test_an_unreadable_figure_stands_beside_its_row() -> None:
    _, reading = read_type(
        typed({"width": "10", "depth": "10"}, fixings=[{"x": "1", "y": "2"}, {"x": "left"}]), {})
    assert set(reading.faults) == {"fixings-1-x"}
    assert "a length such as" in reading.faults["fixings-1-x"]


@pytest.mark.parametrize(("path", "field"), [
    ("$.fixings[0].x", "fixings-3-x"), ("$.fixings[1].thread", "fixings-5-thread"),
    ("$.keep_outs[0].height", "keep_outs-0-low"), ("$.outline", "width"),
    ("$.heat.watts.full", "heat_full"), ("$.antenna.band_mhz", "antenna_band_mhz"),
    ("$.basis.footprint", "basis_footprint"), ("$.outline[2][0]", "width"),
    ("$.through[0].diameter", "through-1-diameter"),
])
def test_a_fault_of_the_engine_finds_its_field(path: str, field: str) -> None:
    form = Typed({"width": "10", "depth": "10"}, {
        "fixings": (Row(3, {"x": "1"}), Row(4, {"thread": "M3"}), Row(5, {"x": "2"})),
        "keep_outs": (Row(0, {"outline": "5 x 5"}),), "through": (Row(1, {"x": "4"}),),
    })
    _, reading = read_type(form, {})
    assert reading.take([Fault(path, 1, "less")], "$") == []
    assert reading.faults == {field: "allowed: less"}


def test_a_fault_elsewhere_comes_back() -> None:
    _, reading = read_type(typed({"width": "10", "depth": "10"}), {})
    elsewhere = Fault("$.connections[0].to", "a.b", "a terminal")
    assert reading.take([elsewhere], "$.types.a") == [elsewhere]


def test_what_the_form_does_not_show_is_kept() -> None:
    before = SHELF["motor_driver_dual_25a"]
    record, _ = read_type(typed({"name": "b", "width": "10", "depth": "10", "height": "1"}), before)
    assert record["drives"] == before["drives"]
    assert "fixings" not in record


def test_field_names_are_one_word_each_and_none_is_there_twice() -> None:
    names = [entry.name for entry in SINGLE] + ["width", "depth", "outline"]
    assert len(set(names)) == len(names)
    assert not any("-" in name for name in names)


def test_a_new_form_starts_from_measured() -> None:
    assert typed_type(NEW).texts["basis_footprint"] == "measured"


def test_half_a_form_is_drawn_as_far_as_it_goes() -> None:
    record, _ = read_type(
        typed({"width": "30", "depth": "20", "height": "high"},
              fixings=[{"x": "4", "y": "4"}, {"x": "5"}, {"x": "26", "y": "16"}],
              shields=[{"outline": "5 x 5", "low": "9", "high": "2"}]), {})
    kind = drawable(record)
    assert kind is not None
    assert [(f.x, f.y) for f in kind.fixings] == [(4, 4), (26, 16)]
    assert kind.shields == ()


@pytest.mark.parametrize("outline", [None, [[0, 0], [1, 1]], [[0, 0], [9, 9], [9, 0], [0, 9]]])
def test_without_an_outline_there_is_nothing_to_draw(outline: Any) -> None:
    assert drawable({"outline": outline, "height": 4}) is None

"""The cut list: order, fittings, totals, against the published colours and hand-made sums."""

from __future__ import annotations

import csv
from io import StringIO
from itertools import pairwise

import pytest

from layout_engine import load_document
from layout_engine.sheets.cut_list import CutList, CutRow, cut_list, end_workings
from layout_engine.wiring import plan_routes
from tests.layout_engine.wiring.boards import at, block, board, terminal, wire
from webapp.printing.cut_list_csv import HEADER, cut_list_csv


def listed(*, placed: bool = True) -> CutList:
    types = {
        "one": block(
            terminal("plus", 40, 10, 0, "positive", mark="B+", joint="ring", stud="M5"),
            terminal("minus", 40, 20, 0, "negative", mark="B-", max_wires=2)),
        "two": block(
            terminal("plus", 0, 10, 180, "positive", mark="IN+"),
            terminal("minus", 0, 20, 180, "negative", mark="IN-"),
            terminal("s", 20, 30, 90, "signal", mark="S", joint="pin")),
    }
    parts = [at("a", "one", 20, 60), at("b", "two", 130, 60), at("c", "two", 130, 5)]
    if not placed:
        parts = [{"id": part["id"], "type": part["type"]} for part in parts]
    wires = [
        wire("w1", "a.plus", "b.plus", wire={"size": "2.5 mm2"}),
        wire("w2", "a.minus", "b.minus", wire={"size": "2.5 mm2"}),
        wire("w3", "a.minus", "c.minus", wire={"size": "14 AWG"}),
        wire("w4", "b.s", "c.s", wire=None),
        wire("w5", "b.plus", "c.plus", wire={"size": "2.5 mm2", "colour": "OG"}, length=222),
    ]
    return cut_list(plan_routes(load_document(board(types, parts, wires))))


def by_id(made: CutList) -> dict[str, CutRow]:
    return {row.id: row for row in made.rows}


@pytest.mark.parametrize(("mm2", "colour"), [
    (0.5, "white"), (0.75, "grey"), (1.0, "red"), (1.5, "black"), (2.5, "blue"), (4.0, "grey"),
    (10.0, "red")])
def test_ferrules_have_the_colours_of_din_46228_4(mm2: float, colour: str) -> None:
    types = {"one": block(terminal("t", 40, 15, 0)), "two": block(terminal("t", 0, 15, 180))}
    document = board(types, [at("a", "one", 20, 60), at("b", "two", 130, 60)],
                     [wire("w", "a.t", "b.t", wire={"size": f"{mm2:g} mm2"})])
    (row,) = cut_list(plan_routes(load_document(document))).rows
    assert colour in row.ends[0].fitting
    assert "DIN 46228-4" in row.ends[0].fitting


def test_ends_say_what_goes_on_and_what_is_printed_there() -> None:
    rows = by_id(listed())
    one, other = rows["w1"].ends
    assert one.at == "a B+"
    assert one.fitting == "ring for M5, hole 5.3 mm, blue"  # ISO 273 fine; trade's crimp colours
    assert other.at == "b IN+"
    assert other.strip == 10.0  # sleeve 8 mm + 2 mm
    assert "glue" in rows["w4"].ends[0].fitting
    assert rows["w2"].ends[0].clamp == "2 wires under one clamp, which takes 2"
    assert rows["w1"].ends[1].clamp == "2 wires here, the terminal takes 1"


def test_terminals_that_bear_the_same_mark_are_told_apart() -> None:
    types = {
        "one": block(terminal("in_minus", 40, 8, 0, "negative", mark="GND"),
                     terminal("out_minus", 40, 22, 0, "negative", mark="GND")),
        "two": block(terminal("u", 0, 8, 180, "negative"), terminal("v", 0, 22, 180, "negative")),
    }
    job = load_document(board(types, [at("a", "one", 20, 60), at("b", "two", 130, 60)], [
        wire("w", "a.in_minus", "b.u"), wire("x", "a.out_minus", "b.v")]))
    rows = by_id(cut_list(plan_routes(job)))
    assert rows["w"].ends[0].at == "a GND (in minus)"
    assert rows["x"].ends[0].at == "a GND (out minus)"
    assert rows["x"].ends[0].marker == "2: a GND (out minus) / b v"


@pytest.mark.parametrize(("joint", "shared"), [
    ("screw", "under one clamp"), ("ring", "on one stud"), ("spade", "on one tab"),
    ("pin", "on one pin"), ("plug", "in one contact"), ("solder", "at one soldered point")])
def test_wires_that_share_a_terminal_share_what_it_has(joint: str, shared: str) -> None:
    types = {"one": block(terminal("t", 40, 15, 0, joint=joint, max_wires=2)),
             "two": block(terminal("u", 0, 8, 180), terminal("v", 0, 22, 180))}
    job = load_document(board(types, [at("a", "one", 20, 60), at("b", "two", 130, 60)], [
        wire("w", "a.t", "b.u"), wire("x", "a.t", "b.v")]))
    for row in cut_list(plan_routes(job)).rows:
        assert row.ends[0].clamp.startswith(f"2 wires {shared}, which takes 2")


def test_thickest_first_each_reel_once_longest_piece_first() -> None:
    rows = listed().rows
    areas = [row.mm2 or 0.0 for row in rows]
    assert areas == sorted(areas, reverse=True)
    reels = [(row.size, row.colour) for row in rows]
    assert len(set(reels)) == 1 + sum(a != b for a, b in pairwise(reels))


def test_totals_are_the_sums_of_the_pieces() -> None:
    made = listed()
    for total in made.totals:
        pieces = [r for r in made.rows if (r.size, r.colour) == (total.size, total.colour)]
        assert total.pieces == len(pieces)
        assert total.metres == pytest.approx(sum(r.length or 0 for r in pieces) / 1000)
    assert {t.size for t in made.totals} == {"2.5 mm2", "14 AWG", ""}


def test_totals_count_the_pieces_whose_length_is_not_known() -> None:
    """In the tray nothing has a length but the wire to which one was given, 222 mm of orange."""
    totals = {(t.size, t.colour): t for t in listed(placed=False).totals}
    assert {key: (t.unknown, t.metres) for key, t in totals.items()} == {
        ("2.5 mm2", "RD"): (1, 0.0), ("2.5 mm2", "BK"): (1, 0.0), ("14 AWG", "BK"): (1, 0.0),
        ("2.5 mm2", "OG"): (0, 0.222), ("", "YE"): (1, 0.0)}
    assert all(total.unknown == 0 for total in listed().totals)


def test_colours_by_role_unless_the_person_chose() -> None:
    rows = by_id(listed())
    assert rows["w1"].colour_words == "red"  # red positive, black negative: common practice
    assert rows["w2"].colour_words == "black"
    assert rows["w5"].colour_words == "orange"


def test_a_length_in_the_document_goes_before_the_route() -> None:
    assert by_id(listed())["w5"].length == 222


@pytest.mark.parametrize(("away", "length", "is_told"), [
    ({}, None, True), ({"lead": 300}, None, False), ({}, 450, False)])
def test_a_lead_whose_way_on_is_not_known_says_that_it_is_not_in_the_length(
        away: dict[str, float], length: float | None, is_told: bool) -> None:
    types = {"one": block(terminal("t", 40, 10, 0)), "far": block(terminal("u", 0, 10, 180))}
    parts = [at("a", "one", 20, 60), {"id": "b", "type": "far", "label": "Battery", "away": away}]
    wires = [wire("w", "a.t", "b.u", **({} if length is None else {"length": length}))]
    row = by_id(cut_list(plan_routes(load_document(board(types, parts, wires)))))["w"]
    assert row.remark == ("the way on to Battery is not known: add it to this length"
                          if is_told else "")


def test_csv_has_one_row_a_wire_and_reads_back() -> None:
    made = listed()
    rows = list(csv.reader(StringIO(cut_list_csv(made).decode("utf-8"))))
    assert tuple(rows[0]) == HEADER
    assert [row[1] for row in rows[1:]] == [row.id for row in made.rows]
    assert all(len(row) == len(HEADER) for row in rows)


def test_csv_names_the_runs_that_drawings_name_and_no_others() -> None:
    """Runs of one wire, and stretches too short for a name, are on no drawing."""
    types = {"left": block(terminal("t", 40, 15, 0, max_wires=2)),
             "right": block(terminal("u", 0, 8, 180), terminal("v", 0, 22, 180))}
    parts = [at("a", "left", 30, 60), at("b", "right", 130, 60)]
    routing = plan_routes(load_document(board(types, parts, [
        wire("w", "a.t", "b.u"), wire("x", "a.t", "b.v")])))
    assert len(routing.runs) > 1
    rows = csv.DictReader(StringIO(cut_list_csv(cut_list(routing)).decode("utf-8")))
    assert {row["runs"] for row in rows} == {"R1"}


def test_what_is_stripped_opens_to_its_tables() -> None:
    """Screwed with a ferrule, its sleeve 8 mm, and 2 mm beyond it; a ring for M5 (ISO 273)."""
    ring = load_document(board({"one": block(
        terminal("t", 40, 10, 0), terminal("u", 40, 20, 0, joint="ring", stud="M5"))}, [], []))
    screw, stud = ring.types["one"].terminals
    ((_, one),) = end_workings(screw, 2.5)
    assert one.result == pytest.approx(sum(g.value for g in one.given if g.symbol in "lr")) == 10
    assert "DIN 46228-4" in {g.symbol: g.source for g in one.given}["l"]
    ((_, bare),) = end_workings(screw, None)
    assert bare.result == bare.given[0].value == 8
    strip, hole = (worked for _, worked in end_workings(stud, 2.5))
    assert strip.result == 7
    assert hole.result == 5.3
    assert hole.source.startswith("ISO 273 fine series")


def test_totals_open_to_the_wires_in_them() -> None:
    made = listed()
    for total in made.totals:
        assert 1000 * total.metres == pytest.approx(sum(g.value for g in total.working.given))
        numbers = {f"wire {r.number}" for r in made.rows
                   if (r.size, r.colour) == (total.size, total.colour)}
        assert {g.what for g in total.working.given} == numbers

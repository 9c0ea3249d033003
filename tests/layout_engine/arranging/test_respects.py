"""The four respects, on layouts small enough to be worked out by hand."""

from __future__ import annotations

from typing import Any

import pytest

from layout_engine import load_document
from layout_engine.arranging.respects import Respects, respects_of
from tests.samples import empty_plate, module_type, part


def told(*places: tuple[float, float], **more: Any) -> Respects:
    """Equal boxes 40 x 30 at these places, on an upright plate; `more` goes into their type."""
    document = empty_plate()
    document["types"] = {"box": module_type("Box", width=40, depth=30, **more)}
    document["parts"] = [part(f"b{n}", "box", place) for n, place in enumerate(places)]
    return respects_of(load_document(document))


def figure(respect: Any, words: str) -> float:
    return next(f.working.result for f in respect.figures if words in f.words)


def test_hot_modules_apart_by_their_gap_and_no_more_than_counts() -> None:
    heat = {"watts": {"typical": 5}}
    assert figure(told((20, 40), (90, 40), heat=heat).heat, "apart") == pytest.approx(30)
    assert figure(told((20, 40), (200, 40), heat=heat).heat, "apart") == pytest.approx(100)


def test_heat_above_counts_the_cooler_modules_below() -> None:
    document = empty_plate()
    document["types"] = {
        "hot": module_type("Hot", width=40, depth=30, heat={"watts": {"typical": 8}}),
        "cool": module_type("Cool", width=40, depth=30),
    }
    document["parts"] = [part("h", "hot", (20, 120)), part("a", "cool", (20, 40)),
                         part("b", "cool", (100, 40)), part("c", "cool", (100, 200))]
    heat = respects_of(load_document(document)).heat
    assert figure(heat, "above") == pytest.approx(100 * 2 / 3)


def test_sinks_in_free_air_count_by_their_heat() -> None:
    """Fins up and down, 20 mm of air beyond their ends; of three the two in one column are 10 mm
    apart. Fins across are in no free air, nor is the heat of what has no sink counted.
    """
    heat = {"watts": {"typical": 5}, "sink": [[0, 0], [40, 0], [40, 30], [0, 30]], "fins": "y",
            "air_gap": 20}
    free = told((20, 40), (100, 40), (100, 80), heat=heat).heat
    assert "heat sinks in free air: 1 of 3" in free.words
    assert figure(free, "in free air") == pytest.approx(100 / 3)
    assert figure(told((20, 40), heat=heat | {"fins": "x"}).heat, "in free air") == 0
    document = empty_plate()
    document["types"] = {
        "hot": module_type("Hot", width=40, depth=30, heat=heat | {"watts": {"typical": 15}}),
        "warm": module_type("Warm", width=40, depth=30, heat=heat),
        "bare": module_type("Bare", width=40, depth=30, heat={"watts": {"typical": 99}}),
    }
    document["parts"] = [part("h", "hot", (20, 100)), part("b", "bare", (100, 75)),
                         part("w", "warm", (100, 40))]
    mixed = respects_of(load_document(document)).heat
    assert figure(mixed, "in free air") == pytest.approx(75)
    assert "in free air" not in told((20, 40), heat={"watts": {"typical": 5}}).heat.words


def test_nothing_hot_is_said_plainly() -> None:
    assert told((20, 40)).heat.words == "No module here is known to give off heat."


def test_a_row_and_three_columns_with_equal_gaps() -> None:
    tidy = told((20, 40), (80, 40), (140, 40)).tidiness
    assert "1 rows and 3 columns for 3 modules" in tidy.words
    assert "equal gaps: 1, unequal ones in rows: 0" in tidy.words
    assert figure(tidy, "rows and") == pytest.approx(50)  # 2 of 4 lines too many are saved
    assert "holes on the 0.5 mm grid: all 6" in tidy.words


def test_unlined_modules_off_the_grid() -> None:
    tidy = told((20.2, 40.1), (80.33, 48.7), (140.4, 55.9)).tidiness
    assert "3 rows and 3 columns for 3 modules" in tidy.words
    assert "holes on the 0.5 mm grid: 0 of 6" in tidy.words
    assert tidy.score == 0


TERMINALS = [{"id": "t", "x": 40, "y": 15, "leaves": 0, "role": "signal"}]


@pytest.mark.parametrize(("gap", "free"), [(34, 1), (36, 2)])
def test_a_terminal_is_reached_when_a_tools_handle_has_room(gap: float, free: int) -> None:
    """The handle's 35 mm; the right one of two boxes faces the free edge."""
    service = told((20, 40), (20 + 40 + gap, 40), terminals=TERMINALS).service
    assert figure(service, "terminals") == pytest.approx(100 * free / 2)


def test_modules_behind_are_counted() -> None:
    document = empty_plate()
    document["types"] = {"box": module_type("Box", width=40, depth=30)}
    document["parts"] = [part("a", "box", (20, 40)), part("b", "box", (150, 40), face="back")]
    service = respects_of(load_document(document)).service
    assert figure(service, "on the front") == pytest.approx(50)


def test_terminals_that_face_the_same_free_lane_share_a_corridor() -> None:
    above = told((20, 40), (80, 40), terminals=[
        {"id": "t", "x": 20, "y": 30, "leaves": 90, "role": "signal"}]).tidiness
    assert "terminals at a shared corridor: all 2" in above.words
    document = empty_plate()
    document["types"] = {
        "up": module_type("Up", width=40, depth=30, terminals=[
            {"id": "t", "x": 20, "y": 30, "leaves": 90, "role": "signal"}]),
        "down": module_type("Down", width=40, depth=30, terminals=[
            {"id": "t", "x": 20, "y": 0, "leaves": 270, "role": "signal"}]),
    }
    document["parts"] = [part("a", "up", (20, 40)), part("b", "down", (80, 40))]
    apart = respects_of(load_document(document)).tidiness
    assert "terminals at a shared corridor: 0 of 2" in apart.words


def test_wire_is_told_weighed_and_plain() -> None:
    """Worked by hand: terminal to terminal 60 - 40 = 20 mm right, 10 mm up: 30 mm x 5 A."""
    document = empty_plate()
    document["types"] = {"box": module_type("Box", width=40, depth=30, terminals=[
        {"id": "l", "x": 0, "y": 15, "leaves": 180, "role": "signal"},
        {"id": "r", "x": 40, "y": 15, "leaves": 0, "role": "signal"}])}
    document["parts"] = [part("a", "box", (20, 40)), part("b", "box", (80, 50))]
    document["connections"] = [{"id": "w", "from": "a.r", "to": "b.l", "weight": 5}]
    wire = respects_of(load_document(document)).wire
    assert [f.working.result for f in wire.figures] == pytest.approx([0.15, 0.03])

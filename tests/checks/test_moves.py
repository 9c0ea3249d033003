"""Moves that are offered where two modules touch: the shortest way apart, in words and in mm."""

from __future__ import annotations

from typing import Any

import pytest

from layout_engine import Finding, check, load_document
from layout_engine.edits import place_parts
from layout_engine.model.part import Placement
from tests import samples


def touching(**keys: Any) -> dict[str, Any]:
    """Two modules that overlap by 5 mm from left to right; keys of their type."""
    document = samples.touching_board()
    document["types"]["box"] |= keys
    return document


def overlap(document: dict[str, Any]) -> Finding:
    (found,) = check(load_document(document), rules=["overlap"])
    return found


@pytest.mark.parametrize(("clearance", "far"), [(0, "5"), (2, "7"), (1.2, "6.5")])
def test_a_module_is_moved_aside_until_both_have_their_clearance(
        clearance: float, far: str) -> None:
    """6.2 mm are told as 6.5: moves end on half millimetres."""
    document = touching(clearance=clearance)
    (move,) = overlap(document).moves
    assert move.words == f"Move Left box {far} mm left"
    there = Placement(face="front", x=move.x, y=move.y, turn=move.turn)
    moved = place_parts(load_document(document), {move.part: there}).job
    assert check(moved, rules=["overlap"]) == []


def test_of_two_clearances_the_larger_is_kept() -> None:
    """They overlap by 5 mm, and the right one wants 4 mm free all round."""
    document = touching(clearance=1)
    document["types"]["roomy"] = document["types"]["box"] | {"clearance": 4}
    document["parts"][1]["type"] = "roomy"
    (move,) = overlap(document).moves
    assert move.words == "Move Left box 9 mm left"


def test_a_locked_module_stays() -> None:
    document = touching()
    document["parts"][0]["locked"] = True
    assert [move.part for move in overlap(document).moves] == ["right"]


def test_on_the_back_left_and_right_are_those_of_who_looks_at_it() -> None:
    document = touching()
    for one in document["parts"]:
        one["placement"] |= {"face": "back", "x": one["placement"]["x"] + samples.MODULE_WIDTH}
    (move,) = overlap(document).moves
    assert move.words == "Move Left box 5 mm right"
    assert move.x == document["parts"][0]["placement"]["x"] - 5


def test_the_shorter_way_is_offered_whichever_module_takes_it() -> None:
    """A third module touches the left one on its left: it could only go 45 mm up."""
    document = touching()
    document["parts"].append(samples.part("third", "box", (-40, 120)))
    assert [move.words for move in overlap(document).moves] == ["Move Right box 5 mm right"]

"""Jobs at the edge of sense: no exception, a locked part stays, and what cannot be is said."""

from __future__ import annotations

from typing import Any

import pytest

from layout_engine import load_document
from layout_engine.arranging.verdict import stops
from tests.layout_engine.arranging.test_arrange import run, small

Json = dict[str, Any]
AT_5_MM = {"rule": "near_edge", "within": 5, "must": True}
HORSESHOE = [[0, 0], [60, 0], [60, 60], [40, 60], [40, 20], [20, 20], [20, 60], [0, 60]]
FIXINGS = [{"x": 4, "y": 4, "thread": "M3"}, {"x": 26, "y": 16, "thread": "M3"}]


def locked(document: Json, *places: tuple[float, float]) -> Json:
    """The first parts locked at these places on the front."""
    for part, (x, y) in zip(document["parts"], places, strict=False):
        part |= {"locked": True, "placement": {"face": "front", "x": x, "y": y}}
    return document


def wishing(document: Json, *wishes: Json) -> Json:
    """The first part with these musts."""
    document["parts"][0]["wishes"] = [wish | {"must": True} for wish in wishes]
    return document


def kind(document: Json, **keys: Any) -> Json:
    document["types"]["module"] |= keys
    return document


def plate(document: Json, **keys: Any) -> Json:
    document["plate"] |= keys
    return document


def unwired(document: Json) -> Json:
    return document | {"connections": []}


WHOLE: dict[str, Json] = {
    "all locked": locked(small(3), (10, 10), (10, 40), (10, 70)),
    "one locked, its must missed": wishing(
        locked(small(3), (50, 50)), AT_5_MM | {"edge": "left"}),
    "no wires": unwired(small(3)),
    "one module": small(1),
    "no module": small(0) | {"parts": [], "connections": []},
    "concave modules": kind(small(3, 200), outline=HORSESHOE),
    "a large hole": plate(small(4, 200), holes=[[[50, 50], [150, 50], [150, 150], [50, 150]]]),
    "a bent plate": plate(small(3, 200), outline=[
        [0, 0], [200, 0], [200, 60], [60, 60], [60, 200], [0, 200]]),
    "screws on both faces": kind(small(8), standoff=8, fixings=FIXINGS),
}


@pytest.mark.parametrize("document", WHOLE.values(), ids=WHOLE.keys())
def test_an_odd_job_is_arranged_whole_and_allowed(document: Json) -> None:
    offer = run(document)
    assert offer.whole
    assert stops(offer.job) == []
    for part in load_document(document).parts:
        if part.locked:
            assert offer.job.part(part.id).placement == part.placement


# What is said where some parts cannot be placed, and who.
PARTIAL: dict[str, tuple[Json, set[str], str]] = {
    "larger than the plate": (
        kind(small(2), outline=[[0, 0], [300, 0], [300, 20], [0, 20]]), {"p0", "p1"},
        "too large, or too high"),
    "margins leave nothing": (plate(small(2), edge_margin=200), {"p0", "p1"}, "too large"),
    "both faces at once": (
        wishing(small(3), {"rule": "face", "face": "front"}, {"rule": "face", "face": "back"}),
        {"p0"}, "while it must stand on the front and must stand on the back"),
    "two edges at once": (
        wishing(small(3), AT_5_MM | {"edge": "left"}, AT_5_MM | {"edge": "right"}), {"p0"},
        "within 5 mm of the left edge and must be within 5 mm of the right edge"),
    "a zone that is too small": (
        wishing(small(2), {"rule": "inside", "outline": [[9, 9], [30, 9], [30, 20], [9, 20]]}),
        {"p0"}, "while it must stay in its zone"),
    "too high up": (
        wishing(small(2), {"rule": "high", "above": 500}), {"p0"}, "at least 500 mm up"),
}


@pytest.mark.parametrize(("document", "left", "words"), PARTIAL.values(), ids=PARTIAL.keys())
def test_what_cannot_be_placed_is_left_with_the_reason(
    document: Json, left: set[str], words: str,
) -> None:
    offer = run(document)
    assert not offer.whole
    assert set(offer.unplaced) == left
    assert words in offer.reason
    assert {rule.rule for rule in stops(offer.job)} <= {"no_way_in"}


def test_a_must_that_a_lock_breaks_is_said_and_the_rest_is_arranged() -> None:
    offer = run(WHOLE["one locked, its must missed"])
    assert offer.whole
    assert offer.reason == (
        "p0 stays where it is, and misses that it must be within 5 mm of the left edge.")


def test_only_what_may_move_counts_as_left_over() -> None:
    offer = run(unwired(small(3)), only=frozenset({"p0"}))
    assert offer.whole
    assert [part.id for part in offer.job.placed] == ["p0"]

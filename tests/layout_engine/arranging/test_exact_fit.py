"""Modules that exactly fill the plate, or ground with its margin, are found a place."""

from __future__ import annotations

from typing import Any

import pytest

from tests.layout_engine.arranging.test_arrange import run, small, stops

Json = dict[str, Any]
Sizes = list[tuple[float, float]]
FRONT = {"rule": "face", "face": "front", "must": True}


def tiles(width: float, height: float, sizes: Sizes, *, clearance: float = 0, margin: float = 0
          ) -> Json:
    """Boxes of these sizes on the front of a plate, each wired to the next."""
    document = small(len(sizes))
    document["plate"] |= {"outline": [[0, 0], [width, 0], [width, height], [0, height]],
                          "edge_margin": margin}
    kind = document["types"].pop("module")
    for number, ((a, b), part) in enumerate(zip(sizes, document["parts"], strict=True)):
        left, right = (end | {"x": x, "y": b / 2}
                       for end, x in zip(kind["terminals"], (0, a), strict=True))
        document["types"][f"tile{number}"] = kind | {
            "outline": [[0, 0], [a, 0], [a, b], [0, b]], "clearance": clearance,
            "terminals": [left, right]}
        part |= {"type": f"tile{number}", "wishes": [FRONT]}
    return document



CASES: dict[str, Json] = {
    "side by side": tiles(100, 50, [(50, 50), (50, 50)]),
    "with a clearance": tiles(102, 50, [(50, 50), (50, 50)], clearance=2),
    "within the margin": tiles(110, 60, [(50, 50), (50, 50)], margin=5),
    "one turned": tiles(90, 60, [(30, 60), (60, 30), (60, 30)]),
    "round a square": tiles(100, 100, [(60, 40), (40, 60), (60, 40), (40, 60), (20, 20)]),
    "odd sizes": tiles(99.999, 40, [(33.333, 40)] * 3),
}


@pytest.mark.parametrize("document", CASES.values(), ids=CASES.keys())
def test_modules_that_fill_the_plate_are_found_a_place(document: Json) -> None:
    offer = run(document)
    assert offer.whole, offer.reason
    assert stops(offer.job) == []


def test_two_that_are_a_hair_too_wide_are_not() -> None:
    """0.002 mm over: one stands, and one stays in the tray."""
    offer = run(tiles(99.998, 50, [(50, 50), (50, 50)]))
    assert not offer.whole
    assert len(offer.unplaced) == 1


def test_a_clearance_between_two_is_not_ground_that_lacks_at_the_edge() -> None:
    """52 x 50 for one of 50 x 50 with 2 mm clearance: nothing stands beside it."""
    offer = run(tiles(52, 50, [(50, 50)], clearance=2))
    assert offer.whole
    assert "lacks" not in offer.reason


def test_what_fits_exactly_is_the_offer_where_it_is_the_cheapest() -> None:
    """102 mm for 50 + 2 + 50, upright: a wire of 2 mm; one above the other it is over 100 mm."""
    document = tiles(102, 140, [(50, 50), (50, 50)], clearance=2)
    for part in document["parts"]:
        part["wishes"] = [FRONT, {"rule": "turns", "allowed": [0], "must": True}]
    offer = run(document)
    assert offer.cost == pytest.approx(2 * 2.0)  # its weight is 2

"""Exact shapes: where only that is possible, one module stands in the arm of another."""

from __future__ import annotations

from typing import Any

import pytest

from layout_engine import arrange, dump_document, load_document
from tests.checks import oracle_shapes as shapes
from tests.checks.oracle import Scene
from tests.layout_engine.arranging.family_jobs import certain_stops, still

Points = list[list[float]]
ELL: Points = [[0, 0], [60, 0], [60, 20], [20, 20], [20, 60], [0, 60]]
YOU: Points = [[0, 0], [60, 0], [60, 60], [44, 60], [44, 16], [16, 16], [16, 60], [0, 60]]


def box(side: float) -> Points:
    return [[0, 0], [side, 0], [side, side], [0, side]]


def job_of(side: float, *outlines: Points) -> Any:
    """Modules of these outlines, 2 mm apart, on the front of a square plate with 5 mm of edge."""
    return load_document({
        "format": "platewright/1", "name": "Embracing",
        "body": {"shape": "box", "width": 300, "depth": 300, "height": 300,
                 "opening": {"in": "top", "shape": "rectangle", "width": 280, "height": 280},
                 "reach_from": "top"},
        "plate": {"outline": box(side), "thickness": 5, "material": "acrylic",
                  "stands": "upright", "base": 50},
        "types": {
            f"m{n}": {"name": f"Module {n}", "kind": "other", "outline": outline, "height": 15,
                      "standoff": 6, "clearance": 2, "terminals": [
                          {"id": "a", "x": 5, "y": 5, "leaves": 180, "role": "signal"}]}
            for n, outline in enumerate(outlines)},
        "parts": [{"id": f"p{n}", "type": f"m{n}",
                   "wishes": [{"rule": "face", "face": "front", "must": True}]}
                  for n in range(len(outlines))],
        "connections": [{"id": "c", "from": "p0.a", "to": "p1.a", "weight": 1}],
    })


@pytest.mark.parametrize(("side", "one", "other"), [
    (72, ELL, box(36)),  # 62 mm inside the margin: 22 + 36 beside an arm of 20, never 60 + 2 + 36
    (95, ELL, ELL),  # two arms, each round the other: 22 + 60 of 85; apart they need 122
    (72, YOU, box(23)),  # 28 mm between the arms of the U leave 24; nothing else is free
], ids=["an L round a box", "two Ls", "a U round a box"])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_it_embraces(side: float, one: Points, other: Points, seed: int) -> None:
    offer = arrange(job_of(side, one, other), seconds=1, seed=seed, clock=still)
    assert offer.whole, offer.reason
    assert certain_stops(offer.job) == []
    first, second = (part.outline for part in Scene(dump_document(offer.job)).placed)
    assert shapes.gap(first, second) >= 2 - 1e-3
    overlap = [min(first[:, k].max(), second[:, k].max()) - max(first[:, k].min(),
                                                                second[:, k].min())
               for k in (0, 1)]
    assert min(overlap) > 0  # of their bounding boxes

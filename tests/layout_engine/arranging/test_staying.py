"""Laws of arranging a little: what stands keeps face and turn and moves no farther than asked."""

from __future__ import annotations

from math import hypot
from typing import Any

import pytest

from layout_engine import Job, arrange, check, dump_document, load_document
from layout_engine.arranging.cost import evaluate
from tests.benchmarks.arranging import family_job


def still() -> float:
    return 0.0


def places(job: Job) -> dict[str, Any]:
    return {p["id"]: p.get("placement") for p in dump_document(job)["parts"]}


def stops(job: Job) -> list[str]:
    return [f.rule for f in check(job) if f.severity == "stop"]


@pytest.mark.parametrize(("seed", "at_most"), [(1, 0.5), (2, 4.0), (3, 25.0)])
def test_nothing_moves_farther_than_asked_or_turns(seed: int, at_most: float) -> None:
    job = family_job(8, seed)
    offer = arrange(job, seconds=1, seed=seed, at_most_mm=at_most, clock=still)
    before, after = places(job), places(offer.job)
    for part_id, was in before.items():
        now = after[part_id]
        assert hypot(now["x"] - was["x"], now["y"] - was["y"]) <= at_most
        assert (now.get("face", "front"), now.get("turn", 0)) == (
            was.get("face", "front"), was.get("turn", 0))
    assert stops(offer.job) == []
    assert offer.cost < evaluate(job).cost


def test_an_odd_turn_is_kept_and_the_tray_may_go_anywhere() -> None:
    document = dump_document(family_job(6, 4))
    document["parts"][0].pop("placement")
    document["parts"][1]["placement"] = {"face": "front", "x": 30, "y": 30, "turn": 7.5}
    job = load_document(document)
    others = {f"p{n}" for n in range(2, 6)}
    wide = arrange(job, seconds=1, seed=1, only=frozenset({"p0", "p1"}), at_most_mm=300,
                   clock=still)
    after = places(wide.job)
    assert wide.whole
    assert after["p1"]["turn"] == 7.5
    assert {k: after[k] for k in others} == {k: places(job)[k] for k in others}


@pytest.mark.parametrize("at_most", [0.0, -1.0, float("nan")])
def test_no_way_to_move_is_refused_by_name(at_most: float) -> None:
    with pytest.raises(ValueError, match="at_most_mm"):
        arrange(family_job(4, 1), seconds=1, seed=1, at_most_mm=at_most, clock=still)

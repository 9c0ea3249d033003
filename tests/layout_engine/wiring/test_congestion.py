"""The estimate of how crowded an arrangement will be: against passages that hold every wire."""

from __future__ import annotations

from typing import Any

import pytest

from layout_engine import Job, dump_document, load_document
from layout_engine.wiring import congestion_of, plan_routes
from tests.benchmarks.arranging import family_job
from tests.layout_engine.wiring.boards import at, block, board, facing_pair, seen_from_behind
from tests.layout_engine.wiring.boards import terminal as terminal_at
from tests.layout_engine.wiring.boards import wire as wire_of

HEIGHT = 20.0  # mm that a flat run may be high, as the engine's table has it


def gate(gap: float, count: int = 4) -> Job:
    """Wires from left to right, all through one gap of a wall from edge to edge."""
    rows = range(count)
    types: dict[str, Any] = {
        "left": block(*(terminal_at(f"t{n}", 30, 10 + 10 * n, 0) for n in rows), size=(30, 60)),
        "right": block(*(terminal_at(f"t{n}", 0, 10 + 10 * n, 180) for n in rows), size=(30, 60)),
        "wall": block(size=(20, (160 - gap) / 2), clearance=0),
    }
    parts = [at("a", "left", 20, 50), at("b", "right", 190, 50), at("low", "wall", 110, 0),
             at("high", "wall", 110, (160 + gap) / 2)]
    wires = [wire_of(f"w{n}", f"a.t{n}", f"b.t{n}") for n in rows]
    return load_document(board(types, parts, wires, size=(240, 160)))


@pytest.mark.parametrize("gap", [24.0, 48.0, 80.0])
def test_what_must_pass_a_gap_fills_it(gap: float) -> None:
    job = gate(gap)
    outers = [wire.outer for wire in plan_routes(job).wires]
    found = congestion_of(job)
    total = sum(outer * outer for outer in outers)
    # All of it crosses the wall's line; the passages of one line share it, so that the fullest
    # one holds at least the mean: what goes through over the room that is there.
    assert found.worst >= 0.9 * total / (gap * HEIGHT)
    assert found.mean <= found.worst
    assert found.face == "front"


def test_a_narrower_gap_is_fuller() -> None:
    worst = [congestion_of(gate(gap)).worst for gap in (12.0, 24.0, 48.0, 96.0)]
    assert worst == sorted(worst, reverse=True)
    assert worst[0] > 2 * worst[-1]


def test_the_fullest_passage_is_at_the_gap() -> None:
    found = congestion_of(gate(12.0))
    assert 100 <= found.x <= 140
    assert 70 <= found.y <= 90


def test_twice_the_wires_are_twice_as_full() -> None:
    job = gate(24.0)
    document = dump_document(job)
    document["connections"] += [
        {**c, "id": f"{c['id']}x"} for c in document["connections"]]
    one, two = congestion_of(job), congestion_of(load_document(document))
    assert two.worst == pytest.approx(2 * one.worst)
    assert two.mean == pytest.approx(2 * one.mean)


def test_working_gives_the_figure() -> None:
    found = congestion_of(gate(24.0))
    assert found.working is not None
    value = {given.symbol: given.value for given in found.working.given}
    assert found.worst == pytest.approx(value["A"] / (value["w"] * value["h"]))
    assert found.working.result == found.worst


def test_same_job_same_answer_and_from_behind_too() -> None:
    job = family_job(25, 2)
    one = congestion_of(job)
    assert congestion_of(load_document(dump_document(job))) == one
    behind = congestion_of(seen_from_behind(job))
    assert behind.mean == pytest.approx(one.mean, rel=0.05)  # points of cells, not exact ground


def test_without_wires_nothing_is_full() -> None:
    document = facing_pair()
    document["connections"] = []
    assert congestion_of(load_document(document)).mean == 0.0
    del document["parts"][1]["placement"]
    document["connections"] = [wire_of("w", "a.t", "b.t")]
    found = congestion_of(load_document(document))
    assert (found.mean, found.worst, found.working) == (0.0, 0.0, None)


def test_modules_moved_apart_leave_more_room() -> None:
    document = dump_document(family_job(25, 1))
    for part in document["parts"]:
        part["placement"]["x"] *= 1.4
        part["placement"]["y"] *= 1.4
    plate = document["plate"]
    plate["outline"] = [[1.4 * x, 1.4 * y] for x, y in plate["outline"]]
    document["body"] |= {"width": 2000, "depth": 2000, "height": 2000}
    document["body"]["opening"] |= {"width": 1900, "height": 1900}
    wide = congestion_of(load_document(document))
    assert wide.mean < congestion_of(family_job(25, 1)).mean

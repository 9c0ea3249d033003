"""Sizes and routes that belong together: one size a wire everywhere, laws between the two."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import replace
from typing import Any

import pytest

from layout_engine import check, load_document, solve_supply
from layout_engine.sizing import solved
from layout_engine.sizing.board import Sizing
from layout_engine.sizing.routed import MOST_ROUNDS, sized_routes
from tests.layout_engine.sizing.boards import random_board
from tests.layout_engine.supply.circuits import battery, circuit, job, load
from tests.layout_engine.wiring.boards import facing_pair
from tests.webapp.pages.forms import demo

WAGON = demo("puppet_wagon")


@pytest.mark.parametrize("name", ["puppet_wagon", "parade_tortoise"])
def test_every_wire_is_cut_in_the_size_that_was_chosen_for_its_length(name: str) -> None:
    found = sized_routes(load_document(demo(name)))
    assert found.sizing
    assert found.rounds <= MOST_ROUNDS
    for wire in found.routing.wires:
        sized = found.sizing.wires[wire.id]
        assert wire.mm2 == sized.size.area
        assert wire.awg == (sized.size.gauge if sized.size.is_awg else None)
        if wire.length is not None:
            assert sized.length == pytest.approx(wire.length)


def test_wires_tied_together_carry_no_more_and_take_no_less_copper() -> None:
    """In all: where one is thicker, another may do with less for the same volts lost."""
    most = 0
    for seed in range(12):
        board = load_document(random_board(seed))
        alone = Sizing(board)
        tied = Sizing(board, ties=[[wire.id for wire in board.connections]])
        most = max(most, *(wire.circuits for wire in tied.wires.values()))
        assert all(wire.carries.amps <= wire.alone for wire in tied.wires.values())
        copper, plain = (sum(w.size.area * w.length for w in s.wires.values())
                         for s in (tied, alone))  # fmt: skip
        assert copper >= plain
    assert most >= 3


def test_a_longer_lead_is_never_thinner() -> None:
    longer: dict[str, Any] = deepcopy(WAGON)
    for wire in longer["connections"]:
        wire["length"] = 4000.0
    usual, long = (sized_routes(load_document(d)).sizing for d in (WAGON, longer))
    assert usual
    assert long
    areas = [(usual.wires[n].size.area, long.wires[n].size.area) for n in usual.wires]
    assert all(b >= a for a, b in areas)
    assert any(b > a for a, b in areas)


def test_the_same_job_has_the_same_answer() -> None:
    one, other = (sized_routes(load_document(WAGON)) for _ in range(2))
    assert one.routing.wires == other.routing.wires


def test_cases_of_one_job_share_its_routes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Asked for one case after the other a job is routed once, another job anew."""
    routed: list[object] = []
    monkeypatch.setattr(solved, "sized_routes",
                        lambda job: routed.append(job) or sized_routes(job))  # fmt: skip
    kinds = {"pack": battery(12, 0.1), "lamp": load(2, (5, 15))}
    boards = []
    for _ in range(2):
        document = circuit(kinds, ["pack.plus lamp.plus 500", "pack.minus lamp.minus 500"])
        for wire in document["connections"]:
            del wire["wire"]
        boards.append(load_document(document))
    one, other = boards
    volts = [solve_supply(board, case).nodes["lamp.plus"]
             for board in (one, other) for case in ("idle", "typical", "peak")]
    assert routed == [one, other]
    assert volts[:3] == volts[3:]


def test_findings_follow_the_sizes_of_the_routes() -> None:
    """A wire that suits its fuse alone, tied to three others that are loaded, does not."""
    board = load_document(demo("rolling_lighthouse"))
    found = sized_routes(board)
    assert found.sizing
    fuse = found.sizing.fuses["fuses.feed>out1"]
    assert not fuse.is_over
    assert check(board, rules={"fuse_over_wire"}) == []
    crowd = dict.fromkeys(found.sizing.wires, 9)
    crowded = replace(found, sizing=Sizing(board, lengths=found.routing.lengths, circuits=crowd))
    over = [f for f in check(board, routes=crowded, rules={"fuse_over_wire"})
            if f.subjects[0] == "fuses"]
    assert over
    assert all(f.value and f.limit and f.value > f.limit for f in over)


def test_without_a_battery_wires_are_routed_and_why_they_have_no_size_is_said() -> None:
    found = sized_routes(load_document(facing_pair()))
    assert found.sizing is None
    assert "battery" in found.why
    assert len(found.routing.wires) == 1


def test_a_supply_over_60_volts_is_declined() -> None:
    found = sized_routes(job({"one": battery(36, 0.1), "two": battery(36, 0.1), "lamp": load(1)},
                             ["one.minus two.plus", "one.plus lamp.plus", "two.minus lamp.minus"]))
    assert found.sizing is None
    assert "licensed" in found.why

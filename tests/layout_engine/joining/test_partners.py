"""Which terminals are offered for a chosen one, and what speaks against a pair."""

from __future__ import annotations

import pytest

from layout_engine import load_document
from layout_engine.connection_edits import add_connections, remove_connections
from layout_engine.joining import doubts, free_places, partners
from layout_engine.model.job import Job
from tests.layout_engine.joining.demos import demo


@pytest.fixture
def bare() -> Job:
    return load_document(demo("rolling_lighthouse", stripped=True))


def test_what_is_suggested_comes_first_and_roles_agree(bare: Job) -> None:
    found = partners(bare, "battery.plus")
    assert found[0] == "main_fuse.in"
    assert {"main_switch.in", "fuses.feed", "drive.bplus"} <= set(found)
    assert "zero.in" not in found
    assert "drive.m1a" not in found


def test_signal_and_data_go_together_but_not_with_audio(bare: Job) -> None:
    found = partners(bare, "control.s1")
    assert "control.s2" not in found  # the same module
    assert "receiver.data" in found
    assert "player.out" not in found


def test_full_terminals_and_those_left_open_on_purpose_are_not_offered() -> None:
    job = load_document(demo("rolling_lighthouse"))
    assert free_places(job)["drive.bplus"] == 0
    assert free_places(job)["zero.r1"] == 1
    assert free_places(job)["zero.r8"] == 0
    freed = remove_connections(job, ["w12"]).job  # drive.bminus
    found = partners(freed, "drive.bminus")
    assert found[0] == "zero.r1"
    assert "zero.r8" not in found
    assert "lamp.minus" not in found


def test_doubts_are_said_in_words(bare: Job) -> None:
    assert doubts(bare, "battery.plus", "main_fuse.in") == ()
    assert doubts(bare, "battery.plus", "battery.minus") == ("positive to 0 V: a short circuit",)
    assert doubts(bare, "drive.m1a", "horn.plus") == ("motor to audio",)
    twice = [{"from": "fuses.out1", "to": "drive.bplus"},
             {"from": "fuses.out2", "to": "drive.bplus"}]
    full = add_connections(bare, twice).job
    assert doubts(full, "fuses.out2", "drive.bplus") == ("Drive controller B+ takes 1, has 2",)

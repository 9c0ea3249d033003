"""Every figure opens to a working that gives it again."""

from __future__ import annotations

import pytest

from layout_engine import load_document
from layout_engine.supply.study import Study
from layout_engine.supply.worked import amps_working, feed_of, loss_working, volts_working
from tests.layout_engine.supply.circuits import battery, job, load
from webapp.resources import folder

DEMOS = folder("seed_data") / "demos"
STUDY = Study(load_document((DEMOS / "rolling_lighthouse.json").read_bytes()))
STATE = STUDY.state("rolling")


@pytest.mark.parametrize("branch", [b.id for b in STATE.branches])
def test_a_current_is_the_sum_of_the_others_at_its_end(branch: str) -> None:
    working = amps_working(STATE, branch)
    assert sum(given.value for given in working.given) == pytest.approx(working.result, abs=1e-9)
    assert working.result == STATE.branch(branch).amps


@pytest.mark.parametrize("branch", [b.id for b in STATE.branches if b.kind in ("wire", "path")])
def test_heat_of_a_conductor_is_current_squared_times_ohms(branch: str) -> None:
    working = loss_working(STATE, branch)
    amps, ohms = (given.value for given in working.given)
    assert amps**2 * ohms == pytest.approx(working.result, abs=1e-12)


@pytest.mark.parametrize("branch", [b.id for b in STATE.branches if b.kind in ("drive", "converter",
                                                                               "load")])
def test_heat_of_a_module_is_what_goes_in_less_what_comes_out(branch: str) -> None:
    working = loss_working(STATE, branch)
    taken, passed = (given.value for given in working.given)
    assert taken - passed == pytest.approx(working.result, abs=1e-9)


@pytest.mark.parametrize("part", ["amp", "lamp", "control", "drive", "meter"])
def test_a_voltage_is_the_sources_less_every_drop(part: str) -> None:
    element = next(e for e in STUDY.network.elements.items
                   if e.part == part and e.kind in ("load", "drive"))
    working = volts_working(STUDY, element, "rolling")
    source, *drops = (given.value for given in working.given)
    assert len(drops) >= 2, "outgoing and return"
    assert source - sum(drops) == pytest.approx(working.result, abs=1e-9)
    branch = STATE.branch(element.id)
    assert branch.volts == pytest.approx(working.result, abs=1e-9)


def test_a_feed_counts_both_ways() -> None:
    """One metre out, three metres back, 2 A (pitfall 3: the return counts)."""
    board = job({"pack": battery(12, 0.1), "lamp": load(2, (8, 15))},
                ["pack.plus lamp.plus 1000", "lamp.minus pack.minus 3000"])  # fmt: skip
    study = Study(board)
    lamp = next(e for e in study.network.elements.items if e.kind == "load")
    feed = feed_of(study, lamp, "typical")
    assert feed is not None
    assert [s.conductor.id for s in feed.out] == ["w1"]
    assert [s.conductor.id for s in feed.back] == ["w2"]
    copper = 0.554e-3 * (1 + 0.00393 * 50)
    assert feed.drop == pytest.approx(2 * (4 * copper + 4e-4), rel=1e-6)


def test_what_nothing_feeds_has_no_feed() -> None:
    study = Study(job({"pack": battery(12, 0.1), "lamp": load(2)}, ["pack.plus lamp.plus"]))
    lamp = next(e for e in study.network.elements.items if e.kind == "load")
    assert feed_of(study, lamp, "typical") is None
    assert volts_working(study, lamp, "typical").result == pytest.approx(0, abs=1e-6)

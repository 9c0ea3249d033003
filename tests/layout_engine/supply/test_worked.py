"""Every figure opens to a working that gives it again."""

from __future__ import annotations

import pytest

from layout_engine import load_document
from layout_engine.supply.shares import flow_working
from layout_engine.supply.study import Study
from layout_engine.supply.worked import feed_of, node_working, volts_working
from tests.layout_engine.supply.circuits import battery, job, load, resistor
from webapp.resources import folder

DEMOS = folder("seed_data") / "demos"
STUDY = Study(load_document((DEMOS / "rolling_lighthouse.json").read_bytes()))
STATE = STUDY.state("rolling")


@pytest.mark.parametrize("name", [c.id for c in STUDY.network.conductors])
@pytest.mark.parametrize("case", ["rolling", "stall_all"])
def test_a_current_is_the_sum_of_what_is_drawn_through_it(name: str, case: str) -> None:
    working = flow_working(STUDY, STUDY.row[case, "nominal"], STUDY.conductor_row[name])
    assert sum(given.value for given in working.given) == pytest.approx(working.result, abs=1e-5)
    assert working.result == abs(STUDY.state(case).branch(name).amps)
    assert all("battery" not in given.what for given in working.given)


def test_of_two_ways_each_takes_its_share() -> None:
    """2 A over 1 and 3 ohm side by side: 1.5 and 0.5 A (Ohm)."""
    kinds = {"pack": battery(12, 0.1), "one": resistor(1), "two": resistor(3),
             "lamp": load(2, (5, 15))}  # fmt: skip
    ends = ["pack.plus one.a", "one.b lamp.plus", "pack.plus two.a", "two.b lamp.plus",
            "lamp.minus pack.minus"]  # fmt: skip
    study = Study(job(kinds, [f"{end} 1" for end in ends]))
    row = study.row["typical", "nominal"]
    each = [flow_working(study, row, study.conductor_row[name]) for name in ("one.a>b", "two.a>b")]
    assert [working.result for working in each] == pytest.approx([1.5, 0.5], rel=5e-3)
    for working, share in zip(each, (75, 25), strict=True):
        (given,) = working.given
        words, _, told = given.what.partition(": ")
        assert words == "load lamp.plus>minus"
        assert float(told.split(" % of ")[0]) == pytest.approx(share, rel=5e-3)
        assert told.endswith(" of 2 A")


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


@pytest.mark.parametrize(("lamp", "pack", "guesses"), [
    ("measured", "measured", []), ("guess", "data_sheet", ["lamp"]), ("measured", "guess", ["V0"]),
])  # fmt: skip
def test_a_voltage_says_which_of_it_is_guessed(
    lamp: str, pack: str, guesses: list[str]
) -> None:
    """A terminal's voltage rests on what the pack is and on what hangs on it."""
    types = {"pack": battery(12, 0.02), "lamp": load(2, (8, 15))}
    types["lamp"]["basis"]["electrical"], types["pack"]["basis"]["electrical"] = lamp, pack
    study = Study(job(types, ["pack.plus lamp.plus 500", "pack.minus lamp.minus 500"]))
    (fed,) = [e for e in study.network.elements.items if e.kind == "load"]
    working = node_working(study, "lamp.plus", "typical")
    assert working is not None
    at_lamp = volts_working(study, fed, "typical")
    for one in (working, at_lamp):
        told = [given for given in one.given if given.is_guess]
        assert len(told) == len(guesses)
        assert all("lamp" in given.what for given in told if "lamp" in guesses)
    lost = sum(given.value for given in at_lamp.given[1:] if given.unit == "V")
    assert at_lamp.result == pytest.approx(at_lamp.given[0].value - lost)


def test_what_no_one_source_feeds_has_the_voltages_of_its_ends() -> None:
    """Between the pluses of two packs of 12 and 9 V: each end against the first pack's minus."""
    board = job({"one": battery(12, 0.02), "two": battery(9, 0.02), "lamp": load(0.1, (1, 15))},
                ["one.plus lamp.plus", "two.plus lamp.minus", "one.minus two.minus"])
    study = Study(board)
    (lamp,) = [e for e in study.network.elements.items if e.kind == "load"]
    working = volts_working(study, lamp, "typical")
    high, low = (given.value for given in working.given)
    assert working.result == pytest.approx(high - low)
    assert high == pytest.approx(12, abs=0.01)


@pytest.mark.parametrize(("basis", "guesses"), [("guess", 1), ("measured", 0)])
def test_a_run_time_says_that_what_draws_is_a_guess(basis: str, guesses: int) -> None:
    """2 A of a lamp whose values nobody measured, from a pack that is known."""
    types = {"pack": battery(12, 0.02), "lamp": load(2, (8, 15))}
    types["pack"]["basis"]["electrical"] = "measured"
    types["lamp"]["basis"]["electrical"] = basis
    study = Study(job(types, ["pack.plus lamp.plus", "pack.minus lamp.minus"]))
    for figure in (study.case_run_time("typical"), study.mixed_run_time()):
        assert figure.working is not None
        told = [given for given in figure.working.given if given.is_guess]
        assert [given.value for given in told] == pytest.approx([2] * guesses)

"""Sag, the lowest voltage at a stall, switching on, charging, returns one by one."""

from __future__ import annotations

from math import exp

import pytest

from layout_engine import Job, load_document
from layout_engine.supply.charging import chargings
from layout_engine.supply.lost_return import opened_returns, stray_returns
from layout_engine.supply.network import Change
from layout_engine.supply.sag import lowest_at_stall, sags
from layout_engine.supply.study import Study
from layout_engine.supply.switching_on import rushes
from layout_engine.supply.worked import node_working
from tests.layout_engine.supply.circuits import battery, job, load, part_type
from webapp.resources import folder

LIGHTHOUSE = load_document(
    (folder("seed_data") / "demos" / "rolling_lighthouse.json").read_bytes()
)


def switched(farads_uf: float = 4700, volts: float = 24) -> Job:
    """A pack, a switch and a load with a capacitor; 50 mohm in all."""
    switch = part_type("main_switch", {"a": "positive", "b": "positive"},
                       paths=[{"from": "a", "to": "b", "ohms": 0.01, "switch": True}])
    return job(
        {"pack": battery(volts, 0.03), "switch": switch,
         "box": load(1, (8, 32), capacitance_uf=farads_uf)},
        ["pack.plus switch.a", "switch.b box.plus", "pack.minus box.minus"],
    )  # fmt: skip


def test_a_pack_loses_its_resistance_times_its_current() -> None:
    """Ohm: 12 V behind 0.1 ohm at 2 A."""
    board = job({"pack": battery(12, 0.1), "lamp": load(2, (8, 15))},
                ["pack.plus lamp.plus", "pack.minus lamp.minus"])  # fmt: skip
    sag = next(s for s in sags(Study(board)) if (s.case, s.pack) == ("typical", "nominal"))
    assert sag.amps == pytest.approx(2, rel=1e-6)
    assert sag.sag.value == pytest.approx(0.2, rel=1e-6)
    assert sag.volts.value == pytest.approx(11.8, rel=1e-6)
    assert sag.volts.working is not None
    assert {given.symbol for given in sag.volts.working.given} == {"Vo", "I1", "Rb"}


def test_the_lowest_voltage_at_a_stall_is_the_lowest_of_the_stalled_cases() -> None:
    study = Study(LIGHTHOUSE)
    found = lowest_at_stall(study)
    assert set(found) == {"drive", "lamp_drive", "conv5", "control", "receiver"}
    items = list(study.network.elements.items)
    drive = next(n for n, e in enumerate(items) if e.part == "drive" and e.kind == "drive")
    stalls = [n for (case, pack), n in study.row.items()
              if case.startswith("stall") and pack == "empty"]
    assert found["drive"].volts.value == pytest.approx(study.element_volts[stalls, drive].min())
    assert found["drive"].least == 8
    assert not found["drive"].is_low


def test_pre_charge_as_worked_in_practice() -> None:
    """Row pre_charge of practice.csv: 4700 uF at 24 V over 50 mohm, 47 ohm: 1.35 J, 480 A with no
    resistance but the 50 mohm, 0.221 s a time constant, 1.10 s to 99.3 %, 12.3 W at first.
    """
    (rush,) = rushes(Study(switched()))
    assert rush.switch == "switch"
    assert rush.parts == ("box",)
    assert rush.microfarads == 4700
    assert rush.energy.value == pytest.approx(1.35, rel=0.01)
    assert rush.seconds.value == pytest.approx(1.10, rel=0.01)
    assert rush.first_watts.value == pytest.approx(12.3, rel=0.01)
    assert rush.wants_pre_charge
    assert rush.amps.working is not None
    loop = sum(g.value for g in rush.amps.working.given if g.symbol.startswith("R"))
    assert rush.amps.value == pytest.approx(24 / loop)
    assert 0.05 < loop < 0.055  # pack 30, switch 10, capacitor 10 mohm, wires and contacts


def test_five_time_constants_fill_a_capacitor() -> None:
    (rush,) = rushes(Study(switched(1000, 12)))
    assert rush.seconds.value == pytest.approx(5 * 47 * 1000e-6, rel=0.01)
    assert 1 - exp(-(rush.seconds.value or 0) / (47 * 1000e-6)) == pytest.approx(0.993)
    assert not rush.wants_pre_charge


def test_charging_takes_what_was_taken_out_and_a_fifth_more() -> None:
    """10 Ah of lead, half of it used, times 1.2, at 2 A: 3 h; a board that draws 0.5 A: 4 h."""
    charger = part_type(
        "charger", {"p": "positive", "m": "negative", "op": "positive", "om": "negative"},
        converters=[{"plus": "p", "minus": "m", "out_plus": "op", "out_minus": "om",
                     "out_volts": 14.4, "max_amps": 2}])  # fmt: skip
    board = job(
        {"pack": battery(12, 0.02, chemistry="lead_agm", full_volts=14.7, max_charge_amps=1.5),
         "charger": charger, "lamp": load(0.5, (8, 14))},
        ["pack.plus lamp.plus", "pack.minus lamp.minus", "charger.op pack.plus",
         "charger.om pack.minus"],
    )  # fmt: skip
    (found,) = chargings(Study(board))
    assert found.chargers == ("charger",)
    assert found.hours.value == pytest.approx(3.0)
    assert found.hours_on.value == pytest.approx(4.0, rel=0.01)
    assert found.is_too_hard
    assert found.volts.value == pytest.approx(14.7)
    assert found.least == ("lamp", 14)
    assert found.is_too_high


def test_a_battery_without_a_charger_says_so() -> None:
    (found,) = chargings(Study(LIGHTHOUSE))
    assert found.chargers == ()
    assert found.gives is None
    assert found.takes == 3.6
    assert found.hours.value == pytest.approx(1.2 * 0.5 * 12 / 3.6)  # at the most that it takes


def test_each_return_is_told_and_the_strays_are_among_them() -> None:
    study = Study(LIGHTHOUSE)
    found = {one.branch: one for one in opened_returns(study)}
    assert set(found["w2"].dead) == {"drive", "lamp_drive", "conv5", "meter", "amp", "lamp"}
    assert found["w15"].dead == ("lamp",)
    assert found["w15"].carries is None
    for stray in stray_returns(study):
        assert found[stray.opened].stray is not None
    for one in found.values():
        if one.carries is None:
            continue
        wire, amps = one.carries
        without = Study(LIGHTHOUSE, cases=("peak",), packs=("nominal",),
                        change=Change(opened=frozenset({one.branch})))  # fmt: skip
        assert amps == pytest.approx(abs(without.amps(wire, "peak")), rel=1e-6)


@pytest.mark.parametrize("case", ["idle", "typical", "stall_all"])
def test_a_terminal_is_its_source_less_what_is_lost_on_the_way(case: str) -> None:
    """Kirchhoff's voltage law, summed from the listed drops."""
    study = Study(LIGHTHOUSE)
    row, told = study.row[case, "nominal"], 0
    for end, number in study.network.number.items():
        working = node_working(study, end, case)
        if working is None:
            continue
        told += 1
        first, *drops = working.given
        assert working.result == pytest.approx(study.volts[row, number], abs=1e-9)
        assert first.value - sum(g.value for g in drops) == pytest.approx(working.result, abs=1e-9)
    assert told >= 80


def test_a_floating_terminal_has_no_working() -> None:
    board = job({"pack": battery(12, 0.1), "bar": part_type("terminal_block", {"t": "signal"})}, [])
    assert node_working(Study(board), "bar.t", "idle") is None
    with pytest.raises(KeyError):
        node_working(Study(board), "bar.none", "idle")


@pytest.mark.parametrize(("basis", "source", "is_guess"), [
    ("guess", "guess, part type", True), ("data_sheet", "part type, data sheet", False),
])  # fmt: skip
def test_a_figure_says_what_of_it_was_guessed(basis: str, source: str, is_guess: bool) -> None:
    pack = battery(12, 0.1)
    pack["basis"]["electrical"] = basis
    board = job({"pack": pack, "lamp": load(2, (8, 15))},
                ["pack.plus lamp.plus", "pack.minus lamp.minus"])  # fmt: skip
    study = Study(board)
    sag = next(s for s in sags(study) if s.case == "typical")
    assert sag.volts.working is not None
    inner = next(given for given in sag.volts.working.given if given.symbol == "Rb")
    assert (inner.source, inner.is_guess) == (source, is_guess)
    lasts = study.case_run_time("typical").working
    assert lasts is not None
    assert {given.is_guess for given in lasts.given if given.symbol == "C"} == {is_guess}

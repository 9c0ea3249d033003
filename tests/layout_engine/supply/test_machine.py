"""Running currents, run time, inrush, pushing: worked by hand from mechanics and Ohm's law."""

from __future__ import annotations

from math import atan, cos, pi, sin
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout_engine import Job, solve_supply
from layout_engine.model.part_type import Battery
from layout_engine.supply.battery import charging_time, mixed_run_time, run_time
from layout_engine.supply.pushed import pushed
from layout_engine.supply.running import running_currents, turning_currents
from layout_engine.supply.study import Study
from layout_engine.supply.switching_on import inrush
from tests.layout_engine.supply.circuits import battery, job, load, part_type

FEW = settings(max_examples=40, deadline=None, derandomize=True)


def drive(**more: Any) -> dict[str, Any]:
    block = {"plus": "p", "minus": "m", "outs": ["a", "b"], "continuous": 20, **more}
    return part_type("motor_driver", {"p": "positive", "m": "negative", "a": "motor",
                                      "b": "motor"}, drives=[block])  # fmt: skip


def motor(**more: Any) -> dict[str, Any]:
    block = {"terminals": ["a", "b"], "volts": 24, "free_rpm": 3000, "free_amps": 0.5,
             "stall_amps": 30, "gear": 20, "wheel_diameter": 250, **more}  # fmt: skip
    return part_type("motor", {"a": "motor", "b": "motor"}, motor=block)


WIRES = ["pack.plus drive.p", "pack.minus drive.m", "drive.a left.a", "drive.b left.b"]


def machine(pack: dict[str, Any] | None = None, bridge: dict[str, Any] | None = None,
            wheel: dict[str, Any] | None = None, **more: Any) -> Job:  # fmt: skip
    types = {"pack": pack or battery(24, 0.05, full_volts=29.4, empty_volts=21),
             "drive": bridge or drive(), "left": wheel or motor()}  # fmt: skip
    return job(types, WIRES, **more)


ROLLING = {"mass_kg": 40, "slope_percent": 100 / 12, "rolling": 0.03, "speed_kmh": 3.6}


def test_running_currents_on_the_flat_up_the_ramp_and_stalled() -> None:
    """40 kg, 1:12, rolling 0.03: 44.3 N up the ramp (worked example); torque, gear and Ke follow.

    Ke = (24 - 0.5 x 0.8) / (3000 x 2 pi / 60) = 0.07512 V s/rad; gears waste 30 %.
    """
    runs = running_currents(machine(machine=ROLLING))["left"]
    angle = atan(1 / 12)
    ke = (24 - 0.5 * 24 / 30) / (3000 * 2 * pi / 60)
    ramp = 40 * 9.80665 * (0.03 * cos(angle) + sin(angle))
    assert ramp == pytest.approx(44.3, abs=0.05)
    assert runs.ramp.value == pytest.approx(0.5 + ramp * 0.125 / (20 * 0.7 * ke), rel=1e-9)
    flat = 40 * 9.80665 * 0.03
    assert runs.flat.value == pytest.approx(0.5 + flat * 0.125 / (20 * 0.7 * ke), rel=1e-9)
    assert runs.stalled.value == 30
    # 1 m/s on a 250 mm wheel: 8 rad/s, 160 rad/s at the motor
    assert runs.flat_volts == pytest.approx(ke * 160 + (runs.flat.value or 0) * 0.8, rel=1e-9)


def test_running_figures_open_to_their_working() -> None:
    runs = running_currents(machine(machine=ROLLING))["left"]
    for figure in (runs.flat, runs.ramp, runs.stalled, runs.top_speed):
        assert figure.working is not None
        assert figure.working.result == figure.value
        assert all(given.source for given in figure.working.given)


def test_nothing_is_said_without_mass_or_speed() -> None:
    assert running_currents(machine()) == {}
    assert running_currents(machine(machine=ROLLING | {"speed_kmh": 0})) == {}


def test_at_half_speed_the_pack_gives_less_than_the_motor_takes() -> None:
    """A chopping bridge is a transformer: V I of the motor, not its current, comes from the pack.

    On the flat at 1 m/s the motor wants 0.07512 x 160 = 12.0 V and I R; the pack gives 24 V.
    """
    state = solve_supply(machine(machine=ROLLING), "typical")
    motor_amps = state.branch("left.a>b").amps
    drawn = -state.branch("pack.plus>minus").amps
    runs = running_currents(machine(machine=ROLLING))["left"]
    assert motor_amps == pytest.approx(runs.flat.value, rel=1e-6)
    assert drawn == pytest.approx(motor_amps * runs.flat_volts / 24, rel=0.01)


@FEW
@given(st.floats(1, 80), st.floats(0, 20), st.floats(0.5, 5))
def test_more_mass_more_slope_never_draws_less(mass: float, slope: float, speed: float) -> None:
    one = running_currents(machine(machine={"mass_kg": mass, "slope_percent": slope,
                                            "speed_kmh": speed}))["left"]  # fmt: skip
    two = running_currents(machine(machine={"mass_kg": mass * 1.5, "slope_percent": slope + 1,
                                            "speed_kmh": speed}))["left"]  # fmt: skip
    assert (one.flat.value or 0) <= (one.ramp.value or 0) <= (two.ramp.value or 0)


def pack_of(**more: Any) -> Battery:
    block = {"plus": "p", "minus": "m", "chemistry": "lead_agm", "amp_hours": 100, **more}
    return Battery.model_validate(block)


def test_lead_gives_half_of_what_peukert_leaves() -> None:
    """100 Ah at 20 h, 10 A, n 1.15: 20 (100 / 200)^1.15 = 9.01 h, half of it usable."""
    runs = run_time(pack_of(), 10)
    assert runs.value == pytest.approx(60 * 20 * 0.5**1.15 / 2)
    assert runs.working is not None


def test_lithium_gives_four_fifths() -> None:
    """20 Ah at 5 h, 4 A (its rated current): 5 h, 80 % of it 240 min."""
    assert run_time(pack_of(chemistry="lifepo4", amp_hours=20, hour_rate=5), 4).value == (
        pytest.approx(240))


@pytest.mark.parametrize(("capacity", "amps"), [(0.0, 5.0), (100.0, 0.0)])
def test_no_run_time_without_capacity_or_current(capacity: float, amps: float) -> None:
    assert run_time(pack_of(amp_hours=capacity), amps).value is None


@FEW
@given(st.floats(0.1, 100), st.floats(1.01, 3))
def test_more_current_never_lasts_longer(amps: float, more: float) -> None:
    one, two = run_time(pack_of(), amps).value, run_time(pack_of(), amps * more).value
    assert one is not None
    assert two is not None
    assert two * more <= one * (1 + 1e-9), "Peukert takes more than in proportion"


def test_a_mix_lies_between_its_cases() -> None:
    """Half of the time each: 1/t = 0.5/t1 + 0.5/t2."""
    pack = pack_of()
    one, two = run_time(pack, 10).value or 0, run_time(pack, 2).value or 0
    mixed = mixed_run_time(pack, [("heavy", 0.5, 10.0), ("light", 0.5, 2.0)])
    assert mixed.value == pytest.approx(2 / (1 / one + 1 / two))


def test_the_jobs_mix_counts_the_rest_as_idle() -> None:
    types = {"pack": battery(12, 0.1), "lamp": load(0)}
    types["lamp"]["loads"][0] |= {"idle": 1.0, "typical": 4.0, "peak": 4.0}
    board = job(types, ["pack.plus lamp.plus", "pack.minus lamp.minus"],
                cases=[{"id": "on", "amps": {"lamp": 4}, "share": 0.25}])  # fmt: skip
    pack = pack_of(amp_hours=10)
    shares = [("on", 0.25, 4.0), ("idle", 0.75, 1.0)]
    mixed = Study(board).mixed_run_time().value
    assert mixed == pytest.approx(mixed_run_time(pack, shares).value, rel=1e-6)


def test_charging_takes_longer_while_the_board_is_on() -> None:
    """100 Ah lead, half of it out, 1.2 in for 1 out: 60 Ah; 6 A: 10 h, with 1 A drawn 12 h."""
    assert charging_time(pack_of(), 6).value == pytest.approx(10)
    assert charging_time(pack_of(), 6, 1).value == pytest.approx(12)
    assert charging_time(pack_of(), 6, 6).value is None


def test_inrush_is_volts_over_the_whole_loop() -> None:
    """29.4 V over 50 mohm of pack, 10 of the capacitor and two wires: pitfall 15."""
    study = Study(machine(bridge=drive(capacitance_uf=4700)))
    (chosen,) = study.network.elements.of("drive")
    rush = inrush(study, [int(chosen)], study.conductor_row["w1"])
    assert rush.value == pytest.approx(29.4 / (0.05 + 0.01 + 2 * 2e-4), rel=1e-4)


@pytest.mark.parametrize(("wires", "volts", "inner"), [
    (["one.plus drive.p", "one.minus two.plus", "two.minus drive.m"], 24, 0.05 + 0.03),
    (["drive.p one.plus", "one.plus two.plus", "drive.m one.minus", "one.minus two.minus"], 12,
     0.05 * 0.03 / (0.05 + 0.03)),
])  # fmt: skip
def test_a_pair_of_packs_counts_as_it_is_joined(wires: list[str], volts: float, inner: float
                                                ) -> None:
    """In series volts and ohms add up; side by side 1/R does, and the switch carries both.

    30 V of a pushed motor behind 0.8 ohm lift the rail by Rb (E - V) / (Rm + Rb).
    """
    kinds = {"one": battery(12, 0.05, takes_regeneration=True), "left": motor(),
             "two": battery(12, 0.03, takes_regeneration=True),
             "drive": drive(capacitance_uf=4700)}  # fmt: skip
    ends = [*wires, "drive.a left.a", "drive.b left.b"]
    board = job(kinds, [f"{end} 1" for end in ends], assumptions={"push_speed_kmh": 9})
    study = Study(board)
    (chosen,) = study.network.elements.of("drive")
    rush = inrush(study, [int(chosen)], study.conductor_row["w1"])
    assert rush.value == pytest.approx(volts / (inner + 0.01), rel=0.02)
    at = {given.symbol: given.value for given in rush.working.given}
    driving = sum(v for k, v in at.items() if k[0] == "V")
    assert driving == pytest.approx(volts, rel=1e-6)
    assert rush.value == pytest.approx(driving / sum(v for k, v in at.items() if k[0] == "R"))
    (found,) = pushed(study)
    emf = found.emf.value
    assert found.rail_on.value == pytest.approx(volts + inner * (emf - volts) / (0.8 + inner),
                                                rel=2e-3)  # fmt: skip


def test_pushed_as_in_the_worked_example() -> None:
    """24 V, 3000 rpm, 20:1, 250 mm: 33.95 V at 10 km/h, 29.4 V at 8.66 km/h."""
    study = Study(machine(bridge=drive(max_volts=29.4), assumptions={"push_speed_kmh": 10}))
    (found,) = pushed(study)
    assert found.emf.value == pytest.approx(33.95, abs=0.005)
    assert found.limit == 29.4
    assert found.limited_by == "drive"
    assert found.safe_speed.value == pytest.approx(8.66, abs=0.005)
    assert not found.parted


def test_a_full_pack_holds_a_pushed_rail_down() -> None:
    """E 33.95 V behind 0.8 ohm of motor on 29.4 V behind 50 mohm and two wires of 0.2 mohm."""
    takes = battery(24, 0.05, full_volts=29.4, empty_volts=21, takes_regeneration=True)
    push = {"push_speed_kmh": 10}
    (held,) = pushed(Study(machine(pack=takes, assumptions=push)))
    assert held.rail_on.value == pytest.approx(
        29.4 + 0.0504 * (33.953 - 29.4) / 0.8504, abs=1e-4)  # fmt: skip
    (refused,) = pushed(Study(machine(assumptions=push)))
    assert refused.rail_on.value == pytest.approx(33.95, abs=0.005)


def test_braking_into_the_capacitors_alone() -> None:
    """40 kg at 1.5 m/s are 45 J: 203.7 V on 2200 uF from 24 V (worked example)."""
    board = machine(bridge=drive(capacitance_uf=2200),
                    machine={"mass_kg": 40, "speed_kmh": 5.4})  # fmt: skip
    (found,) = pushed(Study(board))
    assert found.braking.value == pytest.approx(203.7, rel=0.005)


@FEW
@given(st.floats(0.5, 30), st.floats(1.01, 3))
def test_pushing_faster_never_gives_less(speed: float, more: float) -> None:
    (one,) = pushed(Study(machine(assumptions={"push_speed_kmh": speed})))
    (two,) = pushed(Study(machine(assumptions={"push_speed_kmh": speed * more})))
    assert (two.emf.value or 0) == pytest.approx((one.emf.value or 0) * more)


def test_a_free_current_over_the_stall_current_is_said_and_not_reckoned_with() -> None:
    types = {
        "pack": battery(12, 0.02),
        "drive": part_type("motor_driver", {"p": "positive", "m": "negative", "a": "motor",
                                            "b": "motor"},
                           drives=[{"plus": "p", "minus": "m", "outs": ["a", "b"],
                                    "continuous": 20}]),
        "motor": part_type("motor", {"a": "motor", "b": "motor"},
                           motor={"terminals": ["a", "b"], "volts": 12, "free_rpm": 3000,
                                  "free_amps": 30, "stall_amps": 20, "gear": 20,
                                  "wheel_diameter": 150}),
    }  # fmt: skip
    board = job(types, ["pack.plus drive.p", "pack.minus drive.m", "drive.a motor.a",
                        "drive.b motor.b"], machine={"mass_kg": 30, "speed_kmh": 3})  # fmt: skip
    assert running_currents(board) == {}
    assert turning_currents(board) == {}
    assert any("free current of motor" in words for words in Study(board).remarks)

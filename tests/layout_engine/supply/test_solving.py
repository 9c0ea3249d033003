"""The solved supply: laws of Kirchhoff and of energy, published circuits, an independent solver."""

from __future__ import annotations

import json
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout_engine import Job, load_document, solve_supply
from layout_engine.sizing.routed import sized_routes
from layout_engine.supply.state import Declined, SupplyError, SupplyState
from layout_engine.supply.study import Study
from tests.layout_engine.supply.circuits import (
    battery,
    job,
    load,
    part_type,
    random_supply,
    resistor,
)
from tests.layout_engine.supply.independent import node_voltages
from webapp.resources import folder

FEW = settings(max_examples=30, deadline=None, derandomize=True)
SEEDS = st.integers(1, 10_000)
DEMOS = sorted(path.stem for path in (folder("seed_data") / "demos").glob("*.json"))
JOINTS = 2 * 1e-4  # a wire of no length between two soldered ends, ohm


def demo(name: str) -> Job:
    return load_document((folder("seed_data") / "demos" / f"{name}.json").read_bytes())


def imbalance(state: SupplyState) -> float:
    """Largest sum of currents at a terminal, relative to the largest current."""
    balance = dict.fromkeys(state.nodes, 0.0)
    largest = 1e-3
    for branch in state.branches:
        balance[branch.from_] -= branch.amps
        balance[branch.to] += branch.amps
        largest = max(largest, abs(branch.amps))
    return max(abs(total) for total in balance.values()) / largest


def assert_laws(state: SupplyState) -> None:
    assert imbalance(state) < 1e-9
    assert state.residual < 1e-9
    assert state.battery_power == pytest.approx(state.wasted + state.used, rel=1e-6, abs=1e-6)
    for branch in state.branches:
        one, other = state.nodes[branch.from_], state.nodes[branch.to]
        if one is not None and other is not None and branch.volts is not None:
            assert branch.volts == pytest.approx(one - other, abs=1e-9)
        assert branch.loss >= -1e-9, branch


@pytest.mark.parametrize("name", DEMOS)
def test_currents_and_energy_balance_in_every_case_of_a_demo(name: str) -> None:
    study = Study(demo(name))
    assert study.failed == ()
    for case, pack in study.wanted:
        assert_laws(study.state(case, pack))


@FEW
@given(SEEDS)
def test_currents_and_energy_balance_in_random_boards(seed: int) -> None:
    study = Study(load_document(random_supply(seed)))
    assert study.failed == ()
    for case, pack in study.wanted:
        assert_laws(study.state(case, pack))


def two_sources() -> Job:
    return job(
        {"one": battery(28, 4), "two": battery(7, 1), "middle": resistor(2)},
        ["one.plus middle.a", "two.plus middle.a", "one.minus middle.b", "two.minus middle.b"],
    )


def test_two_sources_as_in_the_college_text() -> None:
    """28 V behind 4 ohm and 7 V behind 1 ohm on 2 ohm: 5 A, 4 A, and 1 A into the 7 V source.

    Source: college physics text on Kirchhoff's rules, network rows of the electrical table.
    """
    state = solve_supply(two_sources(), "idle")
    assert -state.branch("one.plus>minus").amps == pytest.approx(5, rel=1e-3)
    assert state.branch("middle.a>b").amps == pytest.approx(4, rel=1e-3)
    assert state.branch("two.plus>minus").amps == pytest.approx(1, rel=1e-3)
    assert state.branch("middle.a>b").volts == pytest.approx(8, rel=1e-3)


def test_ladder_of_the_circuits_textbook() -> None:
    """16 V on a ladder of five 1 ohm resistors: V1 = 6 V, V2 = 2 V (problem 3.4: 3V1-V2=16)."""
    names = ["first", "shunt", "second", "third", "fourth"]
    ladder = job(
        {"source": battery(16, 1), **{name: resistor(1) for name in names[1:]}},
        ["source.plus shunt.a", "shunt.a second.a", "second.b third.a", "second.b fourth.a",
         "source.minus shunt.b", "source.minus third.b", "source.minus fourth.b"],
    )  # fmt: skip
    state = solve_supply(ladder, "idle")
    # third and fourth in parallel are the textbook's last two resistances seen from V2
    assert state.nodes["shunt.a"] == pytest.approx(16 * 0.6 / 1.6, rel=1e-3)
    assert state.nodes["third.a"] == pytest.approx(2, rel=1e-3)


def exact_ladder(
    source: Fraction, inner: Fraction, rungs: list[tuple[Fraction, Fraction]]
) -> list[Fraction]:
    """Voltages of a ladder (series, shunt) from the far end back, in whole fractions."""
    across = [Fraction(0)] * len(rungs)
    seen = Fraction(0)  # conductance of all that follows a rung
    shares = []
    for series, shunt in reversed(rungs):
        here = 1 / shunt + seen
        shares.append(1 / (1 + series * here))
        seen = here / (1 + series * here)
    shares.reverse()
    volts = source / (1 + inner * seen)
    for n, share in enumerate(shares):
        volts = volts * share
        across[n] = volts
    return across


@FEW
@given(st.lists(st.tuples(st.integers(1, 50), st.integers(1, 50)), min_size=1, max_size=6))
def test_ladders_agree_with_whole_fractions(rungs: list[tuple[int, int]]) -> None:
    types: dict[str, Any] = {"source": battery(12, 0.5)}
    wires, before = [], "source.plus"
    for n, (series, shunt) in enumerate(rungs):
        types |= {f"s{n}": resistor(series), f"r{n}": resistor(shunt)}
        wires += [f"{before} s{n}.a", f"s{n}.b r{n}.a", f"r{n}.b source.minus"]
        before = f"s{n}.b"
    state = solve_supply(job(types, wires), "idle")
    joint = Fraction(JOINTS)
    exact = exact_ladder(
        Fraction(12), Fraction(1, 2),
        [(Fraction(s) + joint, Fraction(r) + 2 * joint) for s, r in rungs],
    )  # fmt: skip
    for n, volts in enumerate(exact):
        assert state.nodes[f"s{n}.b"] == pytest.approx(float(volts), rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("case", ["idle", "typical", "stall_all"])
def test_random_boards_agree_with_an_independent_solver(seed: int, case: str) -> None:
    study = Study(load_document(random_supply(seed)), packs=("nominal",))
    ours = study.state(case)
    theirs = node_voltages(study, case)
    for name, volts in ours.nodes.items():
        if volts is not None:
            assert volts == pytest.approx(theirs[name], abs=1e-5), name


def test_a_sagging_pack_feeds_less_than_its_open_voltage() -> None:
    """12 V behind 0.1 ohm at 5 A: 0.5 V less at its own terminals; wires and contacts lose more."""
    state = solve_supply(job({"pack": battery(12, 0.1), "lamp": load(5, (8, 15))},
                             ["pack.plus lamp.plus 1000", "lamp.minus pack.minus 1000"]), "typical")
    assert state.nodes["pack.plus"] == pytest.approx(11.5, abs=1e-8)
    assert state.nodes["pack.minus"] == 0
    # 35 mm2: 0.554 ohm/km (IEC 60228 class 5) times 1 + 0.00393 (70 - 20), 1 m
    one_way = 0.554e-3 * (1 + 0.00393 * 50) + JOINTS
    assert state.branch("w1").volts == pytest.approx(5 * one_way, rel=1e-8)
    assert state.branch("lamp.plus>minus").volts == pytest.approx(11.5 - 10 * one_way, rel=1e-8)
    assert state.run_time_min == pytest.approx(60 * 20 * (10 / (5 * 20)) ** 1.15 / 2, rel=1e-6)


def test_a_converter_takes_constant_power() -> None:
    """5 V, 2 A at 80 %: 12.5 W in; from 12 V without loss 1.0417 A (P = V I)."""
    conv = part_type(
        "converter", {"p": "positive", "m": "negative", "op": "positive", "om": "negative"},
        converters=[{"plus": "p", "minus": "m", "out_plus": "op", "out_minus": "om",
                     "out_volts": 5, "efficiency": 0.8}],
    )  # fmt: skip
    state = solve_supply(
        job({"pack": battery(12, 1e-3), "conv": conv, "logic": load(2, (4, 6))},
            ["pack.plus conv.p", "pack.minus conv.m", "conv.op logic.plus", "conv.om logic.minus"]),
        "typical",
    )  # fmt: skip
    out = state.branch("conv.op>om")
    inp = state.branch("conv.p>m")
    assert -out.amps == pytest.approx(2, abs=1e-6)
    assert inp.power == pytest.approx(-out.power / 0.8, rel=1e-7)
    assert inp.amps == pytest.approx(2 * 4.98 / 0.8 / 12, rel=1e-2)


def test_a_stalled_motor_draws_volts_over_ohms() -> None:
    """12 V, 20 A at standstill: 0.6 ohm; with 0.1 ohm of pack and 0.01 of bridge 12/0.71 A."""
    drive = part_type("motor_driver", {"p": "positive", "m": "negative", "a": "motor",
                                       "b": "motor"},
                      drives=[{"plus": "p", "minus": "m", "outs": ["a", "b"]}])  # fmt: skip
    motor = part_type("motor", {"a": "motor", "b": "motor"},
                      motor={"terminals": ["a", "b"], "volts": 12, "stall_amps": 20})
    board = job({"pack": battery(12, 0.1), "drive": drive, "motor": motor},
                ["pack.plus drive.p", "pack.minus drive.m", "drive.a motor.a", "drive.b motor.b"])
    state = solve_supply(board, "stall.motor")
    assert state.branch("motor.a>b").amps == pytest.approx(12 / (0.71 + 4 * JOINTS), rel=1e-6)
    # the bridge is fully on: the same current comes from the pack
    assert -state.branch("pack.plus>minus").amps == pytest.approx(
        state.branch("motor.a>b").amps, rel=1e-6)


def starved() -> Job:
    conv = part_type(
        "converter", {"p": "positive", "m": "negative", "op": "positive", "om": "negative"},
        converters=[{"plus": "p", "minus": "m", "out_plus": "op", "out_minus": "om",
                     "out_volts": 12, "efficiency": 1}],
        loads=[{"plus": "p", "minus": "m", "volts": [9, 30]}],
    )  # fmt: skip
    return job({"pack": battery(12, 1), "conv": conv, "lamp": load(6, (9, 15))},
               ["pack.plus conv.p", "pack.minus conv.m", "conv.op lamp.plus",
                "conv.om lamp.minus"])  # fmt: skip


def test_more_power_than_a_pack_can_give_collapses() -> None:
    """12 V behind 1 ohm give at most V^2 / 4R = 36 W; 72 W are asked for."""
    state = solve_supply(starved(), "typical")
    fed = state.branch("conv.p>m#2").volts
    assert fed is not None
    assert fed < 4.5 + 1e-6, "the module has given up: under half of its least voltage"
    assert_laws(state)


@pytest.mark.parametrize("watts", [6.0, 24.0, 30.0, 35.0])
def test_the_upper_of_two_voltages_is_the_real_one(watts: float) -> None:
    """P from 12 V behind 1 ohm: V = 6 + sqrt(36 - P); the lower root is no steady state."""
    conv = part_type(
        "converter", {"p": "positive", "m": "negative", "op": "positive", "om": "negative"},
        converters=[{"plus": "p", "minus": "m", "out_plus": "op", "out_minus": "om",
                     "out_volts": 5, "efficiency": 1}],
    )  # fmt: skip
    amps = (5 - (25 - 4 * 0.01 * watts) ** 0.5) / (2 * 0.01)  # 10 mohm at its output
    board = job({"pack": battery(12, 1), "conv": conv, "lamp": load(amps, (3, 6))},
                ["pack.plus conv.p", "pack.minus conv.m", "conv.op lamp.plus",
                 "conv.om lamp.minus"])  # fmt: skip
    state = solve_supply(board, "typical")
    taken = state.branch("conv.p>m")
    assert taken.volts == pytest.approx(6 + (36 - taken.power * (1 + 2 * JOINTS)) ** 0.5, rel=2e-3)
    assert taken.power == pytest.approx(watts, rel=1e-3)
    assert (taken.volts or 0) > 6


def test_what_hangs_on_nothing_floats_and_is_no_fault() -> None:
    board = job({"pack": battery(12, 0.1), "lamp": load(1), "alone": load(1), "other": load(2)},
                ["pack.plus lamp.plus", "pack.minus lamp.minus", "alone.plus other.plus"])
    state = solve_supply(board, "typical")
    assert state.nodes["alone.plus"] is None
    assert state.branch("alone.plus>minus").amps == pytest.approx(0, abs=1e-12)
    assert state.branch("lamp.plus>minus").amps == pytest.approx(1, rel=1e-6)


def test_a_load_with_one_wire_stays_dead() -> None:
    board = job({"pack": battery(12, 0.1), "lamp": load(1, (8, 15))}, ["pack.plus lamp.plus"])
    state = solve_supply(board, "typical")
    assert state.branch("lamp.plus>minus").amps == pytest.approx(0, abs=1e-9)
    assert state.nodes["lamp.minus"] == pytest.approx(12, abs=1e-6)


def test_a_job_without_a_battery_is_dead() -> None:
    state = solve_supply(job({"lamp": load(1), "more": load(2)}, ["lamp.plus more.plus"]), "peak")
    assert state.battery_power == 0
    assert state.run_time_min is None
    assert "no battery" in state.remarks[0]


def test_a_case_names_a_part_that_takes_no_current() -> None:
    board = job({"pack": battery(12, 0.1), "bar": part_type("terminal_block", {"a": "positive"}),
                 "lamp": load(1, idle=0.5)},
                ["pack.plus bar.a", "pack.plus lamp.plus", "pack.minus lamp.minus"],
                cases=[{"id": "on", "amps": {"bar": 2, "lamp": 3}}])  # fmt: skip
    state = solve_supply(board, "on")
    assert state.branch("lamp.plus>minus").amps == pytest.approx(3, rel=1e-6)
    assert any("bar 2 A" in remark for remark in state.remarks)


def test_a_case_is_split_over_a_parts_loads_as_they_typically_are() -> None:
    """8 A over loads of 1 A and 3 A: 2 A and 6 A; the lamp that is not named idles."""
    twin = part_type("amplifier", {"p": "positive", "m": "negative"}, loads=[
        {"plus": "p", "minus": "m", "typical": 1}, {"plus": "p", "minus": "m", "typical": 3},
    ])  # fmt: skip
    board = job({"pack": battery(12, 0.01), "twin": twin, "lamp": load(2, idle=0.25)},
                ["pack.plus twin.p", "pack.minus twin.m", "pack.plus lamp.plus",
                 "pack.minus lamp.minus"],
                cases=[{"id": "loud", "amps": {"twin": 8}}])  # fmt: skip
    state = solve_supply(board, "loud")
    assert state.branch("twin.p>m").amps == pytest.approx(2, rel=1e-6)
    assert state.branch("twin.p>m#2").amps == pytest.approx(6, rel=1e-6)
    assert state.branch("lamp.plus>minus").amps == pytest.approx(0.25, rel=1e-6)
    assert -state.branch("pack.plus>minus").amps == pytest.approx(8.25, rel=1e-6)


def test_two_loads_in_a_row_share_the_smaller_current() -> None:
    board = job({"pack": battery(12, 0.1), "one": load(1, (4, 9)), "two": load(3, (4, 9))},
                ["pack.plus one.plus", "one.minus two.plus", "two.minus pack.minus"])
    state = solve_supply(board, "typical")
    assert state.branch("one.plus>minus").amps == pytest.approx(1, abs=1e-6)
    assert_laws(state)


def test_batteries_in_opposition_charge_one_another_and_nothing_breaks() -> None:
    board = job({"one": battery(14, 0.05), "two": battery(12, 0.05)},
                ["one.plus two.plus", "one.minus two.minus"])
    state = solve_supply(board, "idle")
    assert state.branch("two.plus>minus").amps == pytest.approx(2 / (0.1 + 2 * JOINTS), rel=1e-6)
    assert_laws(state)


def test_a_short_of_the_pack_is_volts_over_ohms() -> None:
    state = solve_supply(job({"pack": battery(12, 0.005)}, ["pack.plus pack.minus"]), "idle")
    assert -state.branch("pack.plus>minus").amps == pytest.approx(12 / (0.005 + JOINTS), rel=1e-6)


def test_over_60_volts_is_declined_in_a_sentence() -> None:
    board = job({"one": battery(36, 0.1), "two": battery(36, 0.1), "lamp": load(1)},
                ["one.minus two.plus", "one.plus lamp.plus", "two.minus lamp.minus"])
    with pytest.raises(Declined, match="licensed electrician"):
        solve_supply(board, "typical")


def test_an_unknown_case_names_the_known_ones() -> None:
    with pytest.raises(SupplyError, match="idle, typical, peak"):
        solve_supply(job({"pack": battery(12, 0.1)}, []), "asleep")


def test_a_motor_without_resistance_is_named() -> None:
    motor = part_type("motor", {"a": "motor", "b": "motor"}, motor={"terminals": ["a", "b"]})
    board = job({"pack": battery(12, 0.1), "motor": motor}, ["pack.plus motor.a",
                                                             "pack.minus motor.b"])
    with pytest.raises(SupplyError, match="stall current") as refusal:
        solve_supply(board, "stall.motor")
    assert refusal.value.parts == ("motor",)
    assert_laws(solve_supply(board, "typical"))


@FEW
@given(SEEDS)
def test_order_of_parts_and_wires_changes_nothing(seed: int) -> None:
    document = random_supply(seed)
    other = json.loads(json.dumps(document))
    other["parts"].reverse()
    other["connections"].reverse()
    one = solve_supply(load_document(document), "typical")
    two = solve_supply(load_document(other), "typical")
    for branch in one.branches:
        assert two.branch(branch.id).amps == pytest.approx(branch.amps, rel=1e-6, abs=1e-7)


@FEW
@given(SEEDS, st.sampled_from(["0.5 mm2", "1.5 mm2", "10 mm2"]))
def test_thinner_wires_never_give_a_load_more(seed: int, size: str) -> None:
    document = random_supply(seed)
    thin = json.loads(json.dumps(document))
    for wire in thin["connections"]:
        wire["wire"]["size"] = size
    one = solve_supply(load_document(document), "typical")
    two = solve_supply(load_document(thin), "typical")
    for branch in one.branches:
        if branch.id.startswith("lamp"):
            assert (two.branch(branch.id).volts or 0) <= (branch.volts or 0) + 1e-9


@FEW
@given(SEEDS)
def test_a_fuller_pack_never_gives_less(seed: int) -> None:
    job = load_document(random_supply(seed))
    volts = [solve_supply(job, "typical", pack).nodes["pack.plus"] or 0.0
             for pack in ("empty", "nominal", "full")]  # fmt: skip
    assert volts == sorted(volts)


@FEW
@given(SEEDS)
def test_a_wire_the_other_way_round_carries_the_opposite(seed: int) -> None:
    document = random_supply(seed)
    other = json.loads(json.dumps(document))
    wire = other["connections"][0]
    wire["from"], wire["to"] = wire["to"], wire["from"]
    one = solve_supply(load_document(document), "typical")
    two = solve_supply(load_document(other), "typical")
    assert two.branch("w1").amps == pytest.approx(-one.branch("w1").amps, rel=1e-9)
    assert two.battery_power == pytest.approx(one.battery_power, rel=1e-9)


@pytest.mark.parametrize("name", DEMOS)
def test_open_sizes_are_those_that_are_chosen(name: str) -> None:
    """Every sheet shows the same numbers: the supply is solved with the sizes of the wires."""
    board = demo(name)
    state = solve_supply(board, "typical")
    sizing = sized_routes(board).sizing
    assert sizing
    assert state == sizing.study.state("typical")
    assert not any("First sizes" in remark for remark in state.remarks)


def test_the_same_document_gives_the_same_figures() -> None:
    one, two = (solve_supply(demo(DEMOS[0]), "typical") for _ in range(2))
    assert one == two


def test_micro_ohms_behind_kilo_ohms_leave_no_current_over() -> None:
    """12 mA through 2 kohm, then through twelve meshes of 1 uohm and 10 mohm: Kirchhoff to 1e-9.

    Each mesh parts the current by the two resistances, the solder of its wires counted.
    """
    types = {"pack": battery(24, 0.02), "big": resistor(2000)}
    wires, before = ["pack.plus big.a"], "big.b"
    for n in range(12):
        types |= {f"thick{n}": resistor(1e-6), f"thin{n}": resistor(0.01)}
        wires += [f"{before} thick{n}.a", f"{before} thin{n}.a", f"thick{n}.b thin{n}.b"]
        before = f"thick{n}.b"
    study = Study(job(types, [*wires, f"{before} pack.minus"]))
    assert study.residual.max() < 1e-9
    through = study.amps("big.a>b", "idle")
    assert through == pytest.approx(24 / 2000, rel=1e-4)
    thick, thin = 1e-6 + 2e-4, 0.01 + 2 * 2e-4
    share = thin / (thick + thin)
    assert study.amps("thick5.a>b", "idle") == pytest.approx(through * share, rel=1e-6)

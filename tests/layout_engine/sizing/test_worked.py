"""Worked and published figures on whole boards: fuses, stalls, drops, neighbours, heat."""

from __future__ import annotations

from math import log, sqrt
from typing import Any

import numpy as np
import pytest

from layout_engine import Job, load_document
from layout_engine.checks.facts import Facts
from layout_engine.checks.rules import fuse_nuisance
from layout_engine.sizing.board import Sizing
from layout_engine.sizing.carrying import around, carries
from layout_engine.sizing.drops import Feed, pieces
from layout_engine.sizing.stalls import wire_clock
from layout_engine.supply.state import Declined
from layout_engine.tables.conductors import SHORT_CIRCUIT, adiabatic_k, wire_size
from tests.layout_engine.sizing.boards import fuse_holder, unsized
from tests.layout_engine.sizing.formulas import again
from tests.layout_engine.supply.circuits import battery, circuit, load, part_type

Json = dict[str, Any]
FEED = ["pack.plus fuse.a 100", "fuse.b lamp.plus 300", "lamp.minus pack.minus 300"]


def one_lamp(amps: float, rating: float | None = None, **more: Any) -> Json:
    """A pack, a fuse and a lamp; nobody fixed a size."""
    types = {"pack": battery(12, 0.02), "fuse": fuse_holder(), "lamp": load(amps, (8, 16))}
    document = unsized(circuit(types, FEED, **more))
    if rating is not None:
        document["parts"][1]["fuses"] = {"b": rating}
    return document


def job(document: Json) -> Job:
    return load_document(document)


def test_the_worked_wire_with_its_cautious_second_figure() -> None:
    """16 AWG, 105 C, 60 C air, 6 loaded circuits: 25 x 0.775 x 0.57 = 11.0 A; FAA 7 A."""
    figures = carries(wire_size("16 AWG"), "pvc105", around("pvc105", {"end": 105}, 60, 6))
    assert figures.amps == pytest.approx(11.0, abs=0.05)
    assert figures.cautious == 7
    assert [figures.status(amps) for amps in (6.9, 9.0, 11.2)] == ["meets", "explain", "stop"]
    assert figures.working.result == figures.amps
    assert all(given.source for given in figures.working.given)


def test_silicone_on_an_80_c_terminal_is_an_80_c_circuit() -> None:
    """200 C wire on an 80 C terminal (33 CFR Table 5, 14 AWG, 30 C: 25 A, not 45)."""
    held = carries(wire_size("14 AWG"), "silicone", around("silicone", {"screw": 80}, 30))
    assert held.amps == 25
    free = carries(wire_size("14 AWG"), "silicone", around("silicone", {}, 30))
    assert free.amps == 35  # contacts as a rule: the 105 C column, never that of 200 C


@pytest.mark.parametrize("size", ["14 AWG", "0.5 mm2"])
def test_in_air_as_hot_as_its_limit_a_wire_carries_nothing_and_says_why(size: str) -> None:
    """Formula 6 has no value there; neither has a heat balance."""
    figures = carries(wire_size(size), "pvc70", around("pvc70", {}, 75))
    assert figures.amps == figures.working.result == 0
    assert figures.working.formula == "Iz = 0 where Ta >= Tr"
    assert {given.symbol: given.value for given in figures.working.given} == {"Tr": 70, "Ta": 75}


def test_seven_amperes_ask_for_a_fuse_of_ten_and_wires_that_carry_ten() -> None:
    """7 A / 0.75 = 9.33 A: the smallest standard rating is 10 A (worked row of the fuses)."""
    sizing = Sizing(job(one_lamp(7)))
    (fuse,) = sizing.fuses.values()
    assert (fuse.rating, fuse.fitted, fuse.advice) == (10, False, "")
    assert all(wire.carries.amps >= 10 for wire in sizing.wires.values())
    assert {wire.let for wire in sizing.wires.values()} == {10}


def test_a_fuse_that_is_fitted_sets_the_wire() -> None:
    """30 A fitted for a lamp of 1 A: 80 C, 50 C air; 10 AWG carries 50 x 0.7746 = 38.7 A."""
    sizing = Sizing(job(one_lamp(1, 30, assumptions={"inside_air": 50})))
    assert {wire.size.name for wire in sizing.wires.values()} == {"10 AWG"}
    assert sizing.wires["w2"].carries.amps == pytest.approx(50 * sqrt(30 / 50))


def test_no_rating_for_load_and_wire_says_what_to_change() -> None:
    document = one_lamp(10, assumptions={"inside_air": 50})
    for end in document["types"]["lamp"]["terminals"]:
        end["max_mm2"] = 1.0
    (fuse,) = Sizing(job(document)).fuses.values()
    assert fuse.rating == 10  # 13.3 A are asked for, 18 AWG carries 15 x 0.7746 = 11.6 A
    assert "13.3 A" in fuse.advice
    assert "11.6 A" in fuse.advice
    assert "thicker wire" in fuse.advice


def test_drop_of_the_worked_feed() -> None:
    """2 x 1.2 m of 1.5 mm2 class 5 (13.3 ohm/km), 8 A, 20 C: 0.2554 V."""
    document = one_lamp(8, 15, assumptions={"inside_air": 0})  # copper 20 K over it
    for wire, length in zip(document["connections"], (0, 1200, 1200), strict=True):
        wire |= {"length": length, "wire": {"size": "1.5 mm2"}}
    ((feed, lost),) = Sizing(job(document)).drops
    contacts = 8 * (6 * 1e-4 + 0.001)  # six soldered ends, the fuse
    assert feed.allowed == pytest.approx(0.36)
    assert lost.result - contacts == pytest.approx(0.2554, rel=0.005)
    assert sum(g.value for g in lost.given if g.unit == "V") == pytest.approx(lost.result)


def test_current_against_a_feed_takes_from_what_the_feed_loses() -> None:
    """Kirchhoff's voltage law: 2 A over 1 ohm along it, 0.5 A over 2 ohm against it leave 1 V.

    A piece that is passed out and back again loses nothing of the feed.
    """
    feed = Feed("lamp", 0, ((0, 1), (1, 1), (2, 1), (2, -1)), (), 12, 3, motor=False)
    found = pieces(feed, np.array([2, -0.5, 7]), np.array([1.0, 2.0, 3.0]))
    assert found == {0: 2.0, 1: -1.0, 2: 0.0}


def test_how_long_a_fuse_lasts_names_the_one_point_it_is_read_at() -> None:
    """Two motors of 12 A on 10 A are under 350 %: 0.08 s there (ISO 8820-3 type C)."""
    (finding,) = fuse_nuisance.find(Facts(job(machine(12, 2, 10)), straight=True))
    assert finding.working is not None
    assert [g.value for g in finding.working.given if g.symbol == "m"] == [3.5]
    assert again(finding.working) == finding.value == 0.08


def machine(stall: float, count: int, rating: float, size: str = "1.5 mm2") -> Json:
    """Motors of 12 V, each on its own bridge of one driver behind one fuse."""
    outs = {f"{name}{n}": "motor" for n in range(count) for name in "ab"}
    types: dict[str, Json] = {
        "pack": battery(12, 1e-4), "fuse": fuse_holder(),
        "drive": part_type("motor_driver", {"p": "positive", "m": "negative", **outs}, drives=[
            {"plus": "p", "minus": "m", "outs": [f"a{n}", f"b{n}"], "continuous": 200, "peak": 300}
            for n in range(count)]),
        "motor": part_type("motor", {"a": "motor", "b": "motor"}, motor={
            "terminals": ["a", "b"], "volts": 12, "free_rpm": 3000, "free_amps": 0.2,
            "stall_amps": stall}),
    }  # fmt: skip
    wires = ["pack.plus fuse.a", "fuse.b drive.p", "drive.m pack.minus"]
    wires += [f"drive.{x}{n} m{n}.{x}" for n in range(count) for x in "ab"]
    document = circuit({**types, **{f"m{n}": types["motor"] for n in range(count)}}, wires)
    document["parts"] = [p for p in document["parts"] if p["id"] != "motor"]
    document["parts"][1]["fuses"] = {"b": rating}
    for wire in document["connections"]:
        wire |= {"length": 0, "wire": {"size": size}}
    return document


def test_leads_of_a_motor_add_to_the_drop_of_its_feed() -> None:
    """2 x 1 m of 1.5 mm2 class 5 (IEC 60228: 13.3 ohm/km at 20 C) at what the motor draws."""
    bare, led = machine(9, 1, 20), machine(9, 1, 20)
    for document in (bare, led):
        document["assumptions"] = {"inside_air": 0}  # copper 20 K over it
    for wire in led["connections"][3:]:
        wire["length"] = 1000
    lost = []
    for document in (bare, led):
        sizing = Sizing(job(document))
        lost.append(next(drop.result for feed, drop in sizing.drops if feed.part == "m0"))
    amps = sizing.wires["w4"].amps.result
    assert amps > 0.1
    assert lost[1] - lost[0] == pytest.approx(amps * 2 * 0.0133, rel=0.02)


def test_without_a_fuse_the_wire_of_the_plus_is_told_with_what_it_feeds() -> None:
    types = {"pack": battery(12, 0.01), "lamp": load(2)}
    document = circuit(types, ["pack.plus lamp.plus", "lamp.minus pack.minus"])
    (group,) = Sizing(job(document)).unfused
    assert (group.wires, group.parts, group.battery) == (("w1",), ("lamp",), "pack")


def test_two_stalled_motors_may_sit_on_a_fuse_for_tens_of_seconds() -> None:
    """2 x 9 A on a 10 A type C fuse are 180 %: 0.15 to 50 s (ISO 8820-3): no stall protector."""
    clocks = Sizing(job(machine(9, 2, 10))).stalls
    assert [c.case for c in clocks] == ["stall.m0", "stall_all", "stall.m1", "stall_all"]
    assert clocks[0].fuse == (float("inf"), float("inf"))  # 9 A and a little: it need not open
    clock = clocks[1]
    assert clock.amps == pytest.approx(9, rel=0.05)
    assert clock.fuse_amps == pytest.approx(18, rel=0.05)
    assert clock.fuse == (0.15, 50.0)
    assert "its fuse need not open:" in clocks[0].words
    assert "its fuse opens within 50 s:" in clock.words


@pytest.mark.parametrize(("amps", "seconds"), [(50, 15.6), (64, 9.5), (100, 3.9)])
def test_stall_clock_of_a_wire(amps: float, seconds: float) -> None:
    """2.081 mm2 from 50 to 105 C, k 94.9: 15.6, 9.5, 3.9 s (IEC 60364-5-54 annex A)."""
    document = machine(amps, 1, 40, "14 AWG")
    document["assumptions"] = {"inside_air": 50, "insulation": "pvc105"}
    document["cases"] = [{"id": "still", "amps": {"m0": 0}, "share": 0.1}]
    choice = Sizing(job(document)).choice
    (plan, *_) = [p for p in choice.plans.values() if p.ends[0].role == "motor"]
    choice.worst[plan.number] = 0.0
    choice.amps[:, plan.number] = 0.0
    clock = wire_clock(choice, plan, amps, ("held fast", ()))
    assert clock.result == pytest.approx(seconds, rel=0.02)
    at = {given.symbol: given.value for given in clock.given}
    assert at["k"] == pytest.approx(94.9, rel=0.01)
    assert (at["k"] * at["S"] / at["I"]) ** 2 == pytest.approx(clock.result)


def test_a_stall_that_the_wire_stands_ends_nothing() -> None:
    clock = Sizing(job(machine(5, 1, 10, "6 mm2"))).stalls[0]
    assert clock.first == "nothing"
    assert clock.wire.result == float("inf")


def test_wires_of_a_motor_stand_a_stall_for_a_minute_or_for_good() -> None:
    """22 A at 12 V on 14.4 V: 26.4 A; k of copper from 50 to 180 C by IEC 60364-5-54 annex A."""
    document = unsized(machine(22, 1, 30))
    document["types"]["pack"]["battery"]["full_volts"] = 14.4
    document["assumptions"] = {"inside_air": 50, "sizes": "mm2"}
    wires = Sizing(job(document)).wires
    k = sqrt(3.45e-3 * 254.5 / 17.241e-6 * log((234.5 + 180) / (234.5 + 50)))
    least = 22 * 14.4 / 12 * sqrt(60) / k
    assert 1.4 < least < 1.5
    assert wires["w4"].size.name == wires["w5"].size.name == "1.5 mm2"
    assert "stall" in wires["w4"].why


def test_copper_that_survives_1000_a_for_a_tenth_of_a_second() -> None:
    """PVC 70 C: sqrt(1000^2 x 0.1) / 115 = 2.75 mm2 (IEC 60364-4-43)."""
    assert sqrt(1000**2 * 0.1) / adiabatic_k(*SHORT_CIRCUIT["pvc70"]) == pytest.approx(
        2.75, abs=0.01)


def test_neighbours_by_the_routes_count_and_lengths_too() -> None:
    """Six circuits: 0.57 (IEC 60364-5-52 B.52.17)."""
    document = one_lamp(5, assumptions={"inside_air": 50})
    alone, tied = Sizing(job(document)), Sizing(job(document), circuits={"w2": 6})
    assert not alone.wires["w2"].told
    assert tied.wires["w2"].told
    same = tied.wires["w2"].size == alone.wires["w2"].size
    factor = tied.wires["w2"].carries.amps / tied.wires["w2"].alone
    assert factor == pytest.approx(0.57)
    assert same or tied.wires["w2"].size.area > alone.wires["w2"].size.area
    far = Sizing(job(one_lamp(5) | {"connections": [
        {k: v for k, v in wire.items() if k != "length"}
        for wire in one_lamp(5)["connections"]]}), lengths={"w2": 4000.0, "w3": 4000.0})
    assert far.wires["w2"].length == 4000
    assert far.wires["w2"].size.area > alone.wires["w2"].size.area


@pytest.mark.parametrize(("second", "tied", "circuits"), [
    (5, ["w2", "w3"], 1),  # feed and return: a pair is one circuit
    (5, ["w2", "w3", "w5", "w6"], 2),
    (5, ["w2", "w3", "w5"], 2),  # one and a half
    (0.2, ["w2", "w3", "w5", "w6"], 1),  # under 30 % of what they carry: left out
])
def test_loaded_circuits_of_a_tie_count(second: float, tied: list[str], circuits: int) -> None:
    """IEC 60364-5-52 B.52.17, bunched: 1.00, 0.80 for two circuits; under 30 % left out."""
    types = {"pack": battery(12, 0.02), "fuse": fuse_holder(), "other": fuse_holder(),
             "lamp": load(5, (8, 16)), "glow": load(second, (8, 16))}  # fmt: skip
    board = job(unsized(circuit(types, [
        *FEED, "pack.plus other.a 100", "other.b glow.plus 300", "glow.minus pack.minus 300"],
        assumptions={"inside_air": 50})))  # fmt: skip
    wire = Sizing(board, ties=[tied]).wires["w2"]
    assert wire.told
    assert wire.circuits == circuits
    assert wire.carries.amps == pytest.approx({1: 1.0, 2: 0.8}[circuits] * wire.alone)


def test_the_sun_warms_the_wires() -> None:
    """IEC 60068-2-5 irradiance on the body: hotter air inside, less current."""
    shade = Sizing(job(one_lamp(5, assumptions={"ambient": 45})))
    sun = Sizing(job(one_lamp(5, assumptions={"ambient": 45, "sun": True})))
    assert sun.heat.air.result > shade.heat.air.result + 5
    assert sun.choice.air > shade.choice.air
    assert sun.wires["w2"].alone < carries(
        sun.wires["w2"].size, "silicone", around("silicone", {"end": 80}, shade.choice.air)).amps


def test_heat_of_a_part_is_what_it_takes() -> None:
    """5 A at about 12 V stay in the lamp: some 59 W; the wires' heat is I^2 R."""
    sizing = Sizing(job(one_lamp(5)))
    heat = sizing.heat
    volts = sizing.study.state("typical").nodes
    lamp = 5 * (volts["lamp.plus"] - volts["lamp.minus"])  # type: ignore[operator]
    assert heat.parts["lamp"].watts.value == pytest.approx(lamp, rel=0.01)
    assert heat.wires["w2"] == pytest.approx(25 * sizing.study.wires["w2"].ohms, rel=1e-6)
    assert heat.total == pytest.approx(sum(heat.wires.values()) + sum(
        p.watts.value or 0 for p in heat.parts.values()))  # fmt: skip
    low, high = heat.parts["lamp"].surface or (0, 0)
    assert heat.air_range[0] < low < high


def test_the_rise_of_the_air_names_each_wire() -> None:
    """5 A through each of three wires: I^2 R of its own, none told as a sum of several."""
    sizing = Sizing(job(one_lamp(5)))
    told = [given for given in sizing.heat.rise.given if given.symbol.startswith("Pw")]
    ohms = [wire.ohms for wire in sizing.study.wires.values()]
    assert [given.value for given in told] == pytest.approx([25 * one for one in ohms if
                                                             25 * one >= 0.005])
    assert all("5 A through" in given.what for given in told)
    assert again(sizing.heat.rise) == pytest.approx(sizing.heat.rise.result)


def test_a_wire_with_the_id_of_a_part_warms_the_air_once() -> None:
    """Names are unique among wires and among parts only."""
    plain = one_lamp(5)
    document = one_lamp(5)
    document["connections"][1]["id"] = "lamp"
    heat, named = Sizing(job(plain)).heat, Sizing(job(document)).heat
    assert named.wires["lamp"] == pytest.approx(heat.wires["w2"])
    assert named.parts["lamp"].watts.value == pytest.approx(heat.parts["lamp"].watts.value)
    assert named.total == pytest.approx(heat.total)


def test_what_hangs_beside_a_charger_hangs_on_the_battery() -> None:
    """A short there is fed by the pack: its fuse, its current, its return."""
    charger = part_type("charger", {"p": "positive", "m": "negative"}, converters=[
        {"plus": "x", "minus": "y", "out_plus": "p", "out_minus": "m", "out_volts": 14,
         "max_amps": 3, "efficiency": 0.9, "isolated": True}])
    charger["terminals"] += [{**charger["terminals"][0], "id": "x"},
                             {**charger["terminals"][1], "id": "y"}]
    types = {"pack": battery(12, 0.02), "fuse": fuse_holder(), "lamp": load(5, (8, 16)),
             "charger": charger}
    wires = [*FEED, "charger.p fuse.b 10", "charger.m pack.minus 10", "charger.p lamp.plus 10"]
    sizing = Sizing(job(unsized(circuit(types, wires))))
    (way,) = [w for w in sizing.choice.ways.feeds if w.part == "lamp"]
    assert sizing.choice.ways.is_battery[way.source]
    assert all(sizing.wires[name].let == 7.5 for name in ("w1", "w2", "w6"))
    assert any(fault.way.part == "lamp" for fault in sizing.faults)


def test_packs_side_by_side_add_their_currents_in_a_short() -> None:
    """12 V over 20 mohm, two soldered ends and a fuse of 1 mohm: 566 A each; a lead of no length.

    Two packs join at one fuse: parallel strings add I (V / R each).
    """
    types = {"pack": battery(12, 0.02), "twin": battery(12, 0.02), "fuse": fuse_holder(),
             "lamp": load(5, (8, 16))}
    wires = ["pack.plus fuse.a", "twin.plus fuse.a", "fuse.b lamp.plus", "lamp.minus pack.minus",
             "twin.minus pack.minus"]
    (fuse,) = Sizing(job(circuit(types, wires))).fuses.values()
    each = 12 / (0.02 + 2e-4 + 0.001)
    assert fuse.prospective is not None
    assert fuse.prospective.amps == pytest.approx(2 * each, rel=1e-3)
    assert fuse.prospective.breaks < fuse.prospective.amps  # two packs are over 1000 A


def test_over_60_volts_nothing_is_sized() -> None:
    """Declined above extra-low voltage (IEC 61140, from memory)."""
    types = {"top": battery(36, 0.02), "low": battery(36, 0.02), "lamp": load(1)}
    wires = ["top.plus lamp.plus", "top.minus low.plus", "lamp.minus low.minus"]
    with pytest.raises(Declined, match="licensed electrician"):
        Sizing(job(unsized(circuit(types, wires))))


@pytest.mark.parametrize(("form", "air", "rating"), [
    ("blade_high", 25, 40),  # 26 / 0.75 = 34.7
    ("blade_high", 65, 50),  # 26 / (0.75 x 34 / 40) = 40.8: ISO 8820-3 type E, maker's data sheet
    ("blade_high", 45, 40),  # half the way: 26 / (0.75 x 0.925) = 37.5
    ("bolted", 65, 40),  # nothing was read for this form
])
def test_a_fuse_in_hot_air_carries_less_where_that_was_published(form: str, air: float,
                                                                 rating: float) -> None:
    document = one_lamp(26, assumptions={"inside_air": air})
    document["types"]["fuse"] = fuse_holder(form, 100)
    fuse = Sizing(job(document)).fuses["fuse.a>b"]
    assert fuse.rating == rating
    said = {given.symbol: given for given in fuse.working.given}["kt"]
    assert said.value == pytest.approx(1 - 0.15 * (air - 25) / 40 if form == "blade_high" else 1)
    assert ("not rerated" in said.what) is (form == "bolted")
    assert fuse.load_limit == pytest.approx(0.75 * said.value * rating)


@pytest.mark.parametrize(("basis", "is_guess"), [("guess", True), ("measured", False)])
def test_a_current_adds_up_and_says_whether_a_module_was_guessed(
    basis: str, is_guess: bool
) -> None:
    """8 A of one lamp in each wire and the fuse; the feed's drop rests on the same lamp."""
    document = one_lamp(8, 15)
    for kind in document["types"].values():
        kind["basis"]["electrical"] = "measured"
    document["types"]["lamp"]["basis"]["electrical"] = basis
    sizing = Sizing(job(document))
    ((_, lost),) = sizing.drops
    for working in (*(wire.amps for wire in sizing.wires.values()),
                    *(fuse.amps for fuse in sizing.fuses.values())):
        assert working.result == pytest.approx(8)
        assert [one.value for one in working.given] == pytest.approx([8])
        assert working.given[0].is_guess == is_guess
    assert any(given.is_guess for given in lost.given) == is_guess

"""Single cases of joining: what is shared, what is passed through, what is said to be lacking."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from layout_engine import dump_document, load_document
from layout_engine.connection_edits import take_suggestions
from layout_engine.joining import suggest
from tests.layout_engine.joining.nets import at_ends, faults, routes, supply_tree
from tests.layout_engine.joining.random_jobs import job_of

BASE = ["battery_12v_12ah", "fuse_holder_bolted", "main_switch_panel", "fuse_block_4",
        "return_bar_8"]


def job(*names: str, **parts: dict[str, Any]) -> dict[str, Any]:
    """A job with these modules, ids p0_..., p1_... in order; `parts` set keys of one by its id."""
    document = copy.deepcopy(job_of(list(names)))
    for part in document["parts"]:
        part.update(parts.get(part["id"], {}))
    return document


def keys(document: dict[str, Any]) -> list[str]:
    return [s.key for s in suggest(load_document(document)).suggestions]


def lacking(document: dict[str, Any]) -> str:
    return " ".join(one.words for one in suggest(load_document(document)).lacking)


def done(document: dict[str, Any]) -> dict[str, Any]:
    made = dump_document(take_suggestions(load_document(document)).job)
    assert faults(made) == []
    return made


def test_without_anything_there_is_nothing_to_say() -> None:
    empty = job("fan_40")
    empty["parts"], empty["types"] = [], {}
    assert suggest(load_document(empty)).suggestions == ()
    assert suggest(load_document(empty)).lacking == ()
    assert "no battery" in lacking(job("fan_40"))


def test_without_a_main_fuse_nothing_is_joined_to_the_batterys_plus() -> None:
    document = job("battery_12v_12ah", "main_switch_panel", "fuse_block_4", "lamp_round_12v")
    assert "no main fuse" in lacking(document)
    assert not [key for key in keys(document) if "battery_12v_12ah.plus" in key]


def test_the_largest_holder_is_the_main_fuse_and_the_smallest_charges() -> None:
    document = job("fuse_holder_inline", "charge_socket_round", "fuse_holder_large_blade", *BASE)
    found = keys(document)
    assert "p3_battery_12v_12ah.plus>p4_fuse_holder_bolted.in" in found
    assert "p1_charge_socket_round.plus>p0_fuse_holder_inline.in" in found
    assert "p0_fuse_holder_inline.out>p4_fuse_holder_bolted.in" in found


def test_without_a_switch_the_block_is_fed_from_the_fuse_and_that_is_said() -> None:
    document = job("battery_12v_12ah", "fuse_holder_bolted", "fuse_block_4", "lamp_round_12v")
    assert "no main switch" in lacking(document)
    assert "p1_fuse_holder_bolted.out>p2_fuse_block_4.feed" in keys(document)


def test_a_switch_that_is_joined_past_the_fuse_is_told_and_left() -> None:
    document = job(*BASE)
    document["connections"] = [
        {"id": "w1", "from": "p0_battery_12v_12ah.plus", "to": "p2_main_switch_panel.in"}]
    assert "joined past" in lacking(document)
    assert not [key for key in keys(document) if "p1_fuse_holder_bolted" in key]


def test_beside_a_short_circuit_nothing_more_is_joined_to_it_and_that_is_said_once() -> None:
    document = job(*BASE, "lamp_round_12v", "fan_40")
    document["connections"] = [
        {"id": "w1", "from": "p0_battery_12v_12ah.plus", "to": "p4_return_bar_8.r1"}]
    advice = suggest(load_document(document))
    assert [one.words for one in advice.lacking if "mend that first" in one.words]
    assert len([one for one in advice.lacking if "mend" in one.words]) == 1
    shorted = ("p0_battery_12v_12ah.plus", "return_bar_8")
    assert not [s for s in advice.suggestions if any(end in s.key for end in shorted)]


def test_two_ends_on_different_poles_are_never_brought_together() -> None:
    """The fuse block's feed was joined to 0 V by mistake."""
    document = job(*BASE, "lamp_round_12v")
    document["connections"] = [
        {"id": "w1", "from": "p0_battery_12v_12ah.minus", "to": "p3_fuse_block_4.feed"}]
    assert "hang on different poles" in lacking(document) or "mend that first" in lacking(document)
    assert not [key for key in keys(document) if key.endswith("p3_fuse_block_4.feed")]


def test_a_relay_stands_before_the_lamp_and_is_fed_in_its_place() -> None:
    document = job(*BASE, "lamp_round_12v", "relay_12v_30a")
    found = keys(document)
    assert "p6_relay_12v_30a.no>p5_lamp_round_12v.plus" in found
    assert [k for k in found if k.endswith(">p6_relay_12v_30a.c") and "fuse_block" in k]
    steps = routes(done(document))["p5_lamp_round_12v.plus"][1]
    assert [kind for _, kind in steps] == ["fuse", "switch", "fuse", "switch"]


def test_a_relay_too_weak_is_left_out() -> None:
    document = job(*BASE, "lamp_round_12v", "relay_12v_30a")
    document["types"]["relay_12v_30a"]["paths"][0]["max_amps"] = 0.5
    assert not [key for key in keys(document) if "relay_12v_30a.no" in key]


def test_more_loads_than_ways_share_where_a_terminal_takes_two_wires() -> None:
    """Four lamps and a driver on four ways that take two wires: two lamps go together."""
    document = job(*BASE, *["lamp_round_12v"] * 4, "motor_driver_single_10a", "drive_motor_12v")
    document["types"]["fuse_block_4"]["terminals"] = [
        {**t, "max_wires": 2} for t in document["types"]["fuse_block_4"]["terminals"]]
    shared = supply_tree(done(document))[1]
    assert sorted(len(group) for group in shared) == [1, 1, 1, 2]
    (pair,) = [group for group in shared if len(group) == 2]
    assert all("lamp" in end for end in pair)
    assert [s.reason for s in suggest(load_document(document)).suggestions if "share" in s.reason]


def test_what_would_be_too_much_for_one_fuse_is_not_shared() -> None:
    fuses = {"fuses": {f"out{n}": 1 for n in (1, 2, 3, 4)}}
    document = job(*BASE, *["lamp_round_12v"] * 5, p3_fuse_block_4=fuses)
    document["types"]["fuse_block_4"]["terminals"] = [
        {**t, "max_wires": 2} for t in document["types"]["fuse_block_4"]["terminals"]]
    assert "No free fuse way for p" in lacking(document)
    assert sorted(len(group) for group in supply_tree(done(document))[1]) == [1, 1, 1, 1]


def test_the_largest_fuse_goes_to_the_heaviest_load() -> None:
    fuses = {"fuses": {"out1": 1, "out2": 2, "out3": 5, "out4": 3}}
    document = job(*BASE, "meter_board", "amplifier_mono_30w", p3_fuse_block_4=fuses)
    found = keys(document)
    assert "p3_fuse_block_4.out3>p6_amplifier_mono_30w.vplus" in found
    assert "p3_fuse_block_4.out4>p5_meter_board.plus" in found


def test_a_small_job_without_a_block_hangs_on_the_main_fuse_and_that_is_said() -> None:
    document = job("battery_12v_12ah", "fuse_holder_inline", "main_switch_panel", "lamp_round_12v")
    found = suggest(load_document(document)).suggestions
    (feed,) = [s for s in found if s.to == "p3_lamp_round_12v.plus"]
    assert feed.from_ == "p2_main_switch_panel.out"
    assert "main fuse alone protects" in feed.reason


def test_a_second_fuse_holder_is_a_way_of_its_own() -> None:
    document = job("battery_12v_12ah", "fuse_holder_bolted", "main_switch_panel",
                   "fuse_holder_inline", "lamp_round_12v")
    found = keys(document)
    assert "p2_main_switch_panel.out>p3_fuse_holder_inline.in" in found
    assert "p3_fuse_holder_inline.out>p4_lamp_round_12v.plus" in found


@pytest.mark.parametrize(("volts", "fed"), [
    ([10, 15], "fuse_block"), ([4.5, 5.5], "converter_5v"), ([20, 30], ""), (None, ""),
])
def test_a_load_is_fed_only_with_volts_that_its_type_allows(
        volts: list[float] | None, fed: str) -> None:
    document = job(*BASE, "fan_40", "converter_5v")
    document["types"]["fan_40"]["loads"][0]["volts"] = volts
    feeds = [key for key in keys(document) if key.endswith("fan_40.plus")]
    assert bool(feeds) == bool(fed)
    assert all(fed in key for key in feeds)
    if not fed:
        assert ("not known" if volts is None else "No supply of 20 to 30 V") in lacking(document)


def test_a_load_that_a_full_battery_is_too_much_for_is_fed_with_a_word() -> None:
    """The fan takes 9 to 14 V, the battery has 14.7 V when it is full."""
    document = job(*BASE, "fan_40")
    (feed,) = [s for s in suggest(load_document(document)).suggestions if s.to == "p5_fan_40.plus"]
    assert "not with a full or an empty battery" in feed.reason
    assert "10.8 to 14.7 V: a converter would" in lacking(document)
    assert "a converter would" not in lacking(job(*BASE, "lamp_round_12v"))


def test_a_hub_is_fed_with_what_suits_its_servos_too() -> None:
    """The hub takes up to 8.4 V, its servo 6.6 V: a pack of 7.4 V suits only one of them."""
    document = job(*BASE, "converter_5v", "hub_servo_3", "servo_standard")
    battery = document["types"]["battery_12v_12ah"]["battery"]
    battery |= {"volts": 7.4, "full_volts": 8.4, "empty_volts": 6.4}
    assert [k for k in keys(document) if k.endswith("hub_servo_3.v")] == [
        "p5_converter_5v.out_plus>p6_hub_servo_3.v"]
    alone = copy.deepcopy(document)
    alone["parts"] = [p for p in alone["parts"] if "servo_standard" not in p["id"]]
    assert [k for k in keys(alone) if k.endswith("hub_servo_3.v") and "fuse_block" in k]


def test_of_two_equal_converters_the_one_with_more_left_feeds() -> None:
    document = job(*BASE, "converter_5v", "converter_5v", "servo_large", "servo_large")
    sources = {routes(done(document))[f"p{n}_servo_large.v"][0] for n in (7, 8)}
    assert len(sources) == 2


def test_two_batteries_are_for_the_person_to_join_first() -> None:
    document = job("battery_12v_12ah", *BASE, "lamp_round_12v")
    assert "row or side by side" in lacking(document)
    assert keys(document) == []
    row = copy.deepcopy(document)
    row["connections"] = [{"id": "w1", "from": "p0_battery_12v_12ah.plus",
                           "to": "p1_battery_12v_12ah.minus"}]
    assert "No supply of 10 to 15 V" in lacking(row)  # two in a row are 24 V
    side = copy.deepcopy(document)
    side["connections"] = [
        {"id": f"w{n}", "from": f"p0_battery_12v_12ah.{end}", "to": f"p1_battery_12v_12ah.{end}"}
        for n, end in enumerate(("plus", "minus"))]
    assert "No supply" not in lacking(side)
    assert at_ends(done(side))["p6_lamp_round_12v.plus"] == 1


def test_a_charger_stands_between_socket_and_fuse() -> None:
    document = job(*BASE, "charge_socket_round", "charger_dc", "fuse_holder_inline")
    found = keys(document)
    assert "p5_charge_socket_round.plus>p6_charger_dc.in_plus" in found
    assert "p5_charge_socket_round.minus>p6_charger_dc.in_minus" in found
    assert "p6_charger_dc.out_plus>p7_fuse_holder_inline.in" in found
    assert "p7_fuse_holder_inline.out>p1_fuse_holder_bolted.in" in found


def test_motors_go_over_a_strip_where_there_is_one() -> None:
    document = job(*BASE, "motor_driver_single_10a", "drive_motor_12v", "terminal_strip_4")
    found = keys(document)
    assert {"p5_motor_driver_single_10a.ma>p7_terminal_strip_4.a1",
            "p7_terminal_strip_4.b1>p6_drive_motor_12v.a",
            "p5_motor_driver_single_10a.mb>p7_terminal_strip_4.a2",
            "p7_terminal_strip_4.b2>p6_drive_motor_12v.b"} <= set(found)
    assert keys(done(document)) == []


def test_the_strongest_output_drives_the_strongest_motor() -> None:
    document = job(*BASE, "motor_driver_single_10a", "motor_driver_dual_25a", "turning_motor_12v",
                   "drive_motor_12v", "drive_motor_12v")
    found = keys(document)
    assert "p6_motor_driver_dual_25a.m1a>p8_drive_motor_12v.a" in found
    assert "p6_motor_driver_dual_25a.m2a>p9_drive_motor_12v.a" in found
    assert "p5_motor_driver_single_10a.ma>p7_turning_motor_12v.a" in found
    assert "No free driver output" in lacking(job(*BASE, "drive_motor_12v"))


def test_without_a_stop_button_the_enable_is_left_open_and_that_is_said() -> None:
    document = job(*BASE, "converter_5v", "controller_board", "motor_driver_single_10a")
    assert "no stop button" in lacking(document)
    assert not [key for key in keys(document) if key.endswith(".en")]
    with_button = job(*BASE, "converter_5v", "controller_board", "motor_driver_single_10a",
                      "stop_button_panel")
    assert {"p6_controller_board.en_out>p8_stop_button_panel.in",
            "p8_stop_button_panel.out>p7_motor_driver_single_10a.en"} <= set(keys(with_button))


def test_a_speaker_of_too_few_ohms_is_not_suggested() -> None:
    document = job(*BASE, "amplifier_mono_30w", "speaker_round_4")
    assert "p5_amplifier_mono_30w.sp_plus>p6_speaker_round_4.plus" in keys(document)
    document["types"]["amplifier_mono_30w"]["amplifier"]["min_ohms"] = 8
    assert not [key for key in keys(document) if "speaker" in key]
    assert "has 4 ohm" in lacking(document)


def test_player_and_amplifier_without_a_transformer_are_joined_with_a_word() -> None:
    document = job(*BASE, "converter_5v", "audio_player", "amplifier_mono_30w")
    assert "p6_audio_player.out>p7_amplifier_mono_30w.inp" in keys(document)
    assert "no audio transformer" in lacking(document)


def test_loads_of_a_converter_return_to_it_and_those_of_the_battery_to_the_bar() -> None:
    document = job(*BASE, "converter_5v", "audio_player", "lamp_round_12v")
    returns = {key.split(">")[1]: key.split(">")[0] for key in keys(document)}
    assert returns["p6_audio_player.gnd"].startswith("p5_converter_5v.out")
    assert returns["p7_lamp_round_12v.minus"].startswith("p4_return_bar_8.")


def test_feeds_of_many_count_as_the_sum_of_what_they_feed() -> None:
    """12.5 A: half of the driver's 25; 0.85 A: the lamp; the 5 V converter's full output of 5 A at
    88 % is 2.37 A from 12 V, half of it 1.18 A, with its own 0.01 A.
    """
    document = job(*BASE, "motor_driver_dual_25a", "lamp_round_12v", "converter_5v",
                   "charge_socket_round", "fuse_holder_inline")
    weights = {s.key: s.weight for s in suggest(load_document(document)).suggestions}
    assert weights["p0_battery_12v_12ah.plus>p1_fuse_holder_bolted.in"] == 14.5
    assert weights["p0_battery_12v_12ah.minus>p4_return_bar_8.in"] == 14.5
    assert weights["p8_charge_socket_round.plus>p9_fuse_holder_inline.in"] == 3.6
    assert weights["p3_fuse_block_4.out1>p5_motor_driver_dual_25a.bplus"] is None


def test_a_plug_is_for_the_person_to_join() -> None:
    document = job(*BASE, "plug_panel_2")
    assert "goes through p5_plug_panel_2 is yours to say" in lacking(document)


def test_an_isolated_converters_loads_never_return_to_the_bar() -> None:
    document = job(*BASE, "converter_5v", *["audio_player"] * 4)
    kind = document["types"]["converter_5v"]
    kind["converters"][0]["isolated"] = True
    kind["paths"] = [p for p in kind["paths"] if p["from"] != "in_minus"]
    returns = [k for k in keys(document) if k.endswith("audio_player.gnd")]
    assert len(returns) == 4
    assert all(k.startswith("p5_converter_5v.out") for k in returns)

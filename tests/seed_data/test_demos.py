"""The demo jobs: complete, plausible, and in the state that each is shown in."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest
import shapely

from layout_engine import DocumentError, Job, check, document_bytes, load_document, route
from layout_engine.checks.rules import PLACEMENT, ROUTES, SUPPLY
from webapp.resources import folder
from webapp.seed import read_demos, read_shelf

DEMOS = read_demos(folder("seed_data"))
SHELF = read_shelf(folder("seed_data"))
EACH = pytest.mark.parametrize("name", sorted(DEMOS))
HIGHEST_SUPPLY_V = 60  # the tool declines above this (extra-low voltage, IEC 61140, from memory)
# Blade fuse ratings: ISO 8820-3 (from memory); bolted and large blade: common practice, no source
RATINGS_A = {1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 40, 50, 60, 70, 80, 100}


def on_plate(job: Job) -> list[str]:
    return [part.id for part in job.parts if part.away is None]


def ends(job: Job) -> list[str]:
    return [end for wire in job.connections for end in (wire.from_, wire.to)]


def test_the_three_demos_are_there() -> None:
    assert set(DEMOS) == {"rolling_lighthouse", "parade_tortoise", "puppet_wagon"}
    assert {path.stem for path in (folder("seed_data") / "demos").iterdir()} == set(DEMOS)


@EACH
def test_a_board_of_10_to_16_modules_with_things_elsewhere(name: str) -> None:
    job = DEMOS[name]
    assert 10 <= len(on_plate(job)) <= 16
    elsewhere = {job.type_of(part).kind for part in job.parts if part.away is not None}
    assert elsewhere >= {"battery", "motor", "speaker"}
    assert all(part.away.lead > 0 for part in job.parts if part.away is not None)


@EACH
def test_its_types_are_those_of_the_shelf_but_for_what_was_measured(name: str) -> None:
    for type_id, kind in DEMOS[name].types.items():
        shelf = {key: value for key, value in SHELF[type_id].items() if key != "basis"}
        own = kind.model_dump(by_alias=True, exclude_unset=True, exclude={"basis"})
        assert set(own) == set(shelf)
        assert own["height"] == shelf["height"]
        assert [list(point) for point in own["outline"]] == shelf["outline"]


@EACH
def test_it_survives_being_written_and_read(name: str) -> None:
    assert load_document(document_bytes(DEMOS[name])) == DEMOS[name]


@EACH
def test_shares_leave_some_time_for_idling(name: str) -> None:
    cases = DEMOS[name].cases
    assert len(cases) >= 2
    assert 0 < sum(case.share for case in cases) <= 1


@EACH
def test_every_terminal_is_wired_or_said_to_be_unused(name: str) -> None:
    job = DEMOS[name]
    wired = set(ends(job))
    for part in job.parts:
        for terminal in job.type_of(part).terminals:
            assert f"{part.id}.{terminal.id}" in wired or terminal.id in part.unused
        assert not wired & {f"{part.id}.{terminal}" for terminal in part.unused}


@EACH
def test_no_terminal_holds_more_wires_than_it_takes(name: str) -> None:
    job = DEMOS[name]
    for end, wires in Counter(ends(job)).items():
        part, terminal = end.split(".")
        assert wires <= job.type_of(part).terminal(terminal).max_wires, end


@EACH
def test_current_comes_from_the_battery_through_fuse_and_switch(name: str) -> None:
    joined = {(wire.from_, wire.to) for wire in DEMOS[name].connections}
    assert joined >= {
        ("battery.plus", "main_fuse.in"), ("main_fuse.out", "main_switch.in"),
        ("main_switch.out", "fuses.feed"), ("battery.minus", "zero.in"),
    }


@EACH
def test_the_stop_button_stands_in_the_enable_line(name: str) -> None:
    joined = {(wire.from_, wire.to) for wire in DEMOS[name].connections}
    assert {("control.en_out", "stop.in"), ("stop.out", "drive.en")} <= joined


@EACH
def test_the_charge_socket_has_its_own_fuse(name: str) -> None:
    job = DEMOS[name]
    joined = {(wire.from_, wire.to) for wire in job.connections}
    assert ("charge_socket.plus", "charge_fuse.in") in joined
    limit = job.type_of("battery").battery.max_charge_amps
    assert job.part("charge_fuse").fuses["out"] <= 2.2 * limit


@EACH
def test_every_used_fuse_has_a_rating_that_is_sold_and_that_its_holder_takes(name: str) -> None:
    job = DEMOS[name]
    for part in job.parts:
        holders = {path.to: path for path in job.type_of(part).paths if path.fuse}
        used = {t for t in holders if t not in part.unused and part.away is None}
        assert set(part.fuses) == used
        for terminal, amps in part.fuses.items():
            assert amps in RATINGS_A
            assert amps <= holders[terminal].fuse.max_amps


@EACH
def test_the_full_battery_suits_everything_on_it(name: str) -> None:
    battery = DEMOS[name].type_of("battery").battery
    assert battery.full_volts <= HIGHEST_SUPPLY_V
    drive = DEMOS[name].type_of("drive").drives[0]
    assert drive.min_volts < battery.empty_volts
    assert drive.max_volts >= 1.2 * battery.full_volts  # common practice, no source
    fused = [path.max_volts for path in DEMOS[name].type_of("fuses").paths]
    assert all(volts >= battery.full_volts for volts in fused)


@EACH
def test_a_switch_wishes_for_an_edge_and_a_receiver_for_distance(name: str) -> None:
    job = DEMOS[name]
    assert "near_edge" in {wish.rule for wish in job.part("main_switch").wishes}
    assert "away_from_shields" in {wish.rule for wish in job.part("receiver").wishes}


def test_the_lighthouse_is_arranged_on_both_faces_without_a_stop() -> None:
    job = DEMOS["rolling_lighthouse"]
    assert not job.tray
    assert {part.placement.face for part in job.placed} == {"front", "back"}
    findings = check(job)
    assert [f for f in findings if f.severity == "stop"] == []
    warned = [f.rule for f in findings if f.severity == "warn"]
    assert len([rule for rule in warned if rule in PLACEMENT]) <= 4
    # what such a board has by its nature: each with its remedy, none of them a stop
    assert {rule for rule in warned if rule in SUPPLY} == {
        "stray_return", "inrush", "charge_drive_interlock", "no_stop_outside",
    }  # fmt: skip
    about_wires = {rule for rule in warned if rule in ROUTES}
    assert about_wires <= {"audio_near_motor_wire", "board_tethered"}
    assert all(wire.state == "routed" for wire in route(job))


def test_the_tortoise_is_half_done_and_right_so_far() -> None:
    job = DEMOS["parade_tortoise"]
    assert {part.placement.face for part in job.placed} == {"front"}
    assert 0.4 <= len(job.placed) / len(on_plate(job)) <= 0.6
    stops = [f for f in check(job) if f.severity == "stop"]
    assert {f.rule for f in stops} == {"not_placed"}
    assert {s for f in stops for s in f.subjects} == {part.id for part in job.tray}


def test_the_wagon_has_everything_in_the_tray() -> None:
    job = DEMOS["puppet_wagon"]
    assert not job.placed
    assert len(job.tray) == len(on_plate(job))
    assert {f.rule for f in check(job) if f.severity == "stop"} == {"not_placed"}


def test_the_wagon_is_tight() -> None:
    job = DEMOS["puppet_wagon"]
    modules = sum(shapely.Polygon(job.type_of(part).outline).area for part in job.tray)
    both_faces = 2 * shapely.Polygon(job.plate.outline).area
    assert 0.50 <= modules / both_faces <= 0.55


def test_a_demo_that_is_no_document_is_refused(tmp_path: Path) -> None:
    (tmp_path / "demos").mkdir()
    (tmp_path / "demos" / "odd.json").write_text('{"format": "platewright/1"}')
    with pytest.raises(DocumentError) as refusal:
        read_demos(tmp_path)
    assert {fault.path for fault in refusal.value.errors} >= {"$.name", "$.body", "$.plate"}

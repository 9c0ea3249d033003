"""The shelf: every kind is there, and every type can stand on a plate by the contract's rules."""

from __future__ import annotations

from itertools import combinations
from math import hypot
from pathlib import Path
from typing import Any, get_args

import pytest
import shapely

from layout_engine import DocumentError, load_document
from layout_engine.model.part_type import Kind, PartType
from layout_engine.tables.fasteners import head_diameter, medium_hole
from webapp.resources import folder
from webapp.seed import read_shelf

SHELF = read_shelf(folder("seed_data"))
EACH = pytest.mark.parametrize("type_id", sorted(SHELF))
HIGHEST_SUPPLY_V = 60  # the tool declines above this (extra-low voltage, IEC 61140, from memory)
LEAST_HOLE_EDGE = 2.0  # hole diameters from a hole's centre to a cut-out; common practice


def part_type(type_id: str) -> PartType:
    return PartType.model_validate(SHELF[type_id])


def alone(type_id: str) -> dict[str, Any]:
    """A document that holds nothing but one part of this type, in the tray."""
    return {
        "format": "platewright/1", "name": "one module",
        "body": {"diameter": 900, "height": 900, "opening": {"diameter": 800},
                 "reach_from": "top"},
        "plate": {"outline": [[0, 0], [500, 0], [500, 500], [0, 500]], "thickness": 4,
                  "material": "acrylic", "stands": "upright"},
        "types": {type_id: SHELF[type_id]}, "parts": [{"id": "a", "type": type_id}],
    }


def cut_outs(kind: PartType) -> list[Any]:
    return [
        shapely.Polygon(hole) if isinstance(hole, tuple)
        else shapely.Point(hole.x, hole.y).buffer(hole.diameter / 2)
        for hole in kind.through
    ]


def test_at_least_28_types() -> None:
    assert len(SHELF) >= 28


def test_every_kind_of_the_contract_is_there() -> None:
    assert {entry["kind"] for entry in SHELF.values()} == set(get_args(Kind))


def test_a_file_name_is_an_id_and_names_no_other_file() -> None:
    files = {path.stem for path in (folder("seed_data") / "shelf").iterdir()}
    assert files == set(SHELF)


def test_no_two_types_have_one_name() -> None:
    names = [entry["name"] for entry in SHELF.values()]
    assert len(set(names)) == len(names)


@EACH
def test_a_job_can_use_it(type_id: str) -> None:
    assert load_document(alone(type_id)).types[type_id].name == SHELF[type_id]["name"]


@EACH
def test_generic_sizes_are_called_guesses(type_id: str) -> None:
    assert set(SHELF[type_id]["basis"].values()) == {"guess"}


@EACH
def test_fixings_with_their_heads_lie_inside_the_outline(type_id: str) -> None:
    kind = part_type(type_id)
    outline = shapely.Polygon(kind.outline)
    for fixing in kind.fixings:
        head = shapely.Point(fixing.x, fixing.y).buffer(
            head_diameter(fixing.thread, fixing.head) / 2)
        assert outline.covers(head), (fixing.x, fixing.y)


@EACH
def test_holes_keep_their_distance_from_each_other_and_from_cut_outs(type_id: str) -> None:
    kind = part_type(type_id)
    for a, b in combinations(kind.fixings, 2):
        larger = max(medium_hole(a.thread), medium_hole(b.thread))
        bridge = hypot(a.x - b.x, a.y - b.y) - (medium_hole(a.thread) + medium_hole(b.thread)) / 2
        assert bridge >= max(larger, 2.0)
    for fixing in kind.fixings:
        centre = shapely.Point(fixing.x, fixing.y)
        for hole in cut_outs(kind):
            assert centre.distance(hole) >= LEAST_HOLE_EDGE * medium_hole(fixing.thread)


@EACH
def test_terminals_lie_inside_and_have_room_for_a_wire(type_id: str) -> None:
    kind = part_type(type_id)
    outline = shapely.Polygon(kind.outline)
    for terminal in kind.terminals:
        assert outline.covers(shapely.Point(terminal.x, terminal.y)), terminal.id
        assert terminal.room >= 5, terminal.id
        assert terminal.min_mm2 is not None
        assert terminal.max_mm2 is not None
        assert terminal.min_mm2 < terminal.max_mm2, terminal.id


@EACH
def test_nothing_stands_higher_than_the_module(type_id: str) -> None:
    kind = part_type(type_id)
    heights = [terminal.z for terminal in kind.terminals if terminal.z is not None]
    heights += [point.z for point in kind.service] + [shield.height[1] for shield in kind.shields]
    assert all(height <= kind.height for height in heights)


@EACH
def test_something_holds_it_or_it_says_so(type_id: str) -> None:
    kind = part_type(type_id)
    held_elsewhere = {"battery", "motor", "stop_button", "charge_socket"}
    held = kind.fixings or kind.fixing == "tape" or kind.slots or kind.kind in held_elsewhere
    assert held


@EACH
def test_no_supply_over_60_volts(type_id: str) -> None:
    kind = part_type(type_id)
    volts = [load.volts[1] for load in kind.loads if load.volts]
    volts += [drive.max_volts for drive in kind.drives if drive.max_volts]
    volts += [converter.out_volts for converter in kind.converters]
    volts += [kind.battery.full_volts] if kind.battery else []
    assert all(value <= HIGHEST_SUPPLY_V for value in volts)


@EACH
def test_no_screw_stands_in_its_aerial(type_id: str) -> None:
    kind = part_type(type_id)
    if kind.antenna is None:
        return
    apart = [hypot(f.x - kind.antenna.x, f.y - kind.antenna.y)
             - head_diameter(f.thread, f.head) / 2 for f in kind.fixings]
    assert min(apart, default=1.0) >= 1.0


BLOCKS = {
    "battery": "battery", "main_switch": "paths", "stop_button": "paths", "fuse_block": "paths",
    "fuse_holder": "paths", "terminal_block": "paths", "converter": "converters",
    "controller": "loads", "motor_driver": "drives", "motor": "motor", "servo": "loads",
    "receiver": "antenna", "audio_player": "loads", "amplifier": "amplifier",
    "speaker": "speaker_ohms", "audio_transformer": "paths", "meter": "loads", "lamp": "loads",
    "relay": "paths", "plug": "paths", "charger": "converters", "suppressor": "loads",
    "hub": "paths",
}


@EACH
def test_its_kind_has_the_electrical_block_that_currents_need(type_id: str) -> None:
    entry = SHELF[type_id]
    block = BLOCKS.get(entry["kind"])
    assert block is None or entry.get(block)


@EACH
def test_currents_rise_from_idle_to_peak(type_id: str) -> None:
    kind = part_type(type_id)
    assert all(0 <= load.idle <= load.typical <= load.peak for load in kind.loads)
    assert all(drive.continuous <= drive.peak for drive in kind.drives)


def test_the_lead_batteries_know_their_full_voltage() -> None:
    # 2.45 V per cell, cycle charging of sealed lead batteries (makers' data, from memory)
    lead = [part_type(i).battery for i in SHELF if SHELF[i]["kind"] == "battery"]
    found = [b for b in lead if b and b.chemistry.startswith("lead")]
    assert found
    assert all(b.full_volts == pytest.approx(2.45 * b.cells) for b in found)


def test_the_iron_phosphate_battery_knows_its_full_voltage() -> None:
    # 3.65 V per cell, the charge limit of iron phosphate cells (makers' data, from memory)
    cells = [b for i in SHELF if (b := part_type(i).battery) and b.chemistry == "lifepo4"]
    assert cells
    assert all(b.full_volts == pytest.approx(3.65 * b.cells) for b in cells)


def test_drivers_have_fins_air_and_metal() -> None:
    for type_id in (i for i in SHELF if SHELF[i]["kind"] == "motor_driver"):
        kind = part_type(type_id)
        assert kind.heat is not None
        assert kind.heat.sink is not None
        assert kind.heat.fins is not None
        assert kind.heat.air_gap > 0
        assert kind.shields


def test_some_outlines_are_not_rectangles() -> None:
    stepped = [
        i for i, entry in SHELF.items()
        if shapely.Polygon(entry["outline"]).area
        < 0.97 * shapely.box(*shapely.Polygon(entry["outline"]).bounds).area
        and len(entry["outline"]) < 10
    ]
    assert len(stepped) >= 2


def test_a_file_that_is_no_part_type_is_refused_by_its_name(tmp_path: Path) -> None:
    (tmp_path / "shelf").mkdir()
    (tmp_path / "shelf" / "odd.json").write_text('{"name": "Odd", "kind": "teapot"}')
    with pytest.raises(DocumentError) as refusal:
        read_shelf(tmp_path)
    assert {fault.path for fault in refusal.value.errors} == {
        "odd.json.kind", "odd.json.outline", "odd.json.height"}


def test_a_file_that_is_no_json_is_refused_by_its_name(tmp_path: Path) -> None:
    (tmp_path / "shelf").mkdir()
    (tmp_path / "shelf" / "torn.json").write_text('{"name": ')
    with pytest.raises(DocumentError) as refusal:
        read_shelf(tmp_path)
    assert refusal.value.errors[0].path == "torn.json"

"""One rule, one file, one line in the list, one docstring, one file of cases."""

from __future__ import annotations

import ast
import json
from pathlib import Path

import pytest

from layout_engine.checks.rules import RULES
from tests.house.files import ROOT, text, under

FOLDER = ROOT / "layout_engine" / "checks" / "rules"
CASES = ROOT / "tests" / "checks" / "cases"
FILES = [p for p in under("layout_engine/checks/rules", ".py") if p.stem != "__init__"]
# The rules of the document's reference: placement, wiring, supply, noise, sizes and heat, routes.
PUBLISHED = [
    "overlap", "off_plate", "too_deep", "plate_too_big", "no_way_in", "hole_edge", "hole_spacing",
    "hole_under_part", "head_on_board", "no_reach", "terminal_blocked", "service_point_blocked",
    "switch_low", "sink_crowded", "fins_across", "receiver_low", "receiver_near_metal",
    "receiver_shadowed", "conductive_plate", "plate_sags", "tips_over", "not_measured",
    "not_placed",
    "not_connected", "wrong_polarity", "return_missing", "stray_return", "signal_without_return",
    "tapped_midway", "speaker_grounded", "speaker_mismatch",
    "volts_out_of_range", "driver_overloaded", "converter_overloaded", "battery_overloaded",
    "brown_out", "runs_flat", "inrush", "regeneration_refused", "pushed_over_voltage", "no_unplug",
    "charge_drive_interlock", "no_stop_outside", "ground_loop",
    "wire_thin", "wire_too_thick_for_terminal", "volts_drop", "bundle_hot", "contact_overloaded",
    "switch_not_for_dc", "fuse_missing", "fuse_over_wire", "fuse_nuisance",
    "fuse_far_from_battery", "fault_not_cleared", "too_hot",
    "no_corridor", "pinned_blocked", "wire_hole_tight", "run_too_full", "wire_near_antenna",
    "lead_too_short", "length_not_given", "board_tethered", "plugs_alike", "audio_near_motor_wire",
]  # fmt: skip


def test_every_published_rule_is_listed_once_in_order() -> None:
    assert list(RULES) == PUBLISHED


def test_every_file_is_a_rule_and_every_rule_a_file() -> None:
    assert sorted(path.stem for path in FILES) == sorted(RULES)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_docstring_tells_what_is_wrong_what_to_do_and_the_source(path: Path) -> None:
    words = ast.get_docstring(ast.parse(text(path))) or ""
    assert [part for part in ("Wrong", "Remedy", "Source") if part not in words] == []
    assert words.splitlines()[0].endswith(".")


@pytest.mark.parametrize("rule", RULES)
def test_rule_has_cases_that_pass_and_cases_that_fail(rule: str) -> None:
    cases = json.loads(text(CASES / f"{rule}.json"))
    assert cases["rule"] == rule
    assert min(len(cases["passes"]), len(cases["fails"])) >= 2
    for kind in ("passes", "fails"):
        names = [case["name"] for case in cases[kind]]
        assert len(set(names)) == len(names)

"""Findings about what joins what show where to look."""

from __future__ import annotations

import pytest

from layout_engine import check, load_document
from webapp.resources import folder

LIGHTHOUSE = load_document(
    (folder("seed_data") / "demos" / "rolling_lighthouse.json").read_bytes()
)


@pytest.mark.parametrize("rule", ["inrush", "stray_return", "no_stop_outside"])
def test_a_finding_of_the_supply_is_shown_at_its_part(rule: str) -> None:
    finding = next(f for f in check(LIGHTHOUSE) if f.rule == rule)
    assert finding.place is not None
    width, height = LIGHTHOUSE.plate.size
    assert 0 < finding.place.x < width
    assert 0 < finding.place.y < height


def test_what_stands_elsewhere_has_no_place_on_the_plate() -> None:
    finding = next(f for f in check(LIGHTHOUSE) if f.rule == "charge_drive_interlock")
    assert finding.subjects == ("charge_socket",)
    assert finding.place is None

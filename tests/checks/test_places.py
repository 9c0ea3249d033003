"""Findings show where to look."""

from __future__ import annotations

import json
from functools import cache

import pytest

from layout_engine import Finding, check, load_document
from tests.checks.test_cases import BASE, FILES, merged
from webapp.resources import folder

LIGHTHOUSE = load_document(
    (folder("seed_data") / "demos" / "rolling_lighthouse.json").read_bytes()
)


@cache
def of_lighthouse() -> list[Finding]:
    return check(LIGHTHOUSE)


@pytest.mark.parametrize("rule", ["inrush", "stray_return", "no_stop_outside"])
def test_a_finding_of_the_supply_is_shown_at_its_part(rule: str) -> None:
    finding = next(f for f in of_lighthouse() if f.rule == rule)
    assert finding.place is not None
    width, height = LIGHTHOUSE.plate.size
    assert 0 < finding.place.x < width
    assert 0 < finding.place.y < height


def test_what_stands_elsewhere_has_no_place_on_the_plate() -> None:
    finding = next(f for f in of_lighthouse() if f.rule == "charge_drive_interlock")
    assert finding.subjects == ("charge_socket",)
    assert finding.place is None


def test_what_stands_out_behind_touches_on_the_other_face() -> None:
    """The plug of a module in front comes out under one that stands on the back."""
    case = next(c for c in FILES["overlap"]["fails"] if c["name"] == "what stands out behind")
    document = merged(merged(BASE, FILES["overlap"]["base"]), case["change"])
    (found,) = check(load_document(json.dumps(document)), rules=["overlap"])
    assert found.place is not None
    assert (found.place.face, found.subjects) == ("back", ("a", "b"))
    assert 25 < found.place.x < 35


def test_a_thin_bridge_is_shown_between_its_holes() -> None:
    """The new hole lies at (55, 55), the old one at (62, 55)."""
    case = next(c for c in FILES["hole_spacing"]["fails"] if c["name"] == "beside an old hole")
    (found,) = check(load_document(json.dumps(merged(BASE, case["change"]))),
                     rules=["hole_spacing"])
    assert found.place is not None
    assert (found.place.x, found.place.y) == pytest.approx((58.5, 55))

"""The materials list: every count against what the document asks for, screws against standards."""

from __future__ import annotations

from collections import Counter
from math import pi
from typing import Any

import pytest

from layout_engine import load_document
from layout_engine.sheets.cut_list import cut_list
from layout_engine.sheets.materials import Material, materials, tie_length
from layout_engine.sizing.routed import sized_routes
from layout_engine.wiring import TiePoint, plan_routes
from tests.layout_engine.wiring.boards import facing_pair
from tests.webapp.pages.forms import demo

LIGHTHOUSE = demo("rolling_lighthouse")


def listed(document: dict[str, Any]) -> list[Material]:
    found = sized_routes(load_document(document))
    return list(materials(found.routing, found.sizing))


@pytest.fixture(scope="module")
def lighthouse() -> list[Material]:
    return listed(LIGHTHOUSE)


def quantity(rows: list[Material], group: str, item: str = "", size: str = "") -> float:
    return sum(row.quantity for row in rows
               if row.group == group and row.item.startswith(item) and row.size.startswith(size))


def test_the_wire_adds_up_to_the_lengths_of_the_cut_list(lighthouse: list[Material]) -> None:
    routing = sized_routes(load_document(LIGHTHOUSE)).routing
    rows = cut_list(routing).rows
    by_reel: dict[tuple[str, str], float] = {}
    for row in rows:
        key = row.size, row.colour_words
        by_reel[key] = by_reel.get(key, 0.0) + (row.length or 0.0)
    found = {(m.size, m.colour): m.quantity for m in lighthouse if m.group == "wire"}
    assert found == {reel: pytest.approx(length / 1000) for reel, length in by_reel.items()}


def test_every_end_of_every_wire_has_one_thing_on_it(lighthouse: list[Material]) -> None:
    """Two ends a wire; ends without anything are bare ones under a screw."""
    wires = len(LIGHTHOUSE["connections"])
    assert quantity(lighthouse, "wire end", "marker sleeve") == 2 * wires
    routing = sized_routes(load_document(LIGHTHOUSE)).routing
    bare = sum(not end.item for row in cut_list(routing).rows for end in row.ends)
    fitted = [m for m in lighthouse if m.group == "wire end"
              and m.item not in ("marker sleeve", "in-line plug pair")]
    assert sum(m.quantity for m in fitted) == 2 * wires - bare


def test_ferrules_have_the_colours_of_din_46228_4(lighthouse: list[Material]) -> None:
    """Colour code of DIN 46228-4: 0.5 white, 2.5 blue, 6 yellow."""
    names = [m.item for m in lighthouse if m.item.startswith("ferrule")]
    assert "ferrule 0.5 mm2 white (DIN 46228-4)" in names
    assert "ferrule 2.5 mm2 blue (DIN 46228-4)" in names
    assert "ferrule 6 mm2 yellow (DIN 46228-4)" in names


def test_fuses_are_those_of_the_document(lighthouse: list[Material]) -> None:
    wanted = Counter(f"{amps:g} A" for part in LIGHTHOUSE["parts"]
                     for amps in part.get("fuses", {}).values())
    found = Counter({m.size: int(m.quantity) for m in lighthouse if m.group == "fuse"
                     and "proposed" not in m.for_})
    assert wanted
    assert wanted - found == Counter()


def test_ties_feet_and_mounts_are_as_many_as_there_are() -> None:
    routing = plan_routes(load_document(LIGHTHOUSE))
    rows = list(materials(routing))
    kinds = Counter(tie.kind for tie in routing.ties)
    straps = [clamp for clamp in routing.clamps if clamp.kind == "strap"]
    assert quantity(rows, "tie", "cable tie", "2.5") == len(routing.ties) + len(straps)
    assert quantity(rows, "tie", "tie foot") == kinds["foot"]
    assert quantity(rows, "tie", "tie mount") == kinds["screw"]
    holes = Counter(one.hole for one in routing.passes if one.kind == "drilled")
    assert quantity(rows, "grommet") == sum(holes.values())


def test_a_tie_goes_round_its_bundle_and_through_the_plate() -> None:
    thin = TiePoint("T1", 0, 0, "front", "R1", "slots", 0, 10.0)
    assert pi * 10 + 2 * 4 + 30 < 100
    assert tie_length(thin, 4.0) == 100
    assert tie_length(TiePoint("T1", 0, 0, "front", "R1", "foot", 0, 30.0), 4.0) == 150


def screwed(standoff: float, thread: str = "M3", **fixing: Any) -> list[Material]:
    document = facing_pair()
    document["connections"] = []
    kind = document["types"]["left"]
    kind |= {"fixing": "screws", "standoff": standoff, "fixings": [
        {"x": x, "y": 5, "thread": thread, "grip": 1.6, **fixing} for x in (5, 35)]}
    document["types"]["right"]["fixing"] = "tape"
    return [row for row in listed(document) if row.group == "fastener"]


def test_a_long_spacer_takes_a_screw_from_either_end() -> None:
    """Plate 5 mm, spacer 12 mm: each thread (12 - 0.5) / 2 deep, at least one diameter in.

    Module side: 1.6 + 3 = 4.6, next of ISO 888: 5. Plate side: 5 + 3 = 8: 8.
    """
    found = {(row.item, row.size): row.quantity for row in screwed(12)}
    assert found == {
        ("threaded spacer", "M3 x 12 mm"): 2, ("screw, pan head (ISO 7045)", "M3 x 5"): 2,
        ("screw, pan head (ISO 7045)", "M3 x 8"): 2}


def test_a_short_spacer_is_screwed_through_with_a_nut() -> None:
    """Spacer 5 mm: (5 - 0.5) / 2 = 2.25 mm is under one diameter of M3.

    Through: 1.6 + 5 + 5 = 11.6, nut 2.4 (ISO 4032), two pitches of 0.5: 15.0; ISO 888: 16.
    """
    found = {(row.item, row.size) for row in screwed(5)}
    assert found == {
        ("spacer without thread", "M3 x 5 mm"), ("screw, pan head (ISO 7045)", "M3 x 16"),
        ("nut (ISO 4032)", "M3"), ("washer (ISO 7089)", "M3")}


def test_a_module_without_spacer_is_bolted_to_the_plate() -> None:
    """1.6 + 5 = 6.6, nut 3.2 (ISO 4032 M4), two pitches of 0.7: 11.2; ISO 888: 12."""
    found = {(row.item, row.size): row.quantity
             for row in screwed(0, "M4", spacer="none", head="countersunk")}
    assert found["screw, countersunk head (ISO 7046-1)", "M4 x 12"] == 2
    assert found["nut (ISO 4032)", "M4"] == 2


def test_a_tie_mount_is_bolted_through_its_foot_and_the_plate() -> None:
    """Foot 2 + plate 5 = 7, nut 2.4 (ISO 4032 M3), two pitches of 0.5: 10.4; ISO 888: 12."""
    document = facing_pair()
    document["types"] = {key: {**kind, "fixing": "tape"} for key, kind in document["types"].items()}
    routing = plan_routes(load_document(document))
    routing.__dict__["ties"] = (TiePoint("T1", 100, 75, "front", "R1", "screw", 0, 5.0),)
    routing.__dict__["clamps"] = ()
    found = {(row.item, row.size): row.quantity for row in materials(routing)
             if row.group == "fastener"}
    assert found == {("screw, pan head (ISO 7045)", "M3 x 12"): 1, ("nut (ISO 4032)", "M3"): 1,
                     ("washer (ISO 7089)", "M3"): 1}


def test_a_thread_in_the_module_says_that_it_must_be_measured() -> None:
    (row,) = screwed(0, spacer="blind")
    assert (row.size, row.quantity) == ("M3 x 12", 2)  # 5 + 2 x 3 = 11; ISO 888: 12
    assert "measure" in row.note


def test_a_bare_board_needs_its_plate_alone() -> None:
    document = facing_pair()
    document["connections"] = []
    (row,) = listed(document)
    assert (row.group, row.item, row.size) == ("plate", "acrylic", "200 x 150 x 5 mm")

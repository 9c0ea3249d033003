"""A mount or a keep-out of the plate may have the name of a part: findings tell them apart."""

from __future__ import annotations

import json
from typing import Any

import pytest

from layout_engine import Finding, check, load_document
from tests import samples
from tests.checks.test_cases import BASE, FILES, merged
from tests.layout_engine.supply.circuits import battery, circuit, load


def _overlaps(plate: dict[str, Any]) -> list[Any]:
    document = merged(merged(BASE, FILES["overlap"]["base"]), {"plate": plate, "parts": [
        {"id": "a", "type": "slab", "placement": {"face": "front", "x": 10, "y": 10, "turn": 0}},
        {"id": "b", "type": "slab", "label": "Second slab",
         "placement": {"face": "front", "x": 45, "y": 10, "turn": 0}},
    ]})
    found = check(load_document(json.dumps(document)))
    return [f for f in found if f.rule == "overlap" and f.subjects[0] == "a"]


def test_a_part_and_a_mount_of_one_name_are_two_findings() -> None:
    mount = {"id": "b", "x": 20, "y": 20, "diameter": 5, "head_diameter": 9}
    part, fixing = sorted(_overlaps({"mounts": [mount]}), key=lambda f: "fixing" in f.title)
    assert (part.subjects, fixing.subjects) == (("a", "b"), ("a", "b"))
    assert "Second slab" in part.title
    assert "Second slab" not in fixing.title
    assert {move.part for move in fixing.moves} <= {"a"}


def test_a_part_and_a_keep_free_zone_of_one_name_are_two_findings() -> None:
    zone = {"label": "b", "outline": [[15, 15], [25, 15], [25, 25], [15, 25]]}
    part, free = sorted(_overlaps({"keep_outs": [zone]}), key=lambda f: "zone" in f.title)
    assert (part.unit, part.value) == ("mm2", 5 * 30)
    assert (free.unit, free.value, free.limit) == ("mm", 20, 0)
    assert "the keep-free zone b" in free.title


def test_what_is_the_plates_own_is_told_from_parts() -> None:
    mount = {"id": "b", "x": 20, "y": 20, "diameter": 5, "head_diameter": 9}
    found = {f.of_plate: f for f in _overlaps({"mounts": [mount]})}
    assert found[0].subjects_off_plate == ("a", "b")
    assert found[1].subjects_off_plate == ("a",)


def test_holes_of_a_part_and_of_a_mount_of_its_name_are_told_apart() -> None:
    """The mount's hole and one drilled before are 1 mm apart, far from the part "a"."""
    document = merged(BASE, {"plate": {
        "mounts": [{"id": "a", "x": 100, "y": 100, "diameter": 5, "head_diameter": 9}],
        "existing_holes": [{"x": 106, "y": 100, "diameter": 5}],
    }, "parts": [{"id": "a", "type": "slab", "label": "First slab",
                  "placement": {"face": "front", "x": 10, "y": 10, "turn": 0}}]})
    document = merged(document, {"types": FILES["overlap"]["base"]["types"]})
    (found,) = (f for f in check(load_document(json.dumps(document))) if f.rule == "hole_spacing")
    assert (found.subjects, found.subjects_off_plate) == (("a",), ())
    assert found.title == (
        "Plate fixing a and a hole drilled before: thin bridge between two holes")


def test_a_wire_with_the_name_of_a_part_is_told_from_it() -> None:
    """The thin wire is called like the lamp, which has a place; the wire leads elsewhere."""
    document = circuit({"pack": battery(12, 0.02), "lamp": load(20, (8, 16))},
                       ["pack.plus lamp.plus 500", "lamp.minus pack.minus 500"])  # fmt: skip
    document["connections"][0]["id"] = "lamp"
    document["connections"][0]["wire"] = {"size": "0.5 mm2", "fixed": True}
    findings = check(load_document(document))
    thin = next(f for f in findings if f.rule == "wire_thin")
    assert (thin.subjects, thin.parts, thin.wires) == (("lamp",), (), ("lamp",))
    sagging = next(f for f in findings if f.rule == "volts_drop")
    assert (sagging.subjects, sagging.parts, sagging.wires) == (("lamp",), ("lamp",), ())
    said = thin.as_json()
    assert (said["parts"], said["wires"]) == ([], ["lamp"])


def test_a_label_of_a_wire_is_told_from_the_sentence_round_it() -> None:
    document = circuit({"pack": battery(12, 0.02), "lamp": load(20, (8, 16))},
                       ["pack.plus lamp.plus 500", "lamp.minus pack.minus 500"])  # fmt: skip
    document["connections"][0] |= {"label": "lamp +", "wire": {"size": "0.5 mm2", "fixed": True}}
    thin = next(f for f in check(load_document(document)) if f.rule == "wire_thin")
    assert 'he wire "lamp +"' in thin.title


@pytest.mark.parametrize(("subjects", "wires", "of_plate", "parts"), [
    (("a", "w"), {"w"}, 0, ("a",)),
    (("w", "w"), {"w"}, 0, ("w",)),
    (("a", "m"), set(), 1, ("a",)),
    (("w", "a", "b"), {"w"}, 0, ("a", "b")),
])
def test_parts_and_wires_of_a_finding(subjects: tuple[str, ...], wires: set[str], of_plate: int,
                                      parts: tuple[str, ...]) -> None:
    found = Finding("rule", "stop", subjects, "", "", None, None, "", "", "", of_plate=of_plate,
                    of_wires=frozenset(wires))  # fmt: skip
    assert found.parts == parts
    assert set(found.wires) == wires


def _hole_edges(document: dict[str, Any]) -> dict[bool, Finding]:
    found = check(load_document(document), rules=["hole_edge"])
    assert len({f.of_plate for f in found}) == len(found)
    return {bool(f.of_plate): f for f in found}


def test_holes_near_the_edge_of_a_part_and_of_a_mount_of_its_name_are_two_findings() -> None:
    """The part's screw is 6 mm from the left edge, the mount 5 mm from the right one."""
    document = samples.two_module_board()
    document["plate"]["mounts"] = [{"id": "left", "x": 255, "y": 150, "diameter": 4.5}]
    document["parts"][0]["placement"]["x"] = 1
    found = _hole_edges(document)
    assert (found[False].value, found[True].value) == pytest.approx((6, 5))
    assert (found[False].parts, found[True].parts) == (("left",), ())
    assert found[True].title.startswith("Plate fixing left")


def test_a_mount_beside_the_cut_out_of_a_part_of_its_name_is_told() -> None:
    """The cut-out ends 4 mm from the middle of the mount's hole of 4 mm."""
    document = samples.two_module_board()
    document["plate"]["mounts"] = [{"id": "left", "x": 34, "y": 140, "diameter": 4}]
    document["types"]["box"] = samples.module_type("Box", fixing="tape", fixings=[], through=[
        [[8, 10], [20, 10], [20, 30], [8, 30]]])  # fmt: skip
    found = _hole_edges(document)
    assert (found[True].value, found[True].limit) == pytest.approx((4, 8))


def test_a_part_called_plate_has_cut_outs_like_any_other() -> None:
    """Its cut-out ends 5 mm from the middle of the left module's screw hole."""
    document = samples.two_module_board()
    document["plate"]["mounts"] = []
    document["parts"][1]["id"] = "plate"
    document["types"]["window"] = samples.module_type(
        "Window", fixing="tape", fixings=[], through=[[[5, 0], [20, 0], [20, 10], [5, 10]]])
    document["parts"][1] |= {"type": "window"}
    document["parts"][1]["placement"] = {"face": "back", "x": 60, "y": 120, "turn": 0}
    found = _hole_edges(document)
    assert found[False].subjects == ("left",)
    assert found[False].value == pytest.approx(5)


def test_a_receiver_called_plate_stands_on_metal_like_any_other() -> None:
    """The case "a metal plate", where its id is the word that findings use for the plate."""
    case = next(c for c in FILES["receiver_near_metal"]["fails"] if c["name"] == "a metal plate")
    parts = [{**one, "id": "plate"} for one in case["change"]["parts"]]
    base = merged(BASE, FILES["receiver_near_metal"].get("base", {}))
    document = merged(base, {**case["change"], "parts": parts})
    near = check(load_document(json.dumps(document)), rules=["receiver_near_metal"])
    assert [(f.subjects, f.value) for f in near] == [(("plate",), 10)]
    assert "from the aerial to the plate;" in near[0].message


def test_what_is_said_of_the_plate_is_not_said_of_a_part_of_that_name() -> None:
    document = samples.two_module_board()
    document["parts"][0]["id"] = "plate"
    document["plate"]["material"] = "steel"
    (found,) = check(load_document(document), rules=["conductive_plate"])
    assert (found.subjects, found.parts, found.of_plate) == (("plate",), (), 1)

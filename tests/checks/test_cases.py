"""Cases as data: for every rule, documents that pass and documents that fail it.

cases/<rule>.json holds a `base` and, in each case, a `change`; both are JSON merge patches
(RFC 7396) on base.json. A failing case names the finding that must come, worked out by hand in
its "why"; a passing case must bring no finding of the rule about its `subjects`.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from layout_engine import check, load_document
from layout_engine.checks.rules import PLACEMENT, RULES
from layout_engine.sizing.routed import sized_routes

HERE = Path(__file__).parent
BASE = json.loads((HERE / "base.json").read_text(encoding="utf-8"))
FILES = {
    path.stem: json.loads(path.read_text(encoding="utf-8"))
    for path in sorted((HERE / "cases").glob("*.json"))
}
CASES = [
    pytest.param(rule, kind, case, id=f"{rule} {kind}: {case['name']}")
    for rule, file in FILES.items()
    for kind in ("passes", "fails")
    for case in file[kind]
]


def merged(target: object, patch: object) -> object:
    """RFC 7396: objects merge key by key, null removes, everything else replaces."""
    if not isinstance(patch, dict):
        return patch
    result = dict(target) if isinstance(target, dict) else {}
    for key, value in patch.items():
        if value is None:
            result.pop(key, None)
        else:
            result[key] = merged(result.get(key), value)
    return result


@pytest.mark.parametrize(("rule", "kind", "case"), CASES)
def test_case(rule: str, kind: str, case: dict[str, Any]) -> None:
    document = merged(merged(BASE, FILES[rule].get("base", {})), case.get("change", {}))
    assert isinstance(document, dict)
    found = [f for f in check(load_document(document)) if f.rule == rule]
    if kind == "passes":
        assert found == []
        return
    expected = case["finding"]
    (finding,) = [f for f in found if set(f.subjects) == set(expected["subjects"])]
    assert finding.severity == expected["severity"]
    if "value" in expected:
        assert finding.value == pytest.approx(expected["value"], abs=expected.get("within", 0.01))
        assert finding.limit == pytest.approx(expected["limit"], abs=0.01)
    assert len(found) == case.get("findings", 1)
    if rule in PLACEMENT and all(_is_measured(kind) for kind in document["types"].values()):
        assert not any(f.rests_on_guess for f in found)


def _is_measured(kind: dict[str, Any]) -> bool:
    return kind.get("basis", {}).get("footprint", "guess") != "guess"


def test_every_rule_has_its_cases() -> None:
    assert set(FILES) == set(RULES)


@pytest.mark.parametrize("rule", FILES)
def test_three_pass_and_three_fail_each_with_its_reason(rule: str) -> None:
    for kind in ("passes", "fails"):
        assert len(FILES[rule][kind]) >= 3
        assert all(len(case["why"]) > 20 for case in FILES[rule][kind])


def failing(rule: str, name: str) -> dict[str, Any]:
    case = next(c for c in FILES[rule]["fails"] if c["name"] == name)
    document = merged(merged(BASE, FILES[rule].get("base", {})), case["change"])
    assert isinstance(document, dict)
    return document


def test_one_guessed_outline_of_two_makes_a_finding_rest_on_a_guess() -> None:
    document = failing("overlap", "the larger clearance holds")
    (sure,) = check(load_document(document), rules=["overlap"])
    document["types"]["wide"]["basis"] = {"footprint": "guess"}
    (guessed,) = check(load_document(document), rules=["overlap"])
    assert (sure.rests_on_guess, guessed.rests_on_guess) == (False, True)


@pytest.mark.parametrize(("by", "source"), [("hand", "MIL-STD-1472"), ("tool", "no source")])
def test_room_for_a_hand_is_published_and_room_for_a_tool_is_practice(by: str, source: str
                                                                      ) -> None:
    document = failing("no_reach", "a face turned away")
    document["types"]["slab"]["reach"]["by"] = by
    (finding,) = check(load_document(document), rules=["no_reach"])
    assert source in finding.source


def test_a_contact_that_a_fuse_is_too_large_for_is_told_as_its_module() -> None:
    document = failing("fuse_over_wire", "15 A before a contact for 10")
    (finding,) = check(load_document(document), rules=["fuse_over_wire"])
    assert (finding.parts, finding.wires) == (("fh", "lamp"), ("w2",))


def test_who_leads_a_wire_is_told_to_lead_it_elsewhere_and_others_to_make_room() -> None:
    document = failing("wire_hole_tight", "under 2 diameters")
    routes = sized_routes(load_document(document))
    document["connections"][0] |= {"pinned": False, "via": []}  # as if it had come there itself
    led, free = (check(job, rules=["wire_hole_tight"], routes=routes.of(job))[0].remedy
                 for job in (routes.routing.job, load_document(document)))
    assert led.startswith("Lead the wire through at another place")
    assert free.startswith("Move a module")


@pytest.mark.parametrize("step", [1, -1], ids=["as found", "the other way round"])
def test_a_warning_is_accepted_whatever_the_order_of_its_subjects(step: int) -> None:
    """A screw head of one face under a part of the other: it goes on first, and that is meant."""
    file = FILES["hole_under_part"]
    case = next(c for c in file["fails"] if c["finding"]["severity"] == "warn")
    subjects = case["finding"]["subjects"][::step]
    document = merged(merged(BASE, file["base"]), case["change"])
    assert isinstance(document, dict)
    document["accepted"] = [{"rule": "hole_under_part", "subjects": subjects, "reason": "meant"}]
    (finding,) = check(load_document(document), rules=["hole_under_part"])
    assert finding.accepted == "meant"

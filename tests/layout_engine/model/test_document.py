"""The document is read whole, refused with every fault, and written back the same."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from typing import Any

import pytest

from layout_engine import DocumentError, check, document_bytes, dump_document, load_document

Document = dict[str, Any]


def small() -> Document:
    """A job with one placed module."""
    return {
        "format": "platewright/1",
        "name": "Rolling lighthouse",
        "body": {
            "shape": "round", "diameter": 300, "height": 400,
            "opening": {"in": "top", "shape": "round", "diameter": 280}, "reach_from": "top",
        },
        "plate": {
            "outline": [[0, 0], [200, 0], [200, 150], [0, 150]],
            "thickness": 4, "material": "acrylic", "stands": "upright", "base": 50,
        },
        "types": {
            "relay": {
                "name": "Relay", "kind": "relay", "height": 20,
                "outline": [[0, 0], [40, 0], [40, 30], [0, 30]],
                "terminals": [
                    {"id": "a", "x": 1, "y": 1, "leaves": 0, "role": "positive"},
                    {"id": "b", "x": 1, "y": 9, "leaves": 0, "role": "negative"},
                ],
                "paths": [{"from": "a", "to": "b", "fuse": {"form": "blade", "max_amps": 30}}],
            },
            "driver": {
                "name": "Driver", "kind": "motor_driver", "height": 20,
                "outline": [[0, 0], [40, 0], [40, 30], [0, 30]],
                "terminals": [
                    {"id": t, "x": 1, "y": 1, "leaves": 0, "role": "motor"} for t in "pmxy"
                ],
                "drives": [{"plus": "p", "minus": "m", "outs": ["x", "y"]}],
            },
        },
        "parts": [
            {"id": "r1", "type": "relay",
             "placement": {"face": "front", "x": 20.5, "y": 20, "turn": 90}},
            {"id": "d1", "type": "driver"},
        ],
        "connections": [{"id": "w1", "from": "r1.b", "to": "d1.p"}],
    }


def test_what_was_set_is_written_back_and_nothing_else() -> None:
    assert dump_document(load_document(small())) == small()


def test_same_job_same_bytes_from_dict_text_and_bytes() -> None:
    text = json.dumps(small())
    first = document_bytes(load_document(small()))
    assert first == document_bytes(load_document(text))
    assert first == document_bytes(load_document(text.encode()))
    assert document_bytes(load_document(first)) == first


def test_names_are_normalised_to_composed_form() -> None:
    document = small()
    document["name"] = "Cafe\u0301 wagon"
    assert load_document(document).name == "Caf\u00e9 wagon"


def _set(*keys: str | int, to: Any) -> Callable[[Document], None]:
    def change(document: Document) -> None:
        here: Any = document
        for key in keys[:-1]:
            here = here[key]
        here[keys[-1]] = to

    return change


BOW_TIE = [[0, 0], [100, 100], [100, 0], [0, 100]]
CASES: list[tuple[Callable[[Document], None], str]] = [
    (_set("format", to="platewright/2"), "$.format"),
    (_set("name", to=""), "$.name"),
    (_set("name", to="x" * 201), "$.name"),
    (_set("name", to="two\nlines"), "$.name"),
    (_set("name", to="\ud800"), "$.name"),
    (_set("name", to="\u202e reversed"), "$.name"),
    (_set("notes", to="x" * 10_001), "$.notes"),
    (_set("colour", to="red"), "$.colour"),
    (_set("body", "diameter", to=0), "$.body.diameter"),
    (_set("body", "diameter", to=float("nan")), "$.body.diameter"),
    (_set("body", "diameter", to=float("inf")), "$.body.diameter"),
    (_set("body", "diameter", to=True), "$.body.diameter"),
    (_set("body", "diameter", to="300"), "$.body.diameter"),
    (_set("body", "diameter", to=5001), "$.body.diameter"),
    (_set("body", "width", to=300), "$.body.width"),
    (_set("body", "shape", to="sphere"), "$.body.shape"),
    (_set("body", "opening", "shape", to=None), "$.body.opening.shape"),
    (_set("body", to="round"), "$.body"),
    (_set("body", "opening", "diameter", to=301), "$.body.opening"),
    (_set("body", "obstructions", to=[{"x": [5, 1], "y": [0, 1], "z": [0, 1]}]),
     "$.body.obstructions[0].x"),
    (_set("plate", "outline", to=BOW_TIE), "$.plate.outline"),
    (_set("plate", "outline", to=[[0, 0], [100, 0], [200, 0]]), "$.plate.outline"),
    (_set("plate", "outline", to=[[0, 0], [0.5, 0], [0, 0.5]]), "$.plate.outline"),
    (_set("plate", "outline", to=[[0, 0], [100, 0]]), "$.plate.outline"),
    (_set("plate", "outline", to=[[0, 0], [90, 0], [90, 90], [0, 0]]), "$.plate.outline"),
    (_set("plate", "outline", to=[[5, 0], [90, 0], [90, 90]]), "$.plate.outline"),
    (_set("plate", "holes", to=[[[150, 100], [250, 100], [250, 120]]]), "$.plate.holes[0]"),
    (_set("plate", "mounts", to=[{"id": "m", "x": 1, "y": 1, "diameter": 3}] * 2),
     "$.plate.mounts[1].id"),
    (_set("types", "Relay", to={}), "$.types.Relay"),
    (_set("types", "relay", "kind", to="gadget"), "$.types.relay.kind"),
    (_set("types", "relay", "terminals", 1, "id", to="a"), "$.types.relay.terminals[1].id"),
    (_set("types", "relay", "paths", 0, "to", to="c"), "$.types.relay.paths[0].to"),
    (_set("types", "relay", "shields", to=[{"outline": [*BOW_TIE[:2], [0, 50]],
                                            "height": [0, 21]}]),
     "$.types.relay.shields[0].height"),
    (_set("types", "driver", "drives", 0, "outs", to=["x"]), "$.types.driver.drives[0].outs"),
    (_set("types", "relay", "battery", to={"plus": "a", "minus": "b", "full_volts": 60.1}),
     "$.types.relay.battery.full_volts"),
    (_set("types", "relay", "converters", to=[{"plus": "a", "minus": "b", "out_plus": "a",
                                               "out_minus": "b", "out_volts": 230}]),
     "$.types.relay.converters[0].out_volts"),
    (_set("parts", 0, "type", to="none"), "$.parts[0].type"),
    (_set("parts", 1, "id", to="r1"), "$.parts[1].id"),
    (_set("parts", 0, "placement", "turn", to=361), "$.parts[0].placement.turn"),
    (_set("parts", 0, "placement", "face", to="side"), "$.parts[0].placement.face"),
    (_set("parts", 0, "away", to={"exit": "top"}), "$.parts[0].away"),
    (_set("parts", 0, "unused", to=["q"]), "$.parts[0].unused[0]"),
    (_set("parts", 0, "fuses", to={"a": 5}), "$.parts[0].fuses.a"),
    (_set("parts", 0, "wishes", to=[{"rule": "near", "part": "r1", "within": 5}]),
     "$.parts[0].wishes[0].part"),
    (_set("parts", 0, "wishes", to=[{"rule": "near_edge", "edge": "top"}]),
     "$.parts[0].wishes[0].within"),
    (_set("parts", 0, "away", to={}), "$.parts[0].away"),
    (_set("parts", 0, "wishes", to=[5]), "$.parts[0].wishes[0]"),
    (_set("parts", 0, "wishes", to=["face"]), "$.parts[0].wishes[0]"),
    (_set("parts", 0, "wishes", to=[{"rule": "far"}]), "$.parts[0].wishes[0].rule"),
    (_set("parts", 0, "wishes", to=[{"must": True}]), "$.parts[0].wishes[0].rule"),
    (_set("parts", 0, "wishes", to=[{"rule": "face"}]), "$.parts[0].wishes[0].face"),
    (_set("parts", 0, "wishes", to=[{"rule": "face", "face": "front", "within": 5}]),
     "$.parts[0].wishes[0].within"),
    (_set("types", "relay", "through", to=[{"x": 1, "y": 1}]),
     "$.types.relay.through[0].diameter"),
    (_set("types", "relay", "motor", to={"terminals": ["a"]}), "$.types.relay.motor.terminals"),
    (_set("connections", 0, "to", to="d1.q"), "$.connections[0].to"),
    (_set("connections", 0, "to", to="r1.b"), "$.connections[0].to"),
    (_set("connections", 0, "wire", to={"size": "thick"}), "$.connections[0].wire.size"),
    (_set("cases", to=[{"id": "idle"}]), "$.cases[0].id"),
    (_set("cases", to=[{"id": "a", "share": 0.6}, {"id": "b", "share": 0.6}]), "$.cases"),
    (_set("cases", to=[{"id": "a", "share": 10**400}]), "$.cases[0].share"),
    (_set("cases", to=[{"id": "a", "amps": {"d1": 1}}]), "$.cases[0].amps.d1"),
    (_set("assumptions", to={"ambient": -273.16}), "$.assumptions.ambient"),
    (_set("assumptions", to={"inside_air": -400}), "$.assumptions.inside_air"),
    (_set("types", "relay", "terminals", 0, "max_temp", to=-274),
     "$.types.relay.terminals[0].max_temp"),
    (_set("groups", to=[["r1", "r9"]]), "$.groups[0][1]"),
]


@pytest.mark.parametrize(("change", "path"), CASES, ids=[f"{p}-{i}" for i, (_, p) in
                                                         enumerate(CASES)])
def test_a_wrong_value_is_named_with_its_path(change: Callable[[Document], None], path: str
                                              ) -> None:
    document = small()
    change(document)
    before = copy.deepcopy(document) if path != "$.body.diameter" else None
    with pytest.raises(DocumentError) as refused:
        load_document(document)
    faults = refused.value.errors
    assert any(fault.path == path or fault.path.startswith(path + "[") for fault in faults), faults
    assert all(fault.allowed for fault in faults)
    json.dumps([fault.value for fault in faults], allow_nan=False).encode("utf-8")
    assert before is None or document == before


def test_every_fault_is_told_at_once() -> None:
    document = small()
    document["body"]["opening"]["diameter"] = 301
    document["body"]["obstructions"] = [{"x": [5, 1], "y": [0, 1], "z": [0, 1]}]
    document["plate"]["thickness"] = -1
    document["parts"][0]["type"] = "none"
    document["parts"][1]["placement"] = {"x": float("nan"), "y": 1}
    document["connections"].append({"id": "w1", "from": "x.y", "to": "r1"})
    with pytest.raises(DocumentError) as refused:
        load_document(document)
    assert {fault.path for fault in refused.value.errors} == {
        "$.body.opening", "$.body.obstructions[0].x", "$.plate.thickness", "$.parts[0].type",
        "$.parts[1].placement.x", "$.connections[1].id", "$.connections[1].from",
        "$.connections[1].to",
    }


@pytest.mark.parametrize(
    ("text", "malformed"),
    [
        (b"", True),
        (b"{", True),
        (b'{"name": "x"', True),
        (b"\xff\xfe", True),
        (b'"text"', False),
        (b"[" * 100_000 + b"]" * 100_000, False),
        (b"[" * 100_000, False),
        (b'{"a":' * 50 + b"1" + b"}" * 50, False),
        (b'{"name": NaN}', False),
        (b'{"name": 1e999}', False),
        (b'{"name": ' + b"9" * 5000 + b"}", False),
        (b'{"name": "\\ud800"}', False),
        (b" " * (10 * 1024 * 1024 + 1), False),
    ],
)
def test_hostile_bytes_are_refused_in_words(text: bytes, malformed: bool) -> None:
    with pytest.raises(DocumentError) as refused:
        load_document(text)
    assert refused.value.malformed is malformed
    json.dumps([f.value for f in refused.value.errors], allow_nan=False).encode("utf-8")


def test_deep_python_values_are_refused_too() -> None:
    deep: Any = 1
    for _ in range(2000):
        deep = [deep]
    with pytest.raises(DocumentError, match="levels of nesting"):
        load_document({"format": deep})


@pytest.mark.parametrize(("count", "fits"), [(300, True), (301, False)])
def test_the_number_of_parts_is_limited(count: int, fits: bool) -> None:
    document = small()
    document["connections"] = []
    document["parts"] = [{"id": f"p{i}", "type": "relay"} for i in range(count)]
    if fits:
        assert len(load_document(document).parts) == 300
    else:
        with pytest.raises(DocumentError, match="at most 300"):
            load_document(document)


def test_a_job_cannot_be_changed_in_place() -> None:
    job = load_document(small())
    with pytest.raises(ValueError, match="frozen"):
        job.name = "other"  # type: ignore[misc]


def test_of_nested_objects_only_what_the_contract_requires_must_be_there() -> None:
    """Contract, "Required": in a nested object `id`, `x`, `y`, `z` ... and no others."""
    document = small()
    document["types"]["relay"] |= {
        "fixing": "tie", "slots": [{"x": 1, "y": 2}], "antenna": {"x": 1, "y": 2, "z": 3},
        "motor": {}, "heat": {}, "reach": {}, "amplifier": {}, "basis": {},
        "service": [{"x": 1, "y": 2, "z": 3}], "fixings": [{"x": 1, "y": 2}],
        "battery": {"plus": "a", "minus": "b"}, "loads": [{"plus": "a", "minus": "b"}],
    }
    document |= {"machine": {}, "assumptions": {}, "cases": [{"id": "rest"}], "record": [{}],
                 "accepted": [{"rule": "switch_low"}]}
    kind = load_document(document).types["relay"]
    assert kind.slots[0].width == kind.slots[0].length == 0
    assert kind.antenna is not None
    assert kind.antenna.band_mhz == 0
    assert kind.motor is not None
    assert kind.motor.terminals == ()
    check(load_document(document))


@pytest.mark.parametrize("place", [
    ("assumptions",), ("types", "relay", "basis"), ("types", "relay", "heat", "watts"),
    ("assumptions", "drop_percent"), ("assumptions", "colours"), ("parts", 0, "fuses"),
    ("cases", 0, "amps"), ("machine",), ("types", "relay", "antenna"), ("connections", 0, "wire"),
])
def test_null_stands_for_an_object_of_which_nothing_is_said(place: tuple[str | int, ...]) -> None:
    """Contract, "Optional": the default of objects is null."""
    said, left_out = small(), small()
    for document in (said, left_out):
        document["assumptions"], document["cases"] = {}, [{"id": "rest"}]
        document["types"]["relay"]["heat"] = {}
    _set(*place, to=None)(said)
    assert load_document(said) == load_document(left_out)
    written = document_bytes(load_document(said))
    assert document_bytes(load_document(written)) == written


@pytest.mark.parametrize("place", [
    ("types", "relay", "heat", "sink"), ("types", "relay", "loads", 0, "volts"),
    ("body", "opening", "at"),
])
def test_an_empty_list_stands_for_what_is_not_known(place: tuple[str | int, ...]) -> None:
    """Contract, "Optional": the default of lists is []."""
    said, left_out = small(), small()
    for document in (said, left_out):
        document["types"]["relay"]["heat"] = {}
        document["types"]["relay"]["loads"] = [{"plus": "a", "minus": "b"}]
        document["body"]["opening"].pop("at", None)
    _set(*place, to=[])(said)
    assert load_document(said) == load_document(left_out)
    written = document_bytes(load_document(said))
    assert document_bytes(load_document(written)) == written


def test_a_key_that_stands_twice_is_a_fault_with_its_place() -> None:
    """RFC 8259, section 4: what software does with names that are not unique is unpredictable."""
    text = json.dumps(small())
    inner = text.replace('"thickness":', '"thickness": 8, "thickness":', 1)
    with pytest.raises(DocumentError) as raised:
        load_document('{"name": "first", ' + inner[1:])
    assert {f.path for f in raised.value.errors} == {"$.name", "$.plate.thickness"}
    assert {f.allowed for f in raised.value.errors} == {"a key that stands once"}
    assert not raised.value.malformed


def test_a_fuse_of_which_nothing_is_said_is_a_fuse() -> None:
    document = small()
    document["types"]["relay"]["paths"][0]["fuse"] = {}
    document["parts"][0]["fuses"] = {"b": 5}
    assert load_document(document).parts[0].fuses == {"b": 5}


@pytest.mark.parametrize(("size", "fits"), [
    ("1.5 mm2", True), ("0.5 mm2", True), ("16 AWG", True), ("0 AWG", True), ("00 AWG", False),
    ("1_5 mm2", False), ("\uff11.5 mm2", False), ("1.5mm2", False), ("0 mm2", False),
    ("nan mm2", False), ("1e400 mm2", False), ("16.5 AWG", False), ("41 AWG", False),
    ("1.5 mm2\n", False),
])
def test_a_wire_size_is_written_in_one_way(size: str, fits: bool) -> None:
    document = small()
    document["connections"][0]["wire"] = {"size": size}
    if fits:
        assert load_document(document).connections[0].wire is not None
    else:
        with pytest.raises(DocumentError, match=r"wire\.size"):
            load_document(document)


@pytest.mark.parametrize("number", [
    1e15, 1e16, 1.7976931348623157e308, 123456789012345, pytest.param(10**308, id="309 digits"),
])
def test_a_number_however_large_is_read_again_as_it_was_written(number: float) -> None:
    document = small()
    document["types"]["relay"]["terminals"][0]["max_temp"] = number
    written = document_bytes(load_document(document))
    again = load_document(written)
    assert again.types["relay"].terminals[0].max_temp == float(number)
    assert document_bytes(again) == written

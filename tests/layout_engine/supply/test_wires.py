"""A connection as a conductor: where its length, its size and its ohms come from."""

from __future__ import annotations

from typing import Any

import pytest

from layout_engine import Job, load_document
from layout_engine.supply.wires import wire_facts
from layout_engine.tables.conductors import wire_size
from tests.layout_engine.supply.circuits import battery, circuit, load

Json = dict[str, Any]
HOT_70 = 1 + 0.00393 * (70 - 20)  # 50 C inside and 20 K over it


def board(**wire: Any) -> Json:
    """A pack elsewhere (lead 300, leaves at 100, 0) and a lamp at 200, 100; terminals at 5, 5."""
    document = circuit({"pack": battery(12, 0.1), "lamp": load(1)},
                       ["pack.plus lamp.plus", "pack.minus lamp.minus"])  # fmt: skip
    document["parts"][0]["away"] = {"exit": [100, 0], "lead": 300}
    document["parts"][1]["placement"] = {"x": 200, "y": 100}
    for connection in document["connections"]:
        del connection["length"], connection["wire"]
    document["connections"][0] |= wire
    return document


def job(**wire: Any) -> Job:
    return load_document(board(**wire))


def test_length_runs_along_the_plate_and_through_the_lead() -> None:
    """|205 - 100| + |105 - 0| on the plate, 300 beyond it."""
    facts = wire_facts(job())["w1"]
    assert facts.length == pytest.approx(105 + 105 + 300)
    assert facts.length_from == "placed"


def test_a_given_length_comes_first_then_a_routed_one() -> None:
    assert wire_facts(job(length=800), lengths={"w1": 650.0})["w1"].length == 800
    routed = wire_facts(job(), lengths={"w1": 650.0})
    assert routed["w1"].length == 650
    assert routed["w2"].length == pytest.approx(510)


def test_wires_of_one_lead_have_its_length() -> None:
    document = board(length=800, cable="lead")
    document["connections"][1]["cable"] = "lead"
    facts = wire_facts(load_document(document))
    assert facts["w2"].length == 800
    assert facts["w2"].length_from == "lead"


def test_an_end_without_a_place_is_said_to_be_guessed() -> None:
    document = board()
    document["parts"][1]["placement"] = None
    facts = wire_facts(load_document(document))["w1"]
    assert facts.length_from == "assumed"
    assert facts.length == (400 + 300) / 2 + 300
    assert any(given.is_guess for given in facts.working().given)


@pytest.mark.parametrize(
    ("size", "ohms_per_km"),
    [
        pytest.param("1.5 mm2", 13.3, id="1.5 mm2, IEC 60228 class 5"),
        pytest.param("2.5 mm2", 7.98, id="2.5 mm2, IEC 60228 class 5"),
        pytest.param("14 AWG", 8.2841, id="14 AWG, NBS Handbook 100"),
        pytest.param("22 AWG", 52.9528, id="22 AWG, NBS Handbook 100"),
    ],
)
def test_resistance_when_hot(size: str, ohms_per_km: float) -> None:
    facts = wire_facts(job(length=1000, wire={"size": size}))["w1"]
    assert facts.copper == pytest.approx(ohms_per_km / 1000 * HOT_70, rel=3e-4)
    assert facts.chosen
    assert facts.working().result == facts.ohms == facts.copper + facts.contacts


def test_a_thin_insulation_limit_caps_the_temperature() -> None:
    document = board(length=1000, wire={"size": "1.5 mm2", "insulation": "pvc70"})
    document["assumptions"] = {"inside_air": 60}
    facts = wire_facts(load_document(document))["w1"]
    assert facts.temperature == 70, "60 C and 20 K would be over the insulation's 70 C"


def test_contacts_by_joint_and_a_plug_in_the_lead() -> None:
    plain = wire_facts(job())["w1"]
    assert plain.contacts == pytest.approx(2e-4), "two soldered ends"
    assert wire_facts(job(unplug=True))["w1"].contacts == pytest.approx(1.2e-3)


def test_sizes_chosen_for_the_wire_but_never_over_the_persons() -> None:
    chosen = {"w1": wire_size("10 AWG"), "w2": wire_size("10 AWG")}
    facts = wire_facts(job(wire={"size": "16 AWG", "fixed": True}), chosen)
    assert facts["w1"].size.name == "16 AWG"
    assert facts["w1"].fixed
    assert facts["w2"].size.name == "10 AWG"


def test_a_first_size_fits_its_terminals() -> None:
    document = board()
    for kind in document["types"].values():
        for terminal in kind["terminals"]:
            terminal |= {"min_mm2": 4, "max_mm2": 6}
    for system, name in (("mm2", "4 mm2"), ("awg", "10 AWG")):
        document["assumptions"] = {"sizes": system}
        facts = wire_facts(load_document(document))["w1"]
        assert facts.size.name == name
        assert not facts.chosen
        assert any(given.is_guess for given in facts.working().given)

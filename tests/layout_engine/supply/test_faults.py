"""What breaks: a return opened, a fuse blown, a wire shorted."""

from __future__ import annotations

import json
from math import inf

import pytest

from layout_engine import Job, load_document
from layout_engine.supply.lost_return import stray_returns
from layout_engine.supply.network import Change
from layout_engine.supply.shorts import short_circuits
from layout_engine.supply.state import SupplyError
from layout_engine.supply.study import Study
from layout_engine.supply.what_if import what_if
from tests.layout_engine.supply.circuits import battery, job, load, part_type
from webapp.resources import folder

LIGHTHOUSE = load_document(
    (folder("seed_data") / "demos" / "rolling_lighthouse.json").read_bytes()
)


def fused(rating: float = 10) -> Job:
    fuse = part_type("fuse_holder", {"a": "positive", "b": "positive"},
                     paths=[{"from": "a", "to": "b", "ohms": 0.002, "fuse": {"form": "blade"}}])
    board = job(
        {"pack": battery(12, 0.02), "fuse": fuse, "lamp": load(2, (8, 15)),
         "other": load(1, (8, 15))},
        ["pack.plus fuse.a", "fuse.b lamp.plus", "pack.minus lamp.minus", "pack.plus other.plus",
         "pack.minus other.minus"],
    )  # fmt: skip
    document = board.model_dump(by_alias=True, exclude_unset=True, mode="json")
    document["parts"][1]["fuses"] = {"b": rating}
    return load_document(json.loads(json.dumps(document)))


def test_opening_is_solved_as_if_the_wire_were_not_there() -> None:
    """Each opened return of the demo: the quick way against a network built anew without it."""
    study = Study(LIGHTHOUSE)
    strays = stray_returns(study)
    assert strays
    for stray in strays:
        without = Study(LIGHTHOUSE, cases=("peak",), packs=("nominal",),
                        change=Change(opened=frozenset({stray.opened})))  # fmt: skip
        assert stray.amps == pytest.approx(abs(without.amps(stray.victim, "peak")), rel=1e-6)
        assert stray.before == pytest.approx(abs(study.amps(stray.victim, "peak")), rel=1e-9)


def test_the_way_of_a_stray_current_is_named() -> None:
    stray = next(s for s in stray_returns(Study(LIGHTHOUSE)) if s.victim == "w36")
    assert stray.way[0] == "drive"
    assert stray.way[-1] == "zero"
    assert "control" in stray.way


def test_a_blown_fuse_leaves_what_hangs_behind_it_dead() -> None:
    outcome = what_if(fused(), opened=("fuse.a>b",))
    assert outcome.dead == ("lamp",)
    assert "Dead: lamp." in outcome.words
    assert outcome.sources["pack"] == pytest.approx(1, rel=1e-6)
    assert outcome.fuses == ()


def test_a_lost_return_lifts_the_module_to_the_supply() -> None:
    outcome = what_if(fused(), opened=("w3",))
    assert outcome.dead == ("lamp",)
    assert outcome.alive["lamp.minus"] == pytest.approx(12, abs=0.05)


def test_a_short_behind_a_fuse_blows_it_in_the_time_of_its_standard() -> None:
    """12 V over 20 + 2 mohm, contacts and 0.1 mohm of short: over 6 times 10 A: 0.15 s at most."""
    outcome = what_if(fused(), shorted=(("lamp.plus", "lamp.minus"),))
    (cleared,) = outcome.fuses
    assert cleared.branch == "fuse.a>b"
    assert cleared.amps == pytest.approx(12 / (0.0221 + 3 * 2e-4), rel=0.01)
    assert cleared.most == 0.15
    assert "lamp" in outcome.dead


def test_a_large_fuse_behind_a_weak_pack_need_not_open() -> None:
    """12 V over 1 ohm is 12 A at most: 1.2 times a 10 A fuse, which stands 1.1 and may stand it."""
    board = fused()
    document = board.model_dump(by_alias=True, exclude_unset=True, mode="json")
    document["types"]["pack"]["battery"]["ohms"] = 1.0
    weak = load_document(json.loads(json.dumps(document)))
    (cleared,) = what_if(weak, shorted=(("lamp.plus", "lamp.minus"),)).fuses
    assert cleared.most == inf


def test_nothing_broken_changes_nothing() -> None:
    outcome = what_if(fused())
    assert outcome.dead == ()
    assert outcome.moved == {}
    assert outcome.alive == {}


@pytest.mark.parametrize("opened", [("w99",), ("fuse.b>a",)])
def test_what_is_not_there_cannot_be_opened(opened: tuple[str, ...]) -> None:
    with pytest.raises(SupplyError, match="no wire or path"):
        what_if(fused(), opened=opened)


def test_an_unknown_case_is_refused() -> None:
    with pytest.raises(SupplyError, match="There is no case 'asleep'"):
        what_if(fused(), case="asleep")


def test_what_is_not_there_cannot_be_shorted() -> None:
    with pytest.raises(SupplyError, match=r"no terminal 'lamp\.x'"):
        what_if(fused(), shorted=(("lamp.x", "lamp.plus"),))


def test_a_dead_short_draws_volts_over_the_loop() -> None:
    """14.4 V behind 20 mohm of pack, 2 of the fuse, 0.1 of the short and three soldered wires."""
    board = fused()
    document = board.model_dump(by_alias=True, exclude_unset=True, mode="json")
    document["types"]["pack"]["battery"]["full_volts"] = 14.4
    study = Study(load_document(json.loads(json.dumps(document))))
    (lamp,) = [n for n, e in enumerate(study.network.elements.items) if e.part == "lamp"]
    shorts = short_circuits(study, [lamp])
    assert shorts.amps[0] == pytest.approx(14.4 / (0.020 + 0.002 + 1e-4 + 3 * 2e-4), rel=1e-9)
    fuse = study.conductor_row["fuse.a>b"]
    assert shorts.conductors[0, fuse] == pytest.approx(shorts.amps[0], rel=1e-9)
    assert shorts.conductors[0, study.conductor_row["w4"]] == pytest.approx(0, abs=1e-9)


def test_quick_shorts_agree_with_the_whole_solution() -> None:
    """Against the network solved anew with a short in it; its loads change little of it."""
    study = Study(LIGHTHOUSE, packs=("nominal",))
    items = study.network.elements.items
    chosen = [n for n, e in enumerate(items)
              if e.part in ("amp", "drive", "lamp", "meter") and e.kind in ("load", "drive")]
    shorts = short_circuits(study, chosen, "nominal")
    for n, amps in zip(chosen, shorts.amps, strict=True):
        names = study.network.names[items[n].plus], study.network.names[items[n].minus]
        broken = Study(LIGHTHOUSE, cases=("idle",), packs=("nominal",),
                       change=Change(shorted=(names,)))  # fmt: skip
        whole = abs(float(broken.conductor_amps[0, -1]))
        assert amps == pytest.approx(whole, rel=0.01), names


def test_every_wire_of_a_demo_can_be_lost() -> None:
    """No opened wire ends in an error, and the balance holds in each."""
    for wire in LIGHTHOUSE.connections:
        broken = Study(LIGHTHOUSE, cases=("typical",), packs=("nominal",),
                       change=Change(opened=frozenset({wire.id})))  # fmt: skip
        state = broken.state("typical")
        assert state.battery_power == pytest.approx(state.wasted + state.used, rel=1e-6)

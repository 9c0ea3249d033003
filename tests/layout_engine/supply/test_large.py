"""Boards with very much on them: what is still solved, what is declined in a sentence."""

from __future__ import annotations

import pytest

from layout_engine import Job, check, load_document, solve_supply
from layout_engine.checks.rules import SUPPLY
from layout_engine.supply.cases import MOST_STALLS, case_ids
from layout_engine.supply.state import SupplyError
from layout_engine.supply.study import MOST_ELEMENTS, Study
from tests.layout_engine.supply.circuits import BASE, battery, load, part_type


def crowd(count: int, drives: bool = False) -> Job:
    """A pack with `count` motors on drivers, or lamps, each on wires of its own."""
    motor = {"terminals": ["a", "b"], "volts": 12, "stall_amps": 4, "free_amps": 0.1}
    bridge = {"plus": "p", "minus": "m", "outs": ["a", "b"], "continuous": 5}
    types = {
        "pack": battery(12, 0.005), "lamp": load(0.02, (8, 15)),
        "drive": part_type("motor_driver", {"p": "positive", "m": "negative", "a": "motor",
                                            "b": "motor"}, drives=[bridge]),
        "motor": part_type("motor", {"a": "motor", "b": "motor"}, motor=motor),
    }  # fmt: skip
    for terminal in types["pack"]["terminals"]:
        terminal["max_wires"] = 100
    parts, wires = [{"id": "pack", "type": "pack"}], []
    for n in range(count):
        name, plus, minus = (f"d{n}", "p", "m") if drives else (f"l{n}", "plus", "minus")
        parts.append({"id": name, "type": "drive" if drives else "lamp"})
        wires += [(f"pack.plus {name}.{plus}"), (f"pack.minus {name}.{minus}")]
        if drives:
            parts.append({"id": f"m{n}", "type": "motor"})
            wires += [f"{name}.a m{n}.a", f"{name}.b m{n}.b"]
    connections = [
        {"id": f"w{n}", "from": wire.split()[0], "to": wire.split()[1], "length": 50,
         "wire": {"size": "10 mm2"}}
        for n, wire in enumerate(wires)
    ]  # fmt: skip
    return load_document({**BASE, "types": types, "parts": parts, "connections": connections})


def test_many_motors_are_held_fast_all_together_only() -> None:
    job = crowd(MOST_STALLS + 1, drives=True)
    assert "stall.m0" in case_ids(job)
    study = Study(job)
    assert study.failed == ()
    assert ("stall.m0", "full") not in study.row
    assert ("stall_all", "full") in study.row
    assert solve_supply(job, "stall.m0").branch("m0.a>b").amps > 3


def test_two_hundred_lamps_are_solved() -> None:
    state = solve_supply(crowd(200), "typical")
    assert -state.branch("pack.plus>minus").amps == pytest.approx(4, rel=1e-6)
    assert state.residual < 1e-9


def test_what_no_board_is_is_declined_in_a_sentence() -> None:
    lamp = load(0.01)
    lamp["loads"] = lamp["loads"] * 100
    lamps = [f"lamp{n}" for n in range(MOST_ELEMENTS // 100 + 1)]
    job = load_document({
        **BASE, "types": {"pack": battery(12, 0.1), "lamp": lamp},
        "parts": [{"id": "pack", "type": "pack"}, *({"id": n, "type": "lamp"} for n in lamps)],
        "connections": [{"id": n, "from": "pack.plus", "to": f"{n}.plus"} for n in lamps],
    })
    with pytest.raises(SupplyError, match="are solved"):
        solve_supply(job, "typical")
    assert {f.rule for f in check(job) if f.rule in SUPPLY} <= {"not_connected", "no_unplug"}

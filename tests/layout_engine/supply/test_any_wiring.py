"""Any wiring of any modules of the shelf: an answer, never a traceback, and Kirchhoff holds.

Wires join terminals by chance: shorts, reversed batteries, floating islands, loops of converters.
"""

from __future__ import annotations

import json
from contextlib import suppress
from random import Random
from typing import Any

import pytest

from layout_engine import DocumentError, check, load_document, solve_supply
from layout_engine.supply.state import Declined, SupplyError
from layout_engine.supply.study import Study
from tests.layout_engine.supply.circuits import BASE
from webapp.resources import folder
from webapp.seed import read_shelf

SHELF = read_shelf(folder("seed_data"))


def tangled(seed: int) -> dict[str, Any]:
    """A job of 3 to 14 modules of the shelf, wired by chance; figures by chance as well."""
    rng = Random(seed)
    types = {name: SHELF[name] for name in rng.sample(sorted(SHELF), rng.randint(3, 14))}
    for name in ("battery_12v_12ah", "drive_motor_12v", "motor_driver_dual_25a"):
        if rng.random() < 0.8:
            types[name] = SHELF[name]
    ends = [f"{name}.{t['id']}" for name, kind in types.items() for t in kind["terminals"]]
    wires = []
    for number in range(rng.randint(1, 3 * len(types))):
        one, other = rng.sample(ends, 2)
        wires.append({"id": f"w{number}", "from": one, "to": other,
                      "length": rng.choice((0, 1, 300, 5000))})  # fmt: skip
    parts = [{"id": name, "type": name, **({"away": {"lead": 100}} if rng.random() < 0.3 else {})}
             for name in types]  # fmt: skip
    machine = {"mass_kg": rng.choice((0, 40, 1e9)), "speed_kmh": rng.choice((0, 3, 1e9)),
               "slope_percent": rng.choice((0, 10, 1e9))}  # fmt: skip
    return {**BASE, "types": types, "parts": parts, "connections": wires, "machine": machine,
            "assumptions": {"push_speed_kmh": rng.choice((0, 6, 1e6)), "run_time_min": 60}}


@pytest.mark.parametrize("seed", range(60))
def test_chance_wiring_is_answered(seed: int) -> None:
    job = load_document(tangled(seed))
    assert all(finding.message for finding in check(job))
    study = Study(job)
    try:
        solved = study.solved
    except Declined:
        return
    for row, well in enumerate(solved.converged):
        if well:
            assert study.residual[row] < 1e-9
            case, pack = study.wanted[row]
            state = study.state(case, pack)
            assert state.battery_power == pytest.approx(
                state.wasted + state.used, rel=1e-6, abs=1e-6)


def test_chance_wiring_nearly_always_has_a_steady_state() -> None:
    cases = failed = 0
    for seed in range(60):
        study = Study(load_document(tangled(seed)))
        if not study.declined:
            cases += len(study.wanted)
            failed += len(study.failed)
    assert cases > 300
    assert failed <= 0.02 * cases


AMOUNTS = (0, 1e-300, 1e-12, 1e-3, 1, 60, 1e9)
LAID = 3  # boards whose wires are routed as well
BLOCKS = ("loads", "drives", "converters", "motor", "battery", "paths")


def beyond_measure(seed: int) -> dict[str, Any]:
    """A demo in which some electrical figures are nothing, next to nothing, or enormous.

    Most with all modules in the tray: their wires have lengths all the same, and need no routes.
    """
    rng = Random(seed)
    names = sorted((folder("seed_data") / "demos").glob("*.json"))
    document: dict[str, Any] = json.loads(rng.choice(names).read_bytes())
    often = rng.choice((0.05, 0.3))
    blocks = [block for kind in document["types"].values() for key in BLOCKS
              for block in _listed(kind.get(key))]  # fmt: skip
    for block in (*blocks, document["machine"], document["assumptions"]):
        for key, value in block.items():
            figure = isinstance(value, int | float) and not isinstance(value, bool)
            if figure and key not in {"out_volts", "efficiency"} and rng.random() < often:
                block[key] = rng.choice(AMOUNTS)
    if seed >= LAID:
        for part in document["parts"]:
            part.pop("placement", None)
    return document


def _listed(value: Any) -> list[dict[str, Any]]:
    return value if isinstance(value, list) else [value] if value else []


@pytest.mark.parametrize("seed", range(24))
def test_figures_beyond_all_measure_are_answered_or_refused(seed: int) -> None:
    try:
        job = load_document(beyond_measure(seed))
    except DocumentError:
        return
    json.dumps([finding.as_json() for finding in check(job)], allow_nan=False)
    for case in ("idle", "typical", "stall_all"):
        with suppress(SupplyError):
            json.dumps(solve_supply(job, case).as_json(), allow_nan=False)

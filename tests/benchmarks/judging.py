"""How fast all findings of a 40-part, 80-wire board with routed wires are.

Run: `python -m tests.benchmarks.judging`.

The arranged demo with more lamps elsewhere in the body, until 40 parts hang on 80 wires. Prints
milliseconds of processor time and, so that machines can be compared, ratios to one solution of a
dense system of 100 equations, measured in the same run: routes and sizes from scratch; the same
after one module was dropped aside; all findings with routes that are known; all of them and the
routes after a drop.
"""

from __future__ import annotations

import json
import statistics
from pathlib import Path
from typing import Any

import numpy as np

from layout_engine import Job, check, load_document
from layout_engine.checks.rules import PLACEMENT, WIRING
from layout_engine.edits import place_parts
from layout_engine.model.part import Placement
from layout_engine.sizing.board import Sizing
from layout_engine.sizing.routed import SizedRoutes, sized_routes
from tests.benchmarks.checking import milliseconds

DEMO = Path(__file__).parents[2] / "seed_data" / "demos" / "rolling_lighthouse.json"
PARTS, WIRES, TIMES, SLOW_TIMES = 40, 80, 15, 3


def forty_parts() -> Job:
    """The board: every module of the demo placed, lamps and their wires over the edges."""
    document: dict[str, Any] = json.loads(DEMO.read_text("utf-8"))
    parts, wires = document["parts"], document["connections"]
    lamp = next(name for name, kind in document["types"].items() if kind["kind"] == "lamp")
    ends = [("fuses.out5", "zero.r5"), ("fuses.out3", "zero.r3")]
    sides = ("top", "bottom", "left", "right")
    while len(parts) < PARTS:
        name = f"lamp_{len(parts)}"
        parts.append({"id": name, "type": lamp,
                      "away": {"exit": sides[len(parts) % 4], "lead": 400}})  # fmt: skip
        plus, minus = ends[len(parts) % 2]
        if len(wires) <= WIRES - 2:
            wires += [{"id": f"{name}_plus", "from": plus, "to": f"{name}.plus"},
                      {"id": f"{name}_minus", "from": minus, "to": f"{name}.minus"}]  # fmt: skip
    while len(wires) < WIRES:
        wires.append({"id": f"more_{len(wires)}", "from": "battery.minus", "to": "zero.in"})
    return load_document(document)


def dropped(job: Job, routes: SizedRoutes) -> SizedRoutes:
    """Routes and sizes after one module was dropped a millimetre aside."""
    part = job.placed[0]
    place = part.placement
    assert place is not None
    moved = Placement(face=place.face, x=place.x + 1.0, y=place.y, turn=place.turn)
    return sized_routes(place_parts(job, {part.id: moved}).job, routes)


def fresh(job: Job, routes: SizedRoutes) -> SizedRoutes:
    """The same routes with nothing of the sizing worked out but the sizes."""
    ties = [run.wires for run in routes.routing.runs]
    sizing = Sizing(job, lengths=routes.routing.lengths, ties=ties)
    return SizedRoutes(routes.routing, sizing, routes.why, routes.rounds, routes.room)


def main() -> None:
    """Measure and print."""
    job = forty_parts()
    routes = sized_routes(job)
    assert routes.sizing
    routed = sum(wire.state == "routed" for wire in routes.routing.wires)
    rng = np.random.default_rng(1)
    matrix, right = rng.normal(size=(100, 100)), rng.normal(size=100)
    plain = milliseconds(lambda _: np.linalg.solve(matrix, right), 200)
    made = [fresh(job, routes) for _ in range(TIMES)]
    rows = {
        "routes and sizes, from scratch": milliseconds(lambda _: sized_routes(job), SLOW_TIMES),
        "the same after a drop": milliseconds(lambda _: dropped(job, routes), SLOW_TIMES),
        "all sized again": milliseconds(lambda _: fresh(job, routes), TIMES),
        "findings of placement": milliseconds(lambda _: check(job, rules=PLACEMENT), TIMES),
        "findings of wiring, routes known": milliseconds(
            lambda n: check(job, routes=made[n], rules=WIRING), TIMES),
        "all findings, sized again": milliseconds(
            lambda _: check(job, routes=fresh(job, routes)), TIMES),
    }  # fmt: skip
    unit = statistics.median(plain)
    print(f"{len(job.parts)} parts, {len(job.connections)} wires, {routed} routed, "
          f"{len(check(job, routes=routes))} findings")
    for name, spent in {"100 equations": plain, **rows}.items():
        half, high = statistics.median(spent), spent[int(len(spent) * 0.95)]
        print(f"{name:34} p50 {half:8.2f} ms   p95 {high:8.2f} ms   ratio {half / unit:8.1f}")


if __name__ == "__main__":
    main()

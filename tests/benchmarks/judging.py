"""How fast all findings of a 40-part, 80-wire board with routed wires are.

Run: `python -m tests.benchmarks.judging`.

The arranged demo with more lamps elsewhere in the body, until 40 parts hang on 80 wires. Prints
milliseconds of processor time and, so that machines can be compared, ratios to one solution of a
dense system of 100 equations, measured in the same run: routes and sizes from scratch; the same
after one module was dropped aside; all findings with routes that are known; all of them and the
routes after a drop.
"""

from __future__ import annotations

import statistics

import numpy as np

from layout_engine import Job, check
from layout_engine.checks.rules import PLACEMENT, WIRING
from layout_engine.edits import place_parts
from layout_engine.model.part import Placement
from layout_engine.sizing.board import Sizing
from layout_engine.sizing.routed import SizedRoutes, sized_routes
from tests.benchmarks.checking import milliseconds
from tests.benchmarks.lamps import with_lamps

TIMES, SLOW_TIMES = 15, 3


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
    job = with_lamps("rolling_lighthouse", ("top", "bottom", "left", "right"))
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

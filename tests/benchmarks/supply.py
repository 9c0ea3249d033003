"""How fast the supply of a 40-part, 80-wire job is solved and sized.

Run: `python -m tests.benchmarks.supply`.

Prints milliseconds of processor time and, so that machines can be compared, ratios to one solution
of a dense system of 100 equations, measured in the same run.
"""

from __future__ import annotations

import statistics

import numpy as np

from layout_engine import Job
from layout_engine.checks.facts import Facts
from layout_engine.checks.rules import SIZES, SUPPLY
from layout_engine.sizing.board import Sizing
from layout_engine.supply.study import Study
from tests.benchmarks.checking import milliseconds
from tests.benchmarks.lamps import with_lamps

TIMES = 30


def solved(job: Job) -> Study:
    """Every case with every state of the pack, every current and voltage."""
    study = Study(job)
    assert study.failed == ()
    assert study.conductor_amps.size
    assert study.volts.size
    return study


def sized(job: Job) -> Sizing:
    """Every case solved again and everything sized: wires, fuses, contacts, drops, shorts, heat."""
    sizing = Sizing(job)
    assert len(sizing.wires) == len(job.connections)
    assert sizing.fuses
    assert sizing.faults
    assert sizing.drops
    assert sizing.contacts
    assert sizing.heat.parts
    return sizing


def findings(job: Job) -> int:
    """How many findings the rules of wiring, supply, sizes and heat have."""
    facts = Facts(job)
    return sum(len(list(rule(facts))) for rule in (SUPPLY | SIZES).values())


def main() -> None:
    """Measure and print."""
    job = with_lamps("puppet_wagon", ("top",))
    study = solved(job)
    rng = np.random.default_rng(1)
    matrix, right = rng.normal(size=(100, 100)), rng.normal(size=100)
    plain = milliseconds(lambda _: np.linalg.solve(matrix, right), 200)
    every = milliseconds(lambda _: solved(job), TIMES)
    again = milliseconds(lambda _: sized(job), TIMES)
    one = milliseconds(lambda _: study.state("typical"), TIMES)
    rules = milliseconds(lambda _: findings(job), TIMES)
    unit = statistics.median(plain)
    print(f"{len(job.parts)} parts, {len(job.connections)} wires, {len(study.wanted)} cases, "
          f"{len(study.network.names)} terminals, {len(study.network.elements)} elements")
    for name, spent in (("100 equations", plain), ("all cases from the job", every),
                        ("all solved and all sized", again),
                        ("one case as an answer", one), ("all findings of the supply", rules)):
        half, high = statistics.median(spent), spent[int(len(spent) * 0.95)]
        print(f"{name:28} p50 {half:7.3f} ms   p95 {high:7.3f} ms   ratio {half / unit:7.1f}")


if __name__ == "__main__":
    main()

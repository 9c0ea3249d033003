"""Motor current flows through the 0 V of the sound.

Wrong: two modules joined by an audio wire stand on the same 0 V metal, and while motors and lamps
run their 0 V terminals differ by more than 10 mV: that is heard as hum and whine.

Remedy: an audio transformer between them, or both returns straight to one point, apart from the
motors'.

Source: V = I R of the shared return, solved supply; 10 mV (40 dB under a line of 1 V) common
practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding
from layout_engine.supply.basis import ohms_source
from layout_engine.supply.case_words import case_words
from layout_engine.supply.elements import Element
from layout_engine.supply.joined import terminals
from layout_engine.supply.study import Study
from layout_engine.supply.ways import least_way
from layout_engine.tables.contacts import HUM_LIMIT
from layout_engine.working import Given, Working


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a pair of modules."""
    study = facts.supply
    if study is None:
        return
    ends = terminals(facts.job)
    fed = {e.part: e for e in reversed(study.network.elements.items) if e.kind == "load"}
    pairs: dict[tuple[str, str], str] = {}
    for wire in facts.job.connections:
        if ends[wire.from_].role == ends[wire.to].role == "audio":
            one, other = (part for part, _ in wire.ends)
            if one != other and one in fed and other in fed:
                pairs.setdefault((min(one, other), max(one, other)), wire.id)
    for (one, other), wire_id in pairs.items():
        yield from _pair(facts, study, wire_id, (fed[one], fed[other]))


def _pair(
    facts: Facts, study: Study, wire_id: str, fed: tuple[Element, Element]
) -> Iterator[Finding]:
    one, other = fed
    network = study.network
    if network.component[one.minus] != network.component[other.minus]:
        return
    rows = study.rows(packs=("nominal",))
    rows = rows[[not study.wanted[r][0].startswith("stall") for r in rows]]
    apart = study.drops[:, one.minus] - study.drops[:, other.minus]
    moved = np.abs(apart - apart[study.row["idle", "nominal"]])[rows]
    row = int(rows[int(moved.argmax())])
    volts = float(moved.max())
    if volts > HUM_LIMIT.value:
        yield _finding(facts, study, wire_id, (one, other, volts, row))


def _finding(
    facts: Facts, study: Study, wire_id: str, found: tuple[Element, Element, float, int]
) -> Finding:
    one, other, volts, row = found
    case, idle = study.wanted[row][0], study.row["idle", "nominal"]
    network = study.network
    given: list[Given] = []
    here = one.minus
    for number in least_way(network, one.minus, other.minus) or []:
        c = network.conductors[number]
        sign = 1 if c.a == here else -1
        here = c.b if c.a == here else c.a
        now, rest = (sign * float(study.conductor_amps[at, number]) for at in (row, idle))
        given.append(Given(f"U{len(given) + 1}",
                           f"{c.id}: ({now:.4g} - {rest:.4g}) A, {1000 * c.ohms:.4g} mohm",
                           1000 * (now - rest) * c.ohms, "mV",
                           ohms_source(network, c)))  # fmt: skip
    return Finding(
        rule="ground_loop", severity="warn", subjects=(wire_id, one.part, other.part),
        of_wires=frozenset({wire_id}),
        title=f"Motor current flows through the 0 V of {facts.title(one.part)} and "
              f"{facts.title(other.part)}",
        message=f"Their 0 V terminals move by {1000 * volts:.0f} mV against each other "
                f"({case_words(facts.job, case)}); {1000 * HUM_LIMIT.value:.0f} mV are heard.",
        value=1000 * volts, limit=1000 * HUM_LIMIT.value, unit="mV", source=HUM_LIMIT.source,
        remedy="Put an audio transformer between them, or lead both returns to one point, apart "
               "from the motors'.",
        rests_on_guess=facts.guessed_values(one.part, other.part),
        working=Working(f"V = |sum of (I - i) R| from one 0 V to the other, {case} against idle",
                        tuple(given), 1000 * volts, "mV", "Ohm; Kirchhoff's voltage law",
                        1000 * HUM_LIMIT.value, HUM_LIMIT.source),
    )  # fmt: skip

"""A converter is overloaded, feeds itself, or works on one wire with another source.

Wrong: more current is drawn from a converter than it gives; or the outputs of two converters are
tied together, or that of a converter (a charger excepted) to a battery's plus: the one that is a
little higher then carries everything, or feeds the other; or what a converter gives leads back to
its own input, straight or through other converters.

Remedy: a stronger converter; a converter for each half of the modules; its input at the battery.

Source: the part type; currents from the solved supply; outputs tied together common practice, no
source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding
from layout_engine.checks.wording import amount, listed
from layout_engine.supply.case_words import case_and_pack
from layout_engine.supply.study import Study
from layout_engine.supply.worked import drawn_working
from layout_engine.working import Working, exceeds


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a converter, one a group of tied outputs."""
    study = facts.study
    if study is None:
        return
    yield from _tied(facts, study)
    yield from _circles(facts, study)
    if facts.supply is not None:
        yield from _overloaded(facts, study)


def _tied(facts: Facts, study: Study) -> Iterator[Finding]:
    network = study.network
    groups: dict[int, list[str]] = {}
    for n in network.elements.of("converter_out"):
        e = network.elements.items[n]
        if network.component[e.plus] != network.component[e.minus]:
            groups.setdefault(int(network.component[e.plus]), []).append(e.part)
    for parts in groups.values():
        own = tuple(dict.fromkeys(parts))
        if len(own) > 1:
            yield Finding(
                rule="converter_overloaded", severity="stop", subjects=own,
                title="The outputs of two converters are tied together",
                message=f"{listed([facts.title(p) for p in own])} work on one wire: they do not "
                        "share the current.",
                value=None, limit=None, unit="", source=COMMON_PRACTICE,
                remedy="Give each converter its own modules, and join only their 0 V.",
            )  # fmt: skip


def _circles(facts: Facts, study: Study) -> Iterator[Finding]:
    """Converters whose output leads back to their own input, and such as work on a battery."""
    network = study.network
    outs = [network.elements.items[n] for n in network.elements.of("converter_out")]
    at = {(e.part, e.index): (int(network.component[network.elements.items[e.partner].plus]),
                              int(network.component[e.plus])) for e in outs}  # fmt: skip
    told: set[str] = set()
    for key, (inp, out) in at.items():
        ring = _way_back(at, out, inp)
        if ring is not None and key[0] not in told:
            own = tuple(dict.fromkeys((key[0], *(part for part, _ in ring))))
            told.update(own)
            yield _circle(facts, own)
    packs = {int(network.component[network.elements.items[n].plus]): network.elements.items[n].part
             for n in network.elements.of("battery")}  # fmt: skip
    for (part_id, _), (_, out) in at.items():
        charges = facts.job.type_of(part_id).kind == "charger"
        if out in packs and not charges and part_id not in told and packs[out] != part_id:
            told.add(part_id)
            yield _on_pack(facts, part_id, packs[out])


def _way_back(
    at: dict[tuple[str, int], tuple[int, int]], start: int, goal: int
) -> list[tuple[str, int]] | None:
    """The converters that lead from one piece of metal to another; None where none do."""
    queue: list[tuple[int, list[tuple[str, int]]]] = [(start, [])]
    seen = {start}
    for piece, way in queue:
        if piece == goal:
            return way
        for key, (inp, out) in at.items():
            if inp == piece and out not in seen:
                seen.add(out)
                queue.append((out, [*way, key]))
    return None


def _circle(facts: Facts, parts: tuple[str, ...]) -> Finding:
    names = listed([facts.title(p) for p in parts])
    alone = len(parts) == 1
    return Finding(
        rule="converter_overloaded", severity="stop", subjects=parts,
        title=f"{names} feeds itself" if alone else f"{names} feed one another in a ring",
        message="Its output is joined to its own input." if alone else
                "What the last gives leads back to the first.",
        value=None, limit=None, unit="", source=COMMON_PRACTICE,
        remedy="Take the input from the battery side, and join only modules to the output.",
    )  # fmt: skip


def _on_pack(facts: Facts, part_id: str, pack: str) -> Finding:
    return Finding(
        rule="converter_overloaded", severity="stop", subjects=(part_id, pack),
        title=f"{facts.title(part_id)} works on the plus of {facts.title(pack)}",
        message="Converter and battery do not share the current: the higher one drives the "
                "other, and no limit of a charger is kept.",
        value=None, limit=None, unit="", source=COMMON_PRACTICE,
        remedy="Give the converter modules of its own, and join only the 0 V.",
    )  # fmt: skip


def _overloaded(facts: Facts, study: Study) -> Iterator[Finding]:
    for n in study.network.elements.of("converter_out"):
        e = study.network.elements.items[n]
        limit = study.job.type_of(e.part).converters[e.index].max_amps
        if limit is None or limit <= 0:
            continue
        amps = np.where(study.solved.converged, abs(study.element_amps[:, n]), 0.0)
        row = int(amps.argmax())
        if exceeds(amps[row], limit):
            case, pack = study.wanted[row]
            working = replace(drawn_working(study, e, case, pack), limit=limit,
                              limit_source="part type")
            yield _finding(facts, e.part, f"{case}, {pack} pack", working)


def _finding(facts: Facts, part_id: str, case: str, working: Working) -> Finding:
    amps, limit = working.result, working.limit or 0.0
    return Finding(
        rule="converter_overloaded", severity="stop", subjects=(part_id,),
        title=f"{facts.title(part_id)} is overloaded",
        message=f"{amount(amps, 'A')} are drawn from it "
                f"({case_and_pack(facts.job, case)}); it gives {amount(limit, 'A')}.",
        value=amps, limit=limit, unit="A", source="part type",
        remedy="Take a stronger converter, or a second one for part of the modules.",
        rests_on_guess=facts.guessed_values(part_id),
        working=working,
    )  # fmt: skip

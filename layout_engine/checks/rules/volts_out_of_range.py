"""A module gets more or less voltage than it takes.

Wrong: with a full pack and everything idle a module gets more than its highest voltage, or with an
empty pack, in a case that goes on for long, less than its least. Also: batteries in series over
60 V, and a feed that cannot give the power its converters take (the voltage collapses). A battery
of which nothing is known: a note.

Remedy: another module, a converter before it, or thicker wires where the wires lose the volts.

Source: the part type; 60 V: extra-low voltage, IEC 61140 (from memory).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding
from layout_engine.checks.wording import PACK_WORDS, amounts
from layout_engine.supply.case_words import case_words
from layout_engine.supply.cases import pack_volts, running_cases
from layout_engine.supply.elements import Element
from layout_engine.supply.joined import fed_elements
from layout_engine.supply.ranges import DEAD_VOLTS, volts_range
from layout_engine.supply.state import Pack, SupplyError
from layout_engine.supply.study import Study
from layout_engine.supply.worked import volts_working
from layout_engine.tables.safety import HIGHEST_VOLTS
from layout_engine.working import exceeds


@dataclass(frozen=True, slots=True)
class _Worst:
    """How far a module's voltage is out of its range, where."""

    beyond: float
    volts: float
    limit: float
    case: str
    pack: Pack
    element: Element


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a part; one for a supply that is declined or collapses."""
    study = facts.study
    if study is None:
        return
    if study.declined:
        yield _declined(study)
        return
    yield from _unknown(facts)
    if facts.supply is None:
        return
    for case, pack in study.failed[:1]:
        yield _collapse(study, case, pack)
    for part_id, worst in _worst(study).items():
        yield _finding(facts, study, part_id, worst)


def _worst(study: Study) -> dict[str, _Worst]:
    long = running_cases(study.job)
    looked: list[tuple[str, Pack, int]] = [("idle", "full", 1)]
    looked += [(case, "empty", -1) for case in (*long, "typical")]
    idle, fed = study.row["idle", "full"], fed_elements(study.network)
    found: dict[str, _Worst] = {}
    for n, e in enumerate(study.network.elements.items):
        limits = volts_range(study.job.type_of(e.part), e)
        if limits is None or n not in fed or study.open_volts[idle, n] <= DEAD_VOLTS:
            continue
        for case, pack, sign in looked:
            row = study.row[case, pack]
            if not study.solved.converged[row]:
                continue
            volts = float(study.element_volts[row, n])
            limit = limits[1] if sign > 0 else limits[0]
            beyond = sign * (volts - limit)
            out = exceeds(volts, limit) if sign > 0 else exceeds(limit, volts)
            if out and (e.part not in found or beyond > found[e.part].beyond):
                found[e.part] = _Worst(beyond, volts, limit, case, pack, e)
    return found


def _finding(facts: Facts, study: Study, part_id: str, worst: _Worst) -> Finding:
    high = worst.volts > worst.limit
    dead = abs(worst.volts) <= DEAD_VOLTS
    title = facts.title(part_id)
    volts, limit = amounts(worst.volts, worst.limit, "V")
    return Finding(
        rule="volts_out_of_range", severity="stop", subjects=(part_id,),
        title=f"{title} gets no voltage" if dead else
              f"{title} gets too {'much' if high else 'little'} voltage",
        message=f"{volts} with {PACK_WORDS[worst.pack]} "
                f"({case_words(facts.job, worst.case)}); it takes {limit} at "
                f"{'most' if high else 'least'}.",
        value=worst.volts, limit=worst.limit, unit="V", source="part type",
        remedy=f"Feed {title} through a converter, or take one that stands it." if high else
               f"Look at what feeds {title}: it gives nothing." if dead else
               f"Feed {title} through a converter, or make its feed thicker and shorter.",
        rests_on_guess=facts.guessed_values(part_id),
        working=replace(
            volts_working(study, worst.element, worst.case, worst.pack), limit=worst.limit,
            limit_source="part type"),
    )  # fmt: skip


def _unknown(facts: Facts) -> Iterator[Finding]:
    """A note for each wired battery of which no voltage is known."""
    wired = {part_id for wire in facts.job.connections for part_id, _ in wire.ends}
    for part in facts.job.parts:
        kind = facts.job.type_of(part)
        known = kind.battery is not None and pack_volts(kind.battery, "nominal") > 0
        if kind.kind == "battery" and part.id in wired and not known:
            yield Finding(
                rule="volts_out_of_range", severity="note", subjects=(part.id,),
                title=f"Nothing is known of {part.title}",
                message="Without its volts neither voltages nor currents are computed.",
                value=None, limit=None, unit="V", source=COMMON_PRACTICE,
                remedy="Enter the battery's chemistry, volts and capacity.",
            )  # fmt: skip


def _declined(study: Study) -> Finding:
    packs = tuple(p.id for p in study.job.parts if study.job.type_of(p).battery is not None)
    return Finding(
        rule="volts_out_of_range", severity="stop", subjects=packs,
        title=f"Over {HIGHEST_VOLTS.value:g} V: declined", message=study.declined, value=None,
        limit=HIGHEST_VOLTS.value, unit="V", source=HIGHEST_VOLTS.source,
        remedy="Use fewer cells in series, or have this made by a licensed electrician.",
    )


def _collapse(study: Study, case: str, pack: Pack) -> Finding:
    try:
        study.state(case, pack)
    except SupplyError as error:
        message, parts = str(error), error.parts
    else:
        message, parts = "", ()
    return Finding(
        rule="volts_out_of_range", severity="stop", subjects=parts,
        title="The voltage collapses", message=message, value=None, limit=None, unit="V",
        source="nodal analysis (Kirchhoff)",
        remedy="Give the converters less to do, or thicker wires and a stiffer pack.",
    )

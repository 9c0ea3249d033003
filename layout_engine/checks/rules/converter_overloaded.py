"""A converter is overloaded, or two of them work on one wire.

Wrong: more current is drawn from a converter than it gives; or the outputs of two converters are
tied together: the one that is a little higher then carries everything, or feeds the other.

Remedy: a stronger converter; a converter for each half of the modules.

Source: the part type; currents from the solved supply; outputs tied together common practice, no
source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding
from layout_engine.checks.wording import amount, listed
from layout_engine.supply.case_words import case_and_pack
from layout_engine.supply.study import Study
from layout_engine.supply.worked import drawn_working
from layout_engine.working import Working


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a converter, one a group of tied outputs."""
    study = facts.study
    if study is None:
        return
    yield from _tied(facts, study)
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


def _overloaded(facts: Facts, study: Study) -> Iterator[Finding]:
    for n in study.network.elements.of("converter_out"):
        e = study.network.elements.items[n]
        limit = study.job.type_of(e.part).converters[e.index].max_amps
        if limit is None or limit <= 0:
            continue
        amps = abs(study.element_amps[:, n])
        row = int(amps.argmax())
        if amps[row] > limit * (1 + 1e-6):
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

"""A short circuit is not ended in time.

Wrong: a dead short at the far end of a branch draws so little that its fuse need not open within
5 s; or a wire burns before it opens; or a fuse cannot break what flows into a short right behind
it, or not at the full pack's voltage.

Remedy: thicker or shorter wires, a smaller fuse, or one that breaks more current or volts.

Source: ISO 8820-3 and IEC 60127-2 times by makers' data sheets; IEC 60364-4-43 (adiabatic), 5 s;
breaking capacity of the form.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import inf

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding
from layout_engine.checks.wires_said import fuse_subjects, fuse_title, fuse_wires, wire_title
from layout_engine.checks.wording import amount
from layout_engine.sizing.board import Sizing
from layout_engine.sizing.faults import CLEARED_WITHIN, Fault, survives
from layout_engine.sizing.results import SizedFuse
from layout_engine.working import exceeds


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a branch, a wire that would burn, a fuse that cannot break."""
    sizing = facts.sizing
    if sizing is None:
        return
    burnt: set[str] = set()
    for fault in sizing.faults:
        if not fault.is_cleared:
            yield _lasting(facts, sizing, fault)
        else:
            yield from _burning(facts, sizing, fault, burnt)
    for fuse in sizing.fuses.values():
        yield from _breaking(facts, sizing, fuse)


def _fuse_of(sizing: Sizing, fault: Fault) -> SizedFuse:
    assert fault.fuse is not None
    return sizing.fuses[sizing.choice.ways.conductors[fault.fuse.conductor].id]


def _lasting(facts: Facts, sizing: Sizing, fault: Fault) -> Finding:
    fuse, title = _fuse_of(sizing, fault), facts.title(fault.way.part)
    until = "need not open at all" if fault.most == inf else f"may take {fault.most:g} s"
    return Finding(
        rule="fault_not_cleared", severity="stop",
        subjects=tuple(dict.fromkeys((fault.way.part, *fuse_subjects(facts, fuse)))),
        of_wires=fuse_wires(facts, fuse),
        title=f"A short at {title} is not cleared",
        message=f"It draws {amount(fault.amps, 'A')}; {fuse_title(facts, fuse)} "
                f"({fuse.rating:g} A) {until}.",
        value=None if fault.most == inf else fault.most, limit=CLEARED_WITHIN.value, unit="s",
        source=CLEARED_WITHIN.source,
        remedy="Take a smaller fuse, or thicker and shorter wires on this branch.",
        rests_on_guess=facts.guessed_values(fuse.part), working=fault.time_working(),
    )  # fmt: skip


def _burning(facts: Facts, sizing: Sizing, fault: Fault, burnt: set[str]) -> Iterator[Finding]:
    for c, _ in fault.way.legs:
        plan = sizing.choice.of_conductor.get(c)
        if plan is None or plan.id in burnt:
            continue
        area = sizing.choice.size(plan.id).area
        if not exceeds(fault.least_area(plan.insulation), area):
            continue
        burnt.add(plan.id)
        fuse, working = _fuse_of(sizing, fault), survives(fault, area, plan.insulation)
        yield Finding(
            rule="fault_not_cleared", severity="stop",
            subjects=tuple(dict.fromkeys((plan.id, *fuse_subjects(facts, fuse)))),
            of_wires=fuse_wires(facts, fuse) | {plan.id},
            title=f"A short burns {wire_title(facts, plan.id)} before its fuse opens",
            message=f"{amount(fault.amps, 'A')} into a short at {facts.title(fault.way.part)}: "
                    f"{amount(fault.energy, 'A2s')} pass until {fuse_title(facts, fuse)} is open; "
                    f"{area:.3g} mm2 survives {amount(working.limit or 0.0, 'A2s')}.",
            value=fault.energy, limit=working.limit, unit="A2s", source=working.source,
            remedy=f"Take {fault.least_area(plan.insulation):.2g} mm2 or more, or a smaller fuse.",
            rests_on_guess=facts.guessed_values(fuse.part), working=working,
        )  # fmt: skip


def _breaking(facts: Facts, sizing: Sizing, fuse: SizedFuse) -> Iterator[Finding]:
    title, subjects = fuse_title(facts, fuse), fuse_subjects(facts, fuse)
    guess = facts.guessed_values(fuse.part)
    if fuse.prospective is None:
        return
    if exceeds(fuse.volts, fuse.stands):
        yield Finding(
            rule="fault_not_cleared", severity="stop", subjects=subjects,
            of_wires=fuse_wires(facts, fuse),
            title=f"{title} is not for this voltage",
            message=f"{amount(fuse.volts, 'V')} with a full pack; it breaks at "
                    f"{amount(fuse.stands, 'V')} at most.",
            value=fuse.volts, limit=fuse.stands, unit="V", source=fuse.stands_source,
            remedy="Take a fuse and a holder for 58 V or more.", rests_on_guess=guess,
            working=replace(sizing.full_volts_working, limit=fuse.stands,
                            limit_source=fuse.stands_source),
        )  # fmt: skip
    elif exceeds(fuse.prospective.amps, fuse.prospective.breaks):
        yield Finding(
            rule="fault_not_cleared", severity="stop", subjects=subjects,
            of_wires=fuse_wires(facts, fuse),
            title=f"{title} cannot break a short",
            message=f"{amount(fuse.prospective.amps, 'A')} flow into a short right behind it; it "
                    f"breaks {amount(fuse.prospective.breaks, 'A')}.",
            value=fuse.prospective.amps, limit=fuse.prospective.breaks, unit="A",
            source=fuse.prospective.source,
            remedy="Take a form of fuse that breaks more, or one of that kind before it.",
            rests_on_guess=guess, working=fuse.prospective.working,
        )  # fmt: skip

"""The battery is overloaded, or charged too hard.

Wrong: the cases that run draw more than the battery gives; one battery drives current backwards
into another; or a charger gives more than the battery takes. Motors held fast that draw more than
the battery gives: a warning, for its protection may cut everything off.

Remedy: a larger battery, less load; batteries of one kind and one state of charge; a smaller
charger.

Source: the part type; currents from the solved supply.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding, Severity
from layout_engine.checks.wording import amount
from layout_engine.supply.case_words import case_and_pack
from layout_engine.supply.elements import Element
from layout_engine.supply.study import Study
from layout_engine.supply.worked import drawn_working
from layout_engine.working import Given, Working, exceeds

BACKWARDS_AMPS = 0.05  # a difference between two equal batteries that evens out by itself


def find(facts: Facts) -> Iterator[Finding]:
    """At most one finding of each kind a battery."""
    study = facts.supply
    if study is None:
        return
    for n in study.network.elements.of("battery"):
        e = study.network.elements.items[n]
        yield from _drawn(facts, study, int(n), e)
        yield from _backwards(facts, study, int(n), e)
        yield from _charged(facts, study, e)


def _drawn(facts: Facts, study: Study, n: int, e: Element) -> Iterator[Finding]:
    battery = facts.job.type_of(e.part).battery
    limit = battery.max_amps if battery else None
    if limit is None or limit <= 0:
        return
    for stalled in (False, True):
        rows = [
            row
            for (case, _), row in study.row.items()
            if case.startswith("stall") == stalled and study.solved.converged[row]
        ]
        worst = max(rows, key=lambda row: -study.element_amps[row, n], default=None)
        if worst is None or not exceeds(-study.element_amps[worst, n], limit):
            continue
        case, pack = study.wanted[worst]
        yield _finding(
            facts, e.part, "warn" if stalled else "stop", f"{facts.title(e.part)} is overloaded",
            drawn_working(study, e, case, pack), limit,
            f"drawn ({case_and_pack(facts.job, f'{case}, {pack} pack')})",
            "Take a battery that gives more, or load it less.",
        )  # fmt: skip
        return


def _backwards(facts: Facts, study: Study, n: int, e: Element) -> Iterator[Finding]:
    row = study.row["idle", "nominal"]
    amps = float(study.element_amps[row, n])
    if study.solved.converged[row] and amps > BACKWARDS_AMPS:
        alone = len(study.network.elements.of("battery")) == 1
        who = "A converter" if alone else "Another battery"
        yield _finding(
            facts, e.part, "stop", f"{who} drives current into {facts.title(e.part)}",
            _backwards_working(study, e), 0.0,
            "backwards (everything idle)",
            "Keep the converter's output off the battery's plus." if alone else
            "Join only batteries of one kind and one state of charge, plus to plus.",
        )  # fmt: skip


def _charged(facts: Facts, study: Study, e: Element) -> Iterator[Finding]:
    battery = facts.job.type_of(e.part).battery
    limit = battery.max_charge_amps if battery else None
    if limit is None:
        return
    network = study.network
    for m in network.elements.of("converter_out"):
        out = network.elements.items[m]
        kind = facts.job.type_of(out.part)
        gives = kind.converters[out.index].max_amps
        there = network.component[out.plus] == network.component[e.plus]
        if kind.kind == "charger" and there and gives is not None and exceeds(gives, limit):
            yield _finding(
                facts, e.part, "stop", f"{facts.title(out.part)} charges too hard",
                _said("current of the charger, as its type states it", gives, "part type"), limit,
                f"given by {facts.title(out.part)}", "Take a charger that gives less.", out.part,
            )  # fmt: skip


def _backwards_working(study: Study, e: Element) -> Working:
    """What all others give at its plus, less what they draw there."""
    drawn = drawn_working(study, e, "idle")
    return replace(drawn, formula="I = sum of what is given to it (idle, nominal pack)",
                   given=tuple(replace(one, value=-one.value) for one in drawn.given),
                   result=-drawn.result)  # fmt: skip


def _said(what: str, amps: float, source: str) -> Working:
    return Working(what, (Given("I", what, amps, "A", source),), amps, "A", source)


def _finding(
    facts: Facts, part_id: str, severity: Severity, title: str, working: Working, limit: float,
    how: str, remedy: str, *others: str,
) -> Finding:  # fmt: skip
    amps = working.result
    return Finding(
        rule="battery_overloaded", severity=severity, subjects=(part_id, *others), title=title,
        message=f"{amount(amps, 'A')} {how}; {amount(limit, 'A')} are allowed.",
        value=amps, limit=limit, unit="A", source="part type", remedy=remedy,
        rests_on_guess=facts.guessed_values(part_id, *others),
        working=replace(working, limit=limit, limit_source="part type"),
    )  # fmt: skip

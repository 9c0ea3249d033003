"""A pushed machine gives its board too much voltage.

Wrong: pushed at the assumed speed, a wheel's motor gives more volts through its driver than
something on that rail stands - with the main switch off as well - or more than 60 V. Where a plug
or switch takes the motor off the board before pushing: a warning.

Remedy: a plug in the motor leads, a free-wheel clutch, a slower push, a brake resistor.

Source: E = Vn v / v0 (direct-current motor, rolling without slip); 60 V: extra-low voltage, IEC
61140 (from memory).
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding
from layout_engine.checks.wording import amount
from layout_engine.supply.pushed import Pushed, pushed
from layout_engine.tables.motion import MOTOR_SOURCE
from layout_engine.tables.safety import HIGHEST_VOLTS
from layout_engine.working import exceeds


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a driver: its fastest motor."""
    study = facts.study
    if study is None:
        return
    worst: dict[str, Pushed] = {}
    for case in pushed(study):
        known = worst.get(case.drive)
        if known is None or _over(case) > _over(known):
            worst[case.drive] = case
    for case in worst.values():
        if exceeds(case.rail_off.value or 0.0, case.limit):
            yield _finding(facts, case)


def _over(case: Pushed) -> float:
    return (case.rail_off.value or 0.0) - case.limit


def _finding(facts: Facts, case: Pushed) -> Finding:
    speed = facts.job.assumptions.push_speed_kmh
    volts = case.rail_off.value or 0.0
    who = facts.title(case.limited_by) if case.limited_by else "the touch limit"
    return Finding(
        rule="pushed_over_voltage", severity="warn" if case.parted else "stop",
        subjects=(case.drive, case.motor),
        title="Too much voltage when pushed",
        message=f"Pushed at {speed:g} km/h, {facts.title(case.motor)} puts "
                f"{amount(volts, 'V')} on the board, also with the main switch off; {who} allows "
                f"{amount(case.limit, 'V')}, reached at "
                f"{amount(case.safe_speed.value or 0.0, 'km/h')}.",
        value=volts, limit=case.limit, unit="V", source=f"{MOTOR_SOURCE}; {HIGHEST_VOLTS.source}",
        remedy="Part the motor leads before pushing (a plug, a clutch), or push slower.",
        rests_on_guess=facts.guessed_values(case.motor, case.drive),
        working=case.rail_off.working,
    )  # fmt: skip

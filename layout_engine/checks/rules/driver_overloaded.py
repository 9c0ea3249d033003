"""A motor driver is overloaded.

Wrong: in a case that goes on for long (and typically) a motor draws more than its driver gives
continuously, or up the ramp, at its peak or stalled more than the driver's peak. A wired motor
without volts or stall current, on a driver or not, of which none of this can be told: a note.

Remedy: a stronger driver, less weight or slope, a higher gear ratio.

Source: the part type; currents from the solved supply.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding
from layout_engine.checks.wording import amount
from layout_engine.supply.basis import source_of
from layout_engine.supply.case_words import case_and_pack
from layout_engine.supply.cases import running_cases
from layout_engine.supply.elements import Element
from layout_engine.supply.network import motor_ohms
from layout_engine.supply.study import Study
from layout_engine.supply.worked import drawn_working
from layout_engine.working import exceeds

Over = tuple[float, float, int, str, Element]  # amps, limit, row of the case, word, output


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a driver: its worst output and case."""
    study = facts.supply
    if study is None:
        return
    worst: dict[str, Over] = {}
    for n in study.network.elements.of("drive_out"):
        e = study.network.elements.items[n]
        for over in _over(study, int(n), e):
            if e.part not in worst or over[0] / over[1] > worst[e.part][0] / worst[e.part][1]:
                worst[e.part] = over
    for part_id, over in worst.items():
        yield _finding(facts, study, part_id, over)
    for part_id in _unknown(study):
        yield Finding(
            rule="driver_overloaded", severity="note", subjects=(part_id,),
            title=f"{facts.title(part_id)}: its resistance is not known",
            message="Its type states no volts or no stall current: what it draws when held fast is "
                    "not computed.",
            value=None, limit=None, unit="A", source="part type",
            remedy="Enter its volts and its stall current, both over 0.",
        )


def _unknown(study: Study) -> Iterator[str]:
    """Motors that are wired, to a driver or not, without volts or stall current."""
    wired = {part for wire in study.job.connections for part, _ in wire.ends}
    for n in study.network.elements.of("motor"):
        part_id = study.network.elements.items[n].part
        motor = study.job.type_of(part_id).motor
        if motor is not None and motor_ohms(motor) is None and part_id in wired:
            yield part_id


def _over(study: Study, n: int, e: Element) -> Iterator[Over]:
    drive = study.job.type_of(e.part).drives[e.index]
    long = {*running_cases(study.job), "typical"}
    for (case, _), row in study.row.items():
        limit, word = drive.peak, "at its peak"
        if case in long:
            limit, word = drive.continuous, "continuously"
        amps = abs(float(study.element_amps[row, n]))
        if study.solved.converged[row] and limit > 0 and exceeds(amps, limit):
            yield amps, limit, row, word, e


def _finding(facts: Facts, study: Study, part_id: str, over: Over) -> Finding:
    amps, limit, row, word, out = over
    case, pack = study.wanted[row]
    working = drawn_working(study, out, case, pack)
    source = source_of(facts.job.type_of(part_id))
    return Finding(
        rule="driver_overloaded", severity="stop", subjects=(part_id,),
        title=f"{facts.title(part_id)} is overloaded",
        message=f"{amount(amps, 'A')} through one output "
                f"({case_and_pack(facts.job, f'{case}, {pack} pack')}); it gives "
                f"{amount(limit, 'A')} {word}.",
        value=amps, limit=limit, unit="A", source="part type",
        remedy="Take a stronger driver, or a higher gear ratio, less weight or slope.",
        rests_on_guess=facts.guessed_values(part_id),
        working=replace(working, result=amps, limit=limit, limit_source=source),
    )  # fmt: skip

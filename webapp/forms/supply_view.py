"""The supply in figures: per case current, least voltage and run time; the mix; stalls."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from layout_engine.model.job import Job
from layout_engine.sizing.board import Sizing
from layout_engine.sizing.results import StallClock
from layout_engine.supply.case_words import case_words
from layout_engine.supply.cases import running_cases
from layout_engine.supply.joined import fed_elements
from layout_engine.supply.ranges import DEAD_VOLTS, volts_range
from layout_engine.supply.state import Figure
from layout_engine.supply.study import Study
from layout_engine.working import Working, exceeds
from webapp.forms.wires_view import figure
from webapp.forms.working_names import Names

Worked = tuple[tuple[str, Working], ...]


@dataclass(frozen=True, slots=True)
class CaseLine:
    """One case of the supply."""

    id: str
    words: str
    share: str
    amps: str
    least: str
    least_part: str
    least_asked: str
    too_low: str  # "stop", or "warn" of a case that does not go on
    run_time: str
    workings: Worked


@dataclass(frozen=True, slots=True)
class StallLine:
    """One motor held fast."""

    motor: str
    case: str
    amps: str
    wire: str
    fuse: str
    driver: str
    first: str
    words: str
    workings: tuple[tuple[str, Working], ...]


@dataclass(frozen=True, slots=True)
class SupplyView:
    """The section."""

    cases: tuple[CaseLine, ...]
    mix: str
    mix_words: str
    mix_working: Working | None
    stalls: tuple[StallLine, ...]
    remarks: tuple[str, ...]


def supply_view(job: Job, sizing: Sizing) -> SupplyView:
    """The supply of a job as solved with the chosen sizes."""
    study = sizing.study
    mixed = study.mixed_run_time()
    cases = tuple(dict.fromkeys(case for case, _ in study.wanted))
    names = Names(job)
    return SupplyView(
        tuple(_case(job, study, case, names) for case in cases), minutes(mixed), _mix_words(job),
        names.working(mixed.working) if mixed.working else None,
        tuple(
            StallLine(job.part(s.motor).title, "all" if s.case == "stall_all" else "alone",
                      figure(s.amps), lasts(s.wire.result),
                      _opens(s.fuse),
                      figure(s.peak or s.continuous) if s.peak or s.continuous else "not known",
                      s.first, s.words, tuple(_stall_workings(s, names)))
            for s in sizing.stalls
        ),
        tuple(map(names.remark, sizing.remarks)),
    )  # fmt: skip


def _stall_workings(stall: StallClock, names: Names) -> Iterator[tuple[str, Working]]:
    yield "How long its wire stands it", names.working(stall.wire)
    yield "What that wire carries for good, alone", names.working(stall.carries)
    titles = ("The fuse before its driver lasts at least", "It is open at the latest after")
    yield from zip(titles, map(names.working, stall.fuse_workings), strict=False)


def _case(job: Job, study: Study, case: str, names: Names) -> CaseLine:
    share = next((f"{100 * c.share:g} %" for c in job.cases if c.id == case and c.share), "")
    row = study.row.get((case, "nominal"))
    if row is None or not study.solved.converged[row]:
        return CaseLine(case, case_words(job, case), share, "no steady state", "", "", "", "",
                        "", ())  # fmt: skip
    drawn = study.battery_amps(case)
    alone = study.case_run_time(case)
    least = _least(study, case)
    volts, part_id, asked = least or (0.0, "", 0.0)
    workings = ((("How long a full pack lasts at this alone", names.working(alone.working)),)
                if alone.working else ())  # fmt: skip
    return CaseLine(
        case, case_words(job, case), share, figure(sum(drawn.values())),
        f"{volts:.3g}" if least else "", job.part(part_id).title if least else "",
        f"{asked:g}" if least else "", _gravity(job, case) if exceeds(asked, volts) else "",
        minutes(alone), workings,
    )  # fmt: skip


def _gravity(job: Job, case: str) -> str:
    return "stop" if case in (*running_cases(job), "idle", "typical") else "warn"


def _least(study: Study, case: str) -> tuple[float, str, float] | None:
    """Volts of the module that is nearest or furthest under its least, from an empty pack."""
    row = study.row.get((case, "empty"))
    if row is None or not study.solved.converged[row]:
        return None
    fed, found = fed_elements(study.network), None
    for n, e in enumerate(study.network.elements.items):
        limits = volts_range(study.job.type_of(e.part), e)
        if limits is None or limits[0] <= 0 or n not in fed:
            continue
        if study.open_volts[row, n] <= DEAD_VOLTS:
            continue
        volts = float(study.element_volts[row, n])
        if found is None or volts / limits[0] < found[0] / found[2]:
            found = volts, e.part, limits[0]
    return found


def _mix_words(job: Job) -> str:
    shares = [(case_words(job, c.id), c.share) for c in job.cases if c.share > 0]
    if not shares:
        return "everything as typical, all the time"
    rest = 1 - sum(share for _, share in shares)
    said = [f"{words} {100 * share:.3g} %" for words, share in shares]
    return ", ".join([*said, *([f"idle {100 * rest:.3g} %"] if rest > 1e-6 else [])])


def minutes(found: Figure) -> str:
    """A run time in words: "35 min", "2 h 10 min"; "" where it cannot be said."""
    if found.value is None:
        return ""
    whole = round(found.value)
    if whole < 90:
        return f"{whole} min"
    hours, rest = divmod(whole, 60)
    return f"{hours} h {rest} min" if rest and hours < 10 else f"{hours} h"


def lasts(value: float) -> str:
    """A time that something stands, in s; for good where it does for ever."""
    return "for good" if value == float("inf") else f"{figure(float(f'{value:.2g}'))} s"


def _opens(band: tuple[float, float]) -> str:
    if band[1] == float("inf"):
        return "need not open"
    return f"{figure(band[0])} to {figure(band[1])} s"

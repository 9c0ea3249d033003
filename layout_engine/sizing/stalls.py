"""A stall as a clock: wire so many seconds, fuse so many, driver its limit. A, s, degC."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

import numpy as np

from layout_engine.sizing.carrying import carried, carries
from layout_engine.sizing.choosing import Choice, Plan
from layout_engine.sizing.faults import Fitted
from layout_engine.sizing.results import GivesFirst, StallClock, lasting
from layout_engine.supply.basis import SHARED
from layout_engine.supply.cases import STALL
from layout_engine.supply.elements import Element
from layout_engine.supply.shares import SUM, flow_given, why_drawn
from layout_engine.supply.study import Study
from layout_engine.tables.conductors import (
    ADIABATIC_SOURCE,
    INSULATION_LIMIT,
    adiabatic_k,
    adiabatic_seconds,
)
from layout_engine.tables.fuses import FUSE_FORMS, band_points, opening_time
from layout_engine.working import Given, Working


def stall_clocks(choice: Choice) -> tuple[StallClock, ...]:
    """The clocks of each motor on a driver: held fast alone, and with all others."""
    return tuple(_clocks(choice))


def _clocks(choice: Choice) -> Iterator[StallClock]:
    study = choice.study
    several = len(choice.ways.motor_ways) > 1
    for e, inp, legs in choice.ways.motor_ways:
        n = study.network.elements.items.index(e)
        wires = [choice.of_conductor[c] for c, _ in legs if c in choice.of_conductor]
        for case in (f"{STALL}{e.part}", *(["stall_all"] if several else [])):
            row = _row(choice, n, case)
            if row is None or not wires:
                continue
            amps = abs(float(study.element_amps[row, n]))
            held = why_drawn(study, row, n)
            wire, plan = min(((wire_clock(choice, p, amps, (held, ())), p) for p in wires),
                             key=lambda pair: pair[0].result)  # fmt: skip
            yield _clock(choice, (e, inp), row, (amps, wire, plan))


def _row(choice: Choice, n: int, case: str) -> int | None:
    """The state of the pack that drives most current through a motor in a case."""
    study = choice.study
    rows = [
        row for (name, _), row in study.row.items() if name == case and study.solved.converged[row]
    ]
    return max(rows, key=lambda row: abs(float(study.element_amps[row, n])), default=None)


def wire_clock(
    choice: Choice, plan: Plan, amps: float, made: tuple[str, tuple[Given, ...]]
) -> Working:
    """Seconds until a wire at a steady current is as hot as its insulation stands.

    It starts as warm as its running current makes it. Nothing is given off meanwhile, so over 5 s
    this is a cautious least.

    Args:
        choice: the sizes.
        plan: the wire's.
        amps: the current.
        made: where that comes from, and what it is the sum of.
    """
    size = choice.size(plan.id)
    for_good = carried(size, plan.insulation, plan.place)
    running = float(np.abs(choice.amps[:, plan.number]).max(initial=0.0))
    air, limit = plan.place.air, plan.place.limit
    share = min(1.0, running / for_good) if for_good > 0 else 1.0
    start = air + max(0.0, limit - air) * share**2
    end = INSULATION_LIMIT[plan.insulation].value
    k = adiabatic_k(start, end) if end > start else 0.0
    lasts = inf if amps <= for_good else adiabatic_seconds(amps, size.area, k)
    return Working(
        "t = (k S / I)^2, k from T1 to T2; for good where I <= Iz; T1 = Ta + (Tr - Ta) (Ib/Iz)^2", (
            Given("I", "through it", amps, "A", made[0]),
            *made[1],
            Given("Iz", f"{size.name} carries for good", for_good, "A",
                  "what it carries for good, alone: table or heat balance"),
            Given("S", "copper", size.area, "mm2", size.source),
            Given("k", "copper from T1 to T2", k, "A s^0.5/mm2", ADIABATIC_SOURCE),
            Given("T1", "running before", start, "C", "heat goes with the square of the current"),
            Given("Ta", "air round the wire", air, "C", "assumptions or heat of the body"),
            Given("Tr", f"what it may reach for good, set by: {plan.place.limited_by}", limit, "C",
                  "part type or insulation; contacts common practice, no source"),
            Given("Ib", "running before: largest of the cases that go on", running, "A", SHARED),
            Given("T2", f"insulation {plan.insulation}", end, "C",
                  INSULATION_LIMIT[plan.insulation].source),
        ), lasts, "s", f"{ADIABATIC_SOURCE}; beyond 5 s a cautious least",
    )  # fmt: skip


def _clock(
    choice: Choice, motor: tuple[Element, int], row: int, wire: tuple[float, Working, Plan]
) -> StallClock:
    study = choice.study
    e, inp = motor
    amps, lasts, plan = wire
    fed = next((w for w in choice.ways.feeds if w.element == inp), None)
    fuses = [choice.ratings[c] for c, _ in (fed.out if fed else ()) if c in choice.ratings]
    opens, fuse_amps, how = (inf, inf), 0.0, tuple[Working, ...]()
    for fuse in fuses:
        through = abs(float(study.conductor_amps[row, fuse.conductor]))
        band = opening_time(fuse.form, through / fuse.rating)
        if band[1] <= opens[1]:
            opens, fuse_amps, how = band, through, _opening(study, row, fuse, through)
    item = study.network.elements.items[inp]
    drive = choice.job.type_of(item.part).drives[item.index]
    first = _first(amps, lasts.result, opens[1], (drive.continuous, drive.peak))
    return StallClock(
        e.part, study.wanted[row][0], amps, fuse_amps, lasts, plan.id,
        carries(choice.size(plan.id), plan.insulation, plan.place).working, opens, how,
        drive.continuous, drive.peak, first,
        _words(choice, e.part, amps, first, lasts.result, opens),
    )  # fmt: skip


def _opening(study: Study, row: int, fuse: Fitted, amps: float) -> tuple[Working, ...]:
    """How soon a fuse may open at a current, and how late it does: both ends of its band."""
    drawn = flow_given(study, row, fuse.conductor)
    rated = Given("In", "rating of the fuse", fuse.rating, "A", "fuse")
    reached, following = band_points(fuse.form, amps / fuse.rating)
    least, most = opening_time(fuse.form, amps / fuse.rating)
    band = FUSE_FORMS[fuse.form].bands[0]
    return tuple(
        Working(f"t = {word} time of the fuse's band at I / In; {SUM}", (
            *drawn, rated, *(Given("m", what, point.times_rating, "1", point.source)
                             for point in (known,) if point),
        ), seconds, "s", (known or band).source)
        for word, seconds, known, what in (
            ("shortest", least, following, "times the rating: the band's next point"),
            ("longest", most, reached, "times the rating: the band that holds from there on"),
        )
    )  # fmt: skip


def _first(amps: float, wire: float, fuse: float, driver: tuple[float, float]) -> GivesFirst:
    continuous, peak = driver
    if peak > 0 and amps > peak:
        return "driver"
    if wire == inf and fuse == inf:
        return "driver" if 0 < continuous < amps else "nothing"
    return "fuse" if fuse < wire else "wire"


def _words(
    choice: Choice, motor: str, amps: float, first: GivesFirst, wire: float,
    fuse: tuple[float, float],
) -> str:  # fmt: skip
    title = choice.job.part(motor).title
    ends = {
        "wire": "the wire gives first: let the driver limit the current, or stop by hand",
        "fuse": "the fuse opens first",
        "driver": "the driver's limit comes first",
        "nothing": "wire, fuse and driver stand it; the motor itself may not",
    }[first]
    opens = "need not open" if fuse[1] == inf else f"opens within {fuse[1]:g} s"
    return (f"{title} held fast draws {amps:.3g} A. Its wire {lasting(wire)}, its fuse "
            f"{opens}: {ends}.")  # fmt: skip

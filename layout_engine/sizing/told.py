"""Answers about the supply as plain data: what programs and other sheets read.

V, A, W, ohm, s, min, h, C, mm, mm2 unless a name says otherwise; every figure with its working.
"""

from __future__ import annotations

from dataclasses import dataclass

from layout_engine.heat.board import PartHeat
from layout_engine.sizing.board import Sizing
from layout_engine.sizing.contacts import contact_working, switch_volts_working, switch_working
from layout_engine.sizing.results import StallClock
from layout_engine.supply.charging import Charging, chargings
from layout_engine.supply.lost_return import OpenedReturn, opened_returns
from layout_engine.supply.pushed import Pushed, pushed
from layout_engine.supply.running import Running, Turning, running_currents, turning_currents
from layout_engine.supply.sag import Lowest, Sag, lowest_at_stall, sags
from layout_engine.supply.state import Figure
from layout_engine.supply.switching_on import Rush, rushes
from layout_engine.working import Working


@dataclass(frozen=True, slots=True)
class Drives:
    """What the motors draw: those at wheels on the flat, up the ramp, stalled; and all others."""

    wheels: tuple[Running, ...]
    others: tuple[Turning, ...]


@dataclass(frozen=True, slots=True)
class Pack:
    """The batteries.

    Attributes:
        mix: minutes at the person's mix of cases; cases: at each case alone, by its id.
        sags: what is left at the terminals in every case; lowest: of control, motors held fast.
        charging: of each battery; rushes: into capacitors when a switch closes.
    """

    mix: Figure
    cases: dict[str, Figure]
    sags: tuple[Sag, ...]
    lowest: tuple[Lowest, ...]
    charging: tuple[Charging, ...]
    rushes: tuple[Rush, ...]


@dataclass(frozen=True, slots=True)
class WireTold:
    """A wire: A that it runs at, size, A that it carries and by the cautious table, why this."""

    id: str
    amps: Working
    size: str
    size_mm2: float
    stated: bool
    carries: Working
    cautious: float | None
    let_through: float | None
    fuse: str
    length: float
    why: str
    status: str


@dataclass(frozen=True, slots=True)
class FuseTold:
    """A fuse: rating A, whether a person fitted it, what it carries, guards and must break."""

    branch: str
    part: str
    terminal: str
    form: str
    rating: float | None
    fitted: bool
    amps: Working
    working: Working
    guards: str
    guards_amps: float | None
    full_volts: float
    stands_volts: float
    short: Working | None
    is_over: bool
    advice: str


@dataclass(frozen=True, slots=True)
class DropTold:
    """Volts lost on the whole feed of a part, out and back, against what is allowed."""

    part: str
    drop: Working


@dataclass(frozen=True, slots=True)
class ContactTold:
    """A wired terminal or a path: A for good and at worst, with their workings, and its ratings."""

    what: str
    part: str
    case: str
    amps: float
    rating: float | None
    peak: tuple[float, float] | None
    working: Working
    peak_working: Working | None


@dataclass(frozen=True, slots=True)
class SwitchTold:
    """A switching contact: A that it may have to break, its ratings, V of the full pack."""

    what: str
    part: str
    case: str
    amps: float
    breaks: float | None
    volts: float | None
    full: float
    working: Working
    full_working: Working


@dataclass(frozen=True, slots=True)
class Sizes:
    """What is needed and chosen; remarks say what rests on what, and which ratings are unknown."""

    wires: tuple[WireTold, ...]
    fuses: tuple[FuseTold, ...]
    contacts: tuple[ContactTold, ...]
    switches: tuple[SwitchTold, ...]
    drops: tuple[DropTold, ...]
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ShortTold:
    """A dead short at a terminal: A, the fuse that ends it, (least, most) s; none: it does not."""

    end: str
    amps: Working
    fuse: str
    rating: float
    least: float
    most: float
    time: Working
    is_cleared: bool


@dataclass(frozen=True, slots=True)
class Heat:
    """Heat in the body: the case, W in all and in each wire, air inside, each part."""

    case: str
    watts: float
    wires: dict[str, float]
    air: Working
    air_range: tuple[float, float]
    rise: Working
    sun_rise: Working | None
    parts: tuple[PartHeat, ...]


def drives_told(sizing: Sizing) -> Drives:
    """What the drives draw."""
    job = sizing.job
    return Drives(tuple(running_currents(job).values()), tuple(turning_currents(job).values()))


def pack_told(sizing: Sizing) -> Pack:
    """How long the pack lasts, how far it sags, charging, switching on."""
    study = sizing.study
    solved = [
        case
        for case, pack in study.wanted
        if pack == "nominal" and study.solved.converged[study.row[case, pack]]
    ]
    return Pack(
        study.mixed_run_time(), {case: study.case_run_time(case) for case in solved},
        sags(study), tuple(lowest_at_stall(study).values()), chargings(study), rushes(study),
    )  # fmt: skip


def sizes_told(sizing: Sizing) -> Sizes:
    """Wires, fuses, contacts and switches: needed and chosen, and the drops of whole feeds."""
    return Sizes(
        tuple(WireTold(
            w.id, w.amps, w.size.name, w.size.area, w.stated, w.carries.working,
            w.carries.cautious, w.let, w.fuse, w.length, w.why, w.status,
        ) for w in sizing.wires.values()),
        tuple(FuseTold(
            f.branch, f.part, f.terminal, f.form, f.rating, f.fitted, f.amps, f.working,
            f.weakest.what if f.weakest else "", f.weakest.amps if f.weakest else None, f.volts,
            f.stands, f.prospective.working if f.prospective else None, f.is_over, f.advice,
        ) for f in sizing.fuses.values()),
        tuple(ContactTold(
            c.what, c.part, c.case, c.amps, c.rating, c.peak, contact_working(sizing.choice, c),
            contact_working(sizing.choice, c, peak=True) if c.peak is not None else None,
        ) for c in sizing.contacts),
        tuple(SwitchTold(
            s.what, s.part, s.case, s.amps, s.breaks, s.volts, s.full,
            switch_working(sizing.choice, s), switch_volts_working(sizing.choice, s),
        ) for s in sizing.switches),
        tuple(DropTold(feed.part, working) for feed, working in sizing.drops), sizing.remarks,
    )  # fmt: skip


def shorts_told(sizing: Sizing) -> tuple[ShortTold, ...]:
    """A dead short at the far end of each branch that a fuse guards."""
    names = sizing.study.network.names
    conductors = sizing.choice.ways.conductors
    return tuple(
        ShortTold(names[f.way.node], f.working(), conductors[f.fuse.conductor].id, f.fuse.rating,
                  f.least, f.most, f.time_working(), f.is_cleared)
        for f in sizing.faults if f.fuse is not None
    )  # fmt: skip


def stalls_told(sizing: Sizing) -> tuple[StallClock, ...]:
    """Each motor held fast: wire, fuse and driver as a clock."""
    return sizing.stalls


def returns_told(sizing: Sizing) -> tuple[OpenedReturn, ...]:
    """Each return opened in turn."""
    return opened_returns(sizing.study)


def pushed_told(sizing: Sizing) -> tuple[Pushed, ...]:
    """The rail of each driver while the machine is pushed."""
    return tuple(pushed(sizing.study))


def heat_told(sizing: Sizing) -> Heat:
    """Heat in the body with the supply as sized."""
    heat = sizing.heat
    return Heat(
        heat.case, heat.total, heat.wires, heat.air, heat.air_range, heat.rise, heat.sun_rise,
        tuple(heat.parts.values()),
    )  # fmt: skip

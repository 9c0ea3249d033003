"""The choice of every wire: a fixed point with the network, which always ends.

Sizes give ohms, ohms give currents, currents ask for sizes. It begins with the thickest wires that
the terminals take: these lose least, so the first currents are a lower bound and the first sizes
are too. From there a size only ever grows. There are finitely many sizes a wire, so it ends after
at most (wires x sizes) rounds; two are usual.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from math import ceil, inf, sqrt
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from layout_engine.heat.board import BoardHeat
from layout_engine.model.job import Connection, Insulation, Job
from layout_engine.model.part_type import Terminal
from layout_engine.once import cached_property
from layout_engine.sizing.carrying import Around, around, carried
from layout_engine.sizing.drops import Drops
from layout_engine.sizing.faults import CLEARED_WITHIN, Fault, Fitted, fault_at, source_volts
from layout_engine.sizing.results import STALL_HELD
from layout_engine.sizing.ways import Leg, Way, Ways, widest
from layout_engine.supply.cases import running_cases
from layout_engine.supply.elements import Array
from layout_engine.supply.joined import terminals
from layout_engine.supply.ranges import volts_range
from layout_engine.supply.study import Study
from layout_engine.tables.ampacity import LOADED_SHARE
from layout_engine.tables.conductors import (
    INSULATION_LIMIT,
    WireSize,
    adiabatic_k,
    hot_factor,
    sizes_of,
    wire_size,
)
from layout_engine.tables.dressing import THINNEST_MM2
from layout_engine.tables.fuses import FUSE_FORMS, smallest_rating

Reason = Literal["stated", "thinnest", "current", "fuse", "converter", "drop", "short", "stall"]
FITS = 0.02  # of an area: 24 AWG is taken by a terminal from 0.205 mm2 on, 16 AWG by one of 1.3
HEAT_OF_WIRES = 1.0  # K left for what the wires lose, once they are sized
SPARE_VOLTS = 0.005  # over a module's least: what a round of solving still moves


@dataclass(frozen=True)
class Plan:
    """One wire: what it may be.

    Attributes:
        id: the connection's.
        number: of its conductor.
        ends: its terminals.
        insulation: of it.
        place: what it lies in, alone.
        sizes: to choose from, thin to thick; one where the person stated it.
        stated: whether the person stated it.
        per_ohm: ohm for each ohm/km of the size: length and warmth.
        contacts: ohm of both ends.
        length: mm, one way.
    """

    id: str
    number: int
    ends: tuple[Terminal, Terminal]
    insulation: Insulation
    place: Around
    sizes: tuple[WireSize, ...]
    stated: bool
    per_ohm: float
    contacts: float
    length: float


def continuous_cases(job: Job) -> tuple[str, ...]:
    """The cases that size a wire: the person's own, and typical."""
    return tuple(dict.fromkeys((*running_cases(job), "typical")))


def whole_degrees(air: float, spare: float = 0.0) -> float:
    """Air rounded up to a whole degree, with something to spare where it is no round figure."""
    return air if air == round(air) else float(ceil(air + spare))


@lru_cache(maxsize=1024)
def _fitting(least: float, most: float, system: str) -> tuple[WireSize, ...]:
    """The sizes between two areas, mm2; else the thickest that goes in, else the thinnest."""
    every = sizes_of(system)
    goes_in = tuple(s for s in every if s.area <= most * (1 + FITS)) or every[:1]
    wanted = tuple(s for s in goes_in if s.area >= max(least, THINNEST_MM2.value) * (1 - FITS))
    return wanted or goes_in[-1:]


def fitting_sizes(ends: tuple[Terminal, Terminal], system: str) -> tuple[WireSize, ...]:
    """The sizes that both terminals hold, at least as thick as is crimped by hand."""
    least = max(end.min_mm2 or 0.0 for end in ends)
    most = min(inf if end.max_mm2 is None else end.max_mm2 for end in ends)
    return _fitting(least, most, system)


class Choice:
    """The fixed point of one job.

    Args:
        job: the job.
        lengths: routed lengths, mm, by connection.
        ties: connections that lie tied together, where routes say so.
        circuits: loaded circuits tied together with a connection, itself counted, where somebody
            says so.
        air: inside the body, C; None: as assumed, else 50 or what the heat of the job gives.

    Attributes:
        air: what the wires are sized for.
        study: the supply, solved with the chosen sizes.
        ways: its ways.
        at: number in its plan's sizes of each wire, by connection.
        why: what set the size of each wire, by connection.
        ratings: every fuse, by conductor.
        rounds: how often the network was solved.
        good_rows: rows of the cases that go on for long, where they have a steady state; amps:
            their currents, (rows, conductors); worst: the largest in each conductor.
    """

    def __init__(
        self, job: Job, lengths: Mapping[str, float] | None = None,
        circuits: Mapping[str, int] | None = None, air: float | None = None,
        ties: Collection[Collection[str]] = (),
    ) -> None:  # fmt: skip
        self.job, self.lengths = job, lengths
        self.circuits, self.ties = circuits or {}, ties
        self.long = continuous_cases(job)
        ends = terminals(job)
        fit = {w.id: fitting_sizes((ends[w.from_], ends[w.to]), job.assumptions.sizes)
               for w in job.connections}  # fmt: skip
        thickest = {name: sizes[-1] for name, sizes in fit.items()}
        self.rounds = 0
        self._solve(thickest, self.long)
        self.ways = Ways(self.study.network)
        if air is None:
            air = whole_degrees(BoardHeat(job, self.study).for_wires, HEAT_OF_WIRES)
        self.air = air
        self.plans = {w.id: self._plan(w, fit[w.id], (ends[w.from_], ends[w.to]))
                      for w in job.connections}  # fmt: skip
        self.at = dict.fromkeys(self.plans, 0)
        self.why: dict[str, Reason] = {
            name: "stated" if plan.stated else "thinnest" for name, plan in self.plans.items()
        }
        self.ratings: dict[int, Fitted] = {}
        while self._grow():
            self._solve({name: self.size(name) for name in self.plans}, None)

    def _plan(
        self, wire: Connection, fit: tuple[WireSize, ...], ends: tuple[Terminal, Terminal]
    ) -> Plan:
        facts = self.study.wires[wire.id]
        stated = wire.wire.size if wire.wire else None
        contacts = {f"contact {name}": end.max_temp
                    for name, end in zip((wire.from_, wire.to), ends, strict=True)}  # fmt: skip
        return Plan(
            wire.id, self.study.conductor_row[wire.id], ends, facts.insulation,
            around(facts.insulation, contacts, self.air),
            (wire_size(stated),) if stated else fit, bool(stated),
            facts.length / 1e6 * hot_factor(facts.temperature), facts.contacts, facts.length,
        )  # fmt: skip

    def size(self, wire: str) -> WireSize:
        """The size of a wire."""
        return self.plans[wire].sizes[self.at[wire]]

    @cached_property
    def of_conductor(self) -> dict[int, Plan]:
        """The plan of each wire by its conductor."""
        return {plan.number: plan for plan in self.plans.values()}

    def _solve(self, sizes: Mapping[str, WireSize], cases: tuple[str, ...] | None) -> None:
        """Solve the network with these sizes, and keep what of it is asked often."""
        self.study = Study(self.job, sizes=sizes, lengths=self.lengths, cases=cases)
        self.rounds += 1
        self._loaded: dict[tuple[str, int], bool] = {}
        rows = self.study.rows(cases=self.long)
        self.good_rows: NDArray[np.int_] = rows[self.study.solved.converged[rows]]
        self.amps: Array = self.study.conductor_amps[self.good_rows]
        self.worst: Array = np.abs(self.amps).max(axis=0, initial=0.0)

    def ohms(self) -> Array:
        """Of each conductor with the sizes as they are now."""
        found = np.array([c.ohms for c in self.study.network.conductors])
        for plan in self.plans.values():
            found[plan.number] = self.ohms_of(plan, self.at[plan.id])
        return found

    @staticmethod
    def ohms_of(plan: Plan, at: int) -> float:
        """Of a wire at one of its sizes."""
        return max(plan.sizes[at].ohms_per_km * plan.per_ohm + plan.contacts, 1e-6)

    # --- what asks for more copper ---

    def _grow(self) -> bool:
        """Grow sizes until all asks are met at these currents; whether any grew, or none ever."""
        before = dict(self.at)
        self._rate(self.worst)
        self._carry(self.worst)
        self._lose(self.amps)
        self._survive()
        self._hold()
        return self.rounds == 1 or self.at != before

    def _rate(self, worst: Array) -> None:
        """The fuses: fitted by the person, else the smallest that carries the load at 75 %."""
        for n, c in enumerate(self.ways.conductors):
            if c.path is None or c.path.fuse is None or c.part is None:
                continue
            form, most = c.path.fuse.form, c.path.fuse.max_amps
            stated = self.job.part(c.part).fuses.get(c.path.to)
            if stated is not None:
                self.ratings[n] = Fitted(n, form, stated, True)
                continue
            ratings = [r for r in FUSE_FORMS[form].ratings if most is None or r <= most]
            wanted = smallest_rating(form, float(worst[n]), self.air) or inf
            ratings = ratings or [FUSE_FORMS[form].ratings[0]]
            fits = [r for r in ratings if r >= wanted] or ratings[-1:]
            old = self.ratings.get(n)
            self.ratings[n] = Fitted(n, form, max(fits[0], old.rating if old else 0.0), False)

    def _carry(self, worst: Array) -> None:
        """Each wire as thick as its current and its fuse ask: alone first, then with neighbours.

        So that none counts as loaded for being thinner than it will be.
        """
        through = self.let_through()
        for alone in (True, False):
            self._carry_each(worst, through, alone=alone)

    def _carry_each(self, worst: Array, through: dict[int, float], *, alone: bool) -> None:
        given = self.given_at_most
        for plan in self.plans.values():
            place = plan.place if alone else self.place(plan, worst)
            asks: tuple[tuple[Reason, float], ...] = (
                ("current", float(worst[plan.number])),
                ("fuse", through.get(plan.number, 0.0)),
                ("converter", given.get(plan.number, 0.0)),
            )
            for why, asked in asks:
                if asked > 0:
                    self._raise(plan, _carrying(plan, place, asked), why)

    def place(self, plan: Plan, worst: Array) -> Around:
        """What a wire lies in, with the circuits that are loaded beside it."""
        told = self.circuits.get(plan.id, 1)
        loaded = max((1 + sum(self._is_loaded(other, worst) for other in group if other != plan.id)
                      for group in self.beside.get(plan.id, ())), default=1)  # fmt: skip
        circuits = max(told, ceil(loaded / 2))
        if circuits == plan.place.circuits:
            return plan.place
        return replace(plan.place, circuits=circuits)

    @cached_property
    def beside(self) -> dict[str, tuple[frozenset[str], ...]]:
        """The wires that lie with each wire: those of its ready-made lead, of each tie."""
        cables: dict[str, set[str]] = defaultdict(set)
        for wire in self.job.connections:
            if wire.cable:
                cables[wire.cable].add(wire.id)
        found: dict[str, set[frozenset[str]]] = defaultdict(set)
        for group in (*cables.values(), *self.ties):
            for name in group:
                found[name].add(frozenset(group))
        return {name: tuple(groups) for name, groups in found.items()}

    def _is_loaded(self, name: str, worst: Array) -> bool:
        """Whether a wire carries 30 % or more of what it carries alone."""
        key = name, self.at[name]
        if key not in self._loaded:
            plan = self.plans[name]
            alone = carried(self.size(name), plan.insulation, plan.place)
            self._loaded[key] = float(worst[plan.number]) > LOADED_SHARE.value * alone
        return self._loaded[key]

    def _raise(self, plan: Plan, is_enough: Callable[[WireSize], bool], why: Reason) -> None:
        """Grow a wire until it is enough, or to its thickest."""
        while self.at[plan.id] < len(plan.sizes) - 1 and not is_enough(self.size(plan.id)):
            self._thicken(plan, why)

    def _thicken(self, plan: Plan, why: Reason) -> None:
        self.at[plan.id] += 1
        self.why[plan.id] = why

    @cached_property
    def given_at_most(self) -> dict[int, float]:
        """A that a converter gives at most into each wire of its feeds, by conductor."""
        found: dict[int, float] = {}
        items = self.study.network.elements.items
        for way in self.ways.feeds:
            e = items[way.source.elements[0]]
            if e.kind != "converter_out":
                continue
            most = self.job.type_of(e.part).converters[e.index].max_amps or 0.0
            for c, _ in way.out + way.back:
                found[c] = max(found.get(c, 0.0), most)
        return found

    @cached_property
    def by_fuse(self) -> tuple[Array, dict[int, int]]:
        """What the fuses let through to each node, and which fuse sets it (last reckoned)."""
        return widest(self.ways, {n: f.rating for n, f in self.ratings.items()})

    def let_through(self) -> dict[int, float]:
        """A that fuses let through each wire and path at most, by conductor.

        Behind a fuse its rating; in front of all fuses the sum of those behind; in a return the
        fuses of what it serves, or the one they all share. A dead end adds nothing: what comes in
        there (charging) flows against what goes out.
        """
        self.__dict__.pop("by_fuse", None)
        reach, _ = self.by_fuse
        found: dict[int, float] = {}
        for n, conductor in enumerate(self.ways.conductors):
            let = max(float(reach[conductor.a]), float(reach[conductor.b]))
            if let < inf:  # not NaN either
                found[n] = let
        ratings = {n: fuse.rating for n, fuse in self.ratings.items()}
        return found | {c: sum(ratings[n] for n in fuses) for c, fuses in self.adding().items()}

    def adding(self) -> dict[int, tuple[int, ...]]:
        """The fuses whose ratings together are let through what lies before all, and returns."""
        serves: dict[int, set[int]] = defaultdict(set)
        spare: dict[int, set[int]] = defaultdict(set)
        shared: dict[int, set[int]] = {}
        for way in (*self.ways.feeds, *self.ways.dead_ends):
            chain = [c for c, _ in way.out if c in self.ratings]
            for c, own, guards in self._served(way, chain):
                (spare if way.element < 0 else serves)[c].add(own)
                if way.element >= 0:
                    shared[c] = shared.get(c, guards) & guards
        ratings = {n: fuse.rating for n, fuse in self.ratings.items()}

        def total(fuses: tuple[int, ...]) -> float:
            return sum(ratings[n] for n in fuses)

        found = {}
        for c in serves.keys() | spare.keys():
            least = min(((n,) for n in sorted(shared.get(c, ()))), key=total, default=None)
            every = tuple(sorted(serves[c]))
            most = every if least is None or total(every) <= total(least) else least
            found[c] = max([most, *((n,) for n in sorted(spare[c]))], key=total)
        return found

    def _served(self, way: Way, chain: list[int]) -> list[tuple[int, int, set[int]]]:
        """(conductor, fuse of this way that counts there, all that guard it): in front and back."""
        own = self.by_fuse[1].get(way.node)
        if own is None or not chain or not self.ways.is_battery[way.source]:
            return []
        out = [c for c, _ in way.out]
        before = out[: out.index(chain[0])]
        in_front = [(c, chain[0], {chain[0]}) for c in before]
        return in_front + [(c, own, set(chain)) for c, _ in way.back]

    @cached_property
    def drops(self) -> Drops:
        """The feeds of every consumer."""
        return Drops(self.ways)

    def _lose(self, amps: Array) -> None:
        """Thicken the feeds that lose too much, where a mm3 of copper gains most."""
        if not len(amps):
            return
        ohms, allowed = self.ohms(), self._allowed(amps)
        over = (self.drops.lost(amps, ohms) - allowed).max(axis=1, initial=0.0)
        for n in np.argsort(-over):
            while True:
                beyond = self.drops.lost(amps, ohms)[n] - allowed[n]
                row = int(beyond.argmax())
                if beyond[row] <= 0:
                    break
                plan = self._best(self.drops.feeds[n].legs, np.abs(amps[row]))
                if plan is None:
                    break
                self._thicken(plan, "drop")
                ohms[plan.number] = self.ohms_of(plan, self.at[plan.id])

    def _allowed(self, amps: Array) -> Array:
        """Volts that each feed may lose in each row: its share, and no less than it needs is left.

        Where a module would get too little even without any loss, its share alone counts.
        """
        study, feeds = self.study, self.drops.feeds
        found = np.repeat(self.drops.allowed[:, None], len(amps), axis=1)
        now = self.drops.lost(amps, np.array([c.ohms for c in study.network.conductors]))
        for n, feed in enumerate(feeds):
            e = study.network.elements.items[feed.element]
            limits = volts_range(self.job.type_of(e.part), e)
            if limits is None or limits[0] <= 0:
                continue
            volts = study.element_volts[self.good_rows, feed.element]
            room = now[n] + volts - limits[0] - SPARE_VOLTS
            found[n] = np.where(room > 0, np.minimum(found[n], room), found[n])
        return found

    def _best(self, legs: tuple[Leg, ...], amps: Array) -> Plan | None:
        """The wire on a way whose next size gains most volts for its copper, then most volts."""
        found: list[tuple[float, float, str]] = []
        for c, _ in legs:
            plan = self.of_conductor.get(c)
            if plan is None or self.at[plan.id] >= len(plan.sizes) - 1:
                continue
            now = self.at[plan.id]
            volts = amps[c] * (self.ohms_of(plan, now) - self.ohms_of(plan, now + 1))
            copper = (plan.sizes[now + 1].area - plan.sizes[now].area) * max(plan.length, 1.0)
            if volts > 0:  # rounded, so that equal wires are told apart by their names alone
                found.append((float(f"{volts / copper:.8e}"), float(f"{volts:.8e}"), plan.id))
        return self.plans[max(found)[2]] if found else None

    def _survive(self) -> None:
        """Thicken wires that a short would burn before its fuse opens, or that keep it shut."""
        for way in self.fault_ways():
            fault = self.fault(way)
            while fault.fuse is not None and not fault.is_cleared:
                plan = self._best(way.legs, np.ones(len(self.ways.conductors)))
                if plan is None:
                    break
                self._thicken(plan, "short")
                fault = self.fault(way)
            if not fault.is_cleared:
                continue
            for c, _ in way.legs:
                plan = self.of_conductor.get(c)
                if plan is not None:
                    least = fault.least_area(plan.insulation)
                    self._raise(plan, _as_thick(least), "short")

    def _hold(self) -> None:
        """Thicken motors' wires that a stall would overheat before somebody lets go.

        No fuse guards them: a bridge passes what the motor draws, and its fuse suits the driver.
        """
        fed = {way.element: way.source for way in self.ways.feeds}
        for e, inp, legs in self.ways.motor_ways:
            motor = self.job.type_of(e.part).motor
            if motor is None or motor.volts <= 0 or inp not in fed:
                continue
            full = source_volts(self.ways, fed[inp], "full")[0]
            amps = motor.stall_amps * max(1.0, full / motor.volts)
            for c, _ in legs:
                plan = self.of_conductor.get(c)
                if plan is not None:
                    self._raise(plan, _holding(plan, amps), "stall")

    def fault_ways(self) -> tuple[Way, ...]:
        """Where shorts are looked at: each consumer, dead end, and fuse behind a fuse."""
        every = (*self.ways.feeds, *self.ways.dead_ends, *self.ways.to_fuses(self.ratings))
        once = {(way.node, way.back): way for way in reversed(every)
                if self.ways.is_battery[way.source]}  # fmt: skip
        names = self.study.network.names
        return tuple(sorted(once.values(), key=lambda way: (names[way.node], len(way.back))))

    def fault(self, way: Way) -> Fault:
        """The short at a way's far end, with the sizes as they are now."""
        network, ohms = self.study.network, {}
        for c, _ in way.legs:
            plan = self.of_conductor.get(c)
            ohms[c] = (network.conductors[c].ohms if plan is None else
                       self.ohms_of(plan, self.at[plan.id]))  # fmt: skip
        fuses = [self.ratings[c] for c, _ in way.out if c in self.ratings]
        quickest = min(fuses, key=lambda f: f.rating, default=None)
        return fault_at(self.ways, way, ohms, quickest, network)


def _carrying(plan: Plan, place: Around, asked: float) -> Callable[[WireSize], bool]:
    return lambda size: carried(size, plan.insulation, place) >= asked


def _as_thick(area: float) -> Callable[[WireSize], bool]:
    return lambda size: size.area >= area


def _holding(plan: Plan, amps: float) -> Callable[[WireSize], bool]:
    """Whether a wire carries a stall for good, or its insulation stands it for a while."""
    start, end = plan.place.air, INSULATION_LIMIT[plan.insulation].value
    k = adiabatic_k(start, end) if end > start else 0.0
    least = amps * sqrt(STALL_HELD.value) / k if k > 0 else inf
    return lambda size: size.area >= least or carried(size, plan.insulation, plan.place) >= amps


__all__ = ["CLEARED_WITHIN", "Choice", "Plan", "continuous_cases", "fitting_sizes"]

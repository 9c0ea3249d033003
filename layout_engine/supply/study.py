"""Every case of one job, solved at once and kept: what rules, sizing and pages ask."""

from __future__ import annotations

from collections.abc import Mapping
from math import isfinite

import numpy as np
from numpy.typing import NDArray

from layout_engine.model.job import Job
from layout_engine.once import cached_property
from layout_engine.supply.basis import guessed_draw, marked, with_given
from layout_engine.supply.battery import mixed_run_time, run_time
from layout_engine.supply.cases import (
    PACKS,
    check_case,
    motors,
    settings,
    silent_cases,
    usual_cases,
)
from layout_engine.supply.elements import Array, Element, Settings
from layout_engine.supply.grounds import Ground, first_volts, grounds_of
from layout_engine.supply.network import Change, Network
from layout_engine.supply.solving import Ports, Solved, ports_of, solve
from layout_engine.supply.state import (
    Branch,
    Declined,
    Figure,
    Pack,
    SupplyError,
    SupplyState,
)
from layout_engine.supply.wires import WireFacts, wire_facts
from layout_engine.supply.worked import drawn_working
from layout_engine.tables.conductors import WireSize
from layout_engine.tables.safety import HIGHEST_VOLTS
from layout_engine.working import Given

DECLINED = (
    "Batteries in series reach {volts:.0f} V when full. This tool works up to {limit:g} V direct "
    "current: higher voltages and AC mains are work for a licensed electrician."
)
ROUNDED = 1e-11  # of the largest current: an imbalance beyond it is evened out
MOST_TERMINALS = 20_000
MOST_ELEMENTS = 600  # batteries, loads, motors; drivers and converters count twice
TOO_LARGE = (
    "The supply has {elements} loads and sources at {terminals} terminals; up to {most} at "
    "{most_terminals} are solved."
)


def too_large(job: Job) -> str:
    """Why a job's supply is not solved for its size, in a sentence; "" where it is."""
    terminals = elements = 0
    for part in job.parts:
        kind = job.type_of(part)
        terminals += len(kind.terminals)
        elements += len(kind.loads) + 2 * (len(kind.drives) + len(kind.converters))
        elements += (kind.motor is not None) + (kind.battery is not None)
    if terminals <= MOST_TERMINALS and elements <= MOST_ELEMENTS:
        return ""
    return TOO_LARGE.format(elements=elements, terminals=terminals, most=MOST_ELEMENTS,
                            most_terminals=MOST_TERMINALS)  # fmt: skip


class Study:
    """The supply of a job.

    Args:
        job: the job.
        sizes: wire sizes that were chosen, by connection.
        lengths: routed lengths, mm, by connection.
        cases: which cases; all of them where none are named.
        packs: at which states of the battery.
        change: what is broken in it.
    """

    def __init__(
        self,
        job: Job,
        *,
        sizes: Mapping[str, WireSize] | None = None,
        lengths: Mapping[str, float] | None = None,
        cases: tuple[str, ...] | None = None,
        packs: tuple[Pack, ...] = PACKS,
        change: Change | None = None,
    ) -> None:
        self.job = job
        self.wires: dict[str, WireFacts] = wire_facts(job, sizes, lengths)
        self.network = Network(job, self.wires, change)
        self.wanted: list[tuple[str, Pack]] = [
            (case, pack) for pack in packs for case in cases or usual_cases(job)
        ]
        self.row = {key: n for n, key in enumerate(self.wanted)}
        # once asked: where the current of an element comes from, by (row, element); what is drawn
        # at a guess, by (row, island)
        self.told: dict[tuple[int, int], str] = {}
        self.guessed: dict[tuple[int, int], tuple[Given, ...]] = {}

    @cached_property
    def settings(self) -> Settings:
        """What differs between the cases."""
        return settings(self.network, self.wanted)

    @cached_property
    def ground(self) -> Ground:
        """What is held at 0 V in each island, and which islands have a source."""
        return grounds_of(self.network)

    @cached_property
    def ports(self) -> Ports:
        """The network seen from its elements."""
        return ports_of(self.network, list(self.ground.pieces))

    @cached_property
    def start(self) -> Array:
        """Voltages of the pieces with no current flowing: (cases, pieces)."""
        return first_volts(self.network, self.ground, self.settings)

    @cached_property
    def open_volts(self) -> Array:
        """Voltage at each element with no current flowing, (cases, elements): whether it is fed."""
        found: Array = self.start @ self.ports.pieces.T
        return found

    @cached_property
    def has_battery(self) -> bool:
        """Whether some battery with a voltage is there."""
        n = self.network.elements.of("battery")
        return bool(len(n) and np.nanmax(self.settings.emf[:, n], initial=0.0) > 0)

    @cached_property
    def declined(self) -> str:
        """Why this supply is declined, in a plain sentence; "" where it is not."""
        live = self.start[:, self.ground.live]
        span = float((live.max(axis=1) - live.min(axis=1)).max()) if live.size else 0.0
        if span <= HIGHEST_VOLTS.value:
            return ""
        return DECLINED.format(volts=span, limit=HIGHEST_VOLTS.value)

    @cached_property
    def solved(self) -> Solved:
        """Every case solved.

        Raises:
            Declined: it reaches over 60 V.
        """
        if self.declined:
            raise Declined(self.declined, tuple(self._parts_of("battery")))
        return solve(self.ports, self.settings, self.start)

    def _parts_of(self, kind: str) -> list[str]:
        return [e.part for e in self.network.elements.items if e.kind == kind]

    @cached_property
    def element_amps(self) -> Array:
        """Current of each element, (cases, elements), in at its plus."""
        return self.solved.amps

    @cached_property
    def drops(self) -> Array:
        """Voltage of each node against the root of its piece, (cases, nodes)."""
        found: Array = self.solved.amps @ self.network.transfer.T
        return found

    @cached_property
    def volts(self) -> Array:
        """Voltage of each node, (cases, nodes); NaN where it floats."""
        network, ground = self.network, self.ground
        piece = network.component
        found = self.solved.volts[:, piece] + self.drops
        for held in ground.held:
            nodes = np.flatnonzero(ground.island[piece] == held.island)
            found[:, nodes] -= found[:, [held.node]]
        for held in ground.held:
            if held.against >= 0:
                nodes = np.flatnonzero(ground.island[piece] == held.island)
                found[:, nodes] += np.nan_to_num(found[:, [held.against]])
        found[:, ~ground.live[piece]] = np.nan
        return found

    @cached_property
    def element_volts(self) -> Array:
        """Voltage at each element, plus against minus, (cases, elements); NaN where it floats."""
        e = self.network.elements
        found: Array = self.volts[:, e.plus] - self.volts[:, e.minus]
        return found

    @cached_property
    def conductor_amps(self) -> Array:
        """Current in each conductor, (cases, conductors), from its first node to its second."""
        network = self.network
        a, b = network.ends
        found: Array = (self.drops[:, a] - self.drops[:, b]) * network.conductance
        balance = self._balance(found)
        if np.nan_to_num(self._relative(balance)).max(initial=0.0) > ROUNDED:
            # what rounding left at each node flows off by the stiffest ways
            for node, parent, number in network.stiffest_tree:
                found[:, number] += balance[:, node] * (1 if a[number] == node else -1)
                balance[:, parent] += balance[:, node]
        return found

    def _balance(self, flows: Array) -> Array:
        """Current left over at each node, (cases, nodes)."""
        a, b = self.network.ends
        balance: Array = self.solved.amps @ self.network.incidence.T
        np.subtract.at(balance.T, a, flows.T)
        np.add.at(balance.T, b, flows.T)
        return balance

    def _relative(self, balance: Array) -> Array:
        """Largest imbalance relative to the largest current, a case."""
        largest = np.maximum(np.abs(self.solved.amps).max(axis=1, initial=0.0), 1e-3)
        found: Array = np.abs(balance).max(axis=1, initial=0.0) / largest
        return found

    @cached_property
    def residual(self) -> Array:
        """Largest imbalance at a node relative to the largest current, a case (Kirchhoff)."""
        return self._relative(self._balance(self.conductor_amps))

    @property
    def failed(self) -> tuple[tuple[str, Pack], ...]:
        """Cases without a steady state."""
        return tuple(
            key for key, well in zip(self.wanted, self.solved.converged, strict=True) if not well
        )

    @cached_property
    def conductor_row(self) -> dict[str, int]:
        """Column of a conductor in `conductor_amps`, by its branch id."""
        return {c.id: n for n, c in enumerate(self.network.conductors)}

    def rows(
        self, cases: tuple[str, ...] | None = None, packs: tuple[Pack, ...] | None = None
    ) -> NDArray[np.int_]:
        """Rows of these cases with these packs."""
        return np.array([
            n for (case, pack), n in self.row.items()
            if (cases is None or case in cases) and (packs is None or pack in packs)
        ], dtype=int)  # fmt: skip

    def amps(self, branch: str, case: str, pack: Pack = "nominal") -> float:
        """Current in one wire or path; raises KeyError."""
        return float(self.conductor_amps[self.row[case, pack], self.conductor_row[branch]])

    def state(self, case: str, pack: Pack = "nominal") -> SupplyState:
        """One case as a whole.

        Raises:
            SupplyError: there is no steady state; names the parts whose voltage collapses.
            Declined: it reaches over 60 V.
        """
        if (case, pack) not in self.row:
            check_case(self.job, case)
        row = self.row[case, pack]
        if not self.solved.converged[row]:
            raise self._no_state(case, row)
        branches = tuple(self._branches(row))
        losses: dict[str, float] = {}
        for b in branches:
            if b.part is not None:
                losses[b.part] = losses.get(b.part, 0.0) + b.loss
        n = self.network.elements.of("battery")
        given = -np.nansum(self.settings.emf[row, n] * self.solved.amps[row, n])
        return SupplyState(
            case=case, pack=pack,
            nodes={name: float(v) if isfinite(v) else None
                   for name, v in zip(self.network.names, self.volts[row], strict=True)},
            branches=branches, losses=losses, battery_power=float(given),
            wasted=sum(b.loss for b in branches),
            used=sum(b.used for b in branches),
            residual=float(self.residual[row]), steps=int(self.solved.steps[row]),
            run_time=self.case_run_time(case, pack), remarks=self.remarks,
        )  # fmt: skip

    def _no_state(self, case: str, row: int) -> SupplyError:
        e = self.network.elements.items
        inputs = [n for n, x in enumerate(e) if x.kind in ("converter", "drive")]
        names = tuple(dict.fromkeys(e[n].part for n in inputs)) or tuple(self._parts_of("battery"))
        titles = ", ".join(self.job.part(part).title for part in names)
        return SupplyError(
            f"There is no steady state in case {case}: the feed cannot give what {titles} "
            f"take at a constant power. Give them less to do or a stiffer feed. "
            f"(disagreement left: {self.solved.residual[row]:.1e})", names,
        )  # fmt: skip

    def _branches(self, row: int) -> list[Branch]:
        names, volts = self.network.names, self.volts[row]
        found = []
        for n, c in enumerate(self.network.conductors):
            amps = float(self.conductor_amps[row, n])
            loss = amps * amps * c.ohms
            known = isfinite(volts[c.a]) or amps == 0
            found.append(Branch(
                c.id, "wire" if c.part is None else "path", c.part, names[c.a], names[c.b],
                c.ohms, amps, amps * c.ohms if known else None, loss, loss,
            ))  # fmt: skip
        across = self.ports_volts[row]
        for n, e in enumerate(self.network.elements.items):
            found.append(self._element_branch(row, n, e, float(across[n])))
        return found

    @cached_property
    def ports_volts(self) -> Array:
        """Voltage at each element as it was solved, floating ones too, (cases, elements)."""
        lost = self.solved.amps @ self.ports.z.T
        found: Array = self.solved.volts @ self.ports.pieces.T - lost
        return found

    def _element_branch(self, row: int, n: int, e: Element, volts: float) -> Branch:
        amps = float(self.solved.amps[row, n])
        loss, power, used = 0.0, volts * amps, 0.0
        if e.kind == "battery":
            loss = e.ohms * amps * amps
        elif e.kind == "motor":
            loss = min(e.ohms * amps * amps, abs(power))
            used = power - loss
        elif e.kind == "load":
            used = power
        elif e.kind in ("drive", "converter"):
            other = self.solved.amps[row, e.partner] * self.ports_volts[row, e.partner]
            loss = power + float(other)
        names = self.network.names
        return Branch(
            e.id, e.kind, e.part, names[e.plus], names[e.minus], e.ohms or None, amps,
            volts if isfinite(self.element_volts[row, n]) else None, loss, power, used,
        )  # fmt: skip

    def battery_amps(self, case: str, pack: Pack = "nominal") -> dict[str, float]:
        """Current that each battery gives, A, negative while it is charged."""
        row = self.row[case, pack]
        return {
            self.network.elements.items[n].part: -float(self.solved.amps[row, n])
            for n in self.network.elements.of("battery")
        }

    def case_run_time(self, case: str, pack: Pack = "nominal") -> Figure:
        """Minutes until the first battery is empty at this case alone."""
        row, found = self.row[case, pack], []
        for n in self.network.elements.of("battery"):
            e = self.network.elements.items[n]
            battery = self.job.type_of(e.part).battery
            if battery is not None:
                drawn = drawn_working(self, e, case, pack).given
                amps = -float(self.solved.amps[row, n])
                found.append(marked(self.job.type_of(e.part), run_time(battery, amps, drawn)))
        return _shortest(found)

    def _guesses(self, row: int) -> tuple[Given, ...]:
        """What is drawn from the batteries at a guess in one case."""
        packs = self.network.elements.of("battery")
        nodes = [self.network.elements.items[n].plus for n in packs]
        return guessed_draw(self, row, nodes[0]) if nodes else ()

    def mixed_run_time(self) -> Figure:
        """Minutes for the person's cases by their shares, the rest of the time idle.

        Without cases: everything typical.
        """
        shares = [(case.id, case.share) for case in self.job.cases]
        rest = max(0.0, 1.0 - sum(share for _, share in shares))
        mix = [*shares, ("idle", rest)] if any(s > 0 for _, s in shares) else [("typical", 1.0)]
        found = []
        for part in self._parts_of("battery"):
            battery = self.job.type_of(part).battery
            assert battery is not None
            drawn = [(case, share, self.battery_amps(case)[part]) for case, share in mix]
            given = tuple(dict.fromkeys(
                one for case, share in mix if share > 0
                for one in self._guesses(self.row[case, "nominal"])))  # fmt: skip
            found.append(with_given(mixed_run_time(battery, drawn), given))
        return _shortest(found)

    @cached_property
    def remarks(self) -> tuple[str, ...]:
        """What was assumed or cannot be told."""
        found = []
        if not self.has_battery:
            found.append("There is no battery with a voltage: everything is dead.")
        found += silent_cases(self.job)
        odd = [self.job.part(name).title for name, motor in motors(self.job).items()
               if 0 < motor.stall_amps <= motor.free_amps]  # fmt: skip
        if odd:
            found.append(
                f"The free current of {', '.join(odd)} is not under its stall current: "
                "one of them is wrong, and what it draws is not computed."
            )
        first = [w.id for w in self.wires.values() if not w.chosen]
        if first:
            found.append(f"First sizes, not chosen yet: {len(first)} wires.")
        unknown = [w.id for w in self.wires.values() if w.length_from == "assumed"]
        if unknown:
            found.append(f"Lengths guessed, for an end has no place yet: {', '.join(unknown)}.")
        return tuple(found)


def _shortest(figures: list[Figure]) -> Figure:
    known = [f for f in figures if f.value is not None]
    return min(known, key=lambda f: f.value or 0.0) if known else Figure(None, "min")


def solve_supply(job: Job, case: str, pack: Pack = "nominal") -> SupplyState:
    """Solve one case: voltage at every terminal, current in every way, loss in every part.

    Args:
        job: the job.
        case: idle, typical, peak, stall.PART, stall_all, or one of the job's own.
        pack: the battery's open-circuit voltage: nominal, full or empty.

    Raises:
        SupplyError: there is no such case, or no steady state; names the parts.
        Declined: over 60 V.
    """
    check_case(job, case)
    if too_large(job):
        raise SupplyError(too_large(job))
    return Study(job, cases=(case,), packs=(pack,)).state(case, pack)

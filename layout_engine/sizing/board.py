"""The sizing of one job: every wire, fuse, contact and switch, each figure with its working."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from math import inf

import numpy as np

from layout_engine.heat.board import BoardHeat
from layout_engine.model.job import Job
from layout_engine.once import cached_property
from layout_engine.sizing.carrying import carries
from layout_engine.sizing.choosing import Choice, Plan, Reason, whole_degrees
from layout_engine.sizing.contacts import (
    case_name,
    contacts_of,
    full_working,
    long_rows,
    switches_of,
)
from layout_engine.sizing.drops import Feed, pieces
from layout_engine.sizing.faults import Fault, Fitted, Prospective, prospective
from layout_engine.sizing.guarding import (
    FirstFuse,
    Unfused,
    first_fuses,
    limits,
    single_fuses,
    unfused,
)
from layout_engine.sizing.results import (
    STALL_HELD,
    Contact,
    Limit,
    SizedFuse,
    SizedWire,
    StallClock,
    Switch,
)
from layout_engine.sizing.stalls import stall_clocks
from layout_engine.supply.basis import SHARED, guessed_draw, ohms_source
from layout_engine.supply.elements import Array
from layout_engine.supply.network import Conductor
from layout_engine.supply.shares import flow_given
from layout_engine.supply.study import Study
from layout_engine.tables.fuses import (
    CONTINUOUS_SHARE,
    FUSE_FORMS,
    hot_share,
    largest_rating,
    opening_time,
)
from layout_engine.working import Given, Working

MOST_AIRS = 6  # how often the air inside is taken anew; each time it is warmer


class Sizing:
    """Sizes of one job; what is asked for is worked out then.

    Args:
        job: the job.
        lengths: routed lengths, mm, by connection.
        circuits: loaded circuits tied together with a connection, itself counted, where somebody
            says so.
        ties: connections that lie tied together, where routes say so; else a wire lies alone, but
            for the wires of its own ready-made lead. Two loaded wires are a circuit; those that
            carry under 30 % are left out.

    Raises:
        Declined: the supply reaches over 60 V.
    """

    def __init__(
        self, job: Job, *, lengths: Mapping[str, float] | None = None,
        circuits: Mapping[str, int] | None = None, ties: Collection[Collection[str]] = (),
    ) -> None:  # fmt: skip
        self.job = job
        self.circuits = dict(circuits or {})
        self.choice = Choice(job, lengths, circuits, None, ties)
        for _ in range(MOST_AIRS):
            self.heat = BoardHeat(job, self.choice.study)
            warmer = whole_degrees(self.heat.for_wires)
            if warmer <= self.choice.air:
                break
            self.choice = Choice(job, lengths, circuits, warmer, ties)
        self._lower_proposals()

    @property
    def study(self) -> Study:
        """The supply, solved with these sizes."""
        return self.choice.study

    def _lower_proposals(self) -> None:
        """A rating nobody chose never exceeds what it guards: else the largest that does not."""
        for n, fuse in list(self.choice.ratings.items()):
            least = min((each.amps for each in self._limits.get(n, ())), default=inf)
            if not fuse.chosen_by_person and fuse.rating > least:
                lower = largest_rating(fuse.form, least)
                if lower is not None:
                    self.choice.ratings[n] = replace(fuse, rating=lower)
                    self.__dict__.pop("_limits", None)

    @cached_property
    def _limits(self) -> dict[int, list[Limit]]:
        return limits(self.choice)

    @cached_property
    def _let(self) -> dict[int, float]:
        return self.choice.let_through()

    # --- wires ---

    @cached_property
    def wires(self) -> dict[str, SizedWire]:
        """Every wire by its connection."""
        single = single_fuses(self.choice, self._let)
        names = {n: c.id for n, c in enumerate(self.choice.ways.conductors)}
        return {
            plan.id: self._wire(plan, names.get(single.get(plan.number, -1), ""))
            for plan in self.choice.plans.values()
        }

    def _wire(self, plan: Plan, fuse: str) -> SizedWire:
        choice = self.choice
        size = choice.size(plan.id)
        place = choice.place(plan, choice.worst)
        amps, case = self._amps(plan.number)
        ohms = choice.ohms_of(plan, choice.at[plan.id])
        alone = carries(size, plan.insulation, plan.place)
        drop = Working("dV = I R, this wire alone; R = r20 L (1 + a (T - 20)) + Rc", (
            Given("I", f"what it runs at, {case}", amps.result, "A", amps.source),
            *self.study.wires[plan.id].working().given,
        ), amps.result * ohms, "V", "Ohm")  # fmt: skip
        return SizedWire(
            plan.id, size, plan.stated, plan.ends, amps, case,
            carries(size, plan.insulation, place), alone.amps, alone.working,
            place.circuits, plan.id in self.circuits or plan.id in choice.beside,
            self._let.get(plan.number), fuse, drop, plan.length, self._why(plan),
        )  # fmt: skip

    def let_given(self, wire: SizedWire) -> tuple[Given, ...]:
        """The ratings of the fuses that together let through what a wire is let."""
        choice, number = self.choice, self.study.conductor_row[wire.id]
        c = choice.ways.conductors[number]
        own = choice.by_fuse[1].get(c.a, choice.by_fuse[1].get(c.b))
        fuses = choice.adding().get(number, () if own is None else (own,))
        return tuple(
            Given(f"In{k}", f"rating of {choice.ways.conductors[n].id}", choice.ratings[n].rating,
                  "A", "fuse")
            for k, n in enumerate(fuses, 1)
        )  # fmt: skip

    def _why(self, plan: Plan) -> str:
        """What set the size of a wire."""
        words: dict[Reason, str] = {
            "stated": "as stated with the connection",
            "thinnest": "the thinnest that its terminals hold and that is crimped by hand",
            "current": "carries its current for good",
            "fuse": f"carries the {self._let.get(plan.number, 0.0):g} A that the fuses let through",
            "converter": f"carries the {self.choice.given_at_most.get(plan.number, 0.0):g} A that "
                         "its converter gives at most",
            "drop": "keeps the volts lost on its feed within the limit",
            "short": "stands a short until the fuse opens, and lets it draw enough for that",
            "stall": f"stands a stall for {STALL_HELD.value:g} s, for no fuse guards it",
        }  # fmt: skip
        return words[self.choice.why[plan.id]]

    def _amps(self, n: int) -> tuple[Working, str]:
        """Largest current of the cases that go on in a conductor, and that case with its pack."""
        rows = long_rows(self.choice)
        flows = np.abs(self.study.conductor_amps[:, n])
        if not rows:
            return Working("no case with a steady state: nothing is fed", (), 0.0, "A", SHARED), ""
        at = rows[int(flows[rows].argmax())]
        case = case_name(self.choice, at)
        return Working(
            f"Ib = sum of what is drawn through it ({case})",
            flow_given(self.study, at, n),
            float(flows[at]),
            "A",
            SHARED,
        ), case

    # --- fuses ---

    @cached_property
    def fuses(self) -> dict[str, SizedFuse]:
        """Every fuse by its path's branch id."""
        found, ohms = {}, dict(enumerate(self.choice.ohms().tolist()))
        for n, fuse in self.choice.ratings.items():
            c = self.choice.ways.conductors[n]
            found[c.id] = self._fuse(n, c, fuse, self._prospective(n, fuse, ohms))
        return found

    def _fuse(
        self, n: int, c: Conductor, fuse: Fitted, right_behind: Prospective | None
    ) -> SizedFuse:
        assert c.path is not None
        form = FUSE_FORMS[fuse.form]
        guards = self._limits.get(n, [])
        weakest = min(guards, key=lambda limit: limit.amps, default=None)
        amps, case = self._amps(n)
        stands = c.path.max_volts
        start = self._start(n)
        return SizedFuse(
            c.id, c.part or "", c.path.to, fuse.form, fuse.rating, fuse.chosen_by_person, amps,
            case, weakest, c.path.fuse.max_amps if c.path.fuse else None, self.full_volts,
            form.volts.value if stands is None else stands,
            form.volts.source if stands is None else "part type",
            right_behind,
            (start, opening_time(fuse.form, start / fuse.rating)[0]),
            _advice(fuse, amps.result, weakest, self.choice.air), self.choice.air,
        )  # fmt: skip

    @cached_property
    def full_volts(self) -> float:
        """Voltage of the full pack, V."""
        volts = self.study.volts[self.study.rows(cases=("idle",), packs=("full",))]
        return float(np.nanmax(np.abs(volts))) if np.isfinite(volts).any() else 0.0

    @cached_property
    def full_volts_working(self) -> Working:
        """Why the full pack has its voltage: of the terminal with the highest, idle."""
        study = self.study
        volts = np.abs(np.nan_to_num(study.volts[study.row["idle", "full"]]))
        return full_working(study, study.network.names[int(volts.argmax())])

    def _start(self, n: int) -> float:
        """Current while every motor starts, A."""
        rows = [
            row
            for (case, _), row in self.study.row.items()
            if case.startswith("stall") and self.study.solved.converged[row]
        ]
        flows = np.abs(self.study.conductor_amps[rows, n])
        return float(flows.max(initial=0.0))

    def _prospective(self, n: int, fuse: Fitted, ohms: dict[int, float]) -> Prospective | None:
        c, tree = self.choice.ways.conductors[n], self.choice.ways.plus_tree
        near = min((c.a, c.b), key=lambda node: tree.ohms.get(node, inf))
        return prospective(self.choice.ways, fuse, ohms, near, self.study.network)

    # --- the rest ---

    @cached_property
    def faults(self) -> tuple[Fault, ...]:
        """A dead short at the far end of each way, those before any fuse left out."""
        found = [self.choice.fault(way) for way in self.choice.fault_ways()]
        return tuple(fault for fault in found if fault.fuse is not None)

    @cached_property
    def drops(self) -> tuple[tuple[Feed, Working], ...]:
        """What each whole feed loses at worst in the cases that go on."""
        rows, drops = long_rows(self.choice), self.choice.drops
        if not rows:
            return ()
        ohms = self.choice.ohms()
        lost = drops.lost(self.study.conductor_amps[rows], ohms)
        return tuple(
            (feed, self._drop(feed, float(volts.max()), rows[int(volts.argmax())], ohms))
            for feed, volts in zip(drops.feeds, lost, strict=True)
        )

    def _drop(self, feed: Feed, volts: float, row: int, ohms: Array) -> Working:
        amps = self.study.conductor_amps[row]
        network = self.study.network
        conductors = network.conductors
        each = tuple(
            Given(f"dV {conductors[c].id}", f"{abs(amps[c]):.3g} A over {1000 * ohms[c]:.3g} mohm"
                  f"{', against the feed' * (lost < 0)}", lost, "V",
                  ohms_source(network, conductors[c]))
            for c, lost in pieces(feed, amps, ohms).items()
        )  # fmt: skip
        plus = network.elements.items[feed.element].plus
        each = (*each, *guessed_draw(self.study, row, plus))
        return Working(
            f"dV = sum of I R, out and back ({case_name(self.choice, row)})", each, volts, "V",
            "Kirchhoff", feed.allowed,
            f"{feed.percent:g} % of {feed.base:g} V, assumptions; ABYC E-11 11.14.2.6 (quoted)",
        )  # fmt: skip

    @cached_property
    def contacts(self) -> tuple[Contact, ...]:
        """Every wired terminal and path."""
        return contacts_of(self.choice)

    @cached_property
    def switches(self) -> tuple[Switch, ...]:
        """Every switching contact that current flows through."""
        return switches_of(self.choice)

    @cached_property
    def stalls(self) -> tuple[StallClock, ...]:
        """The clock of each motor held fast."""
        return stall_clocks(self.choice)

    @cached_property
    def unfused(self) -> tuple[Unfused, ...]:
        """Wires at a battery's plus that nothing guards."""
        return unfused(self.choice)

    @cached_property
    def first_fuses(self) -> tuple[FirstFuse, ...]:
        """The first fuse on each way from a battery, and the wire before it."""
        return first_fuses(self.choice)

    @cached_property
    def remarks(self) -> tuple[str, ...]:
        """What was assumed, and which ratings are not known."""
        found = [*self.study.remarks]
        if any(not wire.told for wire in self.wires.values()):
            found.append("Each wire is reckoned to lie alone until its route is known; those of "
                         "one ready-made lead count together.")  # fmt: skip
        found.append(f"Wires are sized for {self.choice.air:g} C inside the body.")
        unknown = [c.what for c in self.contacts if c.rating is None and c.amps > 0.01]
        if unknown:
            found.append(f"Current ratings not known: {', '.join(unknown)}.")
        switches = [s.what for s in self.switches if s.is_unknown]
        if switches:
            found.append(f"Direct-current ratings not known: {', '.join(switches)}.")
        return tuple(found)


def _advice(fuse: Fitted, amps: float, weakest: Limit | None, air: float) -> str:
    """What to change where no rating satisfies load and wire."""
    share = CONTINUOUS_SHARE.value * hot_share(fuse.form, air).value
    need = amps / share if share else inf  # 0 in air that alone opens it
    ratings = FUSE_FORMS[fuse.form].ratings
    least = weakest.amps if weakest else inf
    if any(need <= r <= least for r in ratings):
        return ""
    if need > max(ratings):
        if not share:
            return f"In air of {air:g} C no fuse of this form carries anything: keep it cooler."
        return (f"{amps:.3g} A ask for {need:.3g} A or more, over the largest {max(ratings):g} A "
                "of this form: split the load, or take a larger form.")  # fmt: skip
    what = weakest.what if weakest else ""
    better = "a thicker wire" if weakest and weakest.is_wire else "a stronger contact"
    return (f"The load asks for {need:.3g} A or more, {what} carries {least:.3g} A: take "
            f"{better}, or split the load.")  # fmt: skip

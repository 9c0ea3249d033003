"""The heat of one job: each part and wire, the air inside, margins, a range for what is touched.

W, K, degC.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from layout_engine.geometry.outlines import bounds
from layout_engine.heat.enclosure import air_rise, effective_area, rise_working, sun_rise
from layout_engine.heat.losses import heat_pieces, lost, part_watts, wire_watts
from layout_engine.model.job import Job
from layout_engine.model.part import Part
from layout_engine.model.part_type import PartType
from layout_engine.once import cached_property
from layout_engine.supply.basis import FROM_TYPE
from layout_engine.supply.cases import running_cases
from layout_engine.supply.state import Figure
from layout_engine.supply.study import Study
from layout_engine.tables.air import (
    FINS_ACROSS,
    ON_A_BOARD,
    PLASTIC_EMISSIVITY,
    SMALL_PARTS,
    radiation_h,
    simple_h,
)
from layout_engine.tables.heat import K_SPREAD, SKIN_K, TOUCH_1_MIN, USUAL_INSIDE
from layout_engine.working import Given, Working, is_guess

LEAST_TOLD = 0.005  # W; less is told together
SMALL_MM = 30.0  # a part up to this size cools as a small part, a larger one as part of a board
ROUNDS = 30  # of the balance of a warm part with its air: to a millionth of a degree


@dataclass(frozen=True)
class PartHeat:
    """One part's heat in the worst case that goes on.

    Attributes:
        watts: given off, with its working.
        max_air: air that it stands, None where its type says nothing of heat.
        surface: (least, most) temperature of its outside or heat sink; None: it stays cool.
        surface_working: how the upper of them was worked out.
    """

    part: str
    watts: Figure
    max_air: float | None
    surface: tuple[float, float] | None
    surface_working: Working | None


class BoardHeat:
    """The heat of a job whose supply is solved.

    Args:
        job: the job.
        study: its supply, solved; None: not joined yet, each part as its type states it.
    """

    def __init__(self, job: Job, study: Study | None = None) -> None:
        self.job = job
        self.study = study

    @cached_property
    def row(self) -> int | None:
        """The case that goes on with most heat inside; None where none has a steady state."""
        study = self.study
        if study is None:
            return None
        rows = study.rows(cases=tuple(dict.fromkeys((*running_cases(self.job), "typical"))))
        good = [int(r) for r in rows if study.solved.converged[r]]
        if not good:
            return None
        ohms = np.array([c.ohms for c in study.network.conductors])
        total = (study.conductor_amps[good] ** 2 * ohms).sum(axis=1)
        across, amps = study.ports_volts[good], study.solved.amps[good]
        power = across * amps
        for n in (*study.network.elements.of("battery"), *study.network.elements.of("motor")):
            loss = study.network.elements.ohms[n] * amps[:, n] ** 2
            power[:, n] = np.minimum(loss, np.abs(power[:, n]))
        return good[int((total + power.sum(axis=1)).argmax())]

    @property
    def case(self) -> str:
        """Its name, with the pack."""
        if self.row is None or self.study is None:
            return "none"
        case, pack = self.study.wanted[self.row]
        return f"{case}, {pack} pack"

    @cached_property
    def _solved(self) -> tuple[dict[str, float], dict[str, float]]:
        """Heat of each part, and of each wire, by the solved supply, W."""
        if self.row is None or self.study is None:
            return {}, {}
        return part_watts(self.study, self.row), wire_watts(self.study, self.row)

    @cached_property
    def wires(self) -> dict[str, float]:
        """Heat of each wire with its contacts, W."""
        return dict.fromkeys((w.id for w in self.job.connections), 0.0) | self._solved[1]

    @cached_property
    def pieces(self) -> dict[str, tuple[Given, ...]]:
        """What each part's heat by the solved supply is the sum of, W."""
        if self.row is None or self.study is None:
            return {}
        return heat_pieces(self.study, self.row)

    @cached_property
    def watts(self) -> dict[str, Figure]:
        """Heat of each part: as its type states it (it knows what leaves as sound or light).

        Else what the solved supply loses and uses in it.
        """
        return {part.id: self._watts(part) for part in self.job.parts}

    def _watts(self, part: Part) -> Figure:
        own, stated = self._own(part), self._stated(part)
        if stated > 0:
            return Figure(own, "W", Working(
                "P as the type states it" if own > 0 else "nothing, for nothing feeds it", (
                    Given("P", "typical heat", stated, "W", self._basis(part)),
                ), own, "W", "part type",
            ))  # fmt: skip
        return Figure(own, "W", Working(
            f"P = sum of what is lost and used in it ({self.case})", self.pieces.get(part.id, ()),
            own, "W", "Ohm; part without a stated heat: all it takes stays in it",
        ))  # fmt: skip

    def _stated(self, part: Part) -> float:
        heat = self.job.type_of(part).heat
        return heat.watts.typical if heat is not None else 0.0

    def _own(self, part: Part) -> float:
        """Heat of one part, W: what its type states while it is fed, else by the solved supply."""
        solved, stated = self._solved[0].get(part.id, 0.0), self._stated(part)
        if stated > 0:
            return stated if solved > 0 or self.study is None else 0.0
        return solved

    def _basis(self, part: Part) -> str:
        return _by_basis(self.job.type_of(part).basis.heat)

    @cached_property
    def total(self) -> float:
        """Heat given off inside the body, W."""
        parts = sum(self._own(part) for part in self.job.parts)
        return parts + sum(self.wires.values())

    @cached_property
    def rise(self) -> Working:
        """Rise of the air inside over the air outside."""
        return rise_working(self.job.body, self._given_off())

    def _given_off(self) -> tuple[Given, ...]:
        """The heat of each part and of each wire; what is too little to tell, together."""
        found: list[Given] = []
        rest = 0.0
        for part in self.job.parts:
            watts = self._own(part)
            working = self.watts[part.id].working if watts >= LEAST_TOLD else None
            if working is None:
                rest += watts
                continue
            guessed = any(is_guess(one.source) for one in working.given)
            found.append(Given(f"P{len(found) + 1}", part.title, watts, "W",
                               f"{'guess, ' * guessed}{working.source}"))  # fmt: skip
        told = [wire for wire, watts in self.wires.items() if watts >= LEAST_TOLD]
        found += [self._of_wire(number, wire) for number, wire in enumerate(told, 1)]
        rest += sum(watts for watts in self.wires.values() if watts < LEAST_TOLD)
        if rest > 0:
            found.append(Given("Po", "all others", rest, "W", "Ohm: I^2 R"))
        return tuple(found)

    def _of_wire(self, number: int, wire: str) -> Given:
        study, row = self.study, self.row
        assert study is not None
        assert row is not None  # no heat without a solved supply
        return replace(lost(study, row, study.conductor_row[wire]), symbol=f"Pw{number}")

    @cached_property
    def sun_rise(self) -> Working | None:
        """What the sun adds; None without it."""
        return sun_rise(self.job.body) if self.job.assumptions.sun else None

    @cached_property
    def air(self) -> Working:
        """Air inside the body: as assumed, else worked out."""
        given = self.job.assumptions
        if given.inside_air is not None:
            return Working("Ta as assumed", (
                Given("Ta", "air inside", given.inside_air, "C", "assumptions"),
            ), given.inside_air, "C", "assumptions")  # fmt: skip
        sun = self.sun_rise.result if self.sun_rise else 0.0
        air = given.ambient + self.rise.result + sun
        return Working("Ta = To + dT + ds", (
            Given("To", "air outside", given.ambient, "C", "assumptions"),
            Given("dT", "rise by the heat inside", self.rise.result, "K", self.rise.source),
            Given("ds", "rise by the sun", sun, "K",
                  self.sun_rise.source if self.sun_rise else "left out"),
        ), air, "C", "mean of the air inside; hottest under the roof")  # fmt: skip

    @cached_property
    def air_range(self) -> tuple[float, float]:
        """Least and most of the air inside: the wall's coefficient may be off by its spread."""
        air = self.air.result
        if self.job.assumptions.inside_air is not None:
            return air, air
        spread = K_SPREAD.value * self.rise.result
        return air - spread, air + spread / (1 - K_SPREAD.value)

    @cached_property
    def parts(self) -> dict[str, PartHeat]:
        """Each part's heat."""
        return {part.id: self._part(part) for part in self.job.parts}

    def _part(self, part: Part) -> PartHeat:
        kind, watts = self.job.type_of(part), self.watts[part.id]
        most = kind.heat.watts.full if kind.heat else 0.0
        own = watts.value or 0.0
        surface, working = None, None
        if own > 0.05:
            low, high = self.air_range
            made = watts.working if own >= most else None  # stated for full load
            upper = self._surface(part, kind, max(own, most), high)
            surface = self._surface(part, kind, own, low), upper
            working = self._surface_working(part, kind, (max(own, most), made), (high, upper))
        return PartHeat(part.id, watts, kind.heat.max_air if kind.heat else None, surface, working)

    def _surface(self, part: Part, kind: PartType, watts: float, air: float) -> float:
        """Temperature of the outside: by the stated K/W, else by convection and radiation."""
        if kind.heat is not None and kind.heat.k_per_w is not None:
            return air + watts * kind.heat.k_per_w / self._crossed(part, kind)
        return _Skin(kind).temperature(watts, air)

    def _surface_working(
        self, part: Part, kind: PartType, made: tuple[float, Working | None],
        temperatures: tuple[float, float],
    ) -> Working:  # fmt: skip
        """How the temperature of the outside follows.

        made: its heat, W, and how that follows; None: its type states it for full load.
        temperatures: of the air and of the outside.
        """
        heat, (watts, how), (air, warm) = kind.heat, made, temperatures
        assumed = self.job.assumptions.inside_air is not None
        warmest = "" if assumed else "; Ta = Tm + q dT / (1 - q)"
        guessed = how is not None and any(is_guess(one.source) for one in how.given)
        stated = how is None or how.source == FROM_TYPE
        source = self._basis(part) if stated else f"{'guess, ' * guessed}what it gives off"
        given = (Given("P", "heat, at full load" if how is None else "heat", watts, "W", source),
                 *self._air_given(air))  # fmt: skip
        if heat is not None and heat.k_per_w is not None:
            return Working(
                f"Ts = Ta + P Rth / f{warmest}", (
                    *given,
                    Given("Rth", "heat sink", heat.k_per_w, "K/W", self._basis(part)),
                    Given("f", "fins lying crosswise cool less", self._crossed(part, kind), "1",
                          FINS_ACROSS.source),
                ), warm, "C", "heat sink data", TOUCH_1_MIN.value, TOUCH_1_MIN.source,
            )  # fmt: skip
        return _Skin(kind).working(given, warmest, (air, warm))

    def _air_given(self, air: float) -> tuple[Given, ...]:
        """The air at one end of its range, and what that follows from."""
        taken = Given("Ta", "air inside, the warm end of its range", air, "C", self.air.source)
        if self.job.assumptions.inside_air is not None:
            return (taken,)
        return (
            taken,
            Given("Tm", "air inside, the mean", self.air.result, "C", self.air.source),
            Given("dT", "rise by the heat inside", self.rise.result, "K", self.rise.source),
            Given("q", K_SPREAD.note or "spread", K_SPREAD.value, "1", K_SPREAD.source),
        )

    def _crossed(self, part: Part, kind: PartType) -> float:
        """Share of its cooling that a heat sink keeps as it stands."""
        return FINS_ACROSS.value if self._fins_lie(part, kind) else 1.0

    def _fins_lie(self, part: Part, kind: PartType) -> bool:
        if kind.heat is None or kind.heat.fins is None or part.placement is None:
            return False
        along = 0.0 if kind.heat.fins == "x" else 90.0
        turned = (along + part.placement.turn) % 180
        return self.job.plate.stands == "upright" and abs(turned - 90) > 30

    @property
    def for_wires(self) -> float:
        """Air that wires are sized for: as assumed, else the warmer of 50 C and what is found."""
        given, body = self.job.assumptions, self.job.body
        if given.inside_air is not None:
            return given.inside_air
        rise = air_rise(self.total, SKIN_K[body.skin].value, effective_area(body))
        sun = self.sun_rise.result if self.sun_rise else 0.0
        return max(USUAL_INSIDE.value, given.ambient + rise + sun)


class _Skin:
    """Top and sides of a part's box, which give off its heat."""

    def __init__(self, kind: PartType) -> None:
        x0, y0, x1, y1 = bounds(kind.outline)
        wide, deep, high = (x1 - x0) / 1000, (y1 - y0) / 1000, kind.height / 1000
        self.area = wide * deep + 2 * (wide + deep) * high
        self.length = 2 * wide * deep / (wide + deep)
        self.law = SMALL_PARTS if max(wide, deep) * 1000 <= SMALL_MM else ON_A_BOARD
        self.basis = _by_basis(kind.basis.footprint)

    def temperature(self, watts: float, air: float) -> float:
        """At which it gives off a heat [W] in air [C], up to 400 K over it."""
        low, upper = air, air + 400.0
        for _ in range(ROUNDS):
            middle = (low + upper) / 2
            h = simple_h(self.law, middle - air, self.length) + _radiated(middle, air)
            low, upper = (
                (middle, upper) if h * self.area * (middle - air) < watts else (low, middle)
            )
        return low

    def working(
        self, given: tuple[Given, ...], warmest: str, temperatures: tuple[float, float]
    ) -> Working:
        """How that follows.

        given: the heat, and the air; warmest: how the air follows; temperatures: of air and skin.
        """
        air, found = temperatures
        return Working(
            f"Ts at which P = (c ((Ts - Ta) / L)^0.25 + hr) A (Ts - Ta){warmest}", (
                *given,
                Given("c", "convection", self.law.value, "1", self.law.source),
                Given("L", "2 width depth / (width + depth)", self.length, "m", self.basis),
                Given("A", "top and sides of its box", self.area, "m2", self.basis),
                Given("hr", "radiation at Ts", _radiated(found, air), "W/m2K",
                      f"Stefan-Boltzmann; emissivity {PLASTIC_EMISSIVITY.value:g}, "
                      f"{PLASTIC_EMISSIVITY.source}"),
            ), found, "C", f"{self.law.source}; radiation", TOUCH_1_MIN.value, TOUCH_1_MIN.source,
        )  # fmt: skip


def _radiated(surface: float, air: float) -> float:
    return radiation_h(surface, air, PLASTIC_EMISSIVITY.value)


def _by_basis(basis: str) -> str:
    return f"guess, {FROM_TYPE}" if basis == "guess" else f"{FROM_TYPE}, {basis.replace('_', ' ')}"

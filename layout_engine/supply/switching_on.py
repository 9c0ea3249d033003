"""Switching on: what rushes into empty capacitors, and what a pre-charge resistor does about it.

uF, A, V, ohm, s, J, W.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from layout_engine.model.part_type import PartType
from layout_engine.supply.basis import pack_sources
from layout_engine.supply.cases import pack_volts
from layout_engine.supply.elements import Array, Element
from layout_engine.supply.joined import plus_pieces
from layout_engine.supply.network import Change, Conductor, Network
from layout_engine.supply.state import Figure
from layout_engine.supply.study import Study
from layout_engine.supply.worked import resistance_given
from layout_engine.tables.batteries import PRE_CHARGE
from layout_engine.tables.motion import capacitor_energy, charging_seconds
from layout_engine.tables.sourced import COMMON_PRACTICE, Sourced
from layout_engine.working import Given, Working

PRE_CHARGE_OHMS = Sourced(47.0, "ohm", COMMON_PRACTICE, "a pre-charge resistor of usual size")
CHARGED = Sourced(0.993, "1", "five time constants: 1 - exp(-5)", "what counts as charged")
CAPACITOR_OHMS = Sourced(
    0.010, "ohm", COMMON_PRACTICE, "an electrolytic capacitor's own resistance, at switch-on"
)
LEAST_AMPS = 1e-6  # under it nothing rushes in
UF = 1e-6
KINDS = ("main_switch", "relay")


@dataclass(frozen=True, slots=True)
class Rush:
    """One switch that closes onto empty capacitors.

    Attributes:
        switch: part.
        parts: those whose capacitors it parts from the batteries.
        microfarads: uF of them together.
        amps: A at the instant of closing, a full pack.
        stands: A that the contact stands for a moment, None where not known.
        wants_pre_charge: whether they exceed 1 mF.
        energy: J that go into them.
        seconds: s until a pre-charge resistor has filled them.
        first_watts: W in that resistor at first.
    """

    switch: str
    parts: tuple[str, ...]
    microfarads: float
    amps: Figure
    stands: float | None
    wants_pre_charge: bool
    energy: Figure
    seconds: Figure
    first_watts: Figure


def rushes(study: Study) -> tuple[Rush, ...]:
    """Every main switch and relay with capacitors behind it, in the job's order."""
    found = []
    for c in study.network.conductors:
        if c.path is None or not c.path.switch or c.part is None:
            continue
        behind = behind_switch(study, c) if study.job.type_of(c.part).kind in KINDS else []
        if behind:
            found.append(_rush(study, c, behind))
    return tuple(found)


def behind_switch(study: Study, c: Conductor) -> list[int]:
    """Numbers of the elements with capacitors that a switch alone parts from the packs' plus."""
    network = study.network
    off = Network(study.job, study.wires, Change(opened=frozenset({c.id})))
    live_on, live_off = plus_pieces(network), plus_pieces(off)
    return [
        n
        for n, e in enumerate(network.elements.items)
        if capacitance(study.job.type_of(e.part), e) > 0
        and int(network.component[e.plus]) in live_on
        and int(off.component[e.plus]) not in live_off
        and np.isfinite(study.element_volts[0, n])
    ]


def _rush(study: Study, c: Conductor, behind: list[int]) -> Rush:
    items = study.network.elements.items
    total = sum(capacitance(study.job.type_of(items[n].part), items[n]) for n in behind)
    volts = max((pack_volts(b, "full") for p in study.job.parts
                 if (b := study.job.type_of(p).battery) is not None), default=0.0)  # fmt: skip
    parts = tuple(dict.fromkeys(items[n].part for n in behind))
    guessed = any(study.job.type_of(part).basis.electrical == "guess" for part in parts)
    rests = pack_sources(study.job, tuple(part.id for part in study.job.parts))
    given = (Given("C", "capacitors behind the switch", total * UF, "F",
                   "guess, part types" if guessed else "part types"),
             Given("V", "full pack", volts, "V", rests[0]))  # fmt: skip
    ohms = Given("R", "pre-charge resistor", PRE_CHARGE_OHMS.value, "ohm", PRE_CHARGE_OHMS.source)
    energy = capacitor_energy(total * UF, volts)
    seconds = charging_seconds(PRE_CHARGE_OHMS.value, total * UF, CHARGED.value)
    watts = volts**2 / PRE_CHARGE_OHMS.value
    return Rush(
        c.part or "", parts, total, inrush(study, behind, study.network.conductors.index(c)),
        c.path.peak_amps if c.path else None,
        total > PRE_CHARGE.value,
        Figure(energy, "J", Working("E = C V^2 / 2", given, energy, "J", "textbook")),
        Figure(seconds, "s", Working("t = -R C ln(1 - a)", (
            ohms, given[0], Given("a", "share of the voltage", CHARGED.value, "1", CHARGED.source),
        ), seconds, "s", "RC charging")),
        Figure(watts, "W", Working("P = V^2 / R", (given[1], ohms), watts, "W", "Ohm")),
    )  # fmt: skip


def capacitance(kind: PartType, e: Element) -> float:
    """Capacitance, uF, at a load or a driver's input; 0 of anything else."""
    if e.kind == "load":
        return kind.loads[e.index].capacitance_uf
    return kind.drives[e.index].capacitance_uf if e.kind == "drive" else 0.0


def inrush(study: Study, chosen: list[int], switch: int) -> Figure:
    """Current, A, that rushes from full packs into empty capacitors at the instant of closing.

    Args:
        study: the supply.
        chosen: numbers of the elements whose capacitors are empty.
        switch: number of the conductor that closes: the current through it is told.
    """
    network = study.network
    packs = network.elements.of("battery")
    rows = np.array([*packs, *chosen], dtype=int)
    row = study.row["idle", "full"]
    own = np.concatenate((network.elements.ohms[packs], np.full(len(chosen), CAPACITOR_OHMS.value)))
    emf = np.concatenate((study.settings.emf[row, packs], np.zeros(len(chosen))))
    b = study.ports.pieces[rows][:, ~study.ports.fixed]
    z = study.ports.z[np.ix_(rows, rows)] + np.diag(own)
    corner = np.zeros((b.shape[1], b.shape[1]))
    matrix = np.block([[z, -b], [b.T, corner]])
    right = np.concatenate((-emf, np.zeros(b.shape[1])))
    found = np.linalg.lstsq(matrix, right, rcond=None)[0][: len(rows)]
    flows = np.zeros(len(network.elements))
    flows[rows] = found
    through = network.shares @ flows
    amps = abs(float(through[switch]))
    if amps <= LEAST_AMPS:
        return Figure(0.0, "A")
    return Figure(amps, "A", Working(
        "I = V / R at t = 0, every capacitor a short; V = sum of E x share, R = sum of ohms x "
        "share^2, share: of I", (
            *_rests(study, packs.tolist(), flows / amps, emf),
            *_own_ohms(study, packs.tolist(), chosen, flows / amps),
            *resistance_given(network, through / amps),
        ), amps, "A", "Ohm; Kirchhoff; Tellegen where ways share",
    ))  # fmt: skip


def _rests(study: Study, packs: list[int], share: Array, emf: Array) -> Iterator[Given]:
    """What each full pack adds to the voltage that drives a current."""
    for k, n in enumerate(packs):
        part = study.job.part(study.network.elements.items[n].part)
        yield Given(
            f"V{k + 1}",
            f"{part.title} full, {float(emf[k]):.4g} V x {-share[n]:.4g}",
            float(-emf[k] * share[n]),
            "V",
            pack_sources(study.job, (part.id,))[0],
        )


def _own_ohms(study: Study, packs: list[int], chosen: list[int], share: Array) -> Iterator[Given]:
    """What packs and capacitors add to the resistance that a current meets."""
    items, job = study.network.elements.items, study.job
    for k, n in enumerate(packs, 1):
        e, own = items[n], float(items[n].ohms * share[n] ** 2)
        yield Given(f"Rb{k}", f"inside {job.part(e.part).title}: {1000 * e.ohms:.4g} mohm x "
                    f"{-share[n]:.4g}^2", own, "ohm", pack_sources(job, (e.part,))[1])  # fmt: skip
    each = CAPACITOR_OHMS.value
    for k, n in enumerate(chosen, 1):
        yield Given(f"Rc{k}", f"capacitor of {job.part(items[n].part).title}: {1000 * each:g} mohm "
                    f"x {share[n]:.4g}^2", float(each * share[n] ** 2), "ohm",
                    CAPACITOR_OHMS.source)  # fmt: skip

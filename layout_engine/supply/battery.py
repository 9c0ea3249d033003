"""How long the pack lasts and takes to charge, what rushes in at switch-on.

V, A, Ah, min, uF, ohm.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from layout_engine.model.part_type import Battery, PartType
from layout_engine.supply.basis import pack_sources
from layout_engine.supply.elements import Element
from layout_engine.supply.state import Figure
from layout_engine.tables.batteries import CHARGE_FACTOR, CHEMISTRIES, peukert_hours
from layout_engine.tables.sourced import COMMON_PRACTICE, Sourced
from layout_engine.working import Given, Working

if TYPE_CHECKING:
    from layout_engine.supply.study import Study

CAPACITOR_OHMS = Sourced(
    0.010, "ohm", COMMON_PRACTICE, "an electrolytic capacitor's own resistance, at switch-on"
)
LEAST_AMPS = 1e-6  # under it a pack is not being emptied


def run_time(battery: Battery, amps: float) -> Figure:
    """Minutes until the usable part of a battery is drawn at a steady current.

    None where its capacity is not known or nothing is drawn.
    """
    if battery.amp_hours <= 0 or battery.hour_rate <= 0 or amps <= LEAST_AMPS:
        return Figure(None, "min")
    chemistry = CHEMISTRIES[battery.chemistry]
    exponent = chemistry.peukert
    hours = peukert_hours(battery.amp_hours, battery.hour_rate, amps, exponent.value)
    minutes = 60 * hours * chemistry.usable.value
    return Figure(minutes, "min", Working(
        "t = 60 u H (C / (I H))^n; n = 1 where I <= C / H", (
            Given("u", f"usable share, {chemistry.name}", chemistry.usable.value, "1",
                  chemistry.usable.source),
            Given("H", "hours that the capacity was measured over", battery.hour_rate, "h",
                  "part type"),
            Given("C", "capacity", battery.amp_hours, "Ah", "part type"),
            Given("I", "current drawn", amps, "A", "solved supply"),
            Given("n", "Peukert's exponent", exponent.value, "1", exponent.source),
        ), minutes, "min", "Peukert 1897",
    ))  # fmt: skip


def mixed_run_time(battery: Battery, mix: list[tuple[str, float, float]]) -> Figure:
    """Minutes for a mix of cases: (name, share of the time, A), shares summing to 1.

    Each case takes its share of the pack in the time it would empty it alone: 1/t = sum(s / t_i).
    """
    rate, given = 0.0, []
    for name, share, amps in mix:
        alone = run_time(battery, amps)
        if alone.value is None or share <= 0:
            continue
        rate += share / alone.value
        given.append(Given(f"s {name}", f"share of the time: {name}", share, "1", "cases"))
        given.append(Given(f"t {name}", f"run time of {name} alone, at {amps:.3g} A",
                           alone.value, "min", "Peukert 1897; usable depth"))  # fmt: skip
    if rate <= 0:
        return Figure(None, "min")
    return Figure(1 / rate, "min", Working(
        "1/t = sum(s / t of each case)", tuple(given), 1 / rate, "min",
        "each case takes its share of the pack",
    ))  # fmt: skip


def charging_time(battery: Battery, amps: float, drawn: float = 0.0) -> Figure:
    """Hours from empty to full at a charger's current, A, of which `drawn` goes to the board.

    At least: towards the end a pack takes less. None where nothing is left for the battery or its
    capacity is not known.
    """
    left = amps - drawn
    if battery.amp_hours <= 0 or left <= LEAST_AMPS:
        return Figure(None, "h")
    factor = CHARGE_FACTOR[battery.chemistry]
    usable = CHEMISTRIES[battery.chemistry].usable
    hours = factor.value * usable.value * battery.amp_hours / left
    return Figure(hours, "h", Working(
        "t = f u C / (I - Id)", (
            Given("f", "put in over taken out", factor.value, "1", factor.source),
            Given("u", "usable share, taken out", usable.value, "1", usable.source),
            Given("C", "capacity", battery.amp_hours, "Ah", "part type"),
            Given("I", "charger, or the most that the battery takes", amps, "A", "part type"),
            Given("Id", "drawn by the board meanwhile", drawn, "A", "solved supply"),
        ), hours, "h", COMMON_PRACTICE,
    ))  # fmt: skip


def capacitance(kind: PartType, e: Element) -> float:
    """Capacitance, uF, at a load or a driver's input; 0 of anything else."""
    if e.kind == "load":
        return kind.loads[e.index].capacitance_uf
    return kind.drives[e.index].capacitance_uf if e.kind == "drive" else 0.0


def inrush(study: Study, chosen: list[int]) -> Figure:
    """Current, A, that rushes from full packs into empty capacitors at the instant of closing.

    Args:
        study: the supply.
        chosen: numbers of the elements whose capacitors are empty.
    """
    network = study.network
    packs = network.elements.of("battery")
    rows = np.array([*packs, *chosen], dtype=int)
    row = study.row["idle", "full"]
    own = np.concatenate((network.elements.ohms[packs],
                          np.full(len(chosen), CAPACITOR_OHMS.value)))
    emf = np.concatenate((study.settings.emf[row, packs], np.zeros(len(chosen))))
    b = study.ports.pieces[rows][:, ~study.ports.fixed]
    z = study.ports.z[np.ix_(rows, rows)] + np.diag(own)
    corner = np.zeros((b.shape[1], b.shape[1]))
    matrix = np.block([[z, -b], [b.T, corner]])
    right = np.concatenate((-emf, np.zeros(b.shape[1])))
    found = np.linalg.lstsq(matrix, right, rcond=None)[0]
    amps = float(np.abs(found[: len(packs)]).max(initial=0.0))
    volts = float(np.abs(emf).max(initial=0.0))
    sources = pack_sources(study.job, tuple(network.elements.items[n].part for n in packs))
    return Figure(amps, "A", Working(
        "I = V / R at t = 0, every capacitor a short", (
            Given("V", "full pack", volts, "V", sources[0]),
            Given("R", "pack, wires, contacts, capacitors", volts / amps if amps else 0.0, "ohm",
                  "solved network"),
            Given("Rc", "each capacitor", CAPACITOR_OHMS.value, "ohm", CAPACITOR_OHMS.source),
        ), amps, "A", "Ohm; Kirchhoff",
    ))  # fmt: skip

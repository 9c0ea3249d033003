"""A machine that is pushed: its motors give voltage to a board that is switched off.

The bridges' diodes pass a motor's EMF to the rail whether the main switch is on or off. V, A, km/h.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf

import numpy as np

from layout_engine.model.job import Job
from layout_engine.model.part_type import Motor, PartType
from layout_engine.supply.basis import marked, pack_sources, source_of
from layout_engine.supply.elements import Element
from layout_engine.supply.joined import feeds, motors_of_drive
from layout_engine.supply.network import SHORT_OHMS, Change, Network, motor_ohms
from layout_engine.supply.running import KMH
from layout_engine.supply.shorts import short_circuits
from layout_engine.supply.state import Figure
from layout_engine.supply.study import Study
from layout_engine.tables.motion import (
    DIODE_DROP,
    MOTOR_SOURCE,
    SPEED_SOURCE,
    charged_volts,
    ground_speed,
    pushed_volts,
)
from layout_engine.tables.safety import HIGHEST_VOLTS
from layout_engine.working import Given, Working

OPENED_KINDS = ("main_switch", "relay", "stop_button")
UF = 1e-6
FREE_SPEED = "v0 = 3.6 pi D n0 / (60 G)"


@dataclass(frozen=True, slots=True)
class Pushed:
    """What a pushed motor does to the rail of its driver.

    Attributes:
        motor, drive: parts.
        emf: the motor's voltage at the assumed pushing speed.
        rail_off: of the driver's supply with the main switch off.
        rail_on: with it on, a full pack holding the voltage down as far as it takes charge.
        limit: the lowest highest voltage of what hangs on the rail, never over 60 V.
        limited_by: the part with that limit; "" where it is the touch limit.
        safe_speed: km/h at which the limit is reached.
        braking: V on the rail when the machine's motion goes into the capacitors alone; None where
            mass, speed or capacitors are not known.
        parted: whether a plug or a switch takes the motor off the board.
    """

    motor: str
    drive: str
    emf: Figure
    rail_off: Figure
    rail_on: Figure
    limit: float
    limited_by: str
    safe_speed: Figure
    braking: Figure
    parted: bool


def free_speed_kmh(motor: Motor) -> float:
    """Ground speed at the motor's free speed and nominal volts; 0 where it does not roll."""
    if motor.wheel_diameter is None or motor.free_rpm <= 0:
        return 0.0
    return ground_speed(motor.free_rpm, motor.gear, motor.wheel_diameter) * KMH


def pushed(study: Study) -> list[Pushed]:
    """Every wheel's motor on a driver, at the assumed pushing speed."""
    job = study.job
    speed = job.assumptions.push_speed_kmh
    off = Network(job, study.wires, Change(opened=frozenset(_switched(study.network))))
    found = []
    for out in study.network.elements.items:
        if out.kind != "drive_out" or speed <= 0:
            continue
        for e in motors_of_drive(study.network, out):
            motor = job.type_of(e.part).motor
            if motor is not None and free_speed_kmh(motor) > 0 and motor.volts > 0:
                found.append(_told(job.type_of(e.part), _pushed(study, off, out, e, motor)))
    return found


def _told(kind: PartType, found: Pushed) -> Pushed:
    """With the motor's values marked as measured or guessed."""
    return replace(
        found, emf=marked(kind, found.emf), rail_off=marked(kind, found.rail_off),
        rail_on=marked(kind, found.rail_on), safe_speed=marked(kind, found.safe_speed),
        braking=marked(kind, found.braking),
    )  # fmt: skip


def _switched(network: Network) -> list[str]:
    kinds = {part.id: network.job.type_of(part).kind for part in network.job.parts}
    return [
        c.id
        for c in network.conductors
        if c.path is not None and c.path.switch and kinds[c.part or ""] in OPENED_KINDS
    ]


def _pushed(study: Study, off: Network, out: Element, e: Element, motor: Motor) -> Pushed:
    job = study.job
    speed, free = job.assumptions.push_speed_kmh, free_speed_kmh(motor)
    volts = pushed_volts(motor.volts, speed, free)
    given = (
        Given("Vn", "nominal volts of the motor", motor.volts, "V", "part type"),
        Given("v", "pushing speed", speed, "km/h", "assumptions"),
        *_free_given(motor, free),
    )
    emf = Figure(
        volts,
        "V",
        Working(f"E = Vn v / v0, {FREE_SPEED}", given, volts, "V", MOTOR_SOURCE),
    )
    inp = off.elements.items[out.partner]  # elements keep their numbers whatever is open
    limit, who, farads, guessed = _rail(job, off, inp)
    whose = (
        source_of(job.type_of(who), f" of {job.part(who).title}") if who else (HIGHEST_VOLTS.source)
    )
    rail_off = volts - DIODE_DROP.value
    lost = Given("Vd", "lost in the bridge's diodes", DIODE_DROP.value, "V", DIODE_DROP.source)
    return Pushed(
        e.part, out.part, emf,
        Figure(rail_off, "V", Working(f"V = Vn v / v0 - Vd, {FREE_SPEED}", (*given, lost),
                                      rail_off, "V",
                                      MOTOR_SOURCE, limit, whose)),
        _rail_on(study, out, motor, volts, (limit, whose)),
        limit, who, _safe_speed(motor, free, limit, whose),
        _braking(job, farads, motor, guessed=guessed),
        _is_parted(study, out, e),
    )  # fmt: skip


def _free_given(motor: Motor, free: float) -> tuple[Given, ...]:
    """The ground speed at nominal volts, and what it follows from."""
    return (
        Given("v0", "free speed on the ground at Vn", free, "km/h", SPEED_SOURCE),
        Given("D", "wheel", (motor.wheel_diameter or 0.0) / 1000, "m", "part type"),
        Given("n0", "free speed, before the gear", motor.free_rpm, "1/min", "part type"),
        Given("G", "gear", motor.gear, "1", "part type"),
    )


def _safe_speed(motor: Motor, free: float, limit: float, whose: str) -> Figure:
    speed = free * limit / motor.volts
    return Figure(speed, "km/h", Working(
        f"v = v0 Vmax / Vn, {FREE_SPEED}", (
            *_free_given(motor, free),
            Given("Vmax", "highest voltage on the rail", limit, "V", whose),
            Given("Vn", "nominal volts of the motor", motor.volts, "V", "part type"),
        ), speed, "km/h", MOTOR_SOURCE,
    ))  # fmt: skip


def _rail(job: Job, off: Network, inp: Element) -> tuple[float, str, float, bool]:
    """Lowest limit on a driver's rail, whose it is, capacitors there [F], and whether guessed."""
    rail = int(off.component[inp.plus])
    limit, who, farads, guessed = HIGHEST_VOLTS.value, "", 0.0, False
    for e in off.elements.items:
        if int(off.component[e.plus]) != rail or e.kind not in ("load", "drive"):
            continue
        most, capacitance = _stands(job.type_of(e.part), e)
        farads += capacitance * UF
        guessed |= capacitance > 0 and job.type_of(e.part).basis.electrical == "guess"
        if most < limit:
            limit, who = most, e.part
    return limit, who, farads, guessed


def _stands(kind: PartType, e: Element) -> tuple[float, float]:
    """Highest voltage and capacitance of a load or a driver's input."""
    if e.kind == "load":
        load = kind.loads[e.index]
        most = load.volts[1] if load.volts and load.volts[1] > 0 else inf
        return most, load.capacitance_uf
    drive = kind.drives[e.index]
    return drive.max_volts or inf, drive.capacitance_uf


def _rail_on(
    study: Study, out: Element, motor: Motor, emf: float, limit: tuple[float, str]
) -> Figure:
    """The rail with the main switch on: held by the packs on it as far as they take charge."""
    network, rests = study.network, study.row["idle", "full"]
    piece = network.component[network.elements.items[out.partner].plus]
    group = feeds(network).group
    packs = [
        int(n)
        for n in network.elements.of("battery")
        if group[int(network.component[network.elements.items[n].plus])] == group[int(piece)]
    ]
    batteries = [
        b
        for n in packs
        if (b := study.job.type_of(network.elements.items[n].part).battery) is not None
    ]
    takes = bool(batteries) and all(b.takes_regeneration for b in batteries)
    full = max(0.0, float(np.nan_to_num(study.open_volts[rests, out.partner])))
    inner = _inner_ohms(study, out.partner, full) if takes else 0.0
    own = motor_ohms(motor) or 0.0
    amps = max(0.0, emf - full) / (own + inner) if takes and own + inner > 0 else 0.0
    volts = full + amps * inner if takes else max(full, emf)
    sources = pack_sources(study.job, tuple(network.elements.items[n].part for n in packs))
    given = (Given("Vf", "full pack at the driver, at rest", full, "V", sources[0]),
             Given("E", "motor's voltage: Vn v / v0", emf, "V", MOTOR_SOURCE))  # fmt: skip
    if not takes:
        return Figure(volts, "V", Working("V = the higher of Vf and E: the pack takes no charge",
                                          given, volts, "V", "Ohm", *limit))  # fmt: skip
    return Figure(volts, "V", Working(
        "V = Vf + Rb (E - Vf) / (Rm + Rb), V = Vf where E is lower", (
            *given,
            Given("Rm", "motor: nominal volts / stall current", own, "ohm", "part type"),
            Given("Rb", "packs and wires seen from the driver", inner, "ohm", sources[1]),
        ), volts, "V", "Ohm", *limit,
    ))  # fmt: skip


def _inner_ohms(study: Study, inp: int, volts: float) -> float:
    """Resistance of packs and wires seen from a driver's input: volts at rest over a dead short."""
    amps = abs(float(short_circuits(study, [inp]).amps[0]))
    return max(0.0, volts / amps - SHORT_OHMS) if amps > 0 else 0.0


def _braking(job: Job, farads: float, motor: Motor, *, guessed: bool) -> Figure:
    machine = job.machine
    if machine is None or machine.mass_kg <= 0 or machine.speed_kmh <= 0 or farads <= 0:
        return Figure(None, "V")
    speed = machine.speed_kmh / KMH
    joules = machine.mass_kg * speed**2 / 2
    volts = charged_volts(motor.volts, joules, farads)
    return Figure(volts, "V", Working(
        "V = sqrt(V0^2 + m v^2 / C), no losses", (
            Given("V0", "before", motor.volts, "V", "part type"),
            Given("m", "mass", machine.mass_kg, "kg", "machine"),
            Given("v", "speed", speed, "m/s", "machine"),
            Given("C", "capacitors on the rail", farads, "F",
                  "guess, part types" if guessed else "part types"),
        ), volts, "V", "energy balance",
    ))  # fmt: skip


def _is_parted(study: Study, out: Element, motor: Element) -> bool:
    """Whether a plug or a switch lies between a bridge and its motor."""
    network = study.network
    pieces = {int(network.component[n]) for n in (out.plus, out.minus, motor.plus, motor.minus)}
    kinds = {part.id: study.job.type_of(part).kind for part in study.job.parts}
    unplugged = {wire.id for wire in study.job.connections if wire.unplug}
    return any(
        int(network.component[c.a]) in pieces
        and (c.id in unplugged or kinds.get(c.part or "") == "plug"
             or (c.path is not None and c.path.switch))
        for c in network.conductors
    )  # fmt: skip

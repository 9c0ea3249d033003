"""Which current each load and motor takes in a case.

idle        loads at their idle current, motors still
the person's cases   the currents that the case names (split over a part's loads as their
            typical); loads it does not name idle, motors it does not name stand still
typical     loads at their typical current; wheels' motors as on the flat, else at their best
            efficiency
peak        loads at their peak; wheels' motors as up the ramp, else at their greatest power
stall.PART  that motor held fast, all else as typical
stall_all   every motor held fast
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, nan

import numpy as np

from layout_engine.model.job import Case, Job
from layout_engine.model.part_type import Battery, Motor, PartType
from layout_engine.supply.elements import Element, Settings
from layout_engine.supply.network import Network, motor_ohms
from layout_engine.supply.running import KMH, Running, motor_figures, running_currents
from layout_engine.supply.state import Pack, SupplyError
from layout_engine.tables.batteries import CHEMISTRIES
from layout_engine.tables.motion import motor_speed

PACKS: tuple[Pack, ...] = ("nominal", "full", "empty")
STALL = "stall."
MOST_STALLS = 12  # motors held fast one by one; more are held fast all together only


@dataclass(frozen=True, slots=True)
class MotorDuty:
    """What a motor does: its current, or held fast (`amps` None); volts it wants, else all."""

    amps: float | None
    wanted: float = inf


def motors(job: Job) -> dict[str, Motor]:
    """Every motor that has terminals, by part."""
    found = {part.id: job.type_of(part).motor for part in job.parts}
    return {part: motor for part, motor in found.items() if motor is not None and motor.terminals}


def case_ids(job: Job) -> tuple[str, ...]:
    """Every case of a job; a motor without volts or stall current has no stall case."""
    known = [part_id for part_id, motor in motors(job).items() if motor_ohms(motor)]
    stalls = [f"{STALL}{part_id}" for part_id in known] + ["stall_all"] * bool(known)
    return ("idle", *(case.id for case in job.cases), "typical", "peak", *stalls)


def usual_cases(job: Job) -> tuple[str, ...]:
    """The cases a study solves: every one, but of many motors only all of them held fast."""
    found = case_ids(job)
    if sum(case.startswith(STALL) for case in found) <= MOST_STALLS:
        return found
    return tuple(case for case in found if not case.startswith(STALL))


def running_cases(job: Job) -> tuple[str, ...]:
    """The cases that go on for long: the person's own, else typical alone."""
    return tuple(case.id for case in job.cases) or ("typical",)


def check_case(job: Job, case: str) -> None:
    """Refuse a case the job does not have, saying which it has or what is missing.

    Raises:
        SupplyError: naming the case, or the motor whose data are missing.
    """
    if case in case_ids(job):
        return
    part_id = case.removeprefix(STALL)
    if case.startswith(STALL) and part_id in motors(job):
        raise SupplyError(
            f"{job.part(part_id).title} has no resistance: give its volts and its stall current, "
            "both over 0.", (part_id,),
        )  # fmt: skip
    raise SupplyError(f"There is no case {case!r}; this job has {', '.join(case_ids(job))}.")


def silent_cases(job: Job) -> list[str]:
    """A sentence for each current of a case that no load or motor of its part can take."""
    return [
        f"Case {case.id} gives {job.part(part_id).title} {amps:g} A, but it has no load and no "
        "motor."
        for case in job.cases for part_id, amps in case.amps.items()
        if amps > 0 and not job.type_of(part_id).loads and job.type_of(part_id).motor is None
    ]


def settings(network: Network, wanted: list[tuple[str, Pack]]) -> Settings:
    """The settings of these cases with these packs, in their order."""
    job = network.job
    running = running_currents(job)
    turning = tuple(motors(job))
    one = {case: _of_case(network, case, running, turning)
           for case in dict.fromkeys(c for c, _ in wanted)}  # fmt: skip
    emf = {pack: _emf(network, pack) for pack in dict.fromkeys(p for _, p in wanted)}
    return Settings(
        np.array([one[case][0] for case, _ in wanted]),
        np.array([np.where(np.isnan(emf[pack]), one[case][1], emf[pack])
                  for case, pack in wanted]),
        np.array([one[case][2] for case, _ in wanted]),
    )  # fmt: skip


def _emf(network: Network, pack: Pack) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    found = np.full(len(network.elements), nan)
    for n in network.elements.of("battery"):
        battery = network.job.type_of(network.elements.items[n].part).battery
        assert battery is not None
        found[n] = pack_volts(battery, pack)
    return found


def pack_volts(battery: Battery, pack: Pack) -> float:
    """Open-circuit voltage of a battery: as given, else by its cells and chemistry."""
    chemistry = CHEMISTRIES[battery.chemistry]
    cells = battery.cells or round(battery.volts / chemistry.rest.value)
    if pack == "full":
        return battery.full_volts or cells * chemistry.full.value
    if pack == "empty":
        return battery.empty_volts or cells * chemistry.cut_off.value
    return battery.volts or cells * chemistry.rest.value


def _of_case(
    network: Network, case: str, running: dict[str, Running], turning: tuple[str, ...]
) -> tuple[list[float], list[float], list[float]]:
    """Amps, EMF of motors and wanted volts of every element in one case."""
    job = network.job
    named = next((c for c in job.cases if c.id == case), None)
    duties = {part_id: motor_duty(job, part_id, case, named, running) for part_id in turning}
    amps, emf, wanted = [], [], []
    pieces = _wanted_at(network, duties)
    for e in network.elements.items:
        duty = duties.get(e.part) if e.kind == "motor" else None
        if e.kind == "load":
            amps.append(load_amps(job.type_of(e.part), e.index, _base(case), named, e.part))
        else:
            amps.append(duty.amps or 0.0 if duty else 0.0)
        emf.append(0.0 if duty and duty.amps is None else nan)
        wanted.append(_reached(network, pieces, e) if e.kind == "drive_out" else inf)
    return amps, emf, wanted


def _reached(network: Network, pieces: dict[int, float], out: Element) -> float:
    """The highest voltage that a motor wants at a drive's output; all there is without one."""
    return max(pieces.get(int(network.component[n]), 0.0) for n in (out.plus, out.minus)) or inf


def _wanted_at(network: Network, duties: dict[str, MotorDuty]) -> dict[int, float]:
    """The highest voltage that a motor wants on each piece of metal."""
    found: dict[int, float] = {}
    for e in network.elements.items:
        duty = duties.get(e.part) if e.kind == "motor" else None
        if duty is None or duty.amps == 0:
            continue
        for node in (e.plus, e.minus):
            piece = int(network.component[node])
            found[piece] = max(found.get(piece, 0.0), duty.wanted)
    return found


def _base(case: str) -> str:
    """What the loads do in a case: a stall leaves them as they typically are."""
    return "typical" if case.startswith("stall") else case


def load_amps(kind: PartType, index: int, case: str, named: Case | None, part_id: str) -> float:
    """Current of one load of a part in a case, A."""
    load = kind.loads[index]
    if named is None:
        return {"idle": load.idle, "typical": load.typical, "peak": load.peak}[case]
    if part_id not in named.amps:
        return load.idle
    total = sum(each.typical for each in kind.loads)
    share = load.typical / total if total > 0 else 1 / len(kind.loads)
    return named.amps[part_id] * share


def motor_duty(
    job: Job, part_id: str, case: str, named: Case | None, running: dict[str, Running]
) -> MotorDuty:
    """What one motor does in a case."""
    motor = job.type_of(part_id).motor
    assert motor is not None
    if case == "idle":
        return MotorDuty(0.0)
    if case in ("stall_all", f"{STALL}{part_id}") and motor_ohms(motor):
        return MotorDuty(None)
    if named is not None:
        amps = named.amps.get(part_id, 0.0)
        return MotorDuty(amps, _wanted(job, motor, amps))
    runs = running.get(part_id)
    if runs is not None and runs.flat.value is not None and runs.ramp.value is not None:
        if case == "peak":
            return MotorDuty(runs.ramp.value, runs.ramp_volts)
        return MotorDuty(runs.flat.value, runs.flat_volts)
    figures = motor_figures(motor)
    if figures is None:
        return MotorDuty(motor.free_amps)
    return MotorDuty(figures.strongest_amps if case == "peak" else figures.best_amps)


def _wanted(job: Job, motor: Motor, amps: float) -> float:
    """Volts that a motor wants at the machine's speed; all there is where that is not known."""
    figures = motor_figures(motor)
    machine = job.machine
    if figures is None or motor.wheel_diameter is None or machine is None or figures.ke <= 0:
        return inf
    if machine.speed_kmh <= 0:
        return inf
    turning = motor_speed(machine.speed_kmh / KMH, motor.gear, motor.wheel_diameter)
    return figures.ke * turning + amps * figures.ohms

"""What the drives really draw: from the machine's mass, slope, speed, gears and motors.

Currents in A at the motor, forces in N, speeds in m/s. Ratings alone do not size a wire: what is
drawn on the flat, up the ramp and when stalled stands apart.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import pi

from layout_engine.model.job import Job, Machine
from layout_engine.model.part_type import Motor
from layout_engine.supply.basis import marked
from layout_engine.supply.state import Figure
from layout_engine.tables.bending import GRAVITY
from layout_engine.tables.motion import (
    DRIVE_SOURCE,
    GEAR_EFFICIENCY,
    MOTOR_SOURCE,
    SPEED_SOURCE,
    MotorFigures,
    drive_force,
    ground_speed,
    motor_speed,
    wheel_torque,
)
from layout_engine.working import Given, Working

KMH = 3.6  # km/h per m/s, by definition


@dataclass(frozen=True, slots=True)
class Running:
    """One wheel's motor: what it draws, and the volts it then wants at its terminals.

    flat, ramp: at the machine's speed. stalled: at the motor's nominal volts. top_speed: m/s on
    the flat with the motor's nominal volts, None where its free speed is not known.
    """

    part: str
    flat: Figure
    ramp: Figure
    stalled: Figure
    flat_volts: float
    ramp_volts: float
    top_speed: Figure


@dataclass(frozen=True, slots=True)
class Turning:
    """A motor that no wheel of the machine turns: what it draws at best, at most and held fast.

    best: A at its best efficiency, taken as typical. strongest: A at its greatest power, taken as
    peak. stalled: A at its nominal volts.
    """

    part: str
    best: Figure
    strongest: Figure
    stalled: Figure


def turning_currents(job: Job) -> dict[str, Turning]:
    """What each other motor draws, by part; those without volts or stall current left out."""
    wheels, found = running_currents(job), {}
    for part in job.parts:
        motor = job.type_of(part).motor
        figures = motor_figures(motor) if motor is not None else None
        if motor is None or figures is None or part.id in wheels:
            continue
        given = (Given("I0", "free current", figures.free_amps, "A", "part type"),
                 Given("Is", "stall current", figures.stall_amps, "A", "part type"))  # fmt: skip
        best, strong = figures.best_amps, figures.strongest_amps
        told = (
            Figure(best, "A", Working("I = sqrt(I0 Is), best efficiency", given, best, "A",
                                      MOTOR_SOURCE, figures.stall_amps, "stall current")),
            Figure(strong, "A", Working("I = (I0 + Is) / 2, half the free speed", given, strong,
                                        "A", MOTOR_SOURCE, figures.stall_amps, "stall current")),
            stalled(motor, figures),
        )  # fmt: skip
        found[part.id] = Turning(part.id, *(marked(job.type_of(part), one) for one in told))
    return found


def motor_figures(motor: Motor) -> MotorFigures | None:
    """Resistance and EMF constant of a motor.

    None where volts or stall current are missing, or the free current is not under the stall's.
    """
    if motor.volts <= 0 or motor.stall_amps <= 0 or motor.free_amps >= motor.stall_amps:
        return None
    return MotorFigures.of(
        motor.volts, motor.free_rpm, motor.free_amps, motor.stall_amps, motor.gear
    )


def wheel_motors(job: Job) -> dict[str, Motor]:
    """Motors that the rolling wheels turn, by part."""
    return {
        part.id: motor
        for part in job.parts
        if (motor := job.type_of(part).motor) is not None and motor.wheel_diameter is not None
    }


def running_currents(job: Job) -> dict[str, Running]:
    """What each wheel's motor draws; empty while mass, speed or motors are not known."""
    machine = job.machine
    motors = wheel_motors(job)
    if machine is None or machine.mass_kg <= 0 or machine.speed_kmh <= 0:
        return {}
    found = {}
    for part_id, motor in motors.items():
        figures = motor_figures(motor)
        if figures is not None and figures.ke > 0:
            runs = _running(part_id, machine, motor, figures, len(motors))
            kind = job.type_of(job.part(part_id))
            found[part_id] = replace(
                runs, flat=marked(kind, runs.flat), ramp=marked(kind, runs.ramp),
                stalled=marked(kind, runs.stalled), top_speed=marked(kind, runs.top_speed),
            )  # fmt: skip
    return found


def _running(
    part_id: str, machine: Machine, motor: Motor, figures: MotorFigures, count: int
) -> Running:
    assert motor.wheel_diameter is not None
    speed = machine.speed_kmh / KMH
    wheels = machine.driven_wheels or count
    emf = figures.ke * motor_speed(speed, motor.gear, motor.wheel_diameter)
    flat = _drawn(machine, motor, figures, wheels, 0.0)
    ramp = _drawn(machine, motor, figures, wheels, machine.slope_percent / 100)
    assert flat.value is not None
    assert ramp.value is not None
    return Running(
        part_id, flat, ramp, stalled(motor, figures),
        emf + flat.value * figures.ohms, emf + ramp.value * figures.ohms,
        _top_speed(motor, figures, flat.value),
    )  # fmt: skip


def stalled(motor: Motor, figures: MotorFigures) -> Figure:
    """Stall current at the motor's nominal volts."""
    return Figure(figures.stall_amps, "A", Working(
        "stall current at V, as the type states it", (
            Given("V", "nominal volts", motor.volts, "V", "part type"),
            Given("Is", "stall current", figures.stall_amps, "A", "part type"),
        ), figures.stall_amps, "A", MOTOR_SOURCE,
    ))  # fmt: skip


def _motor_given(motor: Motor, figures: MotorFigures) -> tuple[Given, ...]:
    """A motor's plate, and what follows from it."""
    return (
        Given("V", "nominal volts", motor.volts, "V", "part type"),
        Given("Is", "stall current", figures.stall_amps, "A", "part type"),
        Given("I0", "free current", motor.free_amps, "A", "part type"),
        Given("n0", "free speed, before the gear", motor.free_rpm, "1/min", "part type"),
        Given("R", "resistance: V / Is", figures.ohms, "ohm", MOTOR_SOURCE),
        Given("Ke", "EMF a rad/s: (V - I0 R) 60 / (2 pi n0)", figures.ke, "V s/rad", MOTOR_SOURCE),
    )  # fmt: skip


def _drawn(
    machine: Machine, motor: Motor, figures: MotorFigures, wheels: float, slope: float
) -> Figure:
    assert motor.wheel_diameter is not None
    force = drive_force(machine.mass_kg, slope, machine.rolling)
    torque = wheel_torque(force, motor.wheel_diameter, wheels)
    amps = motor.free_amps + torque / (motor.gear * GEAR_EFFICIENCY.value * figures.ke)
    return Figure(amps, "A", Working(
        "I = I0 + F D / (2 N G e Ke), F = m g (c cos a + sin a), tan a = s", (
            Given("m", "mass of the machine", machine.mass_kg, "kg", "machine"),
            Given("s", "slope", slope, "1", "machine"),
            Given("c", "rolling resistance", machine.rolling, "1", "machine"),
            Given("g", "gravity", GRAVITY.value, "m/s2", GRAVITY.source),
            Given("F", "force at the ground", force, "N", DRIVE_SOURCE),
            Given("D", "wheel", motor.wheel_diameter / 1000, "m", "part type"),
            Given("N", "driven wheels", wheels, "1", "machine"),
            Given("G", "gear", motor.gear, "1", "part type"),
            Given("e", "efficiency of the gear", GEAR_EFFICIENCY.value, "1",
                  GEAR_EFFICIENCY.source),
            *_motor_given(motor, figures),
        ), amps, "A", f"{DRIVE_SOURCE}; {MOTOR_SOURCE}", figures.stall_amps, "stall current",
    ))  # fmt: skip


def _top_speed(motor: Motor, figures: MotorFigures, amps: float) -> Figure:
    assert motor.wheel_diameter is not None
    turning = max(0.0, motor.volts - amps * figures.ohms) / figures.ke
    rpm = turning * 60 / (2 * pi)
    speed = ground_speed(rpm, motor.gear, motor.wheel_diameter)
    return Figure(speed, "m/s", Working(
        "v = (V - I R) D / (2 G Ke), R = V / Is, Ke = (V - I0 R) 60 / (2 pi n0)", (
            Given("I", "current on the flat", amps, "A", "running current on the flat"),
            Given("D", "wheel", motor.wheel_diameter / 1000, "m", "part type"),
            Given("G", "gear", motor.gear, "1", "part type"),
            *_motor_given(motor, figures),
        ), speed, "m/s", f"{MOTOR_SOURCE}; {SPEED_SOURCE}",
    ))  # fmt: skip

"""Motors, wheels and capacitors: textbook formulas of a machine that rolls.

SI units (V, A, ohm, rad/s, N m, kg, m/s, F, J, s) unless a name says otherwise.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import atan, cos, log, pi, sin, sqrt

from layout_engine.tables.bending import GRAVITY
from layout_engine.tables.sourced import COMMON_PRACTICE, Sourced

MOTOR_SOURCE = "direct-current motor: V = Ke w + I R, T = Kt I, Kt = Ke"
SPEED_SOURCE = "rolling without slip: v = pi D n / (60 G)"
DRIVE_SOURCE = "mechanics: F = m g (rolling cos a + sin a)"
ROLLING = Sourced(0.03, "1", COMMON_PRACTICE, "small hard wheels on a smooth floor")
WIRE_TO_WHEEL = Sourced(0.50, "1", COMMON_PRACTICE, "gear motor and driver together")
GEAR_EFFICIENCY = Sourced(0.70, "1", COMMON_PRACTICE, "two or three stages, 0.6 to 0.8")
RAMP = Sourced(1 / 12, "1", "2010 ADA Standards 405.2 (from memory)", "steepest usual ramp")
DIODE_DROP = Sourced(0.0, "V", COMMON_PRACTICE, "left out: the pushed rail is taken too high")


@dataclass(frozen=True, slots=True)
class MotorFigures:
    """What follows from a motor's plate: ohm, V s/rad and the current its friction takes.

    ohms: V / stall current; ke: EMF a rad/s at the motor's shaft, from free speed and current.
    """

    volts: float
    ohms: float
    ke: float
    free_amps: float
    stall_amps: float
    gear: float

    @classmethod
    def of(
        cls, volts: float, free_rpm: float, free_amps: float, stall_amps: float, gear: float
    ) -> MotorFigures:
        """Figures of a motor of the document; stall current and volts over 0, else ValueError."""
        if volts <= 0 or stall_amps <= 0:
            raise ValueError("a motor's resistance needs its volts and its stall current")
        ohms = armature_ohms(volts, 0.0, stall_amps)
        turning = free_rpm * 2 * pi / 60
        ke = back_emf(volts, free_amps, ohms) / turning if turning > 0 else 0.0
        return cls(volts, ohms, ke, free_amps, stall_amps, gear)

    @property
    def best_amps(self) -> float:
        """Current of the best efficiency: sqrt(I0 Is) (textbook)."""
        return sqrt(self.free_amps * self.stall_amps)

    @property
    def strongest_amps(self) -> float:
        """Current of the greatest power, at half the free speed: (I0 + Is) / 2 (textbook)."""
        return (self.free_amps + self.stall_amps) / 2


def armature_ohms(volts: float, emf: float, amps: float) -> float:
    """Resistance [ohm] of a motor that takes `amps` at `volts` while it turns at an EMF [V].

    R = (V - E) / I; held fast E is 0, so R = V / stall current.

    >>> armature_ohms(6.0, 4.5, 3.0)
    0.5
    """
    return (volts - emf) / amps


def back_emf(volts: float, amps: float, ohms: float) -> float:
    """EMF [V] of a motor that takes `amps` at `volts`: E = V - I R.

    >>> round(back_emf(120, 7, 0.72), 2)
    114.96
    """
    return volts - amps * ohms


def motor_amps(volts: float, emf: float, ohms: float) -> float:
    """Current [A] of a motor: I = (V - E) / R; at the start and held fast E is 0.

    >>> motor_amps(6.0, 0.0, 0.5)
    12.0
    """
    return (volts - emf) / ohms


def free_rpm(volts: float, volts_per_krpm: float) -> float:
    """Speed [rev/min] without load and friction: n = V / Ke, Ke in V per 1000 rev/min.

    >>> round(free_rpm(10, 12), 1)
    833.3
    """
    return 1000 * volts / volts_per_krpm


def shaft_torque(amps: float, ke: float) -> float:
    """Torque [N m] at the shaft: T = Kt I, Kt = Ke in V s/rad."""
    return ke * amps


def greatest_power(stall_torque: float, rpm: float) -> float:
    """Greatest power at the shaft [W], at half the free speed: Ts w0 / 4.

    stall_torque [N m]; rpm: free speed [rev/min].

    >>> round(greatest_power(0.325, 600), 3)
    5.105
    """
    return stall_torque * rpm * 2 * pi / 60 / 4


def ground_speed(rpm: float, gear: float, wheel_mm: float) -> float:
    """Speed [m/s] of a wheel of `wheel_mm` diameter: v = pi D n / (60 G), n before the gear.

    >>> round(ground_speed(3000, 20, 250) * 3.6, 3)
    7.069
    """
    return pi * wheel_mm / 1000 * rpm / (60 * gear)


def motor_speed(metres_a_second: float, gear: float, wheel_mm: float) -> float:
    """Speed of the motor's shaft [rad/s] at a ground speed."""
    return metres_a_second / (wheel_mm / 2000) * gear


def pushed_volts(nominal: float, speed: float, free_speed: float) -> float:
    """Open-circuit EMF [V] of a pushed machine: Vnom v / v0, v0 the free speed at Vnom.

    >>> round(pushed_volts(24, 10, 7.0686), 2)
    33.95
    """
    return nominal * speed / free_speed


def drive_force(mass: float, slope: float, rolling: float) -> float:
    """Force [N] to roll `mass` [kg] up a `slope` (rise over run): m g (rolling cos a + sin a).

    >>> round(drive_force(40, 1/12, 0.03), 1)
    44.3
    """
    angle = atan(slope)
    return mass * GRAVITY.value * (rolling * cos(angle) + sin(angle))


def supply_amps(force: float, speed: float, volts: float, efficiency: float) -> float:
    """Current [A] from the supply: F v / (efficiency V)."""
    return force * speed / (efficiency * volts)


def wheel_torque(force: float, wheel_mm: float, wheels: float) -> float:
    """Torque [N m] at each of `wheels` driven wheels."""
    return force * wheel_mm / 2000 / wheels


def charged_volts(volts: float, joules: float, farads: float) -> float:
    """Voltage [V] of a capacitor that takes in `joules` from `volts` on: sqrt(V^2 + 2 E / C).

    >>> round(charged_volts(24, 45, 2200e-6), 1)
    203.7
    """
    return sqrt(volts**2 + 2 * joules / farads)


def capacitor_energy(farads: float, volts: float) -> float:
    """Energy [J]: C V^2 / 2."""
    return farads * volts**2 / 2


def charging_seconds(ohms: float, farads: float, share: float) -> float:
    """Time [s] until a capacitor holds `share` of the voltage: -R C ln(1 - share)."""
    return -ohms * farads * log(1 - share)

"""Temperature of one wire in still air: heat made in the copper, led through, given off outside.

    I^2 R(Tc) = (Tc - Ts) / Ri = (hc + hr) pi D (Ts - Ta)

One horizontal wire longer than about 0.3 m; no bundle, no foam, no cooling by its ends. Diameters
in mm, resistance in ohm/km at 20 C, temperatures in degC, heat in W/m, currents in A.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import log, pi, sqrt

from layout_engine.tables.air import PLASTIC_EMISSIVITY, cylinder_h, radiation_h
from layout_engine.tables.conductors import (
    INSULATION_CONDUCTIVITY,
    WireSize,
    hot_factor,
    outer_diameter,
    stranded_diameter,
)

SOURCE = (
    "heat balance I2R = (Tc-Ts)/Ri = (hc+hr) pi D (Ts-Ta); Churchill-Chu 1975, horizontal "
    "cylinder; air of Incropera Table A.4"
)
STEPS = 45  # halvings: 1e-11 of the span
HOTTEST = 1500.0  # over it copper melts: a temperature is not sought beyond


@dataclass(frozen=True, slots=True)
class WireBody:
    """What a wire's warmth depends on.

    Attributes:
        ohms_per_km: at 20 C.
        copper: diameter of the strands' circle, mm.
        outer: outside diameter, mm.
        conductivity: of the insulation, W/mK.
        emissivity: of its outside.
    """

    ohms_per_km: float
    copper: float
    outer: float
    conductivity: float
    emissivity: float = PLASTIC_EMISSIVITY.value

    @property
    def wall(self) -> float:
        """Resistance of the insulation to heat, K m/W: ln(D / d) / (2 pi k)."""
        return log(self.outer / self.copper) / (2 * pi * self.conductivity)


@dataclass(frozen=True, slots=True)
class Balance:
    """A wire in balance: current, temperatures of copper and outside, heat, coefficients."""

    amps: float
    conductor: float
    surface: float
    watts: float
    convection: float
    radiation: float


def body_of(size: WireSize, insulation: str) -> WireBody:
    """The body of a wire as it is sold."""
    return WireBody(
        size.ohms_per_km, stranded_diameter(size.area), outer_diameter(size.area, insulation),
        INSULATION_CONDUCTIVITY[insulation].value,
    )  # fmt: skip


def given_off(body: WireBody, surface: float, air: float) -> float:
    """Heat [W/m] that the outside gives to the air."""
    if surface <= air:
        return 0.0
    outer = body.outer / 1000
    h = cylinder_h(surface, air, outer) + radiation_h(surface, air, body.emissivity)
    return h * pi * outer * (surface - air)


@lru_cache(maxsize=4096)
def balance_at(body: WireBody, conductor: float, air: float) -> Balance:
    """The balance in which the copper stands at a temperature [C] in air of another."""
    if conductor <= air:
        return Balance(0.0, conductor, conductor, 0.0, 0.0, 0.0)
    low, high = air, conductor
    for _ in range(STEPS):
        middle = (low + high) / 2
        if middle + given_off(body, middle, air) * body.wall > conductor:
            high = middle
        else:
            low = middle
    surface = (low + high) / 2
    watts = given_off(body, surface, air)
    ohms = body.ohms_per_km / 1000 * hot_factor(conductor)
    return Balance(
        sqrt(watts / ohms), conductor, surface, watts, cylinder_h(surface, air, body.outer / 1000),
        radiation_h(surface, air, body.emissivity),
    )  # fmt: skip


def balance_amps(size: WireSize, insulation: str, limit: float, air: float) -> float:
    """Current [A] at which a wire's copper stands at `limit` [C]; 0 where the air is as hot."""
    return balance_at(body_of(size, insulation), limit, air).amps


def wire_temperature(body: WireBody, amps: float, air: float) -> float:
    """Temperature [C] of the copper at a current for good; never sought over 1500 C."""
    low, high = air, HOTTEST
    for _ in range(STEPS):
        middle = (low + high) / 2
        if balance_at(body, middle, air).amps < amps:
            low = middle
        else:
            high = middle
    return (low + high) / 2

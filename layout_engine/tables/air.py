"""Air and heat given off to it: properties, laminar natural convection, radiation.

Temperatures in degC, lengths in METRES, heat transfer coefficients in W/m2K.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass

from layout_engine.tables.sourced import COMMON_PRACTICE, Sourced

KELVIN = 273.15
STEFAN_BOLTZMANN = Sourced(5.670374e-8, "W/(m2 K4)", "CODATA 2018")
FREE_FALL = Sourced(9.81, "m/s2", "usual rounding of 9.80665, as in the heat transfer books")
PLASTIC_EMISSIVITY = Sourced(0.9, "1", "typical of plastics and paint (from memory)", "shiny: 0.2")
HOLMAN = "Holman, Heat Transfer, simplified air relations; Cengel's table of the same"
CHURCHILL_CHU = "Churchill and Chu 1975"
# dT in K, length in m: h = c (dT / L)^0.25, laminar.
UPRIGHT = Sourced(1.42, "1", HOLMAN, "upright plate, L its height")
HOT_SIDE_UP = Sourced(1.32, "1", HOLMAN, "horizontal plate, L = 4 area / perimeter")
HOT_SIDE_DOWN = Sourced(0.59, "1", HOLMAN, "horizontal plate, L = 4 area / perimeter")
ON_A_BOARD = Sourced(2.44, "1", HOLMAN, "parts on a board")
SMALL_PARTS = Sourced(3.53, "1", HOLMAN, "small parts and wires in free air")
BAR_COHEN = "Bar-Cohen and Rohsenow 1984"
BOTH_SIDES_HOT = Sourced(2.714, "1", BAR_COHEN, "S = c L / Ra_L^0.25")
ONE_SIDE_HOT = Sourced(2.154, "1", f"{BAR_COHEN}; Incropera Table 9.3 (from memory)")
_TABLE = "Incropera & DeWitt, Table A.4, air at atmospheric pressure"
# K: kinematic viscosity 1e-6 m2/s, conductivity 1e-3 W/mK, diffusivity 1e-6 m2/s, Prandtl number.
_ROWS: tuple[tuple[float, float, float, float, float], ...] = (
    (250, 11.44, 22.3, 15.9, 0.720), (300, 15.89, 26.3, 22.5, 0.707),
    (350, 20.92, 30.0, 29.9, 0.700), (400, 26.41, 33.8, 38.3, 0.690),
    (450, 32.39, 37.3, 47.2, 0.686), (500, 38.79, 40.7, 56.7, 0.684),
    (550, 45.57, 43.9, 66.7, 0.683), (600, 52.69, 46.9, 76.9, 0.685),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Air:
    """Properties at one film temperature.

    viscosity: kinematic, m2/s; conductivity: W/mK; diffusivity: m2/s; prandtl: 1; kelvin: of the
    film, K.
    """

    viscosity: float
    conductivity: float
    diffusivity: float
    prandtl: float
    kelvin: float

    def rayleigh(self, rise: float, length: float) -> float:
        """Rayleigh number g beta dT L^3 / (nu a) with beta = 1 / film temperature."""
        beta = 1 / self.kelvin
        return FREE_FALL.value * beta * rise * length**3 / (self.viscosity * self.diffusivity)


def air_at(film: float) -> Air:
    """Air at a film temperature [C], between the rows of the table; its ends hold beyond them.

    >>> air_at(126.85).conductivity
    0.0338
    """
    kelvin = film + KELVIN
    at = min(max(bisect_right(_ROWS, (kelvin,)) - 1, 0), len(_ROWS) - 2)
    low, high = _ROWS[at], _ROWS[at + 1]
    share = min(1.0, max(0.0, (kelvin - low[0]) / (high[0] - low[0])))
    nu, k, a, pr = (one + share * (two - one) for one, two in zip(low[1:], high[1:], strict=True))
    return Air(nu * 1e-6, k * 1e-3, a * 1e-6, pr, kelvin)


def simple_h(coefficient: Sourced, rise: float, length: float) -> float:
    """Convection [W/m2K] by the simplified relation c (dT / L)^0.25; L in METRES.

    >>> round(simple_h(UPRIGHT, 30, 0.1), 2)
    5.91
    """
    return float(coefficient.value * (rise / length) ** 0.25)


def upright_h(surface: float, air: float, height: float) -> float:
    """Convection [W/m2K] of an upright plate (Churchill-Chu, any Rayleigh number)."""
    film = air_at((surface + air) / 2)
    ra = film.rayleigh(abs(surface - air), height)
    nu = (0.825 + 0.387 * ra ** (1 / 6) / (1 + (0.492 / film.prandtl) ** (9 / 16)) ** (8 / 27)) ** 2
    return float(nu * film.conductivity / height)


def cylinder_h(surface: float, air: float, diameter: float) -> float:
    """Convection [W/m2K] of a horizontal cylinder (Churchill-Chu, Ra up to 1e12)."""
    film = air_at((surface + air) / 2)
    ra = film.rayleigh(abs(surface - air), diameter)
    nu = (0.60 + 0.387 * ra ** (1 / 6) / (1 + (0.559 / film.prandtl) ** (9 / 16)) ** (8 / 27)) ** 2
    return float(nu * film.conductivity / diameter)


def radiation_h(surface: float, air: float, emissivity: float) -> float:
    """Radiation as a coefficient [W/m2K]: e sigma (Ts^4 - Ta^4) / (Ts - Ta), in kelvin."""
    hot, cold = surface + KELVIN, air + KELVIN
    return emissivity * STEFAN_BOLTZMANN.value * (hot + cold) * (hot * hot + cold * cold)


def best_gap(length: float, surface: float, air: float, *, one_side: bool = False) -> float:
    """Best gap [m] between upright hot fins or boards: c L / Ra_L^0.25.

    one_side: the wall across the gap is not heated.
    """
    ra = air_at((surface + air) / 2).rayleigh(surface - air, length)
    coefficient = ONE_SIDE_HOT if one_side else BOTH_SIDES_HOT
    return float(coefficient.value * length / ra**0.25)


def channel_nusselt(elenbaas: float) -> float:
    """Nusselt number of a channel between upright plates of one temperature, by its gap.

    elenbaas: Ra_S S / L of the gap S and the height L. Composite formula of Bar-Cohen and
    Rohsenow 1984, both sides hot.

    >>> round(channel_nusselt(BOTH_SIDES_HOT.value**4), 3)
    1.307
    """
    return float((576 / elenbaas**2 + 2.873 / elenbaas**0.5) ** -0.5)


LIFE_FACTOR = Sourced(2.0, "1", COMMON_PRACTICE, "life of electronics, each 10 K cooler")
FINS_ACROSS = Sourced(0.7, "1", COMMON_PRACTICE, "cooling of dense straight fins lying crosswise")

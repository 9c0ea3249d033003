"""Radio waves near metal: lengths, near limits, shadow and loss.

Frequencies in MHz, lengths in mm unless a name says otherwise.
"""

from __future__ import annotations

from math import inf, log10, pi, sqrt

from layout_engine.tables.sourced import COMMON_PRACTICE, Sourced

LIGHT = Sourced(299_792_458.0, "m/s", "SI definition of the metre")
MU_0 = Sourced(4e-7 * pi, "H/m", "magnetic constant before 2019, equal to 1e-9")
NEAR_CAP = Sourced(20.0, "mm", COMMON_PRACTICE, "lambda/2pi at 2.4 GHz, cap for lower bands")
QUARTER_CAP = Sourced(50.0, "mm", COMMON_PRACTICE, "cap of the quarter wave for lower bands")
SHADOW_LIMIT = Sourced(0.25, "1", COMMON_PRACTICE, "share of horizontal rays that meet metal")
RESISTIVITY = {
    "copper": Sourced(1.68e-8, "ohm m", "handbook value (from memory)", "at 20 C"),
    "aluminium": Sourced(2.65e-8, "ohm m", "handbook value (from memory)", "at 20 C"),
}


def wavelength(mhz: float) -> float:
    """Free-space wavelength [mm]: c / f; without end at 0, which stands for a band not known.

    >>> round(wavelength(2440), 2)
    122.87
    """
    if mhz == 0:
        return inf
    return LIGHT.value / (mhz * 1000)


def quarter_wave(mhz: float) -> float:
    """A quarter of the wavelength [mm]."""
    return wavelength(mhz) / 4


def near_radius(mhz: float) -> float:
    """Edge of the reactive near field [mm]: lambda / 2 pi (definition, short antenna)."""
    return wavelength(mhz) / (2 * pi)


def metal_stop_distance(mhz: float) -> float:
    """Antenna to metal [mm] under which a board must not be built: min(lambda/2pi, 20)."""
    return min(near_radius(mhz), NEAR_CAP.value)


def metal_warn_distance(mhz: float, keep_from_metal: float | None = None) -> float:
    """Antenna to metal [mm] under which range is lost: maker's figure, else min(lambda/4, 50)."""
    if keep_from_metal is not None:
        return keep_from_metal
    return min(quarter_wave(mhz), QUARTER_CAP.value)


def longest_slot(mhz: float) -> float:
    """Slot length [mm] from which a metal skin leaks freely: half a wavelength."""
    return wavelength(mhz) / 2


def free_space_loss(mhz: float, km: float) -> float:
    """Basic transmission loss [dB]: 32.4 + 20 log f + 20 log d (ITU-R P.525), far field only.

    >>> round(free_space_loss(868, 0.05), 2)
    65.15
    """
    return 32.4 + 20 * log10(mhz) + 20 * log10(km)


def knife_edge_v(mhz: float, height: float, before: float, behind: float) -> float:
    """Diffraction parameter [1] of an edge `height` [mm] over the ray, `before` and `behind` [mm]
    from its ends: v = h sqrt((2/lambda)(1/d1 + 1/d2)) (ITU-R P.526). A guide within a wavelength.
    """
    return height * sqrt(2 / wavelength(mhz) * (1 / before + 1 / behind))


def knife_edge_loss(v: float) -> float:
    """Loss [dB] behind one knife edge: 6.9 + 20 log(sqrt((v-0.1)^2 + 1) + v - 0.1) (ITU-R P.526).

    Valid for v > -0.78; below that the edge is clear of the ray and the loss is 0.

    >>> round(knife_edge_loss(1), 2)
    13.93
    """
    if v <= -0.78:
        return 0.0
    return 6.9 + 20 * log10(sqrt((v - 0.1) ** 2 + 1) + v - 0.1)


def skin_depth_um(mhz: float, resistivity: float) -> float:
    """Skin depth [um] of a non-magnetic metal, resistivity [ohm m]: sqrt(rho / (pi f mu)).

    >>> round(skin_depth_um(2440, RESISTIVITY["copper"].value), 2)
    1.32
    """
    return sqrt(resistivity / (pi * mhz * 1e6 * MU_0.value)) * 1e6


def foil_absorption(mhz: float, resistivity: float, thickness_um: float) -> float:
    """Absorption [dB] in a metal foil, reflection left out: 8.686 t / skin depth."""
    return 8.686 * thickness_um / skin_depth_um(mhz, resistivity)

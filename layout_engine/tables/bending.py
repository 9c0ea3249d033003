"""Bending of a plate that carries its modules: coefficients, sag, largest span.

Lengths mm, loads N, moduli MPa. Small deflections only: the figures overstate the sag once it
passes half the thickness.
"""

from __future__ import annotations

from bisect import bisect_right

from layout_engine.tables.sourced import COMMON_PRACTICE, Sourced

GRAVITY = Sourced(9.80665, "m/s2", "standard gravity, 3rd CGPM 1901")
SAG_SHARE = Sourced(1 / 200, "1", COMMON_PRACTICE, "largest sag as a share of the span")
POISSON = Sourced(0.3, "1", "Roark 7th ed. Table 11.4")

_ROARK = "Roark 7th ed. Table 11.4, cases 1a and 1b"
ASPECTS = (1.0, 1.2, 1.4, 1.6, 1.8, 2.0)
FRAMED_SAG = tuple(
    Sourced(value, "1", _ROARK) for value in (0.0444, 0.0616, 0.0770, 0.0906, 0.1017, 0.1110)
)
FRAMED_STRESS = tuple(
    Sourced(value, "1", _ROARK) for value in (0.2874, 0.3762, 0.4530, 0.5172, 0.5688, 0.6102)
)
FRAMED_CENTRAL_SAG = tuple(
    Sourced(value, "1", _ROARK) for value in (0.1267, 0.1478, 0.1621, 0.1715, 0.1770, 0.1805)
)
_RITZ = "Ritz solution for a plate held at four corners; Timoshenko sec. 49 has .0249 to .0257"
CORNER_ASPECTS = (1.0, 1.5, 2.0)
CORNER_SAG = tuple(Sourced(value, "1", _RITZ) for value in (0.0255065, 0.0798246, 0.231))


def _between(aspect: float, aspects: tuple[float, ...], values: tuple[Sourced, ...]) -> float:
    if not aspects[0] <= aspect <= aspects[-1]:
        raise ValueError(f"long side / short side {aspect:g} is outside 1 to {aspects[-1]:g}")
    right = min(bisect_right(aspects, aspect), len(aspects) - 1)
    low, high = aspects[right - 1], aspects[right]
    share = (aspect - low) / (high - low)
    return values[right - 1].value * (1 - share) + values[right].value * share


def plate_stiffness(modulus: float, thickness: float) -> float:
    """Flexural rigidity D [N mm]: E t^3 / (12 (1 - nu^2)), nu 0.3."""
    return modulus * thickness**3 / (12 * (1 - POISSON.value**2))


def framed_plate_sag(
    pressure: float, short: float, aspect: float, modulus: float, thickness: float
) -> float:
    """Sag [mm] of a sheet simply supported on four edges under `pressure` [MPa].

    y = alpha q b^4 / (E t^3), Roark 7th ed. Table 11.4 case 1a, aspect 1 to 2 (else ValueError),
    straight lines between the tabled aspects.
    """
    alpha = _between(aspect, ASPECTS, FRAMED_SAG)
    return alpha * pressure * short**4 / (modulus * thickness**3)


def framed_plate_central_sag(
    load: float, short: float, aspect: float, modulus: float, thickness: float
) -> float:
    """Sag [mm] of the same sheet under `load` [N] at its middle: alpha W b^2 / (E t^3), case 1b."""
    alpha = _between(aspect, ASPECTS, FRAMED_CENTRAL_SAG)
    return alpha * load * short**2 / (modulus * thickness**3)


def framed_plate_stress(pressure: float, short: float, aspect: float, thickness: float) -> float:
    """Largest bending stress [MPa] of the same sheet: beta q b^2 / t^2, case 1a."""
    return _between(aspect, ASPECTS, FRAMED_STRESS) * pressure * short**2 / thickness**2


def corner_held_sag(
    pressure: float, short: float, aspect: float, modulus: float, thickness: float
) -> float:
    """Sag [mm] of a sheet held at its four corners only: c q b^4 / D, aspect 1 to 2."""
    factor = _between(aspect, CORNER_ASPECTS, CORNER_SAG)
    return factor * pressure * short**4 / plate_stiffness(modulus, thickness)


def strip_inertia(width: float, thickness: float) -> float:
    """Second moment [mm4] of a flat strip: width t^3 / 12."""
    return width * thickness**3 / 12


def strip_central_sag(
    load: float, span: float, width: float, thickness: float, modulus: float
) -> float:
    """Sag [mm] of a strip on two battens with `load` [N] in the middle: W L^3 / (48 E I).

    >>> strip_central_sag(30, 300, 400, 10, 1000)
    0.50625
    """
    return load * span**3 / (48 * modulus * strip_inertia(width, thickness))


def strip_spread_sag(
    load: float, span: float, width: float, thickness: float, modulus: float
) -> float:
    """Sag [mm] of the same strip with `load` [N] spread evenly: 5 W L^3 / (384 E I)."""
    return 5 * load * span**3 / (384 * modulus * strip_inertia(width, thickness))


def spread_pressure(mass_kg: float, length: float, width: float) -> float:
    """Pressure [MPa] of `mass_kg` spread over a sheet [mm x mm]."""
    return mass_kg * GRAVITY.value / (length * width)


def sag_limit(span: float) -> float:
    """Sag [mm] that is still taken as flat: span / 200, common practice."""
    return span * SAG_SHARE.value


def largest_span(thickness: float, modulus: float, pressure: float) -> float:
    """Span [mm] between two battens at which the sag reaches span / 200.

    L = t (E / (31.25 q))^(1/3), from 5 q L^4 / (384 E I) = L / 200; pressure q [MPa].

    >>> round(largest_span(10, 500, spread_pressure(3, 400, 300)), 1)
    402.6
    """
    cube: float = (modulus * SAG_SHARE.value * 384 / (60 * pressure)) ** (1 / 3)
    return thickness * cube

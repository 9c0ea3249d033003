"""Copper wires: gauges, areas, resistances, outer diameters, insulation limits.

Lengths in mm, areas in mm2, resistances in ohm/km at 20 degC unless a name says otherwise.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log, pi, sqrt

from layout_engine.tables.sourced import COMMON_PRACTICE, Sourced

B258 = "ASTM B258: d = 0.127 * 92^((36-n)/39) mm"
NBS_100 = "NBS Handbook 100, annealed solid copper, 20 C"
IEC_60228 = "IEC 60228:2004 Table 3 class 5, largest R at 20 C, plain"
_VDE_0295 = "DIN VDE 0295 small sizes, maker's reprint"
_FAA_11_9 = "FAA AC 43.13-1B CHG 1 Table 11-9"

RESISTIVITY = Sourced(17.241, "ohm mm2/km", "100 % IACS, NBS Handbook 100", "copper at 20 C")
ALPHA = Sourced(0.00393, "1/K", "NBS Handbook 100; IEC 60287-1-1 Table 1", "copper at 20 C")
ZERO_RESISTANCE = Sourced(234.5, "C below zero", "FAA AC 43.13-1B par. 11-66")
CIRCULAR_MIL = Sourced(5.067075e-4, "mm2", "pi/4 (0.0254 mm)^2")
METRES_PER_FOOT = Sourced(0.3048, "m", "international yard and pound agreement 1959")
HOT_RISE = Sourced(20.0, "K", COMMON_PRACTICE, "conductor over the air inside, for its resistance")
INSIDE_AIR = Sourced(50.0, "C", COMMON_PRACTICE, "closed body until its heat is solved; 30 to 60")
USUAL_AWG = (30, 28, 26, 24, 22, 20, 18, 16, 14, 12, 10, 8, 6, 4, 2)


def awg_diameter(gauge: int) -> float:
    """Diameter [mm] of solid wire (ASTM B258); 1/0 is 0, 2/0 is -1, 4/0 is -3.

    >>> round(awg_diameter(14), 4)
    1.6277
    """
    return float(0.127 * 92 ** ((36 - gauge) / 39))


def awg_area(gauge: int) -> float:
    """Area [mm2] of solid wire: pi d^2 / 4 (ASTM B258)."""
    return pi * awg_diameter(gauge) ** 2 / 4


def circular_mils(gauge: int) -> float:
    """Area in circular mils: (d / 0.0254 mm)^2."""
    return (awg_diameter(gauge) / 0.0254) ** 2


def awg_resistance(gauge: int) -> float:
    """Resistance [ohm/km] of solid copper at 20 C: rho / S (NBS Handbook 100)."""
    return RESISTIVITY.value / awg_area(gauge)


def hot_factor(temperature: float) -> float:
    """R(T) / R(20 C) of copper: 1 + 0.00393 (T - 20), T conductor temperature [C].

    >>> round(hot_factor(60), 4)
    1.1572
    """
    return 1 + ALPHA.value * (temperature - 20)


def _class_5(ohms: float, remembered: bool = False) -> Sourced:
    return Sourced(ohms, "ohm/km", IEC_60228 + " (from memory)" * remembered)


# mm2: largest resistance of flexible plain copper. It is NOT rho / S: the table is 11 to 16 % over.
FLEXIBLE: dict[float, Sourced] = {
    0.05: Sourced(380.0, "ohm/km", _VDE_0295),
    0.14: Sourced(138.0, "ohm/km", _VDE_0295 + " (from memory)"),
    0.25: Sourced(76.0, "ohm/km", _VDE_0295),
    0.34: Sourced(57.0, "ohm/km", _VDE_0295 + " (from memory)"),
    0.5: _class_5(39.0),
    0.75: _class_5(26.0),
    1.0: _class_5(19.5),
    1.5: _class_5(13.3),
    2.5: _class_5(7.98),
    4.0: _class_5(4.95),
    6.0: _class_5(3.30),
    10.0: _class_5(1.91, remembered=True),
    16.0: _class_5(1.21),
    25.0: _class_5(0.780),
    35.0: _class_5(0.554, remembered=True),
}
FLEXIBLE_TINNED: dict[float, float] = {
    0.05: 392.0, 0.25: 79.0, 0.5: 40.1, 0.75: 26.7, 1.0: 20.0, 1.5: 13.7, 2.5: 8.21, 4.0: 5.09,
    6.0: 3.39, 16.0: 1.24, 25.0: 0.795,
}  # ohm/km, the same tables' tinned columns
AIRCRAFT: dict[int, Sourced] = {
    gauge: Sourced(ohms, "ohm/1000 ft", _FAA_11_9, "tin-plated, stranded")
    for gauge, ohms in ((22, 16.2), (14, 3.06), (12, 2.02), (10, 1.26))
}


def flexible_resistance(area: float) -> float:
    """Resistance [ohm/km] of flexible metric wire at 20 C; an odd area takes R S of the next one.

    area [mm2]: between 0.05 and 35 the table's value or, off its steps, the next smaller size's
    R S product over the area; beyond the table the last product.

    >>> flexible_resistance(1.5)
    13.3
    """
    smaller = [size for size in FLEXIBLE if size <= area + 1e-9]
    size = max(smaller) if smaller else min(FLEXIBLE)
    return FLEXIBLE[size].value * (size / area)


@dataclass(frozen=True, slots=True)
class WireSize:
    """A conductor's size as it is sold.

    Attributes:
        name: "16 AWG" or "1.5 mm2", as in the document.
        area: copper, mm2.
        ohms_per_km: at 20 C.
        source: where its resistance comes from.
    """

    name: str
    area: float
    ohms_per_km: float
    source: str

    @property
    def is_awg(self) -> bool:
        """Whether it is an American gauge."""
        return self.name.endswith("AWG")

    @property
    def gauge(self) -> int:
        """Its gauge, else the next smaller (thinner) gauge of the usual even ones."""
        if self.is_awg:
            return int(float(self.name.split()[0]))
        return next((n for n in reversed(USUAL_AWG) if awg_area(n) <= self.area + 1e-9), 30)


def wire_size(name: str) -> WireSize:
    """The size that a document's text names: "16 AWG", "1.5 mm2"; else ValueError.

    >>> wire_size("1.5 mm2").ohms_per_km
    13.3
    """
    number, _, unit = name.partition(" ")
    if unit == "AWG":
        gauge = int(float(number))
        return WireSize(f"{gauge} AWG", awg_area(gauge), awg_resistance(gauge), NBS_100)
    if unit == "mm2":
        area = float(number)
        source = FLEXIBLE[area].source if area in FLEXIBLE else IEC_60228 + ", by area"
        return WireSize(f"{area:g} mm2", area, flexible_resistance(area), source)
    raise ValueError(f'{name!r} is no wire size; allowed are such as "1.5 mm2" and "16 AWG"')


def sizes_of(system: str) -> tuple[WireSize, ...]:
    """The sizes to choose from, thin to thick: `system` "awg" (30 to 2) or "mm2" (0.05 to 35)."""
    if system == "awg":
        return tuple(wire_size(f"{gauge} AWG") for gauge in USUAL_AWG)
    return tuple(wire_size(f"{area:g} mm2") for area in FLEXIBLE)


_REMEMBERED = "(from memory)"
INSULATION_LIMIT: dict[str, Sourced] = {
    "pvc70": Sourced(70.0, "C", f"EN 50525-2-31 / IEC 60227 {_REMEMBERED}"),
    "pvc90": Sourced(90.0, "C", f"EN 50525-2-31 {_REMEMBERED}"),
    "pvc105": Sourced(105.0, "C", f"UL 758 style 1015 {_REMEMBERED}"),
    "xlpe": Sourced(90.0, "C", "IEC 60364-5-52 Table B.52.14"),
    "silicone": Sourced(180.0, "C", COMMON_PRACTICE, "180 to 200; MIL-DTL-8777 title says 200"),
    "ptfe": Sourced(200.0, "C", f"SAE AS22759 {_REMEMBERED}", "silver-plated copper"),
}
# What makers' styles state where the document has no insulation of their name.
STYLE_LIMITS: dict[str, Sourced] = {
    "UL1001 semi-rigid PVC": Sourced(80.0, "C", "UL 758 style page 1001", "300 V"),
    "UL1007 PVC": Sourced(80.0, "C", f"UL 758 style 1007 {_REMEMBERED}", "300 V"),
    "silicone MIL-DTL-8777": Sourced(200.0, "C", "MIL-DTL-8777, its title", "600 V"),
}
# Wall of the insulation, mm, up to this area, mm2.
_WALLS: dict[str, tuple[tuple[float, float], ...]] = {
    "pvc": ((1.0, 0.6), (1.5, 0.7), (6.0, 0.8), (16.0, 1.0), (35.0, 1.2)),
    "silicone": ((0.25, 0.45), (1.0, 0.6), (1.5, 0.75), (6.0, 0.95), (16.0, 1.2), (35.0, 1.6)),
    "ptfe": ((0.5, 0.25), (2.5, 0.3), (6.0, 0.35), (16.0, 0.5), (35.0, 0.6)),
}
WALL_SOURCE = f"EN 50525-2-31 walls; silicone and PTFE walls typical {_REMEMBERED}"
STRANDING = Sourced(1.145, "1", COMMON_PRACTICE, "strand circle over solid diameter, 1.13 to 1.16")
INSULATION_CONDUCTIVITY: dict[str, Sourced] = {
    "pvc70": Sourced(0.17, "W/mK", f"typical {_REMEMBERED}"),
    "pvc90": Sourced(0.17, "W/mK", f"typical {_REMEMBERED}"),
    "pvc105": Sourced(0.17, "W/mK", f"typical {_REMEMBERED}"),
    "xlpe": Sourced(0.28, "W/mK", f"typical {_REMEMBERED}"),
    "silicone": Sourced(0.2, "W/mK", f"typical {_REMEMBERED}"),
    "ptfe": Sourced(0.25, "W/mK", f"typical {_REMEMBERED}"),
}


def stranded_diameter(area: float) -> float:
    """Circle [mm] round the strands of a conductor of `area` [mm2]: 1.145 sqrt(4 S / pi)."""
    return STRANDING.value * sqrt(4 * area / pi)


def outer_diameter(area: float, insulation: str) -> float:
    """Outside diameter [mm] of a wire: strand circle and two walls of its insulation.

    insulation: one of INSULATION_LIMIT, else KeyError. Measure a real wire where it matters.
    """
    family = {"silicone": "silicone", "ptfe": "ptfe"}.get(insulation, "pvc")
    if insulation not in INSULATION_LIMIT:
        raise KeyError(f"{insulation!r} is not one of {', '.join(INSULATION_LIMIT)}")
    walls = _WALLS[family]
    wall = next((w for most, w in walls if area <= most + 1e-9), walls[-1][1])
    return stranded_diameter(area) + 2 * wall


ADIABATIC_SOURCE = "IEC 60364-5-54 annex A; IEC 60364-4-43 Table 43A"
HEAT_CAPACITY = Sourced(3.45e-3, "J/(K mm3)", ADIABATIC_SOURCE, "copper")
_RHO_20 = RESISTIVITY.value * 1e-6  # ohm mm
# Temperatures before a short circuit and at its end, C.
SHORT_CIRCUIT: dict[str, tuple[float, float]] = {
    "pvc70": (70.0, 160.0), "pvc90": (90.0, 160.0), "pvc105": (105.0, 160.0),
    "xlpe": (90.0, 250.0), "silicone": (180.0, 350.0), "ptfe": (200.0, 350.0),
}


def adiabatic_k(start: float, end: float) -> float:
    """Factor k [A s^0.5/mm2] of copper heated from `start` to `end` [C] without loss of heat.

    k = sqrt(Qc (B + 20) / rho20 ln((B + Tf) / (B + Ti))), IEC 60364-5-54 annex A.

    >>> round(adiabatic_k(70, 160), 1)
    114.8
    """
    zero = ZERO_RESISTANCE.value
    rise = log((zero + end) / (zero + start))
    return sqrt(HEAT_CAPACITY.value * (zero + 20) / _RHO_20 * rise)


def withstands(area: float, k: float) -> float:
    """Energy [A2s] that copper of `area` [mm2] stands in a short: k2 S2, IEC 60364-4-43.

    >>> round(withstands(1.5, 115))
    29756
    """
    return (k * area) ** 2


def least_area(amps: float, seconds: float, k: float) -> float:
    """Least copper [mm2] that stands a short of `amps` for `seconds` up to 5: I sqrt(t) / k.

    >>> round(least_area(1000, 0.1, 115), 2)
    2.75
    """
    return amps * sqrt(seconds) / k


def drop_volts(ohms_per_length: float, length: float, amps: float, ways: int = 2) -> float:
    """Voltage [V] lost in a wire: n L R I, `length` one way in the unit that ohms are told for.

    ways: 2 out and back; 1 where the length counts both already (FAA, ABYC tables).

    >>> round(drop_volts(13.3e-3, 1.2, 8), 4)
    0.2554
    """
    return ways * length * ohms_per_length * amps


def adiabatic_seconds(amps: float, area: float, k: float) -> float:
    """Time [s] that a wire of `area` [mm2] stands a current: (k S / I)^2; a short's first 5 s."""
    return (k * area / amps) ** 2

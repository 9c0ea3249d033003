"""Plate materials of the contract: what conducts, what bends, what grows, what softens."""

from __future__ import annotations

from dataclasses import dataclass

from layout_engine.tables.sourced import COMMON_PRACTICE, Sourced

CREEP = Sourced(0.5, "1", COMMON_PRACTICE, "plastics creep: halve E for a permanent load")

_PMC = "PMC9088909 Table 1"
_MEMORY = "handbook value (from memory)"
_MAKERS = "sheet makers' figures (from memory)"


@dataclass(frozen=True)
class PlateMaterial:
    """One plate material: modulus [GPa] short-term, density [g/cm3], expansion [1e-6/K].

    service: highest continuous temperature [C], None where it does not matter inside a body.
    """

    key: str
    conducts: bool
    plastic: bool
    modulus: Sourced
    density: Sourced
    expansion: Sourced
    service: Sourced | None

    @property
    def long_term_modulus_mpa(self) -> float:
        """Modulus [MPa] under a permanent load: halved for plastics (creep)."""
        return self.modulus.value * 1000 * (CREEP.value if self.plastic else 1)


def _gpa(value: float, source: str, note: str = "") -> Sourced:
    return Sourced(value, "GPa", source, note)


def _density(value: float, source: str, note: str = "") -> Sourced:
    return Sourced(value, "g/cm3", source, note)


def _growth(value: float, source: str, note: str = "") -> Sourced:
    return Sourced(value, "1e-6/K", source, note)


def _celsius(value: float, source: str, note: str = "") -> Sourced:
    return Sourced(value, "C", source, note)


_PLASTICS = (
    PlateMaterial(
        "acrylic",
        False,
        True,
        _gpa(3.3, _MEMORY),
        _density(1.19, _MEMORY),
        _growth(70, f"{_PMC}; Lange 15th ed. Table 10.2", "50 to 90"),
        _celsius(80, _MEMORY),
    ),
    PlateMaterial(
        "polycarbonate",
        False,
        True,
        _gpa(2.3, "ISO 11963 sheet class (from memory)", "2.2 to 2.4"),
        _density(1.20, _PMC),
        _growth(68, _MEMORY),
        _celsius(115, _MEMORY, "makers say 100 to 125"),
    ),
    PlateMaterial(
        "hdpe",
        False,
        True,
        _gpa(0.9, _MEMORY, "0.8 to 1.1"),
        _density(0.95, _MEMORY),
        _growth(110, _PMC, "59 to 110, other handbooks up to 200"),
        _celsius(80, _MEMORY),
    ),
    PlateMaterial(
        "pvc_foam",
        False,
        True,
        _gpa(1.0, _MAKERS, "at about 0.55 g/cm3"),
        _density(0.55, "trade note on foam-board grades", "0.4 to 0.8"),
        _growth(80, "trade note on 18 mm foam sheet", "70 to 150"),
        _celsius(60, _MAKERS, "rigid PVC deflects at 57 to 82 C"),
    ),
    PlateMaterial(
        "pvc",
        False,
        True,
        _gpa(2.9, _MEMORY, "2.4 to 3.3"),
        _density(1.4, _MEMORY),
        _growth(70, _MEMORY),
        _celsius(60, _MEMORY),
    ),
)
_WOODS = (
    PlateMaterial(
        "plywood",
        False,
        False,
        _gpa(8.2, "materials data sheet quoting ASTM D3043", "along the face grain, to 10.3"),
        _density(0.60, "materials data sheet; Wood Handbook", "0.40 to 0.60, birch to 0.70"),
        _growth(6, _MEMORY, "moisture moves it far more"),
        _celsius(100, _MEMORY),
    ),
    PlateMaterial(
        "mdf",
        False,
        False,
        _gpa(2.5, "EN 622-5 dry use (from memory)"),
        _density(0.75, _MEMORY),
        _growth(8, _MEMORY, "moisture moves it far more"),
        _celsius(80, _MEMORY),
    ),
)
_LAMINATES_AND_METALS = (
    PlateMaterial(
        "fr4",
        False,
        False,
        _gpa(18.6, "laminate table 2700 kpsi (NEMA LI 1 grades)", "lengthwise minimum"),
        _density(1.85, "NEMA LI 1 grade tables", "1.80 to 1.85"),
        _growth(14, "two laminators' data sheets", "9 to 21 in the plane"),
        _celsius(130, "NEMA LI 1 / IEC 60893 EP GC 202 data sheet"),
    ),
    PlateMaterial(
        "aluminium",
        True,
        False,
        _gpa(69, _MEMORY),
        _density(2.70, _MEMORY),
        _growth(23, _MEMORY),
        None,
    ),
    PlateMaterial(
        "steel",
        True,
        False,
        _gpa(200, _MEMORY),
        _density(7.85, _MEMORY),
        _growth(12, _MEMORY),
        None,
    ),
    PlateMaterial(
        "aluminium_composite",
        True,
        False,
        _gpa(45, _MAKERS, "effective in bending, 3 to 4 mm sheet"),
        _density(1.5, _MAKERS),
        _growth(24, _MAKERS),
        _celsius(80, _MAKERS, "plastic core"),
    ),
)
MATERIALS = {row.key: row for row in _PLASTICS + _WOODS + _LAMINATES_AND_METALS}


NAMES = {"pvc_foam": "PVC foam", "pvc": "PVC", "hdpe": "HDPE", "mdf": "MDF", "fr4": "FR-4 laminate",
         "aluminium_composite": "aluminium composite"}


def material_name(key: str) -> str:
    """A plate material as people write it."""
    return NAMES.get(key, key)


def plate_material(key: str) -> PlateMaterial:
    """The row of one material; KeyError naming the materials there are for any other word."""
    if key not in MATERIALS:
        raise KeyError(f"{key!r} is not one of {', '.join(MATERIALS)}")
    return MATERIALS[key]


def expansion_mm(key: str, length: float, kelvin: float) -> float:
    """Growth [mm] of a sheet of `length` [mm] over `kelvin` [K]: dL = a L dT.

    >>> round(expansion_mm("acrylic", 400, 30), 3)
    0.84
    """
    return plate_material(key).expansion.value * 1e-6 * length * kelvin

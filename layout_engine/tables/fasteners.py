"""Metric machine screws, nuts, washers, standoffs: the sizes that make holes and take room.

Lengths in mm. Threads are the contract's: M2, M2.5, M3, M3.5, M4, M5, M6, M8.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians
from typing import Literal

from layout_engine.tables.sourced import COMMON_PRACTICE, Sourced

Fit = Literal["fine", "medium", "coarse"]

THREADS = ("M2", "M2.5", "M3", "M3.5", "M4", "M5", "M6", "M8")

ISO_273 = "ISO 273:1979 (H12/H13/H14)"
ISO_261 = "ISO 261 coarse pitch (from memory)"
ISO_4032 = "ISO 4032 (BS EN ISO 4032:2001 Table 1)"
ISO_7045 = "ISO 7045, largest dk and k"
ISO_7046 = "ISO 7046-1, largest dk and k (from memory)"
ISO_7089 = "ISO 7089:2000, normal series"


@dataclass(frozen=True)
class Thread:
    """Everything this table knows of one coarse thread; lengths in mm."""

    name: str
    diameter: float
    pitch: Sourced
    holes: dict[Fit, Sourced]
    tap_drill: Sourced
    pan_diameter: Sourced
    pan_height: Sourced
    countersunk_diameter: Sourced
    countersunk_height: Sourced
    nut_flats: Sourced
    nut_height: Sourced
    washer_diameter: Sourced
    washer_thickness: Sourced


# thread: pitch; clearance fine, medium, coarse; pan d, h; countersunk d, h; nut s, m; washer d, t
_ROWS: dict[str, tuple[float, ...]] = {
    "M2": (0.4, 2.2, 2.4, 2.6, 4.0, 1.6, 3.8, 1.2, 4.0, 1.6, 5.0, 0.3),
    "M2.5": (0.45, 2.7, 2.9, 3.1, 5.0, 2.1, 4.7, 1.5, 5.0, 2.0, 6.0, 0.5),
    "M3": (0.5, 3.2, 3.4, 3.6, 5.6, 2.4, 5.5, 1.65, 5.5, 2.4, 7.0, 0.5),
    "M3.5": (0.6, 3.7, 3.9, 4.2, 7.0, 2.6, 7.3, 2.35, 6.0, 2.8, 8.0, 0.5),
    "M4": (0.7, 4.3, 4.5, 4.8, 8.0, 3.1, 8.4, 2.7, 7.0, 3.2, 9.0, 0.8),
    "M5": (0.8, 5.3, 5.5, 5.8, 9.5, 3.7, 9.3, 2.7, 8.0, 4.7, 10.0, 1.0),
    "M6": (1.0, 6.4, 6.6, 7.0, 12.0, 4.6, 11.3, 3.3, 10.0, 5.2, 12.0, 1.6),
    "M8": (1.25, 8.4, 9.0, 10.0, 16.0, 6.0, 15.8, 4.65, 13.0, 6.8, 16.0, 1.6),
}
_REMEMBERED = {
    ISO_7045: ("M3.5", "M8"),
    ISO_4032: ("M2", "M3", "M3.5", "M6", "M8"),
    ISO_7089: ("M2", "M2.5", "M3.5", "M4", "M8"),
}


def _sourced(value: float, source: str, name: str) -> Sourced:
    remembered = name in _REMEMBERED.get(source, ())
    return Sourced(value, "mm", f"{source} (from memory)" if remembered else source)


def _tap_drill(name: str, diameter: float, pitch: float) -> Sourced:
    if name == "M8":
        return Sourced(6.8, "mm", "ISO 2306:1972", "6.75 rounded up by the standard")
    return Sourced(round(diameter - pitch, 2), "mm", "ISO 2306:1972; rule d - P")


def _thread(name: str) -> Thread:
    pitch, fine, medium, coarse, pan_d, pan_h, csk_d, csk_h, flats, nut_h, was_d, was_t = _ROWS[
        name
    ]
    diameter = float(name[1:])
    return Thread(
        name=name,
        diameter=diameter,
        pitch=Sourced(pitch, "mm", ISO_261),
        holes={
            "fine": Sourced(fine, "mm", ISO_273),
            "medium": Sourced(medium, "mm", ISO_273),
            "coarse": Sourced(coarse, "mm", ISO_273),
        },
        tap_drill=_tap_drill(name, diameter, pitch),
        pan_diameter=_sourced(pan_d, ISO_7045, name),
        pan_height=_sourced(pan_h, ISO_7045, name),
        countersunk_diameter=_sourced(csk_d, ISO_7046, name),
        countersunk_height=_sourced(csk_h, ISO_7046, name),
        nut_flats=_sourced(flats, ISO_4032, name),
        nut_height=_sourced(nut_h, ISO_4032, name),
        washer_diameter=_sourced(was_d, ISO_7089, name),
        washer_thickness=_sourced(was_t, ISO_7089, name),
    )


_THREADS = {name: _thread(name) for name in THREADS}


def thread(name: str) -> Thread:
    """The sizes of one thread; KeyError naming the threads there are for any other word."""
    if name not in _THREADS:
        raise KeyError(f"{name!r} is not one of {', '.join(THREADS)}")
    return _THREADS[name]


def clearance_hole(name: str, fit: Fit = "medium") -> float:
    """Clearance hole [mm] for a thread (ISO 273)."""
    return thread(name).holes[fit].value


def medium_hole(name: str) -> float:
    """Clearance hole [mm] that fixings are drilled with: ISO 273, medium fit.

    >>> medium_hole("M3")
    3.4
    """
    return clearance_hole(name, "medium")


def corner_diameter(flats: float) -> float:
    """Circle [mm] that the corners of a turning hexagon sweep: s / cos 30.

    flats: across flats s [mm]. The e printed in ISO 4032 is a minimum and is smaller.

    >>> round(corner_diameter(5.5), 3)
    6.351
    """
    return flats / cos(radians(30))


def counter_diameter(name: str) -> float:
    """Circle [mm] a fixing needs on the other face: pan head or nut, whichever is larger.

    The larger of the ISO 7045 head diameter and nut s / cos 30 (ISO 4032), to 0.01 mm.

    >>> [counter_diameter(name) for name in ("M2", "M2.5", "M3", "M4", "M5", "M6")]
    [4.62, 5.77, 6.35, 8.08, 9.5, 12.0]
    """
    row = thread(name)
    return round(max(row.pan_diameter.value, corner_diameter(row.nut_flats.value)), 2)


def counter_height(name: str) -> float:
    """Height [mm] of pan head or nut, whichever is larger (ISO 7045 k, ISO 4032 m).

    >>> [counter_height(name) for name in ("M2", "M2.5", "M3", "M4", "M5", "M6")]
    [1.6, 2.1, 2.4, 3.2, 4.7, 5.2]
    """
    row = thread(name)
    return max(row.pan_height.value, row.nut_height.value)


def head_diameter(name: str, head: str) -> float:
    """Diameter [mm] of a `pan` (ISO 7045) or `countersunk` (ISO 7046) head."""
    row = thread(name)
    return (row.countersunk_diameter if head == "countersunk" else row.pan_diameter).value


def hole_play(screw: float, hole: float, *, clearance_in_both: bool = False) -> float:
    """Largest spacing error [mm] that a pair of clearance holes absorbs: D - d.

    screw, hole: diameters [mm]. Two holes give the radial play (D - d)/2 each; twice that when
    the partner has clearance holes as well.

    >>> round(hole_play(3.0, 3.4), 3)
    0.4
    """
    return (hole - screw) * (2 if clearance_in_both else 1)


SCREW_LENGTHS = tuple(
    Sourced(float(length), "mm", "ISO 888 as used in the ISO 1207 length column")
    for length in (2, 3, 4, 5, 6, 8, 10, 12, 16, 20, 25, 30, 35, 40, 45, 50)
)
STANDOFF_LENGTHS = tuple(
    Sourced(float(length), "mm", COMMON_PRACTICE, "M3 hexagon, usually stocked")
    for length in (5, 6, 8, 10, 12, 15, 16, 18, 20, 25, 30, 35, 40)
)
_ISO_7093 = "ISO 7093-1:2000, large series (from memory)"
LARGE_WASHERS = {
    name: (Sourced(diameter, "mm", _ISO_7093), Sourced(thickness, "mm", _ISO_7093))
    for name, diameter, thickness in (
        ("M3", 9.0, 0.8),
        ("M4", 12.0, 1.0),
        ("M5", 15.0, 1.0),
        ("M6", 18.0, 1.6),
        ("M8", 24.0, 2.0),
    )
}

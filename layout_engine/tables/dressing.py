"""Dressing of wires: bundles, bends, ties, grommets, ferrules, rings. Lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import sqrt

from layout_engine.tables.conductors import WireSize, sizes_of
from layout_engine.tables.sourced import COMMON_PRACTICE, Sourced

_BEND = "US Army TM 1-1500-204-23-4 par. 3-1(27); the same rule in FAA AC 43.13-1B"
_DIN = "DIN 46228-4"

BEND_RADIUS = Sourced(10.0, "outer diameters", _BEND, "3 to 6 at a supported terminal strip")
BEND_AT_TERMINAL = Sourced(3.0, "outer diameters", "terminal strip rule (from memory)")
TIE_SPACING = Sourced(75.0, "mm", COMMON_PRACTICE, "50 to 100 on a small plate")
TIE_SPACING_MOST = Sourced(
    305.0, "mm", "US Army TM 1-1520-240-BD item A-35; FAA AC 43.13-1B par. 11-158b"
)
TIE_FROM_BEND = Sourced(15.0, "mm", COMMON_PRACTICE, "on each side of a bend")
TIE_FROM_TERMINAL = Sourced(30.0, "mm", COMMON_PRACTICE, "from where the wires part")
TIE_SLOT_GAP = Sourced(3.0, "mm", COMMON_PRACTICE, "from the bundle to each slot's middle")
TIE_SLOT_WIDTH = Sourced(2.5, "mm", COMMON_PRACTICE, "for a tie 2.5 mm wide")
TIE_FOOT = Sourced(20.0, "mm", COMMON_PRACTICE, "side of a square foot to stick on")
TIE_SCREW_HEAD = Sourced(8.0, "mm", COMMON_PRACTICE, "free circle round a screwed tie mount")
CLAMP_FROM_EDGE = Sourced(12.0, "mm", COMMON_PRACTICE, "best, from where leads leave to a clamp")
CLAMP_WITHIN = Sourced(50.0, "mm", COMMON_PRACTICE, "a clamp farther in holds nothing at the edge")
CLAMP_TIE_WITHIN = Sourced(100.0, "mm", COMMON_PRACTICE, "a tie so near may hold it instead")
CLAMP_STEP = Sourced(1.0, "mm", COMMON_PRACTICE, "between places that are tried")
CLAMP_BENDS = Sourced(6.0, "mm", COMMON_PRACTICE, "leads turn off so much behind their clamp")
EXIT_STEP = Sourced(5.0, "mm", COMMON_PRACTICE, "between places at an edge where a lead may leave")
TIE_MOUNT_FOOT = Sourced(2.0, "mm", COMMON_PRACTICE, "foot of a screwed tie mount, bar of a clamp")
TIE_TAIL = Sourced(30.0, "mm", COMMON_PRACTICE, "of a tie beyond its loop: head and end to pull")
TIE_LENGTHS = tuple(
    Sourced(length, "mm", COMMON_PRACTICE, "ties 2.5 mm wide as they are sold")
    for length in (100.0, 150.0, 200.0, 300.0))
FLAT_MOST = Sourced(20.0, "mm", COMMON_PRACTICE, "height of a flat bundle between two modules")
WIRE_GAP = Sourced(0.2, "mm", COMMON_PRACTICE, "between a wire and what stands beside it")
HOLE_CLEARANCE = Sourced(
    9.5, "mm", "FAA AC 43.13-1B par. 11-115", "from a wire to a bare edge, else a grommet"
)
RE_TERMINATIONS = Sourced(
    2.0, "1", "workmanship rule: length for two new ends at each end (from memory)"
)
CUT_OFF = Sourced(3.0, "mm", COMMON_PRACTICE, "cut away beyond the old end when it is redone")
SERVICE_LOOP = Sourced(80.0, "mm", COMMON_PRACTICE, "for a part that is lifted out wired")
ROUND_UP = Sourced(5.0, "mm", COMMON_PRACTICE, "wires are cut to the next 5 mm")
TWIST_LAYS = Sourced(0.05, "1", COMMON_PRACTICE, "a twisted pair takes about 5 % more wire")
QUIET_FROM_LOUD = Sourced(50.0, "mm", COMMON_PRACTICE, "audio to motor wires on a small plate")
EN_50174 = "EN 50174-2:2000 Table 1"
# mm between (power, signal), screened or not: mains beside data cable, for audio an upper bound.
SEPARATION: dict[tuple[bool, bool], Sourced] = {
    (False, False): Sourced(200.0, "mm", EN_50174, "neither is screened"),
    (False, True): Sourced(50.0, "mm", EN_50174, "the signal is screened"),
    (True, False): Sourced(30.0, "mm", EN_50174, "the power is screened"),
    (True, True): Sourced(0.0, "mm", EN_50174, "both are screened"),
}
CROSSING = Sourced(90.0, "degrees", COMMON_PRACTICE, "signal over power")
BEND_SHORT_TERM = Sourced(6.0, "outer diameters", "NASA-STD-8739.4 7.3.21", "while it is handled")
SUPPORT_MOST = Sourced(610.0, "mm", "FAA AC 43.13-1B par. 11-96a, 24 in", "boats 450 mm")
BUNDLE_MOST = Sourced(75.0, "wires", "FAA-H-8083-32 ch. 4", "or 50 mm across")
SLACK_MOST = Sourced(12.7, "mm", "FAA AC 43.13-1B par. 11-118", "sag between two supports")

# Enclosing circle of n equal circles, in diameters of one: R. L. Graham, B. D. Lubachevsky,
# K. J. Nurmela, P. R. J. Ostergard, "Dense packings of congruent circles in a circle", Discrete
# Mathematics 181 (1998), table 1 (from memory; 1 to 7 follow from plane geometry).
PACKED_SOURCE = "Graham, Lubachevsky, Nurmela, Ostergard 1998, table 1 (from memory)"
PACKED = (1.0, 2.0, 2.1547, 2.4142, 2.7013, 3.0, 3.0, 3.3048, 3.6131, 3.8130)
MANY = 1.2  # over sqrt(n), for more than ten: no less than any known packing of up to 100


def packing(count: int) -> float:
    """Bundle diameter over sqrt(sum of squared outer diameters), for `count` wires.

    >>> round(packing(7), 4)
    1.1339
    """
    return PACKED[count - 1] / sqrt(count) if count <= len(PACKED) else MANY


def bundle_diameter(diameters: list[float]) -> float:
    """Diameter [mm] of a round bundle of wires of these outer diameters [mm]; 0 for none.

    Exact for two wires and for equal ones up to ten, else a rule; never under the two thickest
    side by side.

    >>> bundle_diameter([2.0, 2.0])
    4.0
    """
    if not diameters:
        return 0.0
    widest = sum(sorted(diameters)[-2:])
    if len(diameters) <= 2:
        return widest
    return max(widest, packing(len(diameters)) * sqrt(sum(d * d for d in diameters)))


def flat_height(diameters: list[float], width: float) -> float:
    """Height [mm] of wires laid side by side and upon each other in a gap [mm]; inf: too narrow.

    As many columns of the thickest wire as the gap holds; upright, so the plate carries them.

    >>> flat_height([2.0, 2.0, 2.0], 3.0)
    6.0
    """
    if not diameters:
        return 0.0
    columns = int((width + 1e-9) // max(diameters))
    return sum(diameters) / columns if columns else float("inf")


SINGLE_AMPS_MM2 = Sourced(5.0, "A/mm2", COMMON_PRACTICE, "first guess at a size, before sizing")
THINNEST_MM2 = Sourced(0.2, "mm2", COMMON_PRACTICE, "thinnest wire that is crimped by hand")


@lru_cache(maxsize=512)
def first_guess(amps: float, system: str) -> WireSize:
    """A wire size for a current [A] alone, until the wire is sized; `system` "awg" or "mm2".

    >>> first_guess(4.0, "awg").name
    '18 AWG'
    """
    wanted = max(THINNEST_MM2.value, amps / SINGLE_AMPS_MM2.value)
    sizes = sizes_of(system)
    return next((size for size in sizes if size.area >= wanted - 1e-9), sizes[-1])


FERRULE_REST = Sourced(2.0, "mm", "a drive maker's wiring instruction", "bare beyond the sleeve")


@dataclass(frozen=True, slots=True)
class Ferrule:
    """An end sleeve with collar: largest area [mm2], colour, sleeve length [mm]."""

    mm2: float
    colour: str
    sleeve: float
    source: str

    @property
    def strip(self) -> float:
        """Length to strip [mm]: sleeve and what stands out of it."""
        return self.sleeve + FERRULE_REST.value


_LENGTHS_NOTE = f"{_DIN} colours (two reprints agree); sleeve length (from memory)"
FERRULES = tuple(
    Ferrule(mm2, colour, sleeve, _LENGTHS_NOTE) for mm2, colour, sleeve in (
        (0.5, "white", 8.0), (0.75, "grey", 8.0), (1.0, "red", 8.0), (1.5, "black", 8.0),
        (2.5, "blue", 8.0), (4.0, "grey", 10.0), (6.0, "yellow", 12.0), (10.0, "red", 12.0),
        (16.0, "blue", 12.0), (25.0, "yellow", 16.0), (35.0, "red", 16.0),
    )
)
RING_COLOURS = (
    (1.5, "red"), (2.5, "blue"), (6.0, "yellow"),
)  # pre-insulated crimps, 0.5-1.5, 1.5-2.5, 4-6 mm2: trade convention; one maker: yellow from 2.5
RING_HOLES = {
    "M3": Sourced(3.2, "mm", "ISO 273 fine series (from memory)"),
    "M4": Sourced(4.3, "mm", "ISO 273 fine series (from memory)"),
    "M5": Sourced(5.3, "mm", "ISO 273 fine series (from memory)"),
    "M6": Sourced(6.4, "mm", "ISO 273 fine series"),
    "M8": Sourced(8.4, "mm", "ISO 273 fine series (from memory)"),
}
STRIP = {
    "screw": Sourced(8.0, "mm", COMMON_PRACTICE, "bare end under a screw; with a ferrule its own"),
    "spade": Sourced(6.0, "mm", COMMON_PRACTICE, "crimp barrel of a push-on tab"),
    "ring": Sourced(7.0, "mm", COMMON_PRACTICE, "crimp barrel of a ring"),
    "pin": Sourced(3.0, "mm", COMMON_PRACTICE, "crimp contact on a 2.54 mm pin"),
    "plug": Sourced(3.0, "mm", COMMON_PRACTICE, "crimp contact in a housing"),
    "solder": Sourced(5.0, "mm", COMMON_PRACTICE, "through the eye and back"),
}


def ferrule_for(mm2: float) -> Ferrule | None:
    """The smallest sleeve that takes this area [mm2]; None where no listed one does.

    >>> ferrule_for(1.31).colour
    'black'
    """
    return next((f for f in FERRULES if f.mm2 >= mm2 * 0.98), None)


def ring_colour(mm2: float) -> str:
    """Colour of a pre-insulated crimp for this area [mm2]; "bare" above 6 mm2."""
    return next((colour for most, colour in RING_COLOURS if mm2 <= most * 1.05), "bare")


@dataclass(frozen=True, slots=True)
class Grommet:
    """A rubber grommet: largest bundle and the hole in the plate [mm], rim over the plate [mm]."""

    bundle: float
    hole: float
    rim: float
    source: str = COMMON_PRACTICE


GROMMETS = (
    Grommet(4.0, 6.0, 9.0), Grommet(6.0, 8.0, 12.0), Grommet(8.0, 11.0, 15.0),
    Grommet(10.0, 13.0, 18.0), Grommet(12.0, 16.0, 21.0), Grommet(16.0, 20.0, 26.0),
)


def grommet_for(bundle: float) -> Grommet | None:
    """The smallest grommet that a bundle of this diameter [mm] passes; None over 16 mm."""
    return next((g for g in GROMMETS if g.bundle >= bundle - 1e-9), None)

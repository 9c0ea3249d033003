"""Which screw: lengths that go through, into a standoff, or meet another screw. Lengths in mm."""

from __future__ import annotations

from layout_engine.tables.fasteners import SCREW_LENGTHS, STANDOFF_LENGTHS, thread
from layout_engine.tables.sourced import COMMON_PRACTICE, Sourced

THREADS_BEYOND_NUT = Sourced(2.0, "pitches", COMMON_PRACTICE, "1 to 5 allowed, never over 10")
FEWEST_BEYOND_NUT = Sourced(1.0, "pitches", "US Naval Ships' Technical Manual ch. 075")
MOST_BEYOND_NUT = Sourced(5.0, "pitches", "US Naval Ships' Technical Manual ch. 075")
ENGAGEMENT = {
    "metal": Sourced(1.0, "d", COMMON_PRACTICE, "steel or brass"),
    "aluminium": Sourced(1.5, "d", "workmanship manual 15.8.13"),
    "plastic": Sourced(2.0, "d", COMMON_PRACTICE, "2 to 2.5 d"),
}
TIP_GAP = Sourced(0.5, "mm", COMMON_PRACTICE, "between two screws in one standoff")
_LENGTHS = tuple(length.value for length in SCREW_LENGTHS)


def through_bolt_need(name: str, grip: float) -> float:
    """Shortest screw [mm] for a nut: grip + nut height + 2 pitches.

    grip [mm]: everything from under the head to the nut, washers included.

    >>> through_bolt_need("M3", 6.1)
    9.5
    """
    row = thread(name)
    return grip + row.nut_height.value + THREADS_BEYOND_NUT.value * row.pitch.value


def through_bolt_length(name: str, grip: float) -> float | None:
    """Next length of ISO 888 [mm] that `through_bolt_need` allows; None over 50."""
    need = through_bolt_need(name, grip)
    return next((length for length in _LENGTHS if length >= need - 1e-9), None)


def tip_beyond_nut(name: str, length: float, grip: float) -> float:
    """How far [mm] a screw stands out of its nut: length - grip - nut height."""
    return length - grip - thread(name).nut_height.value


def tip_is_usual(name: str, tip: float) -> bool:
    """Whether 1 to 5 pitches stand out of the nut (US Naval Ships' Technical Manual ch. 075)."""
    pitches = tip / thread(name).pitch.value
    return FEWEST_BEYOND_NUT.value - 1e-9 <= pitches <= MOST_BEYOND_NUT.value + 1e-9


def standoff_window(
    name: str, grip: float, thread_depth: float, standoff: str = "metal"
) -> tuple[float, float]:
    """Shortest and longest screw [mm] into a blind standoff: g + e_min to g + thread depth.

    standoff: "metal" (steel, brass), "aluminium" or "plastic", which sets e_min in diameters.

    >>> standoff_window("M3", 5.5, 6.0)
    (8.5, 11.5)
    """
    least = ENGAGEMENT[standoff].value * thread(name).diameter
    return grip + least, grip + thread_depth


def standoff_screw_length(
    name: str, grip: float, thread_depth: float, standoff: str = "metal"
) -> float | None:
    """Shortest length of ISO 888 [mm] inside `standoff_window`, None when there is none."""
    low, high = standoff_window(name, grip, thread_depth, standoff)
    return next((n for n in _LENGTHS if low - 1e-9 <= n <= high + 1e-9), None)


def tips_overlap(standoff: float, first: tuple[float, float], second: tuple[float, float]) -> float:
    """How far [mm] two screws from both ends of one through-tapped standoff run into each other.

    first, second: (screw length, grip) [mm]. Negative is room to spare.

    >>> round(tips_overlap(8, (10, 5.5), (6, 2.1)), 3)
    0.4
    """
    return (first[0] - first[1]) + (second[0] - second[1]) - standoff


def standoff_length(least: float) -> float | None:
    """Shortest stocked M3 standoff [mm] not under `least`; None over 40."""
    stocked = (length.value for length in STANDOFF_LENGTHS)
    return next((length for length in stocked if length >= least - 1e-9), None)

"""Which drill makes a hole: one the person owns where one fits, else the next usual size."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from math import inf

from layout_engine.geometry.frames import EPS_MM
from layout_engine.model.job import USUAL_DRILLS_MM
from layout_engine.tables.fasteners import thread
from layout_engine.tables.holes import bare_head_most, cut_out_hole, fixing_hole, mount_hole
from layout_engine.tables.sourced import COMMON_PRACTICE, Sourced

LARGEST_DRILL = Sourced(13.0, "mm", COMMON_PRACTICE, "chuck of a hand drill")
HAND_SCATTER = Sourced(0.5, "mm", COMMON_PRACTICE, "scatter of one hole drilled by hand")
PILOT_OVER = Sourced(4.0, "mm", COMMON_PRACTICE, "larger holes start with a pilot hole")
PILOT_DRILL = Sourced(2.5, "mm", COMMON_PRACTICE, "pilot hole")
USUAL_SIZES = (*USUAL_DRILLS_MM, 10.5, 11.0, 11.5, 12.0, 12.5, 13.0)


@dataclass(frozen=True, slots=True)
class Drill:
    """The tool for one hole. diameter [mm]; `owned` is false where it must be bought or cut."""

    diameter: float
    owned: bool
    note: str = ""
    drilled: bool = True


def drill_for(wanted: float, owned: Iterable[float], most: float = inf) -> Drill:
    """The smallest owned drill from `wanted` to `most` [mm], else the next usual size.

    A hole that no drill of a hand drill makes keeps its own diameter and is cut.

    >>> drill_for(3.4, (3.0, 3.5, 4.0)).diameter
    3.5
    """
    for diameter in sorted(owned):
        if wanted - EPS_MM <= diameter <= most + EPS_MM:
            return Drill(diameter, owned=True)
    for diameter in USUAL_SIZES:
        if wanted - EPS_MM <= diameter <= most + EPS_MM:
            return Drill(diameter, owned=False, note=f"get a drill of {diameter:g} mm")
    if wanted <= LARGEST_DRILL.value:
        return Drill(wanted, owned=False, note=f"file it out to {wanted:g} mm")
    return Drill(wanted, owned=False, note="hole saw, step drill or file", drilled=False)


def fixing_drill(name: str, head: str, wanted: float, owned: Iterable[float]) -> Drill:
    """The drill for a screw of thread `name`: its head, or a washer, must still cover the hole."""
    drill = drill_for(wanted, owned, fixing_hole(name, head).most)
    washer = washer_note(name, head, drill.diameter)
    return replace(drill, note=washer) if washer and not drill.note else drill


def washer_note(name: str, head: str, hole: float) -> str:
    """What to put under the head where it does not cover a hole of that width [mm] by itself."""
    if hole <= bare_head_most(name, head) + EPS_MM:
        return ""
    return f"a washer of {thread(name).washer_diameter.value:g} mm under each head"


def mount_drill(wanted: float, head: float, owned: Iterable[float]) -> Drill:
    """The drill for a fixing of the plate; `head` [mm] is 0 where it is not known."""
    return drill_for(wanted, owned, mount_hole(wanted, head).most)


def cut_out_drill(wanted: float, owned: Iterable[float]) -> Drill:
    """The tool for a round cut-out: a drill that is hardly larger, else it is cut to size."""
    fitting = drill_for(wanted, owned, cut_out_hole(wanted).most)
    if fitting.owned or wanted <= LARGEST_DRILL.value:
        return fitting
    return Drill(wanted, owned=False, note="hole saw, step drill or file", drilled=False)

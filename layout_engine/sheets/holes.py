"""Every hole of the board, numbered, with its place from the datum corner and its drill.

Round holes carry numbers: by drill, so that a drill is changed once, then from bottom to top,
then from left to right. Cut-outs that no drill makes carry letters, from bottom to top. The datum
corner is the plate's lower left one as seen from the front.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import hypot
from typing import Literal

from layout_engine.geometry.frames import EPS_MM, Pose
from layout_engine.model.job import Job
from layout_engine.model.part import Part, Placement
from layout_engine.model.part_type import Fixing, RoundCutOut
from layout_engine.model.plate import ExistingHole, Face, Mount
from layout_engine.sheets.cut_outs import CutOut, lettered, part_cut_outs
from layout_engine.sheets.drills import (
    Drill,
    cut_out_drill,
    fixing_drill,
    mount_drill,
    washer_note,
)
from layout_engine.sheets.wire_holes import Foot, tie_feet, wire_holes
from layout_engine.tables.fasteners import hole_play, medium_hole, thread
from layout_engine.tables.holes import HoleWanted, cut_out_hole, fixing_hole, mount_hole
from layout_engine.wiring import Routing

HoleKind = Literal["fixing", "mount", "cut_out", "tie", "clamp", "grommet"]
REMARKS: dict[HoleKind, str] = {
    "cut_out": "cut-out", "mount": "fixing of the plate", "tie": "for a cable tie",
    "clamp": "for a clamp", "grommet": "with a grommet",
}


@dataclass(frozen=True, slots=True)
class Hole:
    """One round hole.

    id: its number on every sheet. x, y: centre [mm]. wanted: diameter that is asked for [mm]
    (fixings: ISO 273 medium). diameter: what the hole measures when it is done [mm]. screw:
    thread diameter [mm], 0 where no screw goes through. part: id of the part, mount, tie, clamp or
    pass-through. face: the face on which that stands. reused: the hole is in the plate already.
    """

    id: str
    x: float
    y: float
    wanted: float
    diameter: float
    kind: HoleKind
    for_: str
    part: str
    face: Face
    drill: Drill
    thread: str = ""
    screw: float = 0.0
    countersunk: bool = False
    reused: bool = False

    @property
    def slack(self) -> float | None:
        """Hole less screw [mm]: what a pair of holes may be out, the partner being tapped."""
        return round(hole_play(self.screw, self.diameter), 6) if self.screw else None

    @property
    def head(self) -> str:
        """The head of its screw."""
        return "countersunk" if self.countersunk else "pan"

    @property
    def faces(self) -> str:
        """The face of its part, in words; a mount's head and a grommet stand on both."""
        return "both" if self.kind in ("mount", "grommet") else self.face

    @property
    def remarks(self) -> str:
        """What is special about it, in words; empty for a plain fixing."""
        kind = REMARKS.get(self.kind, "")
        sunk = "countersunk head" if self.countersunk else ""
        return ", ".join(words for words in (kind, self.drill.note, sunk) if words)


@dataclass(frozen=True, slots=True)
class BoardHoles:
    """All holes of a board: to be drilled, to be cut, in the plate already and not needed.

    feet: for ties, stuck on and not drilled, so that a template shows where they go.
    """

    holes: tuple[Hole, ...]
    cut_outs: tuple[CutOut, ...]
    unused: tuple[ExistingHole, ...]
    warnings: tuple[str, ...]
    feet: tuple[Foot, ...] = ()

    @property
    def new(self) -> tuple[Hole, ...]:
        """Round holes that are still to be made."""
        return tuple(hole for hole in self.holes if not hole.reused)


def board_holes(job: Job, routing: Routing | None = None) -> BoardHoles:
    """The holes of the parts that are placed, of the plate's own mounts, and of its wires.

    routing: where the wires run; its ties, clamps and pass-throughs are drilled too. None: wires
    are left out.
    """
    raw = [_reusing(hole, job) for hole in (*_raw_holes(job), *_wire_holes(job, routing))]
    holes = tuple(
        replace(hole, id=str(number)) for number, hole in enumerate(sorted(raw, key=_order), 1)
    )
    unused = tuple(old for old in job.plate.existing_holes
                   if not any(_takes(hole, old) for hole in holes))
    cuts = (cut for part in job.placed for cut in part_cut_outs(part, job.type_of(part)))
    feet = () if routing is None else tie_feet(routing)
    return BoardHoles(holes, lettered(cuts), unused, tuple(_warnings(holes, unused)), feet)


def drills_used(board: BoardHoles) -> dict[float, tuple[Hole, ...]]:
    """The new holes under the drill that makes them, smallest first."""
    by_drill: dict[float, tuple[Hole, ...]] = {}
    for hole in board.new:
        by_drill[hole.diameter] = (*by_drill.get(hole.diameter, ()), hole)
    return by_drill


def _order(hole: Hole) -> tuple[float, float, float, float, float, str]:
    """Rounded first, so that a hair's breadth does not turn two numbers round."""
    return hole.diameter, round(hole.y, 1), round(hole.x, 1), hole.y, hole.x, hole.part


def _raw_holes(job: Job) -> Iterator[Hole]:
    owned = job.assumptions.drills
    for part in job.placed:
        kind = job.type_of(part)
        if kind.fixing == "screws":
            yield from (_fixing(part, fixing, owned) for fixing in kind.fixings)
        rounds = (cut for cut in kind.through if isinstance(cut, RoundCutOut))
        yield from (_round_cut_out(part, cut, owned) for cut in rounds)
    yield from (_mount(mount, owned) for mount in job.plate.mounts)


def _fixing(part: Part, fixing: Fixing, owned: tuple[float, ...]) -> Hole:
    place = _placement(part)
    x, y = Pose.of(place).point(fixing.x, fixing.y)
    wanted = medium_hole(fixing.thread)
    drill = fixing_drill(fixing.thread, fixing.head, wanted, owned)
    return Hole(
        "", x, y, wanted, drill.diameter, "fixing", part.title, part.id, place.face, drill,
        fixing.thread, thread(fixing.thread).diameter, fixing.head == "countersunk",
    )


def _round_cut_out(part: Part, cut: RoundCutOut, owned: tuple[float, ...]) -> Hole:
    place = _placement(part)
    x, y = Pose.of(place).point(cut.x, cut.y)
    drill = cut_out_drill(cut.diameter, owned)
    return Hole("", x, y, cut.diameter, drill.diameter, "cut_out", part.title, part.id,
                place.face, drill)


def _placement(part: Part) -> Placement:
    if part.placement is None:
        raise ValueError(f"part {part.id} is not placed")
    return part.placement


def _mount(mount: Mount, owned: tuple[float, ...]) -> Hole:
    drill = mount_drill(mount.diameter, mount.head_diameter, owned)
    return Hole("", mount.x, mount.y, mount.diameter, drill.diameter, "mount",
                mount.title, mount.id, "front", drill)


def _wire_holes(job: Job, routing: Routing | None) -> Iterator[Hole]:
    owned = job.assumptions.drills
    for one in wire_holes(routing) if routing is not None else ():
        screw = thread(one.thread).diameter if one.thread else 0.0
        drill = fixing_drill(one.thread, "pan", one.diameter, owned) if one.thread \
            else cut_out_drill(one.diameter, owned)
        yield Hole("", one.x, one.y, one.diameter, drill.diameter, one.kind, one.words, one.of,
                   one.face, drill, one.thread, screw)


def _reusing(hole: Hole, job: Job) -> Hole:
    """The same hole, or the one that is in the plate already where that one serves."""
    serving = _wanted(hole, job)
    for old in job.plate.existing_holes:
        away = hypot(hole.x - old.x, hole.y - old.y)
        if away <= serving.slack(old.diameter) + EPS_MM:
            washer = washer_note(hole.thread, hole.head, old.diameter + 2 * away) \
                if hole.thread else ""
            note = ", ".join(words for words in ("in the plate already", washer) if words)
            drill = Drill(old.diameter, owned=True, note=note, drilled=False)
            return replace(hole, diameter=old.diameter, drill=drill, reused=True)
    return hole


def _wanted(hole: Hole, job: Job) -> HoleWanted:
    """Which holes that are there serve for it."""
    if hole.thread:
        return fixing_hole(hole.thread, hole.head)
    if hole.kind == "mount":
        head = next(m.head_diameter for m in job.plate.mounts if m.id == hole.part)
        return mount_hole(hole.wanted, head)
    return cut_out_hole(hole.wanted)


def _takes(hole: Hole, old: ExistingHole) -> bool:
    return hole.reused and hypot(hole.x - old.x, hole.y - old.y) <= old.diameter / 2


def _warnings(holes: tuple[Hole, ...], unused: tuple[ExistingHole, ...]) -> Iterator[str]:
    missing = sorted({h.diameter for h in holes if h.drill.drilled and not h.drill.owned})
    for diameter in missing:
        numbers = ", ".join(h.id for h in holes if h.diameter == diameter and not h.drill.owned)
        yield (f"No suitable drill of yours for hole {numbers}: {diameter:g} mm is the usual size. "
               "Get it, or add it to your drills on the Papers page.")
    for note in sorted({h.drill.note for h in holes if h.drill.owned and not h.reused} - {""}):
        numbers = ", ".join(h.id for h in holes if h.drill.note == note)
        yield f"Hole {numbers}: {note}."
    for hole in holes:
        for old in unused:
            away = hypot(hole.x - old.x, hole.y - old.y)
            if away < (hole.diameter + old.diameter) / 2:
                yield (f"Hole {hole.id} runs into a hole of {old.diameter:g} mm that is there "
                       f"already, {away:.1f} mm away: the drill will wander.")

"""The materials list: what is bought to build the board, besides the modules themselves.

Wire by size and colour, what goes on the ends, ties, clamps, grommets, fuses, spacers and screws.
Quantities are what the job takes, without waste.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from math import pi

from layout_engine.joining.terminal_names import end_name
from layout_engine.model.job import Job
from layout_engine.model.part_type import Fixing, PartType
from layout_engine.sheets.cut_list import CutList, cut_list
from layout_engine.sheets.wire_holes import TIE_THREAD
from layout_engine.sizing.board import Sizing
from layout_engine.tables.dressing import (
    GROMMETS,
    TIE_FOOT,
    TIE_LENGTHS,
    TIE_MOUNT_FOOT,
    TIE_TAIL,
)
from layout_engine.tables.fasteners import SCREW_LENGTHS, thread
from layout_engine.tables.fuses import SOLD_AS
from layout_engine.tables.materials import material_name
from layout_engine.tables.screws import (
    ENGAGEMENT,
    TIP_GAP,
    standoff_screw_length,
    through_bolt_length,
)
from layout_engine.wiring import Clamp, Routing, TiePoint
from layout_engine.wiring.marking import COLOUR_WORDS

PIECES, METRES = "pieces", "m"
HEADS = {"pan": "pan head (ISO 7045)", "countersunk": "countersunk head (ISO 7046-1)"}
TIE_KINDS = {"slots": "through slots", "strap": "where leads leave",
             "screw": "on a screwed mount", "foot": "on a stuck-on foot"}


@dataclass(frozen=True, slots=True)
class Material:
    """One line. size, colour: "" where there is none; for_: where it goes; note: what to mind."""

    group: str
    item: str
    size: str
    colour: str
    quantity: float
    unit: str
    for_: str
    note: str = ""


def materials(routing: Routing, sizing: Sizing | None = None) -> tuple[Material, ...]:
    """Everything, group by group; fuses and sizes of wire as far as they are known."""
    listed = cut_list(routing)
    return (
        _plate(routing.job), *_wire(listed), *_ends(listed), *_plugs(routing.job),
        *_ties(routing), *_clamps(routing), *_grommets(routing),
        *(_fuses(routing.job, sizing) if sizing else ()), *_fasteners(routing),
    )


def _plate(job: Job) -> Material:
    width, height = job.plate.size
    size = f"{width:g} x {height:g} x {job.plate.thickness:g} mm"
    return Material("plate", material_name(job.plate.material), size, "", 1, PIECES, "the board")


def _wire(listed: CutList) -> Iterator[Material]:
    for reel in listed.totals:
        unknown = f"{reel.unknown} of them of unknown length" if reel.unknown else ""
        pieces = f"{reel.pieces} piece{'s' if reel.pieces > 1 else ''}"
        note = ", ".join(words for words in (pieces, unknown) if words)
        yield Material("wire", "stranded wire", reel.size, COLOUR_WORDS[reel.colour],
                       round(reel.metres, 3), METRES, "wires of the cut list", note)


def _ends(listed: CutList) -> Iterator[Material]:
    counts = Counter(end.item for row in listed.rows for end in row.ends if end.item)
    for item, count in sorted(counts.items()):
        yield Material("wire end", item, "", "", count, PIECES, "ends of wires")
    wires = len(listed.rows)
    if wires:
        yield Material("wire end", "marker sleeve", "", "", 2 * wires, PIECES, "both ends of "
                       "each wire", "texts in the cut list")


def _plugs(job: Job) -> Iterator[Material]:
    leads = {c.cable or c.id for c in job.connections if c.unplug}
    if leads:
        yield Material("wire end", "in-line plug pair", "", "", len(leads), PIECES,
                       ", ".join(sorted(leads)), "rated for the current of its wires")


def tie_length(tie: TiePoint | Clamp, thickness: float) -> float:
    """Length of the tie [mm] for a bundle: once round it, through the plate where it is slotted.

    The next one sold; the longest where none is long enough.
    """
    through = 2 * thickness if tie.kind in ("slots", "strap") else 0.0
    loop = pi * tie.bundle + through + TIE_TAIL.value
    lengths = [length.value for length in TIE_LENGTHS]
    return next((length for length in lengths if length >= loop), lengths[-1])


def _ties(routing: Routing) -> Iterator[Material]:
    thickness = routing.job.plate.thickness
    lengths: dict[float, list[TiePoint | Clamp]] = {}
    straps = [clamp for clamp in routing.clamps if clamp.kind == "strap"]
    every: list[TiePoint | Clamp] = [*routing.ties, *straps]
    for tie in every:
        lengths.setdefault(tie_length(tie, thickness), []).append(tie)
    for length, ties in sorted(lengths.items()):
        how = Counter(TIE_KINDS[tie.kind] for tie in ties)
        where = ", ".join(f"{count} {words}" for words, count in sorted(how.items()))
        yield Material("tie", "cable tie", f"2.5 x {length:g} mm", "", len(ties), PIECES, where)
    kinds = Counter(tie.kind for tie in routing.ties)
    if kinds["screw"]:
        yield Material("tie", "tie mount to screw down", "", "", kinds["screw"], PIECES,
                       "ties on a screwed mount")
    if kinds["foot"]:
        size = f"{TIE_FOOT.value:g} x {TIE_FOOT.value:g} mm"
        yield Material("tie", "tie foot to stick on", size, "", kinds["foot"], PIECES,
                       "ties with no room for a hole", "clean the plate with alcohol first")
    slots = sum(len(routing.job.type_of(part).slots) for part in routing.job.placed
                if routing.job.type_of(part).fixing == "tie")
    if slots:
        yield Material("tie", "cable tie", "as long as its module wants", "", (slots + 1) // 2,
                       PIECES, "modules held by ties")


def _clamps(routing: Routing) -> Iterator[Material]:
    for clamp in routing.clamps:
        parts = ", ".join(routing.job.part(part).title for part in clamp.parts)
        if clamp.kind in ("saddle", "clip"):
            item = "saddle clamp, two screws" if clamp.kind == "saddle" else "cable clip, one screw"
            yield Material("clamp", item, f"bundle {clamp.bundle:.1f} mm", "", 1, PIECES,
                           f"{clamp.id}: leads of {parts}")


def _grommets(routing: Routing) -> Iterator[Material]:
    counts = Counter(one.hole for one in routing.passes if one.kind == "drilled" and one.hole)
    takes = {grommet.hole: grommet.bundle for grommet in GROMMETS}
    for hole, count in sorted(counts.items()):
        yield Material("grommet", "rubber grommet", f"hole {hole:g} mm, takes {takes[hole]:g} mm",
                       "", count, PIECES, "wires through the plate",
                       f"for a plate of {routing.job.plate.thickness:g} mm")


def _fuses(job: Job, sizing: Sizing) -> Iterator[Material]:
    kinds: dict[tuple[str, float], list[str]] = {}
    for fuse in sizing.fuses.values():
        if fuse.rating:
            name = end_name(job, f"{fuse.part}.{fuse.terminal}")
            kinds.setdefault((SOLD_AS.get(fuse.form, fuse.form), fuse.rating), []).append(
                name if fuse.fitted else f"{name} (proposed)")
    for (form, rating), names in sorted(kinds.items()):
        yield Material("fuse", form, f"{rating:g} A", "", len(names), PIECES, ", ".join(names),
                       "spares beside them are common practice")


def _fasteners(routing: Routing) -> Iterator[Material]:
    counts: Counter[tuple[str, str, str]] = Counter()
    for part in routing.job.placed:
        kind = routing.job.type_of(part)
        if kind.fixing == "screws":
            for fixing in kind.fixings:
                counts.update(_fixing(kind, fixing, routing.job.plate.thickness))
    screwed = sum(tie.kind == "screw" for tie in routing.ties)
    screwed += sum(len(clamp.holes) for clamp in routing.clamps if clamp.kind != "strap")
    for _ in range(screwed):
        counts.update(_bolt(TIE_THREAD, "pan", routing.job.plate.thickness + TIE_MOUNT_FOOT.value))
    for (item, size, note), count in sorted(counts.items()):
        yield Material("fastener", item, size, "", count, PIECES, "modules, ties and clamps", note)


def _fixing(kind: PartType, fixing: Fixing, thickness: float) -> Iterator[tuple[str, str, str]]:
    """What one fixing takes: item, size, note."""
    spacer = fixing.spacer if kind.standoff > 0 or fixing.spacer == "blind" else "none"
    depth = (kind.standoff - TIP_GAP.value) / 2
    lengths = [standoff_screw_length(fixing.thread, grip, depth)
               for grip in (fixing.grip, thickness)]
    if spacer == "none":
        yield from _bolt(fixing.thread, fixing.head, fixing.grip + thickness)
    elif spacer == "through" or (spacer == "spacer" and None in lengths):
        note = "" if spacer == "through" else "too short for a screw from either end: screw through"
        yield "spacer without thread", f"{fixing.thread} x {kind.standoff:g} mm", note
        yield from _bolt(fixing.thread, fixing.head, fixing.grip + kind.standoff + thickness)
    elif spacer == "blind":
        least = thickness + ENGAGEMENT["plastic"].value * thread(fixing.thread).diameter
        length = next((n.value for n in SCREW_LENGTHS if n.value >= least), None)
        yield _screw(fixing.thread, "pan", length, "the thread in the module must be as deep: "
                     "measure it")
    else:
        yield "threaded spacer", f"{fixing.thread} x {kind.standoff:g} mm", ""
        for head, length in zip((fixing.head, "pan"), lengths, strict=True):
            yield _screw(fixing.thread, head, length)


def _bolt(name: str, head: str, grip: float) -> Iterator[tuple[str, str, str]]:
    yield _screw(name, head, through_bolt_length(name, grip))
    yield "nut (ISO 4032)", name, ""
    yield "washer (ISO 7089)", name, ""


def _screw(name: str, head: str, length: float | None, note: str = "") -> tuple[str, str, str]:
    """A screw with its length, or what is said where none of the usual lengths serves."""
    if length is None:
        return f"screw, {HEADS[head]}", name, f"longer than {SCREW_LENGTHS[-1].value:g} mm"
    return f"screw, {HEADS[head]}", f"{name} x {length:g}", note

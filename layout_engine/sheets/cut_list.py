"""The cut list: every wire with what is cut, stripped, put on its ends and written on them.

Sorted in the order in which it is best made: thickest wire first, each reel once, the longest
piece of a reel first, so that what is left over serves for a shorter one.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator
from dataclasses import dataclass

from layout_engine.checks.wording import listed
from layout_engine.joining.terminal_names import end_name
from layout_engine.model.job import Connection, Job
from layout_engine.model.part_type import Joint, Terminal
from layout_engine.tables.dressing import (
    FERRULE_REST,
    RING_HOLES,
    STRIP,
    ferrule_for,
    ring_colour,
)
from layout_engine.wiring import Routing, Wire
from layout_engine.wiring.marking import COLOUR_WORDS
from layout_engine.working import Given, Working

MM_PER_M = 1000.0


@dataclass(frozen=True, slots=True)
class WireEnd:
    """One end of a wire.

    at: part and mark as printed, told apart where the module bears the mark twice; marker: text of
    the marker; strip: length to strip [mm]; fitting: what goes on, in words; item: what is bought
    for it, "" where nothing is; clamp: how many wires share the terminal, in words, "" where it is
    alone; takes: how many wires the terminal takes.
    """

    at: str
    marker: str
    strip: float
    fitting: str
    item: str
    clamp: str
    takes: int


@dataclass(frozen=True, slots=True)
class CutRow:
    """One wire to make.

    size: "16 AWG", "1.5 mm2", "" while nobody chose; length [mm] or None; named: ids of the runs
    that it lies in and that drawings name.
    """

    number: int
    id: str
    label: str
    size: str
    mm2: float | None
    colour: str
    length: float | None
    ends: tuple[WireEnd, WireEnd]
    named: tuple[str, ...]
    cable: str
    twisted: bool
    remark: str

    @property
    def colour_words(self) -> str:
        """The colour in words."""
        return COLOUR_WORDS[self.colour]


@dataclass(frozen=True, slots=True)
class ReelTotal:
    """Wire of one size and colour: pieces, those whose length is not known, metres in all."""

    size: str
    colour: str
    pieces: int
    unknown: int
    working: Working

    @property
    def metres(self) -> float:
        """All that is cut of it, m."""
        return self.working.result


@dataclass(frozen=True, slots=True)
class CutList:
    """Every wire in the order of making, and what is bought."""

    rows: tuple[CutRow, ...]
    totals: tuple[ReelTotal, ...]


def cut_list(routing: Routing) -> CutList:
    """The cut list of routed wires."""
    job = routing.job
    shared = Counter(end for c in job.connections for end in c.ends)
    named = frozenset(run.id for run in routing.runs if run.is_named)
    rows = [
        _row(job, connection, wire, shared, named)
        for connection, wire in zip(job.connections, routing.wires, strict=True)
    ]
    rows.sort(key=lambda r: (-(r.mm2 or 0.0), r.size, r.colour, -(r.length or 0.0), r.number))
    return CutList(tuple(rows), _totals(rows))


def _row(job: Job, connection: Connection, wire: Wire, shared: Counter[tuple[str, str]],
         named: Collection[str]) -> CutRow:
    size = f"{wire.awg} AWG" if wire.awg is not None else (
        f"{wire.mm2:g} mm2" if wire.mm2 is not None else "")
    ends = tuple(_end(job, *end, marker, wire.mm2, shared[end])
                 for end, marker in zip(connection.ends, wire.markers, strict=True))
    return CutRow(
        wire.number, wire.id, connection.label, size, wire.mm2, wire.colour, wire.length,
        (ends[0], ends[1]), tuple(run for run in wire.runs if run in named),
        connection.cable, wire.twisted, wire.why or _lead_unknown(job, connection),
    )


def _end(job: Job, part: str, terminal_id: str, marker: str, mm2: float | None,
         wires: int) -> WireEnd:
    terminal = job.type_of(part).terminal(terminal_id)
    return WireEnd(end_name(job, f"{part}.{terminal_id}"), marker, *_fitting(terminal, mm2),
                   _clamp(terminal, wires), int(terminal.max_wires))


def _lead_unknown(job: Job, connection: Connection) -> str:
    """What is missing in a length: how far a lead goes on to what sits elsewhere; "" if nothing."""
    with_it = [c for c in job.connections if c.cable and c.cable == connection.cable]
    if any(c.length is not None for c in (connection, *with_it)):
        return ""
    parts = [job.part(part) for part, _ in connection.ends]
    far = [p.title for p in parts if p.away is not None and p.away.lead == 0]
    return f"the way on to {listed(far)} is not known: add it to this length" if far else ""


def _fitting(terminal: Terminal, mm2: float | None) -> tuple[float, str, str]:
    """Length to strip [mm], what goes on an end in words, and what is bought for it."""
    joint = terminal.joint
    strip = STRIP[joint].value
    if joint == "screw":
        ferrule = ferrule_for(mm2) if mm2 is not None else None
        if ferrule is None:
            return (strip, "ferrule of the wire's size", "ferrule of the wire's size") \
                if mm2 is None else (strip, "bare, twisted", "")
        words = f"ferrule {ferrule.mm2:g} mm2 {ferrule.colour} (DIN 46228-4)"
        return ferrule.strip, words, words
    colour = f", {ring_colour(mm2)}" if mm2 is not None else ""
    words = _CRIMPED[joint].format(
        stud=f" for {terminal.stud}{_hole(terminal.stud)}" if terminal.stud else "", colour=colour)
    return strip, words, _BOUGHT.get(joint, words)


def _hole(stud: str) -> str:
    hole = RING_HOLES.get(stud)
    return f", hole {hole.value:g} mm" if hole else ""


_CRIMPED: dict[Joint, str] = {
    "spade": "push-on tab{colour}",
    "ring": "ring{stud}{colour}",
    "pin": "crimp contact on the pin, a drop of glue against rattling",
    "plug": "crimp contact in its housing",
    "solder": "tinned and soldered, sleeve over it",
}
_BOUGHT: dict[Joint, str] = {
    "pin": "crimp contact for 2.54 mm pins", "plug": "crimp contact for its housing",
    "solder": "shrink sleeve over a soldered end",
}

_SHARED: dict[Joint, str] = {
    "screw": "under one clamp, which takes {takes}",
    "ring": "on one stud, which takes {takes}",
    "spade": "on one tab, which takes {takes}",
    "pin": "on one pin, which takes {takes}, crimped into one contact",
    "plug": "in one contact, which takes {takes}",
    "solder": "at one soldered point, which takes {takes}",
}


def _clamp(terminal: Terminal, wires: int) -> str:
    if wires < 2:
        return ""
    takes = int(terminal.max_wires)
    if wires > takes:
        return f"{wires} wires here, the terminal takes {takes}"
    return f"{wires} wires {_SHARED[terminal.joint].format(takes=takes)}"


def _totals(rows: list[CutRow]) -> tuple[ReelTotal, ...]:
    reels: dict[tuple[str, str], list[CutRow]] = {}
    for row in rows:
        reels.setdefault((row.size, row.colour), []).append(row)
    return tuple(
        ReelTotal(size, colour, len(pieces), sum(r.length is None for r in pieces),
                  _summed(pieces))
        for (size, colour), pieces in reels.items()
    )


def _summed(pieces: list[CutRow]) -> Working:
    """How much wire pieces of one reel take, m."""
    cut = tuple(Given(f"L{row.number}", f"wire {row.number}", row.length, "mm", "cut list")
                for row in pieces if row.length is not None)
    return Working("M = (" + " + ".join(one.symbol for one in cut) + ") / 1000" if cut else "M = 0",
                   cut, sum(one.value for one in cut) / MM_PER_M, "m",
                   "sum; nothing is added for offcuts")


def end_workings(terminal: Terminal, mm2: float | None) -> Iterator[tuple[str, Working]]:
    """How the figures of one end of a wire came about, with their titles.

    mm2: area of the wire's copper; None while nobody chose it.
    """
    strip = STRIP[terminal.joint]
    ferrule = ferrule_for(mm2) if terminal.joint == "screw" and mm2 is not None else None
    if ferrule is not None and mm2 is not None:
        yield "What is stripped, mm", Working("s = l + r", (
            Given("S", "copper of the wire, for which the ferrule is the smallest", mm2, "mm2",
                  "sizing"),
            Given("l", f"sleeve of a ferrule for {ferrule.mm2:g} mm2", ferrule.sleeve, "mm",
                  ferrule.source),
            Given("r", FERRULE_REST.note, FERRULE_REST.value, "mm", FERRULE_REST.source),
        ), ferrule.strip, "mm", FERRULE_REST.source)  # fmt: skip
    else:
        yield "What is stripped, mm", Working("s from the table", (
            Given("s", strip.note, strip.value, "mm", strip.source),
        ), strip.value, "mm", strip.source)  # fmt: skip
    hole = RING_HOLES.get(terminal.stud) if terminal.joint == "ring" else None
    if hole is not None:
        yield "Hole of the ring, mm", Working("d from the table", (
            Given("d", f"clearance hole for {terminal.stud}", hole.value, "mm", hole.source),
        ), hole.value, "mm", hole.source)  # fmt: skip


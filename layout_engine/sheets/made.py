"""What was made of the cut list: a tick keeps what was read when the wire was cut.

Wires are laid anew after every change. What was cut for another way may be too short by now, or
of another size: the list says so, and counts it as to be made again.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from layout_engine.record_edits import CUT, ticked, ticks
from layout_engine.sheets.cut_list import CutRow
from layout_engine.wiring import Routing, Wire

_APART = "; "
_SPARE = ("e1", "e2", "s")  # symbols of the working of a length: ends made twice, loops
_CUT_TO = re.compile(r"(\d{1,6}(?:\.\d{1,3})?) mm\Z")


@dataclass(frozen=True, slots=True)
class Since:
    """What a wire that was made is by now.

    severity: "warn" where it is to be made again, "note" where it still does.
    """

    severity: Literal["warn", "note"]
    words: str


def made_words(row: CutRow) -> str:
    """What a tick at a row says was made: "450 mm; red, 10 mm2; Battery + to Main fuse IN"."""
    length = "length not known" if row.length is None else f"{row.length:g} mm"
    one, other = row.ends
    return _APART.join((length, _of(row), f"{one.at} to {other.at}"))


def spare_of(wire: Wire) -> float:
    """What of a wire's length it does not need to reach [mm]: ends made again, loops.

    0 where nobody worked its length out.
    """
    given = wire.working.given if wire.working is not None else ()
    return sum(one.value for one in given if one.symbol in _SPARE)


def since_made(row: CutRow, made: str, spare: float = 0.0) -> Since | None:
    """How a row differs from what was made; None where it does not, or where that is not known.

    spare: what of the row's length the wire does not need to reach [mm].
    """
    if not made or made == made_words(row):
        return None
    was = made.split(_APART, 2)
    if len(was) < len(("length", "kind", "ends")):
        return None
    length, kind, ends = was
    now = f"{row.ends[0].at} to {row.ends[1].at}"
    longer = _longer_by(row, length)
    wrong = [words for words in (
        f"cut to {length} it is {-longer:g} mm too short now" if longer < -spare else "",
        f"it was {kind}" if kind != _of(row) else "",
        f"it went from {ends}" if ends != now else "") if words]
    if wrong:
        return Since("warn", f"Make it again: {', '.join(wrong)}.")
    if not longer:
        return None
    more = f"{longer:g} mm more" if longer > 0 else f"{-longer:g} mm less"
    return Since("note", f"Cut to {length}, {more} than is wanted now: it reaches.")


def made_since(routing: Routing, rows: Iterable[CutRow]) -> dict[str, Since]:
    """What changed since they were made, of the wires that are ticked off, by id."""
    made = ticks(routing.job, CUT)
    wires = {wire.id: wire for wire in routing.wires}
    found = {row.id: since_made(row, made[row.id].note, spare_of(wires[row.id]))
             for row in rows if row.id in made}
    return {wire: since for wire, since in found.items() if since is not None}


def still_made(routing: Routing, rows: Iterable[CutRow]) -> frozenset[str]:
    """The ids of wires that are made and need not be made again."""
    again = {wire for wire, since in made_since(routing, rows).items() if since.severity == "warn"}
    return ticked(routing.job, CUT) - again


def _of(row: CutRow) -> str:
    return f"{row.colour_words}, {row.size}" if row.size else row.colour_words


def _longer_by(row: CutRow, length: str) -> float:
    """By how much a wire was cut longer than its row says now [mm]; 0 where that is not known."""
    cut = _CUT_TO.match(length)
    return float(cut[1]) - row.length if cut and row.length is not None else 0.0

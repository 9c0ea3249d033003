"""Holes that wires want: slots and screws of ties and clamps, holes with a grommet to pass by."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from layout_engine.model.plate import Face
from layout_engine.tables.dressing import TIE_FOOT
from layout_engine.wiring import Routing, TiePoint

TIE_THREAD = "M3"  # of a mount that is screwed down, and of a clamp
TIE_WORDS = {"slots": "tie {}, threaded through a pair", "screw": "tie {}, on a screwed mount"}


@dataclass(frozen=True, slots=True)
class WireHole:
    """One of them. of: id of the tie, clamp or pass-through; diameter [mm]; thread: "" no screw."""

    x: float
    y: float
    diameter: float
    kind: Literal["tie", "clamp", "grommet"]
    words: str
    of: str
    face: Face
    thread: str = ""


@dataclass(frozen=True, slots=True)
class Foot:
    """Where a foot for a tie is stuck on: nothing is drilled there. x, y: its middle [mm]."""

    id: str
    x: float
    y: float
    face: Face

    @property
    def outline(self) -> tuple[tuple[float, float], ...]:
        """Its square on the plate, mm."""
        half = TIE_FOOT.value / 2
        return tuple((self.x + a * half, self.y + b * half)
                     for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1)))


def tie_feet(routing: Routing) -> tuple[Foot, ...]:
    """The feet that are stuck on."""
    return tuple(Foot(tie.id, tie.x, tie.y, tie.face) for tie in routing.ties
                 if tie.kind == "foot")


def wire_holes(routing: Routing) -> Iterator[WireHole]:
    """All of them; a tie on a foot that is stuck on has none."""
    for tie in routing.ties:
        for x, y, diameter in tie.holes:
            yield WireHole(x, y, diameter, "tie", TIE_WORDS[tie.kind].format(tie.id), tie.id,
                           tie.face, _thread(tie))
    for clamp in routing.clamps:
        parts = ", ".join(routing.job.part(part).title for part in clamp.parts)
        strap = clamp.kind == "strap"
        words = f"{'tie of' if strap else 'clamp'} {clamp.id}, leads of {parts}"
        if clamp.beneath:
            over = ", ".join(routing.job.part(part).title for part in clamp.beneath)
            words += f"; before {over} goes on"
        for x, y, diameter in clamp.holes:
            yield WireHole(x, y, diameter, "clamp", words, clamp.id, clamp.face,
                           "" if strap else TIE_THREAD)
    for one in routing.passes:
        if one.kind == "drilled" and one.hole:
            numbers = ", ".join(str(routing.wire(wire).number) for wire in one.wires)
            wires = "wires" if len(one.wires) > 1 else "wire"
            words = f"{wires} {numbers}, grommet for {one.grommet:g} mm"
            yield WireHole(one.x, one.y, one.hole, "grommet", words, one.id, "front")


def _thread(tie: TiePoint) -> str:
    return TIE_THREAD if tie.kind == "screw" else ""

"""Terminals of the placed modules as spots to choose on the board, and the chosen wire."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import hypot

from layout_engine.arranging.cost import exit_of
from layout_engine.joining import end_name
from layout_engine.model.job import Connection, Job
from layout_engine.model.part import Placement
from webapp.drawings.module import TERMINAL_MM
from webapp.drawings.seen import Seen, View

LARGEST_MM, SMALLEST_MM = 3.5, TERMINAL_MM / 2


@dataclass(frozen=True, slots=True)
class Spot:
    """A terminal on the near face: its place in the view and the radius that is its own, mm."""

    end: str
    x: float
    y: float
    radius: float
    name: str
    words: str


@dataclass(frozen=True, slots=True)
class JoinLine:
    """The straight way between the two ends of a wire; `far` where an end is on the other face."""

    x1: float
    y1: float
    x2: float
    y2: float
    far: bool


def spots(job: Job, view: View, words: Mapping[str, str]) -> tuple[Spot, ...]:
    """The terminals of all modules on the near face; `words` say what is joined to each end."""
    seen = Seen(view, *job.plate.size)
    places = {
        f"{part.id}.{terminal.id}": _place(job, seen, part.id, terminal.id, part.placement)
        for part in job.placed
        if part.placement is not None and part.placement.face == seen.face
        for terminal in job.type_of(part).terminals
    }
    return tuple(
        Spot(end, *at, _radius(end, at, places), end_name(job, end), words.get(end, ""))
        for end, at in places.items()
    )


def _place(job: Job, seen: Seen, part_id: str, terminal_id: str, placement: Placement
           ) -> tuple[float, float]:
    terminal = job.type_of(part_id).terminal(terminal_id)
    stand = seen.stand(placement)
    dx, dy = stand.offset(terminal.x, terminal.y)
    return stand.x + dx, stand.y + dy


def _radius(end: str, at: tuple[float, float], places: Mapping[str, tuple[float, float]]) -> float:
    """Half the way to the nearest other terminal, so that no two spots share ground."""
    nearest = min((hypot(at[0] - x, at[1] - y) for other, (x, y) in places.items()
                   if other != end), default=2 * LARGEST_MM)
    return max(SMALLEST_MM, min(LARGEST_MM, nearest / 2))


def join_line(job: Job, view: View, wire: Connection) -> JoinLine | None:
    """The wire between its ends as far as they are placed; leads end where they leave the plate."""
    seen = Seen(view, *job.plate.size)
    found = [_end_place(job, seen, *end) for end in wire.ends]
    first, second = found
    if first is None or second is None or (not first[1] and not second[1]):
        return None
    return JoinLine(*first[0], *second[0], far=first[2] or second[2])


def _end_place(job: Job, seen: Seen, part_id: str, terminal_id: str
               ) -> tuple[tuple[float, float], bool, bool] | None:
    """(place, on the plate, on the far face) of a wire's end; None while it lies in the tray."""
    part = job.part(part_id)
    if part.away is not None:
        return seen.point(*exit_of(job, part)), False, False
    if part.placement is None:
        return None
    far = part.placement.face != seen.face
    return _place(job, seen, part_id, terminal_id, part.placement), True, far

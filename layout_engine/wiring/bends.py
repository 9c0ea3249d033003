"""Bends of wires that are tighter than a wire may be bent.

The graph's ways turn at right angles, whatever the room beside a turn is; a turn is rounded by the
largest arc that fits between the middles of both legs, or their ends at a terminal. Where that is
under the least radius of a supported wire it is told, wire by wire and bend by bend.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import hypot, sqrt

from layout_engine.model.plate import Face
from layout_engine.tables.dressing import BEND_AT_TERMINAL
from layout_engine.wiring.wire import PathPoint, Wire

STRAIGHT = 1e-6
SLACK_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Bend:
    """A bend that is too tight: wire, place, radius that fits and radius that is wanted [mm]."""

    wire: str
    x: float
    y: float
    face: Face
    radius: float
    needs: float


def tight_bends(wires: Iterable[Wire]) -> tuple[Bend, ...]:
    """All bends of the wires, on a face, that are tighter than 3 outer diameters."""
    return tuple(bend for wire in wires for bend in _of_wire(wire))


def _of_wire(wire: Wire) -> Iterator[Bend]:
    needs = BEND_AT_TERMINAL.value * wire.outer
    path, last = wire.path, len(wire.path) - 1
    for n, (before, here, after) in enumerate(zip(path, path[1:], path[2:], strict=False), 1):
        if not before[2] == here[2] == after[2]:
            continue
        one = _length(before, here) * (1.0 if n == 1 else 0.5)
        other = _length(here, after) * (1.0 if n + 1 == last else 0.5)
        radius = radius_at(before, here, after, min(one, other))
        if radius is not None and radius < needs - SLACK_MM:
            yield Bend(wire.id, here[0], here[1], here[2], round(radius, 3), round(needs, 3))


def radius_at(before: PathPoint, here: PathPoint, after: PathPoint, room: float) -> float | None:
    """Radius [mm] of the arc that begins `room` mm before a bend and ends as far behind it.

    None where the way goes straight on; 0 where it turns back.

    >>> round(radius_at((0, 0, "front"), (10, 0, "front"), (10, 10, "front"), 5.0), 6)
    5.0
    """
    (ax, ay), (bx, by) = ((b[0] - a[0], b[1] - a[1]) for a, b in pairwise((before, here, after)))
    cosine = (ax * bx + ay * by) / max(hypot(ax, ay) * hypot(bx, by), STRAIGHT)
    if cosine > 1.0 - STRAIGHT:
        return None
    return room * sqrt(max(1.0 + cosine, 0.0) / (1.0 - cosine))  # room / tan of half the turn


def _length(a: PathPoint, b: PathPoint) -> float:
    return hypot(b[0] - a[0], b[1] - a[1])

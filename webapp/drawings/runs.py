"""Runs of wires on the board: grey bands of true width, each wire's number at both ends."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from math import hypot

from layout_engine.wiring import PathPoint, Routing, Run, Wire
from webapp.drawings.board import board
from webapp.drawings.primitives import Circle, Drawing, Group, Item, Line, Text, polygon
from webapp.drawings.seen import Seen, View

END_MM = 7.0  # across the ring round an end of the traced wire
FLAG_MM = 11.0  # from a terminal to its wire's number


def routed_board(routing: Routing, view: View, traced: str = "") -> Drawing:
    """The board of one face with all runs, wires, ties and holes for wires of that face.

    traced: the wire whose way and ends stand out.
    """
    plain = board(routing.job, view)
    seen = Seen(view, *routing.job.plate.size)
    face = seen.face
    bands = Group(tuple(
        item for run in routing.runs if run.face == face for item in _band(run, seen)), "runs")
    wires = Group(tuple(
        line for wire in routing.wires for line in _lines(wire.path, face, seen)), "wires")
    ties = Group(tuple(
        Circle(*seen.point(tie.x, tie.y), max(3.0, tie.bundle), "thin", "none")
        for tie in routing.ties if tie.face == face), "ties")
    holes = Group(tuple(
        Circle(*seen.point(p.x, p.y), p.hole, "outline", "hole")
        for p in routing.passes if p.hole), "wire_holes")
    flags = Group(tuple(
        flag for wire in routing.wires for flag in _flags(wire, face, seen)), "flags")
    title = plain.title.replace("Board of", "Wires on the board of", 1)
    way = [_traced(wire, face, seen) for wire in routing.wires
           if wire.id == traced and face in {point[2] for point in wire.path}]
    return replace(plain, items=(*plain.items, bands, wires, ties, holes, *way, flags),
                   title=title)


def faces_used(routing: Routing) -> tuple[View, ...]:
    """The faces on which something stands or runs, the front first."""
    faces = {face for wire in routing.wires for _, _, face in wire.path}
    faces |= {p.placement.face for p in routing.job.placed if p.placement is not None}
    return tuple(face for face in ("front", "back") if face in faces) or ("front",)


def _band(run: Run, seen: Seen) -> Iterator[Item]:
    """Rectangles along the legs, each half a width longer at its ends so that corners close."""
    half = min(run.diameter, run.width) / 2 if run.height else run.diameter / 2
    for (ax, ay), (bx, by) in pairwise(seen.points(run.path)):
        length = hypot(bx - ax, by - ay)
        if length == 0:
            continue
        ux, uy = (bx - ax) / length * half, (by - ay) / length * half
        yield polygon((
            (ax - ux - uy, ay - uy + ux), (ax - ux + uy, ay - uy - ux),
            (bx + ux + uy, by + uy - ux), (bx + ux - uy, by + uy + ux),
        ), "none", "part")


def _lines(path: tuple[PathPoint, ...], face: str, seen: Seen) -> Iterator[Line]:
    for (ax, ay, one), (bx, by, other) in pairwise(path):
        if one == other == face:
            yield Line(*seen.point(ax, ay), *seen.point(bx, by), "fine")


def _traced(wire: Wire, face: str, seen: Seen) -> Group:
    """One wire's way on a face, a ring round each of its ends there."""
    lines = [replace(line, pen="outline") for line in _lines(wire.path, face, seen)]
    ends = [Circle(*seen.point(x, y), END_MM, "outline", "none")
            for x, y, on in (*wire.path[:1], *wire.path[-1:]) if on == face]
    return Group((*lines, *ends), "traced", data={"wire": wire.id})


def _flags(wire: Wire, face: str, seen: Seen) -> Iterator[Text]:
    """A wire's number beside both its ends, a little along its way."""
    for path in (wire.path, wire.path[::-1]):
        if len(path) > 1 and path[0][2] == path[1][2] == face:
            (ax, ay), (bx, by) = seen.points([path[0][:2], path[1][:2]])
            length = hypot(bx - ax, by - ay)
            share = min(FLAG_MM, length / 2) / length if length else 0.0
            yield Text(ax + (bx - ax) * share, ay + (by - ay) * share, str(wire.number), "mark",
                       plaque=True)

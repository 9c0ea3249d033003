"""What of the plate and of the body is in the way: convex pieces with their classes.

Told once for all who ask where a module may stand: the optimiser, and "where it fits".
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from layout_engine.arranging import classes as c
from layout_engine.arranging.footprints import FACES
from layout_engine.arranging.vectors import Floats
from layout_engine.geometry.arrange_support import convex_parts, turning_left
from layout_engine.geometry.cavity import Cavity
from layout_engine.geometry.shapes import vertices
from layout_engine.model.plate import Plate, PlateKeepOut

Piece = tuple[Floats, c.Kind]


@dataclass(frozen=True, eq=False)
class Block:
    """Something that forbids ground; `pieces`: corners (n, 2) turning left, one corner a point."""

    label: str
    pieces: tuple[Piece, ...]


def blocks_of(plate: Plate, cavity: Cavity, pockets: Sequence[Floats]) -> Iterator[Block]:
    """Everything of the plate and the body that stands in the way.

    Args:
        plate: the plate.
        cavity: the body's inside, with what stands in it.
        pockets: convex pieces of the plate's hull that are no plate.
    """
    gap = c.PlateGap(plate.edge_margin)
    yield Block("the plate's edge", tuple((pocket, gap) for pocket in pockets))
    yield Block("a cut-out of the plate", tuple(
        (part, gap) for hole in plate.holes for part in convex_parts(hole)))
    for zone in plate.keep_outs:
        yield Block(_name_of(zone), tuple(
            (part, c.PlateZone(tuple(FACES[face] for face in zone.faces), zone.max_height))
            for part in convex_parts(zone.outline)))
    for mount in plate.mounts:
        head = max(mount.head_diameter, mount.diameter) / 2
        spot = _point(mount.x, mount.y)
        yield Block(f"the plate fixing {mount.id}", (
            (spot, c.MountHead(head, mount.head_height)),
            (spot, c.Drilled(-1, mount.diameter, hidden=False))))
    yield Block("a hole drilled before", tuple(
        (_point(h.x, h.y), c.Drilled(-1, h.diameter, hidden=False, old=True))
        for h in plate.existing_holes))
    yield from _of_body(cavity)


def _of_body(cavity: Cavity) -> Iterator[Block]:
    """Obstructions of the body, as ground with less height on each face."""
    half = cavity.frame.thickness / 2
    for block in cavity.blocks:
        corners = turning_left(vertices(block.shape))
        yield Block(block.label, tuple(
            (corners, c.Bar(FACES[face], max(low - half, 0.0)))
            for face, (low, high) in (("front", block.w), ("back", (-block.w[1], -block.w[0])))
            if high > half))


def _name_of(zone: PlateKeepOut) -> str:
    return f"the keep-free zone {zone.label}" if zone.label else "a keep-free zone"


def _point(x: float, y: float) -> Floats:
    return np.array([[x, y]])

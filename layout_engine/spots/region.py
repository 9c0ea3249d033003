"""The exact places of one module in one face and turn.

Left out of the region are all places with a `stop` of these rules: overlap, off_plate, too_deep,
hole_edge, hole_spacing, hole_under_part, terminal_blocked, receiver_near_metal, no_reach (the room
over a switch, stop button or fuse under the wall), and all places that miss a requirement of the
module, or of another one about it; a zone must hold the whole outline. Left to the judge:
no_way_in, and every warning. Not looked at: stops that no place avoids (holes of the module that
run into each other). Other modules of its group are in the way like all others.

Curves are cut so that no place is given that is not one; at most 0.01 mm too little is given. A
gap of exactly the module's size, which leaves a line and no area, is not among the places.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from layout_engine.arranging import classes as c
from layout_engine.geometry.free_places import (
    NOWHERE,
    Area,
    Areas,
    Places,
    both,
    eroded,
    grown_sums,
    near_sums,
    ring_round,
    shifted,
    without,
)
from layout_engine.spots.around import Around
from layout_engine.spots.forms import Bit, Stance, sums

RULES = ("overlap", "off_plate", "too_deep", "hole_edge", "hole_spacing", "hole_under_part",
         "terminal_blocked", "receiver_near_metal", "no_reach")


@dataclass(frozen=True, eq=False)
class Fit:
    """Where a module fits in one face and turn.

    Attributes:
        middles: the places of the middle of its outline's bounds, plate frame.
        offset: from there to the placement's x, y.
        cause: where nothing is left: what took the last ground ("plate", "holes", "wall", "metal",
            "required", "things"); else "".
    """

    stance: Stance
    middles: Places
    offset: tuple[float, float]
    cause: str

    @property
    def placements(self) -> Places:
        """The places of the document's placement x, y."""
        return self.middles.at(*self.offset)


def fit_of(around: Around, face: str, turn: float) -> Fit:
    """Where the module fits in a face and turn."""
    stance = around.stance(face, turn)
    cx, cy = stance.posed.centre
    offset = (-cx + 0.0, -cy + 0.0)
    ground, cause = ground_of(around, stance)
    if ground is None:
        return Fit(stance, Places(NOWHERE), offset, cause)
    left = without(ground, _forbidden(around, stance))
    cause = "things" if left.is_empty else ""
    for other, within in around.near_to():
        at = np.array(other.at)
        left = both(left, near_sums([
            (theirs + at, mine, within) for theirs in other.stance.outline
            for mine in stance.outline]))
        cause = cause or ("required" if left.is_empty else "")
    return Fit(stance, Places(left), offset, cause)


def ground_of(around: Around, stance: Stance) -> tuple[Area | None, str]:
    """Ground that plate, wall and requirements leave; None and the last cause where none is."""
    ground: Area | None = None
    for limit in around.limits(stance):
        left = eroded(limit.ground, limit.shape)
        ground = left if ground is None else both(ground, left)
        if ground.is_empty:
            return None, limit.cause
    return ground, ""


def _forbidden(around: Around, stance: Stance) -> Areas:
    """Every area that something forbids."""
    others = around.others
    areas = _array(stance.forbidden_by([other.stance for other in others]))
    moved = shifted(areas, np.array([other.at for other in others]).reshape(-1, 2))
    return np.concatenate((moved, _of_blocks(around, stance)))


def _of_blocks(around: Around, stance: Stance) -> Areas:
    found, rings = [], []
    for block, bits in around.all_blocks(stance):
        found += list(sums([b for b in block.bits if not _is_old(b)], bits))
        rings += [_round_hole(hole, bit) for hole in block.bits if _is_old(hole)
                  for bit in bits if isinstance(bit.kind, c.Drilled)]
    return np.concatenate((grown_sums(found), _array(rings)))


def _is_old(bit: Bit) -> bool:
    return isinstance(bit.kind, c.Drilled) and bit.kind.old


def _round_hole(hole: Bit, mine: Bit) -> Area:
    """A hole drilled before: not beside it, but on it where it serves again, within its slack."""
    assert isinstance(hole.kind, c.Drilled)
    assert isinstance(mine.kind, c.Drilled)
    assert mine.kind.wanted is not None
    wide, new = hole.kind.diameter, mine.kind.diameter
    (x, y), (dx, dy) = hole.corners[0], mine.corners[0]
    return ring_round(float(x - dx), float(y - dy), mine.kind.wanted.slack(wide), (wide + new) / 2)


def _array(areas: list[Area]) -> Areas:
    array = np.empty(len(areas), dtype=object)
    array[:] = areas
    return array

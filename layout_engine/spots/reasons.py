"""Why a module fits nowhere, in words."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from layout_engine.arranging.cost import turn_is_allowed
from layout_engine.arranging.footprints import FACE_NAMES
from layout_engine.geometry.free_places import both, eroded
from layout_engine.geometry.shapes import shape_of
from layout_engine.geometry.wall_ground import wall_ground
from layout_engine.model.part import FaceWish, TurnsWish
from layout_engine.spots.around import Around
from layout_engine.spots.forms import Stance
from layout_engine.spots.raster import Grid, covered, ground_cells, rings
from layout_engine.spots.region import Fit

MOST_NAMED = 3
HALVINGS = 20  # of a height of metres: to a few thousandths of a millimetre
SHOWN_MM = 0.1


def why_nowhere(around: Around, fit: Fit) -> str:
    """What keeps a module from every place in a face and turn; "" where it fits somewhere."""
    title, stance = around.part.title, fit.stance
    margin, where = around.job.plate.edge_margin, f"on the {stance.face}"
    if fit.cause == "plate":
        return f"{title} is larger than the plate inside its edge margin of {margin:g} mm."
    if fit.cause == "holes":
        return f"The fixing holes of {title} come too near the plate's edge everywhere."
    if fit.cause == "wall":
        return _too_high(around, stance)
    if fit.cause == "metal":
        return f"The aerial of {title} comes too near the body's metal everywhere {where}."
    if fit.cause == "required":
        return _required(around, stance)
    return _no_room(around, stance) if fit.cause else ""


def _too_high(around: Around, stance: Stance) -> str:
    title = around.part.title
    for corners, face, needs in stance.posed.heights:
        name = FACE_NAMES[face]
        free = _free_height(around, corners, name, needs)
        if free is not None:
            most = f"; at most {free:.1f} mm is free there" if free > SHOWN_MM else ""
            return (f"{title} is too high everywhere under the wall: it needs {needs:g} mm over "
                    f"the {name}{most}.")
    return f"{title} is too high everywhere under the wall on the {stance.face}."


def _free_height(around: Around, corners: np.ndarray[tuple[int, ...], np.dtype[np.float64]],
                 face: str, needs: float) -> float | None:
    """The greatest height for which the plate has a place under the wall; None if `needs` fits."""
    board = eroded(around.board, corners)

    def has_place(height: float) -> bool:
        ground, _ = wall_ground(around.cavity, face, height)
        return ground is not None and not both(eroded(shape_of(ground), corners), board).is_empty

    if has_place(needs):
        return None
    low, high = 0.0, needs
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if has_place(middle) else (low, middle)
    return low


def _required(around: Around, stance: Stance) -> str:
    title = around.part.title
    for wish in around.part.wishes:
        if wish.must and isinstance(wish, FaceWish) and wish.face != stance.face:
            return f"{title} is required to stand on the {wish.face}."
        if wish.must and isinstance(wish, TurnsWish) and not turn_is_allowed(
                stance.posed.pose.turn, wish.allowed):
            return f"{title} is required to stand in another turn."
    return f"What is required of {title} leaves it no place on the {stance.face} in this turn."


def _no_room(around: Around, stance: Stance) -> str:
    words = f"No free ground of its size is left for {around.part.title} on the {stance.face}."
    names = list(dict.fromkeys(_alone_in_the_way(around, stance)))[:MOST_NAMED]
    if not names:
        return words
    return f"{words} It would fit without {' or without '.join(names)}."


def _alone_in_the_way(around: Around, stance: Stance) -> Iterator[str]:
    """Names of what covers some place alone, so that without it the module would fit there."""
    grid = Grid(*around.job.plate.size)
    ground, ring = ground_cells(grid, around, stance), rings(around, stance)
    many, total, squares = (covered(grid, ring, ring.owners.astype(float) ** power)
                            for power in (0, 1, 2))
    alone = ground & (many > 0) & (np.abs(squares * many - total**2) < 0.5)
    owners = np.round(total[alone] / many[alone]).astype(int)
    blocks = [block.label for block, _ in around.all_blocks(stance)]
    names = [*(other.part.title for other in around.others), *blocks]
    found, cells = np.unique(owners, return_counts=True)
    for index in np.argsort(-cells, kind="stable"):
        yield names[found[index]]

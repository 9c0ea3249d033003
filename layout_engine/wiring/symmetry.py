"""The sixteen ways to look at a board: turned by quarters, mirrored, from either face.

Routes are sought on the board as seen in one way that does not depend on how it is drawn, so that
the mirrored or turned job gets the mirrored or turned routes: all ties are then broken alike.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np

from layout_engine.geometry.frames import Points
from layout_engine.model.plate import FACES, Face

COARSE = 3  # decimals of a mm that tell two views apart


@dataclass(frozen=True, slots=True)
class View:
    """One way to look at a plate of `width` x `height` mm.

    x is mirrored if `flip_x`, y if `flip_y`; then both are exchanged if `swap`. Faces change
    places if `behind`.
    """

    width: float
    height: float
    flip_x: bool = False
    flip_y: bool = False
    swap: bool = False
    behind: bool = False

    @property
    def size(self) -> tuple[float, float]:
        """Width and height as seen."""
        return (self.height, self.width) if self.swap else (self.width, self.height)

    def points(self, points: Points) -> Points:
        """Plate points, shape (n, 2), as seen."""
        x = self.width - points[:, 0] if self.flip_x else points[:, 0]
        y = self.height - points[:, 1] if self.flip_y else points[:, 1]
        return np.column_stack((y, x) if self.swap else (x, y))

    def point(self, x: float, y: float) -> tuple[float, float]:
        """One plate point as seen."""
        a, b = (self.width - x if self.flip_x else x), (self.height - y if self.flip_y else y)
        return (b, a) if self.swap else (a, b)

    def back(self, x: float, y: float) -> tuple[float, float]:
        """The plate point of a point as seen."""
        if self.swap:
            x, y = y, x
        return (self.width - x if self.flip_x else x), (self.height - y if self.flip_y else y)

    def way(self, dx: float, dy: float) -> tuple[float, float]:
        """A direction of the plate as seen."""
        a, b = (-dx if self.flip_x else dx), (-dy if self.flip_y else dy)
        return (b, a) if self.swap else (a, b)

    def way_back(self, dx: float, dy: float) -> tuple[float, float]:
        """The direction on the plate of a direction as seen."""
        if self.swap:
            dx, dy = dy, dx
        return (-dx if self.flip_x else dx), (-dy if self.flip_y else dy)

    def face(self, face: str) -> int:
        """Number of a face as seen: 0 or 1."""
        return int((face == "back") != self.behind)

    def face_back(self, number: int) -> Face:
        """The face that has this number as seen."""
        return FACES[int(bool(number) != self.behind)]


def views(width: float, height: float) -> list[View]:
    """All sixteen views of a plate."""
    return [
        View(width, height, *flags) for flags in product((False, True), repeat=4)
    ]


def standard_view(width: float, height: float, spots: list[tuple[float, float, str | None]]
                  ) -> View:
    """The view in which the spots, in their order, read least. Faces None count for both."""
    if not spots:
        return View(width, height)
    places = np.array([(x, y) for x, y, _ in spots])
    faces = [face for _, _, face in spots]

    def reading(view: View) -> list[object]:
        seen = np.round(view.points(places), COARSE)
        sides = [-1 if face is None else view.face(face) for face in faces]
        return [view.size, seen.tolist(), sides]

    return min(views(width, height), key=reading)

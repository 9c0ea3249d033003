"""Frames: part to plate by a placement, plate to body by how the plate stands.

The contract's rule for a placement: part point q stands at plate point
`R(turn) (qx, qy) + (x, y)` on the front and `R(turn) (-qx, qy) + (x, y)` on the back.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, radians, sin
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from layout_engine.model.part import Placement
    from layout_engine.model.plate import Plate

Points = NDArray[np.float64]
EPS_MM = 1e-6  # two lengths that differ by less are the same
QUARTERS = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}


def unit(degrees: float) -> tuple[float, float]:
    """The direction of an angle, exact for quarter turns."""
    exact = QUARTERS.get(degrees % 360.0)
    return exact or (cos(radians(degrees)), sin(radians(degrees)))


def other_face(face: str) -> str:
    """The face that lies behind this one."""
    return "back" if face == "front" else "front"


@dataclass(frozen=True, slots=True)
class Pose:
    """A placement as numbers: face, origin in the plate frame, turn in degrees."""

    face: str
    x: float
    y: float
    turn: float

    @classmethod
    def of(cls, placement: Placement) -> Pose:
        """The pose of a document's placement."""
        return cls(placement.face, placement.x, placement.y, placement.turn)

    def points(self, part_points: Sequence[tuple[float, float]] | Points) -> Points:
        """Plate points of part points, shape (n, 2), mm."""
        q = np.asarray(part_points, dtype=float)
        c, s = unit(self.turn)
        qx = -q[:, 0] if self.face == "back" else q[:, 0]
        qy = q[:, 1]
        return np.column_stack((c * qx - s * qy + self.x, s * qx + c * qy + self.y))

    def point(self, qx: float, qy: float) -> tuple[float, float]:
        """The plate point of one part point."""
        c, s = unit(self.turn)
        fx = -qx if self.face == "back" else qx
        return c * fx - s * qy + self.x, s * fx + c * qy + self.y

    def direction(self, degrees: float) -> float:
        """The plate direction, degrees, of a direction in the part frame."""
        own = 180.0 - degrees if self.face == "back" else degrees
        return (own + self.turn) % 360.0


@dataclass(frozen=True, slots=True)
class BodyFrame:
    """Where the plate stands in the body.

    `w` is the distance from the plate's mid-plane, positive out of the front.
    """

    stands: str
    width: float
    height: float
    thickness: float
    offset: float
    base: float
    shift: float

    @classmethod
    def of(cls, plate: Plate) -> BodyFrame:
        """The frame of a document's plate."""
        width, height = plate.size
        return cls(
            plate.stands, width, height, plate.thickness, plate.offset, plate.base, plate.shift
        )

    def level(self, face: str, height: float) -> float:
        """`w` of a point `height` mm over a face."""
        w = self.thickness / 2 + height
        return w if face == "front" else -w

    def span(self, face: str, low: float, high: float) -> tuple[float, float]:
        """Least and greatest `w` of what stands from `low` to `high` mm over a face."""
        a, b = self.level(face, low), self.level(face, high)
        return (a, b) if a <= b else (b, a)

    def to_body(self, x: float, y: float, w: float) -> tuple[float, float, float]:
        """The body point, mm, of plate point x, y at distance w from the mid-plane."""
        bx = self.shift + x - self.width / 2
        if self.stands == "upright":
            return bx, self.offset - w, self.base + y
        return bx, self.offset + y - self.height / 2, self.base + w

    def from_body(self, bx: float, by: float, bz: float) -> tuple[float, float, float]:
        """Plate x, y and w of a body point."""
        x = bx - self.shift + self.width / 2
        if self.stands == "upright":
            return x, bz - self.base, self.offset - by
        return x, by - self.offset + self.height / 2, bz - self.base

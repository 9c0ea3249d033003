"""Where a point of a display list lies on the page: turn, mirror, shift."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, sin

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Affine:
    """p = R(turn) (-+qx, qy) + (x, y), in mm and degrees; composed from the page inwards."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    x: float = 0.0
    y: float = 0.0
    turn: float = 0.0
    mirrored: bool = False

    def point(self, x: float, y: float) -> Point:
        """The page's point [mm] for a point of the drawing [mm]."""
        return self.a * x + self.c * y + self.x, self.b * x + self.d * y + self.y

    def within(self, transform: tuple[float, bool, float, float] | None) -> Affine:
        """The frame of a group: its own (turn, mirrored, x, y) first, then this one."""
        if transform is None:
            return self
        turn, mirrored, dx, dy = transform
        flip = -1.0 if mirrored else 1.0
        ca, sa = _unit(turn)
        return Affine(
            (self.a * ca + self.c * sa) * flip, (self.b * ca + self.d * sa) * flip,
            -self.a * sa + self.c * ca, -self.b * sa + self.d * ca,
            *self.point(dx, dy),
            self.turn + (-turn if self.mirrored else turn), self.mirrored != mirrored,
        )


def shifted(x: float, y: float) -> Affine:
    """A frame whose origin lies at (x, y) of the page, mm."""
    return Affine(x=x, y=y)


def _unit(turn: float) -> Point:
    """Cosine and sine, exact at quarter turns."""
    quarter = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}
    exact = quarter.get(turn % 360)
    return exact if exact else (cos(radians(turn)), sin(radians(turn)))

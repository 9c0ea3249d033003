"""Small problems in which everything occurs that the compiled functions must know."""

from __future__ import annotations

import numpy as np

from layout_engine.arranging.bound_crowds import Wired
from layout_engine.arranging.puzzle import Body, BodyWish, Hinge, Net, Piece, Pose, Puzzle

SIDE_MM = 100.0


def _pose(width: float, height: float, corners: int) -> Pose:
    a, b = width / 2, height / 2
    box = np.array([(-a, -b), (a, -b), (a, b), (-a, b)])
    ring = box if corners == 4 else np.array([(-a, -b), (a, -b), (0.0, b)])
    span = (a, b, SIDE_MM - a, SIDE_MM - b)
    planes = ((-1.0, 0.0, -a), (1.0, 0.0, span[2]), (0.0, -1.0, -b), (0.0, 1.0, span[3]))
    return Pose((Piece(ring, 0),), (-a, -b, a, b), planes, span, ((a, 0.0), (-a, 0.0)),
                hinges=(Hinge(1.0, 0.0, -50.0, 0.1, 0),), metal=((ring, 0.0, 5.0),))


def warming_puzzle() -> Puzzle:
    """Five shapes, one that stays, nets of two and three ends, and both kinds of wishes."""
    poses = tuple(_pose(20.0 + 3 * i, 12.0, 3 + i % 2) for i in range(6))
    bodies = (*(Body(f"body {i}", (i, 5)) for i in range(5)), Body("", (5,), (50.0, 50.0), 5))
    nets = (Net(((0, 0), (1, 1)), cross=25.0), Net(((1, 0), (2, 0), (3, 1))),
            Net(((4, 1),), ((0.0, 0.0, -1),)))
    wishes = (BodyWish(0, 0, (2,), 10.0, 1.0, must=False),
              BodyWish(1, 3, (1, 4), 5.0, 1.0, must=True))
    return Puzzle((SIDE_MM, SIDE_MM), poses, bodies, 5, np.array([[2.0]]), nets, wishes)


def warming_crowd() -> list[Wired]:
    """Two bodies that are wired to one point, and both need ground."""
    return [Wired(100.0, 0.0, 50.0, ((0.0, 0.0),), (1.0,), (0.0,))] * 2

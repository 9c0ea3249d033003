"""Where a module stands as a person reads it: its least x and y from the datum corner.

A placement of the document names the module's own origin, which a turn moves to another side.
On the screen x and y are those of the outline's left and lower edge (plate frame, mm), whatever
the turn; these functions go from one to the other.
"""

from __future__ import annotations

from layout_engine.edits import PLACES
from layout_engine.geometry.frames import Pose
from layout_engine.geometry.outlines import bounds
from layout_engine.model.part import Placement
from layout_engine.model.part_type import PartType
from layout_engine.model.plate import Face

Point = tuple[float, float]


def corner_of(kind: PartType, placement: Placement) -> Point:
    """Least x and least y of the outline of a placed module, mm."""
    x0, y0, _, _ = _bounds(kind, placement.face, placement.x, placement.y, placement.turn)
    return round(x0, PLACES) + 0.0, round(y0, PLACES) + 0.0


def centre_of(kind: PartType, placement: Placement) -> Point:
    """Middle of the outline's bounding box in the plate frame, mm."""
    x0, y0, x1, y1 = _bounds(kind, placement.face, placement.x, placement.y, placement.turn)
    return (x0 + x1) / 2, (y0 + y1) / 2


def at_corner(kind: PartType, corner: Point, face: Face, turn: float) -> Placement:
    """The placement whose outline has its least x and y at `corner`."""
    x0, y0, _, _ = _bounds(kind, face, 0.0, 0.0, turn)
    return rounded_placement(face, corner[0] - x0, corner[1] - y0, turn)


def at_centre(kind: PartType, centre: Point, face: Face, turn: float) -> Placement:
    """The placement whose bounding box has its middle at `centre`."""
    x0, y0, x1, y1 = _bounds(kind, face, 0.0, 0.0, turn)
    return rounded_placement(face, centre[0] - (x0 + x1) / 2, centre[1] - (y0 + y1) / 2, turn)


def rounded_placement(face: Face, x: float, y: float, turn: float) -> Placement:
    """A placement to a thousandth of a millimetre and degree."""
    return Placement(face=face, x=round(x, PLACES) + 0.0, y=round(y, PLACES) + 0.0,
                     turn=round(turn, PLACES) % 360.0)


def _bounds(kind: PartType, face: str, x: float, y: float, turn: float
            ) -> tuple[float, float, float, float]:
    points = Pose(face, x, y, turn).points(kind.outline)
    return bounds([(float(px), float(py)) for px, py in points])

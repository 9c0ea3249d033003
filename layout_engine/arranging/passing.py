"""Passing the opening: limits of places under which the loaded board surely can be brought in.

How a board passes does not depend on one module but on all of them, so the search only sees a way
in once it is fixed: where the circle of the opening lies round the board, or how its depth is
shared by the two faces. Each such passage limits how far out along one axis of the plate a module
of some height may stand; the checker has the last word.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import inf, sqrt

import numpy as np

from layout_engine.arranging import classes as c
from layout_engine.arranging.footprints import FACES, Posed
from layout_engine.arranging.puzzle import FRONT
from layout_engine.arranging.vectors import Floats
from layout_engine.arranging.wishing import allowed_faces
from layout_engine.checks.facts import COARSE_ARC
from layout_engine.checks.standing import Standing
from layout_engine.geometry.cavity import Cavity
from layout_engine.geometry.plate_shape import PlateShape
from layout_engine.geometry.shapes import extent
from layout_engine.geometry.way_in import natural_axis, passing_diameter, prism_corners, way_in
from layout_engine.model.body import RectangleOpening
from layout_engine.model.job import Job

SHIFTS = (1.0, 0.5, 0.0, -0.5, -1.0)  # of the way that a circle may be shifted out of the plate
SHARES = 7  # ways to share the depth of a rectangle between the faces


@dataclass(frozen=True, slots=True)
class Passage:
    """One way in.

    Attributes:
        axis: of the plate, 0 or 1, along which places are limited.
        middle: of the plate along it, mm.
        thickness: of the plate, mm.
        diameter: of the circle that all must lie within; None: a rectangle.
        shift: of its centre out of the plate's mid-plane towards the front, mm.
        depth: greatest height on the front and on the back, mm; a rectangle's.
    """

    axis: int
    middle: float
    thickness: float
    diameter: float | None = None
    shift: float = 0.0
    depth: tuple[float, float] = (inf, inf)

    def half_width(self, face: int, top: float) -> float:
        """How far from the middle something so high on a face may reach, mm; negative: nowhere."""
        if self.diameter is None:
            return inf if top <= self.depth[0 if face == FRONT else 1] else -1.0
        w = (self.thickness / 2 + top) * (1.0 if face == FRONT else -1.0)
        left = (self.diameter / 2) ** 2 - (w - self.shift) ** 2
        return sqrt(left) if left > 0 else -1.0

    def planes(self, own: Posed) -> Floats:
        """Rows (a, b, c), a x + b y <= c, for the centre of a posed part; none: all is free."""
        rows = []
        for corners, kind in own.pieces:
            if not isinstance(kind, c.Solid):
                continue
            half = self.half_width(kind.face, kind.high)
            if half == inf:
                continue
            along = corners[:, self.axis]
            normal = (1.0, 0.0) if self.axis == 0 else (0.0, 1.0)
            rows.append((*normal, self.middle + half - float(along.max()) - c.SLACK_MM))
            rows.append((-normal[0], -normal[1],
                         half - self.middle + float(along.min()) - c.SLACK_MM))
        return np.array(rows).reshape(-1, 3)


def passages(job: Job) -> list[Passage]:
    """Ways in that can be stated as limits of places, the roomiest for the job's modules first."""
    found = [way for way in _all(job) if _takes_all(job, way)]
    return sorted(found, key=lambda way: -sum(_widths(job, way)))


def _all(job: Job) -> Iterator[Passage]:
    """The board upright to its way, its first or second axis leading."""
    cavity = Cavity.of(job.body, job.plate)
    opening, thickness = job.body.opening, job.plate.thickness
    natural, diameter = natural_axis(cavity), passing_diameter(cavity)
    for leading in sorted((0, 1), key=lambda axis: axis != natural):
        axis = 1 - leading
        length = job.plate.size[axis]
        if diameter is not None:
            reach = (diameter / 2) ** 2 - (length / 2) ** 2
            most = sqrt(reach) - thickness / 2 - c.SLACK_MM if reach > 0 else -1.0
            if most >= 0:
                for share in SHIFTS:
                    yield Passage(axis, length / 2, thickness, diameter, share * most)
        elif isinstance(opening, RectangleOpening) and length <= opening.width:
            free = opening.height - thickness
            for share in np.linspace(0.0, 1.0, SHARES):
                depth = float(share) * free
                yield Passage(axis, length / 2, thickness, depth=(depth, free - depth))


def _takes_all(job: Job, way: Passage) -> bool:
    """Whether each module has some width on some face, and what is locked keeps to the limits."""
    return all(width > 0 for width in _widths(job, way)) and all(
        _keeps(Standing.of(job, part), way) for part in job.placed if part.locked)


def _keeps(standing: Standing, way: Passage) -> bool:
    for solid in standing.solids:
        bounds = extent(solid.shape)
        half = way.half_width(FACES[solid.face], solid.high)
        if bounds[way.axis] < way.middle - half or bounds[way.axis + 2] > way.middle + half:
            return False
    return True


def _widths(job: Job, way: Passage) -> list[float]:
    """Width for each module on its better face, mm."""
    return [
        max(min(way.half_width(face, job.type_of(part).top), job.plate.size[way.axis])
            for face in allowed_faces(part))
        for part in job.parts if part.away is None and allowed_faces(part)
    ]


def needs_one(job: Job) -> bool:
    """Whether there is a layout of the job with which the board could not be brought in."""
    tops = [0.0, 0.0]
    for part in job.parts:
        if part.away is None:
            kind = job.type_of(part)
            for face in (FRONT, 1 - FRONT):
                behind = max((b.height for b in kind.behind), default=0.0)
                here = kind.top if face in allowed_faces(part) else 0.0
                there = behind if 1 - face in allowed_faces(part) else 0.0
                tops[face] = max(tops[face], here, there)
    half = job.plate.thickness / 2
    plate = PlateShape.of(job.plate).polygon(COARSE_ARC)
    corners = prism_corners([(plate, (-half - tops[1 - FRONT], half + tops[FRONT]))])
    return way_in(Cavity.of(job.body, job.plate), corners).entry == "blocked"

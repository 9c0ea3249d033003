"""Wishes of a single part, as prices and ground of its poses."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from layout_engine.arranging.cost import MISSED_MM, high_point
from layout_engine.arranging.footprints import FACES, Posed
from layout_engine.arranging.grounds import planes_within
from layout_engine.arranging.puzzle import Hinge, bounds_of
from layout_engine.arranging.vectors import Floats
from layout_engine.geometry.arrange_support import hull_and_gaps
from layout_engine.geometry.shapes import shape_of
from layout_engine.model.job import Job
from layout_engine.model.part import FaceWish, HighWish, InsideWish, NearEdgeWish, Part, Wish

Row = tuple[float, float, float]


def allowed_faces(part: Part) -> tuple[int, ...]:
    """Faces on which no must forbids the part to stand."""
    musts = {wish.face for wish in part.wishes if isinstance(wish, FaceWish) and wish.must}
    return tuple(face for name, face in FACES.items() if musts <= {name})


def shortfall_rows(job: Job, part: Part, own: Posed, wish: Wish) -> list[Row]:
    """Rows (a, b, c): the wish is missed by the greatest a x + b y + c of the centre, if over 0."""
    if isinstance(wish, NearEdgeWish):
        x0, y0, x1, y1 = bounds_of(own.outline)
        width, height = job.plate.size
        return [{
            "left": (1.0, 0.0, x0 - wish.within), "bottom": (0.0, 1.0, y0 - wish.within),
            "right": (-1.0, 0.0, width - x1 - wish.within),
            "top": (0.0, -1.0, height - y1 - wish.within),
        }[wish.edge]]
    if isinstance(wish, HighWish):
        _, y = own.about(*high_point(job.type_of(part)))
        return [(0.0, -1.0, wish.above - y)]
    if isinstance(wish, InsideWish):
        hull, _ = hull_and_gaps(shape_of(wish.outline))
        planes = planes_within(hull, own.outline)
        return [(float(a), float(b), float(-o)) for a, b, o in planes]
    return []


def hinges_of(job: Job, part: Part, own: Posed) -> tuple[Hinge, ...]:
    """Prices of wishes that are not musts."""
    hinges = []
    for group, wish in enumerate(part.wishes):
        if wish.must:
            continue
        if isinstance(wish, FaceWish) and wish.face != own.pose.face:
            hinges.append(Hinge(0.0, 0.0, MISSED_MM, wish.factor, group))
        hinges += [Hinge(a, b, c, wish.factor, group)
                   for a, b, c in shortfall_rows(job, part, own, wish)]
    return tuple(hinges)


def must_grounds(job: Job, part: Part, own: Posed) -> Iterator[Floats]:
    """Half planes of the musts."""
    for wish in part.wishes:
        rows = shortfall_rows(job, part, own, wish) if wish.must else []
        if rows:
            yield np.array([(a, b, -c) for a, b, c in rows])

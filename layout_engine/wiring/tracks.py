"""Lines along which wires may run on one face: even ones, the middles of gaps, ends of wires.

A track is a row (c, a, b): along x at y = c from x = a to b (axis 0), or along y at x = c (axis 1).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
SAME_MM = 1e-6
PLACES = 3  # decimals of a mm of the middles of gaps
GAP_PITCHES = 2.4  # gaps up to so many pitches get a track of their own along their middle
REACH_PITCHES = 1.5  # how far a track of a wire's end goes on to meet others
GAP_REACH_PITCHES = 10.0  # how far a track of a gap goes on, up to the next thing
BESIDE_PITCHES = 0.25  # an even track so near to a gap's track gives way to it
OUTSIDE_MM = 1000.0
LEAST_GAP_MM = 0.5  # length of a gap that is looked at as one
CORNER_MM = 4.0  # boxes that pass each other so far beside have a gap between their corners


def even_tracks(size: tuple[float, float], pitch: float) -> list[Floats]:
    """Tracks along both axes at even distances, the same from either side of the middle."""
    found = []
    for axis in (0, 1):
        across, along = size[1 - axis], size[axis]
        middle = middle_out(across, pitch)
        inside = middle[(middle > SAME_MM) & (middle < across - SAME_MM)]
        found.append(np.column_stack((inside, np.zeros(len(inside)),
                                      np.full(len(inside), along))))
    return found


def middle_out(length: float, pitch: float) -> Floats:
    """Even places from 0 to `length`, the same from either side of its middle."""
    count = int((length / 2) // pitch)
    return np.asarray(length / 2 + pitch * np.arange(-count, count + 1))


def gaps(boxes: Floats, size: tuple[float, float], axis: int, widest: float) -> Floats:
    """Gaps between boxes, and to the plate's sides, that a track along `axis` passes.

    boxes: shape (n, 4), least x, least y, greatest x, greatest y. Rows: (low, high, from, to): the
    gap lies between `low` and `high` across the axis and from `from` to `to` along it.
    """
    width, height = size
    far = OUTSIDE_MM
    sides = np.array([(-far, -far, 0.0, far + height), (width, -far, far + width, far + height),
                      (-far, -far, far + width, 0.0), (-far, height, far + width, far + height)])
    all_boxes = np.vstack((boxes, sides))
    lo, hi = all_boxes[:, 1 - axis], all_boxes[:, 3 - axis]
    start, end = all_boxes[:, axis], all_boxes[:, 2 + axis]
    gap = lo[None, :] - hi[:, None]
    a = np.maximum(np.maximum(start[:, None], start[None, :]), 0.0)
    b = np.minimum(np.minimum(end[:, None], end[None, :]), size[axis])
    one, other = np.nonzero((gap > 0.05) & (gap <= widest) & (b - a > -CORNER_MM))
    ends = np.sort(np.column_stack((a[one, other], b[one, other])), axis=1)
    short = np.maximum(LEAST_GAP_MM - (ends[:, 1] - ends[:, 0]), 0.0)[:, None] / 2
    rows = np.column_stack((hi[one], lo[other], ends + short * (-1.0, 1.0)))
    return rows[_open(rows, lo, hi, start, end)] if len(rows) else rows.reshape(-1, 4)


def _open(rows: Floats, lo: Floats, hi: Floats, start: Floats, end: Floats) -> NDArray[np.bool_]:
    """Which gaps are not filled for the most part by something between."""
    deep = (np.minimum(hi[None], rows[:, 1:2]) - np.maximum(lo[None], rows[:, 0:1])) > 0.05
    shared = np.minimum(end[None], rows[:, 3:4]) - np.maximum(start[None], rows[:, 2:3])
    filled = np.max(np.where(deep, shared, 0.0), axis=1)
    open_: NDArray[np.bool_] = filled < 0.9 * (rows[:, 3] - rows[:, 2])
    return open_


def face_tracks(boxes: Sequence[Floats], size: tuple[float, float], pitch: float,
                ends: Sequence[tuple[float, float]], laid: Sequence[Floats],
                zones: Sequence[Floats] = ()) -> list[Floats]:
    """All tracks of a face, along x and along y.

    Args:
        boxes: boxes round what stands there, for tracks along x and along y, shape (n, 4) each.
        size: of the plate, mm.
        pitch: of the even tracks, mm.
        ends: points where wires begin or must pass; each gets a short track along both axes.
        laid: tracks that wires which stay already use, along x and along y.
        zones: boxes round ground that most wires keep off, as `boxes`; gaps beside it have tracks
            too.
    """
    tracks = []
    reach = REACH_PITCHES * pitch
    for axis, even in enumerate(even_tracks(size, pitch)):
        narrow = gaps(boxes[axis], size, axis, GAP_PITCHES * pitch)
        middles = _reaching(narrow, boxes[axis], axis, GAP_REACH_PITCHES * pitch)
        beside = np.column_stack((
            middles[:, 0] - BESIDE_PITCHES * pitch, middles[:, 0] + BESIDE_PITCHES * pitch,
            middles[:, 1:]))
        short = np.array([
            (p[1 - axis], p[axis] - reach, p[axis] + reach) for p in ends
        ]).reshape(-1, 3)
        kept = _without(even, np.vstack((narrow, beside)))
        own = np.vstack((kept, middles, short, laid[axis].reshape(-1, 3)))
        if len(zones) and len(zones[axis]):
            both = np.vstack((boxes[axis], zones[axis]))
            beside = gaps(both, size, axis, pitch)  # even tracks lie in wider ones
            own = np.vstack((own, _reaching(beside, both, axis, GAP_REACH_PITCHES * pitch)))
        own[:, 1:] = np.clip(own[:, 1:], 0.0, size[axis])
        tracks.append(merged(own))
    return tracks


def laid_tracks(size: tuple[float, float], ends: Sequence[tuple[float, float]],
                laid: Sequence[Floats]) -> list[Floats]:
    """Tracks along x and along y that wires use, and a little of one at each end of a wire."""
    tracks = []
    for axis in (0, 1):
        short = np.array([(p[1 - axis], p[axis] - SAME_MM, p[axis] + SAME_MM) for p in ends])
        own = np.vstack((short.reshape(-1, 3), laid[axis].reshape(-1, 3)))
        own[:, 1:] = np.clip(own[:, 1:], 0.0, size[axis])
        tracks.append(merged(own))
    return tracks


def middles_of(narrow: Floats) -> Floats:
    """Where the tracks of gaps lie, across their axis: rounded, so that none lies beside another by
    less than wires tell apart.
    """
    return np.asarray(np.round(narrow[:, :2].mean(axis=1), PLACES))


def _reaching(narrow: Floats, boxes: Floats, axis: int, reach: float) -> Floats:
    """Tracks along the middles of gaps, and on from their ends up to the next thing."""
    if not len(narrow):
        return np.empty((0, 3))
    middle, a, b = middles_of(narrow), narrow[:, 2], narrow[:, 3]
    low, high = a - reach, b + reach
    if len(boxes):
        across = (boxes[None, :, 1 - axis] < middle[:, None]) & (
            boxes[None, :, 3 - axis] > middle[:, None])
        ends, starts = boxes[None, :, 2 + axis], boxes[None, :, axis]
        before = across & (ends <= a[:, None] + SAME_MM)
        after = across & (starts >= b[:, None] - SAME_MM)
        low = np.maximum(low, np.max(np.where(before, ends, -np.inf), axis=1))
        high = np.minimum(high, np.min(np.where(after, starts, np.inf), axis=1))
    return np.column_stack((middle, low, high))


def _without(even: Floats, narrow: Floats) -> Floats:
    """Even tracks cut where a narrow gap has a track of its own beside them."""
    rows: list[tuple[float, float, float]] = []
    for c, a, b in even:
        cuts = narrow[(narrow[:, 0] < c) & (narrow[:, 1] > c)]
        place = a
        for start, end in sorted((float(r[2]), float(r[3])) for r in cuts):
            if start > place:
                rows.append((c, place, start))
            place = max(place, end)
        if b > place:
            rows.append((c, place, b))
    return np.array(rows).reshape(-1, 3)


def merged(tracks: Floats) -> Floats:
    """Tracks on one line that touch put together, in the order of their places."""
    order = np.lexsort((tracks[:, 1], np.round(tracks[:, 0], 6)))
    rows: list[list[float]] = []
    for c, a, b in tracks[order].tolist():
        if rows and abs(rows[-1][0] - c) <= SAME_MM and a <= rows[-1][2] + SAME_MM:
            rows[-1][2] = max(rows[-1][2], b)
        else:
            rows.append([c, a, b])
    return np.array(rows).reshape(-1, 3)

"""The problem and its state as flat vectors, the form in which the compiled search reads them.

Four vectors go from function to function: `f` and `n` hold the problem's floats and integers, `s`
and `k` those of the state. The first entries of `n` and `k` say how many there are of what, and
where each block of rows begins; the names below are those entries, and columns of the rows.
Few flat vectors, because compiled code pays for every array that it hands on.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Words = NDArray[np.uint64]

# Entries of n: counts, then where blocks begin (those of f, those of n).
BODIES, MOVABLE, NETS, WISHES, CLASSES, ENDS, SHAPES, PLAIN = range(8)
PIECE, CORNER, NEED, POSE, PLANE, HINGE, PIN, METAL, NET, SCALE, WISH, ROW, LINK = range(8, 21)
LAND, SLANT = 21, 22  # cells per mm; what is taken off distances on a slant, mm
PIECE_N, POSE_N, BODY_N, POSES, NETS_OF, NET_N, END_N, WISH_N, WISHES_OF, OTHERS = range(23, 33)
ENDS_OF, PAIR_N, ROW_N, LINK_N, LAND_N, LANDS = range(33, 39)
HEADER = 39

# Rows in f.
PIECE_W = 4  # bounds x0, y0, x1, y1 about the pose's centre
CORNER_W = 5  # x, y; outward normal and offset of the edge that leaves it
POSE_W = 28
# Bounds with need; outline; ground; aerial; price; bounds with half the need: whose do not meet
# have the distances they need; two boxes in its ground.
AROUND, OUTLINE, SPAN, ANTENNA, COST, WITHIN, INSIDE = 0, 4, 8, 12, 15, 16, 20
PLANE_W = 3  # a, b, c: the centre must satisfy a x + b y <= c
HINGE_W = 5  # a, b, c, factor, group: factor max(0, a x + b y + c), the greatest of a group
PIN_W = 2  # terminal about the centre
METAL_W = 8  # bounds about the centre, range of w; first corner, corners (0: its bounds are it)
NET_W = 6  # bounds of ends that stay, weight, price of two faces
WISH_W = 3  # wanted mm, factor, weight of a must as of an overlap (0: it is none)
LINK_W = 4  # of a body's net, beside NETS_OF: weight, price of two faces; x, y of what stays
ROW_W = 5  # difference of centres at which two pieces touch: x0, y0, x1, y1; distance they need

# Rows in n.
PIECE_NW = 4  # class, first corner, corners, 1 for an upright box
POSE_NW = 14  # pairs, but PINS and those from FACE on
PIECES, PLANES, HINGES, PINS, METALS, FACE, SHAPE, NEXT, MIRROR = 0, 2, 4, 6, 7, 9, 10, 11, 12
HULLS = 13  # so many of its pieces, the first, are its outline; 0: that is its bounds
BODY_NW = 8
OF_POSES, OF_NETS, OF_WISHES, OF_ENDS = 0, 2, 4, 6  # first and after last
NET_NW = 3  # first end, after last, face of the end that stays (-1: none, or elsewhere)
END_NW = 2  # body, terminal
WISH_NW = 4  # kind, owner, first other, after last
LINK_NW = 3  # terminal (-1: a net of more ends), other end and its body (-1: it stays)
LAND_NW = 3  # of a pose's ground: first word in LANDS, columns, rows; no columns: no cells
ROW_NW = 3  # the two pieces; 1 if both are upright boxes

# Entries of k: where blocks begin (those of s, those of k), and counters.
X, Y, OUT, NET_COST, SHORT, OVERLAP, PRESSURE, LOAD = range(8)
LEFT, LOW, RIGHT, HIGH, PIN_X, PIN_Y, NEW_DEPTH, NEW_OUT, NEW_NET, NEW_SHORT, KEPT = range(8, 19)
AT, ON, NET_LIST, WISH_LIST, NET_STAMP, WISH_STAMP = range(19, 25)
MET, MET_LIST, NEW_LIST, NEW_MET, GROUP, MEMBER, CLOSE, IS_CLOSE = range(25, 33)
NETS_TRIED, WISHES_TRIED, PINS_TRIED, TRY, WORK = range(33, 38)
STATE_HEADER = 38
MOST_GROUP = 16  # bodies that are changed at once, at most


def new_state(n: Ints) -> tuple[Floats, Ints]:
    """Vectors s and k for a problem, everything in the tray."""
    count, movable, nets, wishes, ends = (
        int(n[i]) for i in (BODIES, MOVABLE, NETS, WISHES, ENDS))
    most = MOST_GROUP
    floats = (count, count, movable, nets, wishes, count * movable, count * movable, movable,
              count, count, count, count, ends, ends, most * count, most, nets, wishes, 3 * most)
    ints = (count, count, nets, wishes, nets, wishes, movable, count * movable, most * count, most,
            most, count, count + 1, count)
    head = np.zeros(STATE_HEADER, dtype=np.int64)
    head[: len(floats)] = np.concatenate(([0], np.cumsum(floats)[:-1]))
    head[AT: AT + len(ints)] = STATE_HEADER + np.concatenate(([0], np.cumsum(ints)[:-1]))
    s, k = np.zeros(sum(floats)), np.concatenate((head, np.zeros(sum(ints), dtype=np.int64)))
    s[k[PRESSURE]: k[PRESSURE] + count * movable] = 1.0
    return s, k


def seeded(seed: int) -> Words:
    """State of the random numbers for a seed; never zero (splitmix64, Steele et al. 2014)."""
    z = (seed * 0x9E3779B97F4A7C15 + 0x9E3779B97F4A7C15) % 2**64
    z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) % 2**64
    z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) % 2**64
    return np.array([(z ^ (z >> 31)) or 1], dtype=np.uint64)

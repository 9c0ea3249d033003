"""How deep two poses stand in each other, and how far one stands off its ground."""

from __future__ import annotations

from math import inf, sqrt  # with hypot the search takes up to a tenth longer

from layout_engine.arranging.compiled import compiled, inlined
from layout_engine.arranging.vectors import (
    ANTENNA,
    AROUND,
    CLASSES,
    CORNER,
    CORNER_W,
    HULLS,
    INSIDE,
    METAL,
    METAL_W,
    METALS,
    NEED,
    OUTLINE,
    PAIR_N,
    PIECE,
    PIECE_N,
    PIECE_NW,
    PIECE_W,
    PIECES,
    PLANE,
    PLANE_W,
    PLANES,
    POSE,
    POSE_N,
    POSE_NW,
    POSE_W,
    ROW,
    ROW_N,
    ROW_NW,
    ROW_W,
    SHAPE,
    SHAPES,
    SLANT,
    Floats,
    Ints,
)

TOUCHING_MM = 1e-9  # depths under this are none
# Deeper than the rounding of a linear program, a depth counts for so much more: a body that lacks
# a hundredth of a mm would else be too cheap for the search to look for another place.
ROUNDING_MM, STEP_MM = 1e-4, 0.2


@compiled
def beyond(f: Floats, n: Ints, a: int, b: int, dx: float, dy: float) -> float:
    """How far piece b, shifted by (dx, dy) from a, lies beyond the best edge of a; mm."""
    ring, ring_b = n[PIECE_N] + a * PIECE_NW, n[PIECE_N] + b * PIECE_NW
    first = n[CORNER] + n[ring + 1] * CORNER_W
    first_b = n[CORNER] + n[ring_b + 1] * CORNER_W
    last_b = first_b + n[ring_b + 2] * CORNER_W
    best = -1e18
    for row in range(first, first + n[ring + 2] * CORNER_W, CORNER_W):
        nx, ny = f[row + 2], f[row + 3]
        least = 1e18
        for other in range(first_b, last_b, CORNER_W):
            along = nx * f[other] + ny * f[other + 1]
            if along < least:
                least = along
        apart = least + nx * dx + ny * dy - f[row + 4]
        if apart > best:
            best = apart
    return best


@inlined
def _beyond_either(f: Floats, n: Ints, a: int, b: int, dx: float, dy: float) -> float:
    """How far two pieces lie beyond the best edge of either, less what a slant takes off; mm."""
    apart = max(beyond(f, n, a, b, dx, dy), beyond(f, n, b, a, -dx, -dy))
    return apart - f[n[SLANT]]


@inlined
def stepped(depth: float) -> float:
    """A depth as it counts, mm."""
    if depth > ROUNDING_MM:
        return depth + STEP_MM
    return depth if depth > TOUCHING_MM else 0.0


@compiled
def piece_depth(f: Floats, n: Ints, a: int, b: int, dx: float, dy: float) -> float:
    """By how much two pieces lack the distance they need; 0 where they have it. mm.

    `dx`, `dy`: from the centre of a's pose to that of b's.
    """
    kind, kind_b = n[PIECE_N] + a * PIECE_NW, n[PIECE_N] + b * PIECE_NW
    need = f[n[NEED] + n[kind] * n[CLASSES] + n[kind_b]]
    if need < 0.0:
        return 0.0
    box, box_b = n[PIECE] + a * PIECE_W, n[PIECE] + b * PIECE_W
    across = max(dx + f[box_b] - f[box + 2], f[box] - dx - f[box_b + 2])
    if across >= need:
        return 0.0
    along = max(dy + f[box_b + 1] - f[box + 3], f[box + 1] - dy - f[box_b + 3])
    if along >= need:
        return 0.0
    apart = max(across, along)
    if across > 0.0 and along > 0.0:
        apart = max(apart, sqrt(across * across + along * along) - f[n[SLANT]])
    if apart < need and (n[kind + 3] == 0 or n[kind_b + 3] == 0):
        apart = max(apart, _beyond_either(f, n, a, b, dx, dy))
    return stepped(need - apart)


@compiled
def may_meet(f: Floats, n: Ints, one: int, other: int, dx: float, dy: float) -> bool:
    """Whether the bounds of two poses, with the distances they need, meet."""
    a, b = n[POSE] + one * POSE_W + AROUND, n[POSE] + other * POSE_W + AROUND
    return not (dx + f[b] >= f[a + 2] or f[a] >= dx + f[b + 2]
                or dy + f[b + 1] >= f[a + 3] or f[a + 1] >= dy + f[b + 3])


@inlined
def row_depth(f: Floats, n: Ints, entry: int, dx: float, dy: float) -> float:
    """By how much the two pieces of a row lack the distance they need, mm."""
    row = n[ROW] + entry * ROW_W
    need = f[row + 4]
    across = max(dx - f[row + 2], f[row] - dx)
    if across >= need:
        return 0.0
    along = max(dy - f[row + 3], f[row + 1] - dy)
    if along >= need:
        return 0.0
    apart = max(across, along)
    if across > 0.0 and along > 0.0:
        apart = max(apart, sqrt(across * across + along * along) - f[n[SLANT]])
    mark = n[ROW_N] + entry * ROW_NW
    if apart < need and n[mark + 2] == 0:
        apart = max(apart, _beyond_either(f, n, n[mark], n[mark + 1], dx, dy))
    return stepped(need - apart)


@inlined
def depth_between(f: Floats, n: Ints, one: int, other: int, dx: float, dy: float,
                  most: float) -> float:
    """Sum of the depths of the pieces of two poses, the other's centre at (dx, dy); mm.

    `most`: a sum over this need not be summed to the end.
    """
    a, b = n[n[POSE_N] + one * POSE_NW + SHAPE], n[n[POSE_N] + other * POSE_NW + SHAPE]
    shapes = n[SHAPES]
    if shapes == 0:
        return _depth_of_all(f, n, one, other, dx, dy)
    if a > b:
        a, b, dx, dy = b, a, -dx, -dy
    first, last = n[n[PAIR_N] + a * shapes + b], n[n[PAIR_N] + a * shapes + b + 1]
    if first == last:
        return 0.0
    row = n[ROW] + first * ROW_W
    if dx <= f[row] or dx >= f[row + 2] or dy <= f[row + 1] or dy >= f[row + 3]:
        return 0.0
    total = 0.0
    for entry in range(first + 1, last):
        total += row_depth(f, n, entry, dx, dy)
        if total > most:
            break
    return total


@compiled
def _depth_of_all(f: Floats, n: Ints, one: int, other: int, dx: float, dy: float) -> float:
    """The same from all pieces, where there are too many shapes for a table of them."""
    if not may_meet(f, n, one, other, dx, dy):
        return 0.0
    around = n[POSE] + other * POSE_W + AROUND
    x0, y0, x1, y1 = dx + f[around], dy + f[around + 1], dx + f[around + 2], dy + f[around + 3]
    rows, rows_b = n[POSE_N] + one * POSE_NW + PIECES, n[POSE_N] + other * POSE_NW + PIECES
    total = 0.0
    for piece in range(n[rows], n[rows + 1]):
        box = n[PIECE] + piece * PIECE_W
        if f[box] < x1 and f[box + 2] > x0 and f[box + 1] < y1 and f[box + 3] > y0:
            for piece_b in range(n[rows_b], n[rows_b + 1]):
                total += piece_depth(f, n, piece, piece_b, dx, dy)
    return total


@inlined
def depth_off_ground(f: Floats, n: Ints, pose: int, x: float, y: float) -> float:
    """How far a pose's centre lies beyond its ground: the sum over the planes it breaks, mm."""
    box = n[POSE] + pose * POSE_W + INSIDE
    if f[box] <= x <= f[box + 2] and f[box + 1] <= y <= f[box + 3]:
        return 0.0
    if f[box + 4] <= x <= f[box + 6] and f[box + 5] <= y <= f[box + 7]:
        return 0.0
    rows = n[POSE_N] + pose * POSE_NW + PLANES
    total = 0.0
    for plane in range(n[rows], n[rows + 1]):
        row = n[PLANE] + plane * PLANE_W
        over = f[row] * x + f[row + 1] * y - f[row + 2]
        if over > TOUCHING_MM:
            total += over
    return total


@compiled
def gap_between(f: Floats, n: Ints, one: int, other: int, dx: float, dy: float) -> float:
    """Distance of the bounds of two poses' outlines, mm; 0 where they meet."""
    a, b = n[POSE] + one * POSE_W + OUTLINE, n[POSE] + other * POSE_W + OUTLINE
    return _bounds_gap(f, a, b, dx, dy)


@compiled
def outline_gap(f: Floats, n: Ints, one: int, other: int, dx: float, dy: float) -> float:
    """Distance of two poses' outlines, mm; 0 where they meet."""
    a, b = n[POSE_N] + one * POSE_NW, n[POSE_N] + other * POSE_NW
    if n[a + HULLS] == 0 and n[b + HULLS] == 0:
        return gap_between(f, n, one, other, dx, dy)
    best = inf
    for piece in range(n[a + PIECES], n[a + PIECES] + max(n[a + HULLS], 1)):
        for piece_b in range(n[b + PIECES], n[b + PIECES] + max(n[b + HULLS], 1)):
            box, box_b = n[PIECE] + piece * PIECE_W, n[PIECE] + piece_b * PIECE_W
            if _bounds_gap(f, box, box_b, dx, dy) < best:
                best = min(best, _piece_gap(f, n, piece, piece_b, dx, dy))
    return best


@inlined
def _bounds_gap(f: Floats, box: int, other: int, dx: float, dy: float) -> float:
    """Distance of bounds that stand there in f, the other ones shifted; mm, 0 where they meet."""
    across = max(dx + f[other] - f[box + 2], f[box] - dx - f[other + 2], 0.0)
    along = max(dy + f[other + 1] - f[box + 3], f[box + 1] - dy - f[other + 3], 0.0)
    return sqrt(across * across + along * along)


@compiled
def _piece_gap(f: Floats, n: Ints, a: int, b: int, dx: float, dy: float) -> float:
    """Distance of two pieces, mm; 0 where they meet."""
    if beyond(f, n, a, b, dx, dy) <= 0.0 and beyond(f, n, b, a, -dx, -dy) <= 0.0:
        return 0.0
    return min(_corners_to(f, n, a, b, dx, dy), _corners_to(f, n, b, a, -dx, -dy))


@inlined
def _corners_to(f: Floats, n: Ints, a: int, b: int, dx: float, dy: float) -> float:
    """Least distance of a corner of piece b, shifted by (dx, dy), from piece a, mm."""
    ring, ring_b = n[PIECE_N] + a * PIECE_NW, n[PIECE_N] + b * PIECE_NW
    first_b, best = n[CORNER] + n[ring_b + 1] * CORNER_W, inf
    for row in range(first_b, first_b + n[ring_b + 2] * CORNER_W, CORNER_W):
        best = min(best, ring_distance(f, n[CORNER] + n[ring + 1] * CORNER_W, n[ring + 2],
                                       f[row] + dx, f[row + 1] + dy))
    return best


@compiled
def metal_distance(f: Floats, n: Ints, one: int, other: int, dx: float, dy: float) -> float:
    """Distance in space from the antenna of a pose to the metal of another, mm."""
    aerial = n[POSE] + one * POSE_W + ANTENNA
    rows = n[POSE_N] + other * POSE_NW + METALS
    best = inf
    for metal in range(n[rows], n[rows + 1]):
        m = n[METAL] + metal * METAL_W
        across = max(dx + f[m] - f[aerial], f[aerial] - dx - f[m + 2], 0.0)
        along = max(dy + f[m + 1] - f[aerial + 1], f[aerial + 1] - dy - f[m + 3], 0.0)
        deep = max(f[m + 4] - f[aerial + 2], f[aerial + 2] - f[m + 5], 0.0)
        apart = sqrt(across * across + along * along + deep * deep)
        if f[m + 7] > 0.0 and apart < best:  # no box: it lies within its bounds
            first = n[CORNER] + int(f[m + 6]) * CORNER_W
            level = ring_distance(f, first, int(f[m + 7]), f[aerial] - dx, f[aerial + 1] - dy)
            apart = sqrt(level * level + deep * deep)
        best = min(best, apart)
    return best


@compiled
def ring_distance(f: Floats, first: int, count: int, x: float, y: float) -> float:
    """Distance of a point from a convex polygon, whose corners begin there in f; 0 inside."""
    best, inside = inf, True
    for corner in range(count):
        row = first + corner * CORNER_W
        after = first + (corner + 1) % count * CORNER_W
        ax, ay, bx, by = f[row], f[row + 1], f[after], f[after + 1]
        if f[row + 2] * x + f[row + 3] * y > f[row + 4]:
            inside = False
        sx, sy = bx - ax, by - ay
        share = ((x - ax) * sx + (y - ay) * sy) / (sx * sx + sy * sy)
        share = min(max(share, 0.0), 1.0)
        best = min(best, sqrt((x - ax - share * sx) ** 2 + (y - ay - share * sy) ** 2))
    return 0.0 if inside else best

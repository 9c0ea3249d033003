"""Which way two bodies are apart: the separating directions that the sliding must keep."""

from __future__ import annotations

from math import hypot

from layout_engine.arranging.compiled import compiled, inlined
from layout_engine.arranging.vectors import (
    AROUND,
    AT,
    BODIES,
    CLASSES,
    CORNER,
    CORNER_W,
    MOVABLE,
    NEED,
    ON,
    PAIR_N,
    PIECE,
    PIECE_N,
    PIECE_NW,
    PIECE_W,
    PIECES,
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
    X,
    Y,
)

RELATION_W = 7  # one, other, normal x, normal y, least (other - one) along it, their pieces
ALIKE = 0.71  # cosine from which two directions are the same way round


@compiled
def relations(f: Floats, n: Ints, s: Floats, k: Ints, near: float, rows: Floats,
              every: bool) -> int:
    """Fill rows (one, other, nx, ny, d, pieces): keep (other - one) . (nx, ny) >= d.

    One row for each two pieces that must keep apart and are within `near` mm of not doing so; but
    for `every`, none for two that others of the same bodies cover, which cannot be first to meet.

    Returns:
        The number of rows wanted; those that `rows` has no space for are left out.
    """
    count = 0
    for one in range(n[MOVABLE]):
        for other in range(one + 1, n[BODIES]):
            if k[k[ON] + one] == 0 or k[k[ON] + other] == 0:
                continue
            pose, pose_b = k[k[AT] + one], k[k[AT] + other]
            dx, dy = s[k[X] + other] - s[k[X] + one], s[k[Y] + other] - s[k[Y] + one]
            if _within(f, n, pose, pose_b, dx, dy, near):
                count = _add_ways(f, n, one, other, pose, pose_b, dx, dy, near, rows, count,
                                  every)
    return count


@inlined
def _add_ways(f: Floats, n: Ints, one: int, other: int, pose: int, pose_b: int,  # noqa: PLR0913
              dx: float, dy: float, near: float, rows: Floats, count: int, every: bool) -> int:
    """Add the rows of two bodies; how many there are then."""
    shape, shape_b, shapes = (n[n[POSE_N] + pose * POSE_NW + SHAPE],
                              n[n[POSE_N] + pose_b * POSE_NW + SHAPE], n[SHAPES])
    if every or shapes == 0:  # there are too many shapes for a table of what can meet
        a, b = n[POSE_N] + pose * POSE_NW + PIECES, n[POSE_N] + pose_b * POSE_NW + PIECES
        for piece in range(n[a], n[a + 1]):
            for piece_b in range(n[b], n[b + 1]):
                count = _add_way(f, n, one, other, piece, piece_b, dx, dy, near, rows, count)
        return count
    turned = shape > shape_b  # the table has each two once
    pair = n[PAIR_N] + (shape_b * shapes + shape if turned else shape * shapes + shape_b)
    ux, uy = (-dx, -dy) if turned else (dx, dy)
    for entry in range(n[pair] + 1, n[pair + 1]):
        row, mark = n[ROW] + entry * ROW_W, n[ROW_N] + entry * ROW_NW
        far = max(ux - f[row + 2], f[row] - ux, uy - f[row + 3], f[row + 1] - uy)
        if far < f[row + 4] + near:
            piece, piece_b = n[mark + turned], n[mark + 1 - turned]
            count = _add_way(f, n, one, other, piece, piece_b, dx, dy, near, rows, count)
    return count


@inlined
def _add_way(f: Floats, n: Ints, one: int, other: int, piece: int, piece_b: int,  # noqa: PLR0913
             dx: float, dy: float, near: float, rows: Floats, count: int) -> int:
    """Add the row of two pieces if they are near; how many there are then."""
    nx, ny, least, found = _way(f, n, piece, piece_b, dx, dy, near)
    if not found:
        return count
    if count < len(rows):
        rows[count, 0], rows[count, 1] = one, other
        rows[count, 2], rows[count, 3], rows[count, 4] = nx, ny, least
        rows[count, 5], rows[count, 6] = piece, piece_b
    return count + 1


@compiled
def _within(f: Floats, n: Ints, pose: int, other: int, dx: float, dy: float, near: float) -> bool:
    a, b = n[POSE] + pose * POSE_W + AROUND, n[POSE] + other * POSE_W + AROUND
    return not (dx + f[b] >= f[a + 2] + near or f[a] >= dx + f[b + 2] + near
                or dy + f[b + 1] >= f[a + 3] + near or f[a + 1] >= dy + f[b + 3] + near)


@compiled
def _way(f: Floats, n: Ints, a: int, b: int, dx: float, dy: float, near: float
         ) -> tuple[float, float, float, bool]:
    """The direction in which two pieces are farthest apart: normal, least way, whether near."""
    kind, kind_b = n[PIECE_N] + a * PIECE_NW, n[PIECE_N] + b * PIECE_NW
    need = f[n[NEED] + n[kind] * n[CLASSES] + n[kind_b]]
    if need < 0.0:
        return 0.0, 0.0, 0.0, False
    box, box_b = n[PIECE] + a * PIECE_W, n[PIECE] + b * PIECE_W
    right, left = dx + f[box_b] - f[box + 2], f[box] - dx - f[box_b + 2]
    above, below = dy + f[box_b + 1] - f[box + 3], f[box + 1] - dy - f[box_b + 3]
    nx, ny, best = 1.0, 0.0, right
    if left > best:
        nx, ny, best = -1.0, 0.0, left
    if above > best:
        nx, ny, best = 0.0, 1.0, above
    if below > best:
        nx, ny, best = 0.0, -1.0, below
    across, along = max(right, left), max(above, below)
    corner = hypot(across, along)
    if best < need and across > 0.0 and along > 0.0 and corner - f[n[SLANT]] > best:
        nx = across / corner if right > left else -across / corner
        ny = along / corner if above > below else -along / corner
        best = corner - f[n[SLANT]]
    if best < need and (n[kind + 3] == 0 or n[kind_b + 3] == 0):
        nx, ny, best = _best_edge(f, n, a, b, dx, dy, nx, ny, best, 1.0)
        nx, ny, best = _best_edge(f, n, b, a, -dx, -dy, nx, ny, best, -1.0)
    return nx, ny, need - best + nx * dx + ny * dy, best < need + near


@compiled
def _best_edge(f: Floats, n: Ints, a: int, b: int, dx: float, dy: float,  # noqa: PLR0913
               nx: float, ny: float, best: float, sign: float) -> tuple[float, float, float]:
    """A better direction among the edges of piece a, if there is one; a slant takes some off."""
    ring, ring_b = n[PIECE_N] + a * PIECE_NW, n[PIECE_N] + b * PIECE_NW
    first_b = n[CORNER] + n[ring_b + 1] * CORNER_W
    for edge in range(n[ring + 2]):
        row = n[CORNER] + (n[ring + 1] + edge) * CORNER_W
        least = 1e18
        for corner in range(n[ring_b + 2]):
            other = first_b + corner * CORNER_W
            least = min(least, f[row + 2] * f[other] + f[row + 3] * f[other + 1])
        apart = least + f[row + 2] * dx + f[row + 3] * dy - f[row + 4] - f[n[SLANT]]
        if apart > best + 1e-9:
            nx, ny, best = sign * f[row + 2], sign * f[row + 3], apart
    return nx, ny, best


@compiled
def another_way(f: Floats, n: Ints, a: int, b: int, dx: float, dy: float, nx: float, ny: float
                ) -> tuple[float, float, float, float]:
    """The best direction for two pieces but those like (nx, ny): normal, least distance, depth."""
    kind, kind_b = n[PIECE_N] + a * PIECE_NW, n[PIECE_N] + b * PIECE_NW
    need = f[n[NEED] + n[kind] * n[CLASSES] + n[kind_b]]
    box, box_b = n[PIECE] + a * PIECE_W, n[PIECE] + b * PIECE_W
    best, ox, oy = -1e18, 0.0, 0.0
    for side in range(4):
        ux, uy = (1.0 - side, 0.0) if side % 2 == 0 else (0.0, 2.0 - side)
        apart = (dx + f[box_b] - f[box + 2] if side == 0 else
                 dy + f[box_b + 1] - f[box + 3] if side == 1 else
                 f[box] - dx - f[box_b + 2] if side == 2 else f[box + 1] - dy - f[box_b + 3])
        if apart > best and ux * nx + uy * ny < ALIKE:
            best, ox, oy = apart, ux, uy
    for first in range(2):
        one, two, sign = (a, b, 1.0) if first == 0 else (b, a, -1.0)
        ring, ring_b = n[PIECE_N] + one * PIECE_NW, n[PIECE_N] + two * PIECE_NW
        for edge in range(n[ring + 2]):
            row = n[CORNER] + (n[ring + 1] + edge) * CORNER_W
            ux, uy, least = sign * f[row + 2], sign * f[row + 3], 1e18
            if ux * nx + uy * ny >= ALIKE:
                continue
            for corner in range(n[ring_b + 2]):
                other = n[CORNER] + (n[ring_b + 1] + corner) * CORNER_W
                least = min(least, f[row + 2] * f[other] + f[row + 3] * f[other + 1])
            apart = least + ux * dx + uy * dy - f[row + 4] - f[n[SLANT]]
            if apart > best + 1e-9:
                best, ox, oy = apart, ux, uy
    return ox, oy, need - best + ox * dx + oy * dy, need - best

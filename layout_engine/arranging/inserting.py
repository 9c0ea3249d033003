"""Putting bodies in one by one, each at its cheapest free place: a first answer at once.

Free places are tried on lines that touch what stands there already: for upright boxes one of the
cheapest free places lies where two such lines cross.
"""

from __future__ import annotations

from math import inf

from layout_engine.arranging.annealing import wanted_gap
from layout_engine.arranging.compiled import compiled
from layout_engine.arranging.meeting import depth_between, depth_off_ground
from layout_engine.arranging.pricing import net_cost, own_price, wish_short
from layout_engine.arranging.vectors import (
    AROUND,
    AT,
    BODIES,
    BODY_N,
    BODY_NW,
    NETS_OF,
    OF_NETS,
    OF_POSES,
    OF_WISHES,
    ON,
    OUTLINE,
    POSE,
    POSE_W,
    POSES,
    SPAN,
    WISH,
    WISH_W,
    WISHES_OF,
    WORK,
    Floats,
    Ints,
    X,
    Y,
)

SAME_MM = 1.0  # lines nearer than this are one
DRIFT = 1e-6  # price of a mm from the lower left, so that bodies without wires stand close


@compiled
def insert(f: Floats, n: Ints, s: Floats, k: Ints, body: int, lines: Floats) -> bool:
    """Put a body from the tray onto the plate where it is cheapest; whether there was room.

    Args:
        f: the problem's floats.
        n: its integers.
        s: the state's floats, changed in place; figures are not refreshed.
        k: its integers.
        body: the body.
        lines: working space (2, m), m at least 8 + 8 for each body.
    """
    best, best_pose, best_x, best_y = inf, -1, 0.0, 0.0
    k[k[ON] + body] = 1
    row = n[BODY_N] + body * BODY_NW + OF_POSES
    for entry in range(n[row], n[row + 1]):
        pose = n[n[POSES] + entry]
        across = _lines(f, n, s, k, body, pose, 0, lines)
        along = _lines(f, n, s, k, body, pose, 1, lines)
        k[k[AT] + body] = pose
        for column in range(across):
            for level in range(along):
                s[k[X] + body], s[k[Y] + body] = lines[0, column], lines[1, level]
                cost = _price_here(f, n, s, k, body, best)
                if cost < best and _is_free(f, n, s, k, body):
                    best, best_pose = cost, pose
                    best_x, best_y = lines[0, column], lines[1, level]
    k[k[ON] + body] = 1 if best_pose >= 0 else 0
    if best_pose >= 0:
        s[k[X] + body], s[k[Y] + body], k[k[AT] + body] = best_x, best_y, best_pose
    return best_pose >= 0


@compiled
def _price_here(f: Floats, n: Ints, s: Floats, k: Ints, body: int, limit: float) -> float:
    x, y = s[k[X] + body], s[k[Y] + body]
    total = own_price(f, n, k[k[AT] + body], x, y) + DRIFT * (x + y)
    row = n[BODY_N] + body * BODY_NW
    k[WORK] += 1
    for entry in range(n[row + OF_NETS], n[row + OF_NETS + 1]):
        total += net_cost(f, n, s, k, n[n[NETS_OF] + entry])
        if total >= limit:
            return inf
    for entry in range(n[row + OF_WISHES], n[row + OF_WISHES + 1]):
        wish = n[n[WISHES_OF] + entry]
        short = wish_short(f, n, s, k, wish)
        if short > 0.0 and f[n[WISH] + wish * WISH_W + 2] > 0.0:
            return inf
        total += f[n[WISH] + wish * WISH_W + 1] * short
    return total


@compiled
def _is_free(f: Floats, n: Ints, s: Floats, k: Ints, body: int) -> bool:
    pose, x, y = k[k[AT] + body], s[k[X] + body], s[k[Y] + body]
    k[WORK] += n[BODIES] // 4
    if depth_off_ground(f, n, pose, x, y) > 0.0:
        return False
    for other in range(n[BODIES]):
        if other == body or k[k[ON] + other] == 0:
            continue
        if depth_between(f, n, pose, k[k[AT] + other],
                         s[k[X] + other] - x, s[k[Y] + other] - y) > 0.0:
            return False
    return True


@compiled
def _lines(f: Floats, n: Ints, s: Floats, k: Ints, body: int, pose: int, axis: int,
           lines: Floats) -> int:
    """Fill places of the centre along an axis at which the pose touches something; how many."""
    span = n[POSE] + pose * POSE_W + SPAN + axis
    low, high = f[span], f[span + 2]
    lines[axis, 0], lines[axis, 1], lines[axis, 2] = low, high, (low + high) / 2
    count = 3
    start = k[X] if axis == 0 else k[Y]
    for other in range(n[BODIES]):
        if other == body or k[k[ON] + other] == 0:
            continue
        theirs = k[k[AT] + other]
        need = max(wanted_gap(f, n, pose, theirs), 0.0) + 1e-7
        a, b = n[POSE] + pose * POSE_W + axis, n[POSE] + theirs * POSE_W + axis
        at = s[start + other]
        count = _line(lines, axis, count, at + f[b + OUTLINE + 2] - f[a + OUTLINE] + need,
                      low, high)
        count = _line(lines, axis, count, at + f[b + OUTLINE] - f[a + OUTLINE + 2] - need,
                      low, high)
        count = _line(lines, axis, count, at + f[b + AROUND + 2] - f[a + OUTLINE], low, high)
        count = _line(lines, axis, count, at + f[b + AROUND] - f[a + OUTLINE + 2], low, high)
        count = _line(lines, axis, count, at + f[b + OUTLINE + 2] - f[a + AROUND], low, high)
        count = _line(lines, axis, count, at + f[b + OUTLINE] - f[a + AROUND + 2], low, high)
        count = _line(lines, axis, count, at, low, high)
    return count


@compiled
def _line(lines: Floats, axis: int, count: int, place: float, low: float, high: float) -> int:
    """Add a place within bounds that is not there yet; how many there are."""
    if place < low or place > high:
        return count
    for entry in range(count):
        if abs(lines[axis, entry] - place) < SAME_MM:
            return count
    lines[axis, count] = place
    return count + 1

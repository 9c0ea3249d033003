"""Putting bodies in one by one, each at its cheapest free place: a first answer at once.

Free places are tried on lines that touch what stands there already: for upright boxes one of the
cheapest free places lies where two such lines cross. Half perimeters are sums over both axes, so
lines are priced one by one, and crossings are tried from the cheapest on until none can be cheaper
than the best.
"""

from __future__ import annotations

from math import inf

from layout_engine.arranging.annealing import wanted_gap
from layout_engine.arranging.compiled import compiled
from layout_engine.arranging.meeting import depth_between, depth_off_ground
from layout_engine.arranging.pricing import own_price, wish_short
from layout_engine.arranging.vectors import (
    AROUND,
    AT,
    BODIES,
    BODY_N,
    BODY_NW,
    END_N,
    END_NW,
    FACE,
    NET,
    NET_N,
    NET_NW,
    NET_W,
    NETS_OF,
    OF_NETS,
    OF_POSES,
    OF_WISHES,
    ON,
    OUTLINE,
    PIN,
    PIN_W,
    PINS,
    POSE,
    POSE_N,
    POSE_NW,
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
SHRINK = 2.3  # of the steps of a sort (Ciura 2001: near the best for a few hundred entries)
LINES, LINES_A_BODY = 8, 8  # room for the lines of an axis


@compiled
def insert(f: Floats, n: Ints, s: Floats, k: Ints, body: int, lines: Floats, near: Ints) -> bool:
    """Put a body from the tray onto the plate where it is cheapest; whether there was room.

    Args:
        f: the problem's floats.
        n: its integers.
        s: the state's floats, changed in place; figures are not refreshed.
        k: its integers.
        body: the body.
        lines: working space (4, m), m at least LINES and LINES_A_BODY for each body: places
            along both axes, and what the body's nets cost there.
        near: working space for the numbers of all bodies.
    """
    best, best_pose, best_x, best_y = inf, -1, 0.0, 0.0
    k[k[ON] + body] = 1
    row = n[BODY_N] + body * BODY_NW + OF_POSES
    for entry in range(n[row], n[row + 1]):
        pose = n[n[POSES] + entry]
        k[k[AT] + body] = pose
        base = _crossings(f, n, k, body)
        across = _lines(f, n, s, k, body, pose, 0, lines)
        along = _lines(f, n, s, k, body, pose, 1, lines)
        _price_lines(f, n, s, k, body, 0, lines, across)
        _price_lines(f, n, s, k, body, 1, lines, along)
        column = 0
        while column < across and base + lines[2, column] + lines[3, 0] < best:
            s[k[X] + body] = lines[0, column]
            beside, level, hit = _beside(f, n, s, k, body, near), 0, 0
            while level < along and base + lines[2, column] + lines[3, level] < best:
                s[k[Y] + body] = lines[1, level]
                hit = _in_the_way(f, n, s, k, body, near, beside, hit)
                if hit == beside:  # few places are free, and wishes take long to look at
                    cost = base + lines[2, column] + lines[3, level] + _wishes(f, n, s, k, body)
                    if cost < best:
                        best, best_pose = cost, pose
                        best_x, best_y = lines[0, column], lines[1, level]
                level += 1
            k[WORK] += 1 + level
            column += 1
    k[k[ON] + body] = 1 if best_pose >= 0 else 0
    if best_pose >= 0:
        s[k[X] + body], s[k[Y] + body], k[k[AT] + body] = best_x, best_y, best_pose
    return best_pose >= 0


@compiled
def _crossings(f: Floats, n: Ints, k: Ints, body: int) -> float:
    """What a body's nets cost for ends on two faces, in the pose it has."""
    row, total = n[BODY_N] + body * BODY_NW + OF_NETS, 0.0
    for entry in range(n[NETS_OF] + n[row], n[NETS_OF] + n[row + 1]):
        ends = n[NET_N] + n[entry] * NET_NW
        face, crossed = n[ends + 2], False
        for end in range(n[ends], n[ends + 1]):
            own = n[n[END_N] + end * END_NW]
            there = n[n[POSE_N] + k[k[AT] + own] * POSE_NW + FACE]
            crossed = crossed or (face >= 0 and there != face)
            face = there if face < 0 and n[ends + 1] - n[ends] > 1 else face
        if crossed and _is_there(n, k, n[entry]):
            total += f[n[NET] + n[entry] * NET_W + 5]
    return total


@compiled
def _is_there(n: Ints, k: Ints, net: int) -> bool:
    """Whether all ends of a net are on the plate; else it costs nothing."""
    ends, there = n[NET_N] + net * NET_NW, True
    for end in range(n[ends], n[ends + 1]):
        there = there and k[k[ON] + n[n[END_N] + end * END_NW]] == 1
    return there


@compiled
def _price_lines(f: Floats, n: Ints, s: Floats, k: Ints, body: int, axis: int,
                 lines: Floats, count: int) -> None:
    """Price the lines of an axis for a body's nets, and sort them, the cheapest first."""
    for line in range(count):
        lines[2 + axis, line] = DRIFT * lines[axis, line]
    row, start = n[BODY_N] + body * BODY_NW + OF_NETS, k[X] if axis == 0 else k[Y]
    for entry in range(n[NETS_OF] + n[row], n[NETS_OF] + n[row + 1]):
        if not _is_there(n, k, n[entry]):
            continue
        net, ends = n[NET] + n[entry] * NET_W, n[NET_N] + n[entry] * NET_NW
        low, high, first, last = f[net + axis], f[net + 2 + axis], inf, -inf
        for end in range(n[ends], n[ends + 1]):
            own = n[n[END_N] + end * END_NW]
            pins = n[n[POSE_N] + k[k[AT] + own] * POSE_NW + PINS]
            pin = f[n[PIN] + (pins + n[n[END_N] + end * END_NW + 1]) * PIN_W + axis]
            if own == body:
                first, last = min(first, pin), max(last, pin)
            else:
                low, high = min(low, s[start + own] + pin), max(high, s[start + own] + pin)
        for line in range(count):
            at = lines[axis, line]
            lines[2 + axis, line] += f[net + 4] * (max(high, at + last) - min(low, at + first))
        k[WORK] += count // 8
    _sort(lines, 2 + axis, axis, count)


@compiled
def _sort(lines: Floats, by: int, beside: int, count: int) -> None:
    """Sort the first entries of a row, those of another row along with them (Shell's sort)."""
    step = count
    while step > 1:
        step = max(int(step / SHRINK), 1)
        for entry in range(step, count):
            key, other, at = lines[by, entry], lines[beside, entry], entry
            while at >= step and lines[by, at - step] > key:
                lines[by, at], lines[beside, at] = lines[by, at - step], lines[beside, at - step]
                at -= step
            lines[by, at], lines[beside, at] = key, other


@compiled
def _wishes(f: Floats, n: Ints, s: Floats, k: Ints, body: int) -> float:
    """What a body's wishes cost where it stands, and its pose; inf where it misses a must."""
    total = own_price(f, n, k[k[AT] + body], s[k[X] + body], s[k[Y] + body])
    row = n[BODY_N] + body * BODY_NW + OF_WISHES
    for entry in range(n[row], n[row + 1]):
        wish = n[n[WISHES_OF] + entry]
        short = wish_short(f, n, s, k, wish)
        if short > 0.0 and f[n[WISH] + wish * WISH_W + 2] > 0.0:
            return inf
        total += f[n[WISH] + wish * WISH_W + 1] * short
    return total


@compiled
def _beside(f: Floats, n: Ints, s: Floats, k: Ints, body: int, near: Ints) -> int:
    """Fill in what a body may meet at its x, wherever it stands along the other axis; how many."""
    a, x, count = n[POSE] + k[k[AT] + body] * POSE_W + AROUND, s[k[X] + body], 0
    for other in range(n[BODIES]):
        if other != body and k[k[ON] + other]:
            b, dx = n[POSE] + k[k[AT] + other] * POSE_W + AROUND, s[k[X] + other] - x
            if dx + f[b] < f[a + 2] and f[a] < dx + f[b + 2]:
                near[count] = other
                count += 1
    k[WORK] += n[BODIES] // 8
    return count


@compiled
def _in_the_way(f: Floats, n: Ints, s: Floats, k: Ints, body: int, near: Ints, count: int,
                likely: int) -> int:
    """Which of those near a body stands in; `count` where it is free, -1 off its ground.

    `likely`: which is looked at first, the one that was in the way before.
    """
    pose, x, y = k[k[AT] + body], s[k[X] + body], s[k[Y] + body]
    k[WORK] += 1
    if depth_off_ground(f, n, pose, x, y) > 0.0:
        return -1
    first = likely if 0 <= likely < count else 0
    for step in range(count):
        at = first + step if first + step < count else first + step - count
        other = near[at]
        if depth_between(f, n, pose, k[k[AT] + other], s[k[X] + other] - x,
                         s[k[Y] + other] - y, 0.0) > 0.0:
            k[WORK] += step // 4
            return at
    k[WORK] += count // 4
    return count


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
        for place in (at + f[b + OUTLINE + 2] - f[a + OUTLINE] + need,
                      at + f[b + OUTLINE] - f[a + OUTLINE + 2] - need,
                      at + f[b + AROUND + 2] - f[a + OUTLINE],
                      at + f[b + AROUND] - f[a + OUTLINE + 2],
                      at + f[b + OUTLINE + 2] - f[a + AROUND],
                      at + f[b + OUTLINE] - f[a + AROUND + 2], at):
            if low <= place <= high:
                lines[axis, count] = place
                count += 1
    k[WORK] += count
    _sort(lines, axis, 2 + axis, count)
    kept = 1
    for line in range(1, count):
        if lines[axis, line] - lines[axis, kept - 1] >= SAME_MM:
            lines[axis, kept] = lines[axis, line]
            kept += 1
    return kept

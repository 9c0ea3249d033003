"""Moves of the search: trying a change of one or two bodies, keeping or undoing it."""

from __future__ import annotations

from math import inf

import numpy as np

from layout_engine.arranging.compiled import compiled
from layout_engine.arranging.meeting import depth_between, depth_off_ground, may_meet
from layout_engine.arranging.pricing import net_cost, own_price, wish_short
from layout_engine.arranging.vectors import (
    AT,
    BODIES,
    BODY_N,
    BODY_NW,
    KEPT,
    MOVABLE,
    NET_COST,
    NET_LIST,
    NET_STAMP,
    NETS_OF,
    NETS_TRIED,
    NEW_NET,
    NEW_OUT,
    NEW_OVERLAP,
    NEW_SHORT,
    OF_NETS,
    OF_WISHES,
    ON,
    OUT,
    OVERLAP,
    POSE,
    POSE_W,
    PRESSURE,
    SCALE,
    SHORT,
    SPAN,
    TRY,
    WISH,
    WISH_LIST,
    WISH_N,
    WISH_NW,
    WISH_STAMP,
    WISH_W,
    WISHES_OF,
    WISHES_TRIED,
    WORK,
    Floats,
    Ints,
    Words,
    X,
    Y,
)

NOBODY = -1
MEETING_WORK = 5  # a look at the pieces of two poses, in units of pricing one net
SHIFTS = (np.uint64(12), np.uint64(25), np.uint64(27), np.uint64(11))  # xorshift64*, 53 bits
SPREAD = np.uint64(2685821657736338717)


@compiled
def draw(random: Words) -> float:
    """A random number from 0 up to 1 (xorshift64*, Vigna 2016)."""
    x = random[0]
    x ^= x >> SHIFTS[0]
    x ^= x << SHIFTS[1]
    x ^= x >> SHIFTS[2]
    random[0] = x
    return float((x * SPREAD) >> SHIFTS[3]) / 9007199254740992.0


@compiled
def pick(random: Words, count: int) -> int:
    """A random whole number from 0 up to count - 1."""
    return min(int(draw(random) * count), count - 1)


@compiled
def put(f: Floats, n: Ints, s: Floats, k: Ints, body: int, pose: int, x: float, y: float) -> None:
    """Put a body somewhere, held within the bounds of its ground; figures are not refreshed."""
    span = n[POSE] + pose * POSE_W + SPAN
    s[k[X] + body] = min(max(x, f[span]), f[span + 2])
    s[k[Y] + body] = min(max(y, f[span + 1]), f[span + 3])
    k[k[AT] + body] = pose


@compiled
def keep(s: Floats, k: Ints, slot: int, body: int) -> None:
    """Remember where a body stands."""
    row = k[KEPT] + 3 * slot
    s[row], s[row + 1], s[row + 2] = s[k[X] + body], s[k[Y] + body], k[k[AT] + body]


@compiled
def put_back(s: Floats, k: Ints, slot: int, body: int) -> None:
    """Undo a change."""
    row = k[KEPT] + 3 * slot
    s[k[X] + body], s[k[Y] + body] = s[row], s[row + 1]
    k[k[AT] + body] = int(s[row + 2])


@compiled
def _weight(f: Floats, n: Ints, s: Floats, k: Ints, body: int, other: int) -> float:
    """Weight of an overlap of two bodies."""
    scale = max(f[n[SCALE] + body], f[n[SCALE] + other])
    return scale * s[k[PRESSURE] + other * n[MOVABLE] + body]


@compiled
def _wish_price(f: Floats, n: Ints, wish: int, short: float, heavy: float) -> float:
    row = n[WISH] + wish * WISH_W
    if f[row + 2] > 0.0:
        return heavy * f[n[SCALE] + n[n[WISH_N] + wish * WISH_NW + 1]] * short
    return f[row + 1] * short


@compiled
def price_before(f: Floats, n: Ints, s: Floats, k: Ints, one: int, two: int, heavy: float
                 ) -> float:
    """Priced figures of one or two bodies as they stand, from the figures kept with the state."""
    k[NETS_TRIED] = 0
    k[WISHES_TRIED] = 0
    k[TRY] += 1
    total = _single_before(f, n, s, k, one, NOBODY, heavy)
    if two != NOBODY:
        total += _single_before(f, n, s, k, two, one, heavy)
    return total


@compiled
def _single_before(f: Floats, n: Ints, s: Floats, k: Ints, body: int, counted: int, heavy: float
                   ) -> float:
    movable = n[MOVABLE]
    total = own_price(f, n, k[k[AT] + body], s[k[X] + body], s[k[Y] + body])
    total += heavy * f[n[SCALE] + body] * s[k[OUT] + body]
    row = n[BODY_N] + body * BODY_NW
    for entry in range(n[row + OF_NETS], n[row + OF_NETS + 1]):
        net = n[n[NETS_OF] + entry]
        if k[k[NET_STAMP] + net] != k[TRY]:
            k[k[NET_STAMP] + net] = k[TRY]
            k[k[NET_LIST] + k[NETS_TRIED]] = net
            k[NETS_TRIED] += 1
            total += s[k[NET_COST] + net]
    for entry in range(n[row + OF_WISHES], n[row + OF_WISHES + 1]):
        wish = n[n[WISHES_OF] + entry]
        if k[k[WISH_STAMP] + wish] != k[TRY]:
            k[k[WISH_STAMP] + wish] = k[TRY]
            k[k[WISH_LIST] + k[WISHES_TRIED]] = wish
            k[WISHES_TRIED] += 1
            total += _wish_price(f, n, wish, s[k[SHORT] + wish], heavy)
    for other in range(n[BODIES]):
        depth = s[k[OVERLAP] + other * movable + body]
        if depth > 0.0 and other != counted:
            total += heavy * _weight(f, n, s, k, body, other) * depth
    return total


@compiled
def price_after(f: Floats, n: Ints, s: Floats, k: Ints, one: int, two: int, heavy: float,
                limit: float) -> float:
    """The same figures where the bodies stand now; given up, as inf, once over `limit`."""
    total = 0.0
    for entry in range(k[NETS_TRIED]):
        cost = net_cost(f, n, s, k, k[k[NET_LIST] + entry])
        s[k[NEW_NET] + entry] = cost
        total += cost
    k[WORK] += 2 + k[NETS_TRIED]
    for entry in range(k[WISHES_TRIED]):
        wish = k[k[WISH_LIST] + entry]
        short = wish_short(f, n, s, k, wish)
        s[k[NEW_SHORT] + entry] = short
        total += _wish_price(f, n, wish, short, heavy)
    for slot in range(2):
        body = two if slot else one
        if body != NOBODY:
            pose, x, y = k[k[AT] + body], s[k[X] + body], s[k[Y] + body]
            out = depth_off_ground(f, n, pose, x, y)
            s[k[NEW_OUT] + slot] = out
            total += own_price(f, n, pose, x, y) + heavy * f[n[SCALE] + body] * out
    total = _depths_after(f, n, s, k, one, NOBODY, heavy, total, limit)
    if two != NOBODY:
        total = _depths_after(f, n, s, k, two, one, heavy, total, limit)
    return total if total <= limit else inf


@compiled
def _depths_after(f: Floats, n: Ints, s: Floats, k: Ints, body: int, counted: int,  # noqa: PLR0913
                  heavy: float, total: float, limit: float) -> float:
    slot = 0 if counted == NOBODY else 1
    row = k[NEW_OVERLAP] + slot * n[BODIES]
    pose, x, y = k[k[AT] + body], s[k[X] + body], s[k[Y] + body]
    k[WORK] += n[BODIES] // 4
    for other in range(n[BODIES]):
        if total > limit:
            return total
        s[row + other] = 0.0
        if other == body or k[k[ON] + other] == 0:
            continue
        dx, dy = s[k[X] + other] - x, s[k[Y] + other] - y
        if not may_meet(f, n, pose, k[k[AT] + other], dx, dy):
            continue
        k[WORK] += MEETING_WORK
        depth = depth_between(f, n, pose, k[k[AT] + other], dx, dy)
        if depth > 0.0:
            s[row + other] = depth
            if other != counted:
                total += heavy * _weight(f, n, s, k, body, other) * depth
    return total


@compiled
def accept(n: Ints, s: Floats, k: Ints, one: int, two: int) -> None:
    """Make the figures of a tried change those of the state."""
    movable = n[MOVABLE]
    for entry in range(k[NETS_TRIED]):
        s[k[NET_COST] + k[k[NET_LIST] + entry]] = s[k[NEW_NET] + entry]
    for entry in range(k[WISHES_TRIED]):
        s[k[SHORT] + k[k[WISH_LIST] + entry]] = s[k[NEW_SHORT] + entry]
    for slot in range(2):
        body = two if slot else one
        if body == NOBODY:
            continue
        s[k[OUT] + body] = s[k[NEW_OUT] + slot]
        row = k[NEW_OVERLAP] + slot * n[BODIES]
        for other in range(n[BODIES]):
            depth = s[row + other]
            s[k[OVERLAP] + other * movable + body] = depth
            if other < movable:
                s[k[OVERLAP] + body * movable + other] = depth

"""Moves of the search: trying a change of a few bodies at once, keeping or undoing it.

The bodies that are changed stand in the state: `k[GROUP]` on, each in its slot.
"""

from __future__ import annotations

from math import inf

import numpy as np

from layout_engine.arranging.compiled import compiled, inlined
from layout_engine.arranging.landing import land
from layout_engine.arranging.meeting import depth_between, depth_off_ground
from layout_engine.arranging.pricing import (
    meet,
    net_now,
    overlap_weight,
    own_price,
    part_from_all,
    place_bounds,
    place_pins,
    wish_short,
)
from layout_engine.arranging.vectors import (
    AT,
    BODIES,
    BODY_N,
    BODY_NW,
    CLOSE,
    GROUP,
    HIGH,
    IS_CLOSE,
    KEPT,
    LEFT,
    LOAD,
    LOW,
    MEMBER,
    NET_COST,
    NET_LIST,
    NET_STAMP,
    NETS_OF,
    NETS_TRIED,
    NEW_DEPTH,
    NEW_LIST,
    NEW_MET,
    NEW_NET,
    NEW_OUT,
    NEW_SHORT,
    OF_NETS,
    OF_WISHES,
    OUT,
    OVERLAP,
    PINS_TRIED,
    PLAIN,
    POSE,
    POSE_W,
    RIGHT,
    SCALE,
    SHORT,
    SPAN,
    TRY,
    WISH,
    WISH_LIST,
    WISH_STAMP,
    WISH_W,
    WISHES_OF,
    WISHES_TRIED,
    WITHIN,
    WORK,
    Floats,
    Ints,
    Words,
    X,
    Y,
)

SURELY_MM = 1e-6  # rounding does not bring a depth back that is greater by this
MEETING_WORK = 5  # a look at the pieces of two poses, in units of pricing one net
SHIFTS = (np.uint64(12), np.uint64(25), np.uint64(27), np.uint64(11))  # xorshift64*, 53 bits
HALF = np.uint64(32)  # bits of a word
SPREAD = np.uint64(2685821657736338717)


@inlined
def _word(random: Words) -> np.uint64:
    """Random bits (xorshift64*, Vigna 2016)."""
    x = random[0]
    x ^= x >> SHIFTS[0]
    x ^= x << SHIFTS[1]
    x ^= x >> SHIFTS[2]
    random[0] = x
    return x * SPREAD


@inlined
def draw(random: Words) -> float:
    """A random number from 0 up to 1."""
    return float(_word(random) >> SHIFTS[3]) / 9007199254740992.0


@inlined
def pick(random: Words, count: int) -> int:
    """A random whole number from 0 up to count - 1.

    The whole part of a random share of the count, without floats, which took a twentieth of the
    search's time (Lemire, ACM Trans. Model. Comput. Simul. 29 (2019) 3; what is left of its bias
    is one in 2^32 of the count).
    """
    return int(np.int64(((_word(random) >> HALF) * np.uint64(count)) >> HALF))


@inlined
def put(f: Floats, n: Ints, s: Floats, k: Ints, body: int, pose: int, x: float, y: float) -> None:
    """Put a body somewhere, held within the bounds of its ground, off what stays; figures are not
    refreshed.
    """
    span = n[POSE] + pose * POSE_W + SPAN
    s[k[X] + body] = min(max(x, f[span]), f[span + 2])
    s[k[Y] + body] = min(max(y, f[span + 1]), f[span + 3])
    k[k[AT] + body] = pose
    land(f, n, s, k, body)


@inlined
def keep(s: Floats, k: Ints, size: int) -> None:
    """Remember where the bodies that are changed stand."""
    for slot in range(size):
        row, body = k[KEPT] + 3 * slot, k[k[GROUP] + slot]
        s[row], s[row + 1], s[row + 2] = s[k[X] + body], s[k[Y] + body], k[k[AT] + body]


@inlined
def put_back(f: Floats, n: Ints, s: Floats, k: Ints, size: int) -> None:
    """Undo a change and what was noted of it."""
    for slot in range(size):
        row, body = k[KEPT] + 3 * slot, k[k[GROUP] + slot]
        s[k[X] + body], s[k[Y] + body] = s[row], s[row + 1]
        k[k[AT] + body] = int(s[row + 2])
        place_bounds(f, n, s, k, body)
        if k[PINS_TRIED]:
            place_pins(f, n, s, k, body)


@inlined
def wish_price(f: Floats, n: Ints, wish: int, short: float, heavy: float) -> float:
    """What a wish between bodies costs that is missed by so many mm."""
    row = n[WISH] + wish * WISH_W
    must = f[row + 2]
    return heavy * must * short if must > 0.0 else f[row + 1] * short


@inlined
def price_before(f: Floats, n: Ints, s: Floats, k: Ints, size: int, heavy: float) -> float:
    """Priced figures of the first `size` bodies of the group, from those kept with the state."""
    k[NETS_TRIED] = 0
    k[WISHES_TRIED] = 0
    k[TRY] += 1
    total, turn, count = 0.0, k[TRY] * n[BODIES], n[BODIES]
    for slot in range(size):
        body = k[k[GROUP] + slot]
        k[k[MEMBER] + body] = turn + slot
        total += _single_before(f, n, s, k, body, heavy)
        for other in range(slot):
            mate = k[k[GROUP] + other]
            both = s[k[OVERLAP] + body * count + mate]
            if both > 0.0:
                total -= heavy * overlap_weight(f, n, s, k, body, mate) * both
    return total


@inlined
def _single_before(f: Floats, n: Ints, s: Floats, k: Ints, body: int, heavy: float) -> float:
    total = own_price(f, n, k[k[AT] + body], s[k[X] + body], s[k[Y] + body])
    total += heavy * (f[n[SCALE] + body] * s[k[OUT] + body] + s[k[LOAD] + body])
    row, turn, tried = n[BODY_N] + body * BODY_NW, k[TRY], k[NETS_TRIED]
    stamps, nets, costs = k[NET_STAMP], k[NET_LIST], k[NET_COST]
    for entry in range(n[NETS_OF] + n[row + OF_NETS], n[NETS_OF] + n[row + OF_NETS + 1]):
        net = n[entry]
        if k[stamps + net] != turn:
            k[stamps + net] = turn
            k[nets + tried] = net
            tried += 1
            total += s[costs + net]
    k[NETS_TRIED] = tried
    for entry in range(n[row + OF_WISHES], n[row + OF_WISHES + 1]):
        wish = n[n[WISHES_OF] + entry]
        if k[k[WISH_STAMP] + wish] != turn:
            k[k[WISH_STAMP] + wish] = turn
            k[k[WISH_LIST] + k[WISHES_TRIED]] = wish
            k[WISHES_TRIED] += 1
            total += wish_price(f, n, wish, s[k[SHORT] + wish], heavy)
    return total


@inlined
def price_after(f: Floats, n: Ints, s: Floats, k: Ints, size: int, heavy: float,
                limit: float) -> float:
    """The same figures where the bodies stand now; given up, as inf, once over `limit`."""
    total = 0.0
    k[PINS_TRIED] = 0
    for slot in range(size):
        body = k[k[GROUP] + slot]
        pose, x, y = k[k[AT] + body], s[k[X] + body], s[k[Y] + body]
        out = depth_off_ground(f, n, pose, x, y)
        s[k[NEW_OUT] + slot] = out
        total += own_price(f, n, pose, x, y) + heavy * f[n[SCALE] + body] * out
        place_bounds(f, n, s, k, body)
    if total <= limit:
        total = _nets_after(f, n, s, k, size, total, limit)
    if total <= limit:
        total = _all_depths(f, n, s, k, size, heavy, total, limit)
    if total <= limit:
        total = _wishes_after(f, n, s, k, heavy, total)
    return total if total <= limit else inf


@inlined
def _all_depths(f: Floats, n: Ints, s: Floats, k: Ints, size: int, heavy: float,
                total: float, limit: float) -> float:
    slot, turn = 0, k[TRY] * n[BODIES]
    while slot < size and total <= limit:
        total = depths_of(f, n, s, k, slot, heavy, total, limit, turn, turn + slot)
        slot += 1
    return total


@inlined
def _wishes_after(f: Floats, n: Ints, s: Floats, k: Ints, heavy: float, total: float) -> float:
    """Add the wishes of the bodies tried; note them."""
    for entry in range(k[WISHES_TRIED]):
        wish = k[k[WISH_LIST] + entry]
        short = wish_short(f, n, s, k, wish)
        s[k[NEW_SHORT] + entry] = short
        total += wish_price(f, n, wish, short, heavy)
    return total


@inlined
def _nets_after(f: Floats, n: Ints, s: Floats, k: Ints, size: int, total: float, limit: float
                ) -> float:
    """Add the nets of the bodies tried, as far as `limit`; note them."""
    for slot in range(size):
        place_pins(f, n, s, k, k[k[GROUP] + slot])
    k[PINS_TRIED] = 1
    nets, costs, entry = k[NET_LIST], k[NEW_NET], 0
    while entry < k[NETS_TRIED] and total <= limit:
        cost = net_now(f, n, s, k, k[nets + entry])
        s[costs + entry] = cost
        total += cost
        entry += 1
    k[WORK] += entry
    return total


@inlined
def close_to(s: Floats, k: Ints, count: int, x0: float, y0: float, x1: float, y1: float
             ) -> int:
    """Note all bodies whose bounds, with the distances they need, meet these; how many."""
    left, low, right, high = k[LEFT], k[LOW], k[RIGHT], k[HIGH]
    close, is_close, near = k[CLOSE], k[IS_CLOSE], 0
    # Compared in a loop of its own, several at once as nothing hangs on the one before: with both
    # in one loop two jobs of 40 modules, twice each, took 3 to 17 % longer, two of 12 as long.
    for other in range(count):
        k[is_close + other] = int((s[left + other] < x1) & (s[right + other] > x0)
                                  & (s[low + other] < y1) & (s[high + other] > y0))
    for other in range(count):  # without branches: the processor could not foretell them
        k[close + near] = other
        near += k[is_close + other]
    return near


@inlined
def too_deep(total: float, limit: float, weight: float) -> float:
    """A depth that takes a total over its limit, mm."""
    return (limit - total) / weight + SURELY_MM if weight > 0.0 else inf


@inlined
def depths_of(f: Floats, n: Ints, s: Floats, k: Ints, slot: int, heavy: float,  # noqa: PLR0913
              total: float, limit: float, first: int, last: int) -> float:
    """Add the overlaps of the body in a slot to `total`, as far as `limit`; note them.

    `first`, `last`: marks of members of the group with whom they are not counted.
    """
    count, body = n[BODIES], k[k[GROUP] + slot]
    pose, x, y = k[k[AT] + body], s[k[X] + body], s[k[Y] + body]
    around, row, found, close = n[POSE] + pose * POSE_W + WITHIN, slot * count, 0, k[CLOSE]
    near = close_to(s, k, count, x + f[around], y + f[around + 1], x + f[around + 2],
                    y + f[around + 3])
    k[WORK] += 4 + count // 6
    for entry in range(close, close + near):
        other = k[entry]
        if first <= k[k[MEMBER] + other] <= last:
            continue
        if total > limit:
            return total
        k[WORK] += MEETING_WORK if n[PLAIN] else 3 * MEETING_WORK
        weight = heavy * overlap_weight(f, n, s, k, body, other)
        depth = depth_between(f, n, pose, k[k[AT] + other], s[k[X] + other] - x,
                              s[k[Y] + other] - y, too_deep(total, limit, weight))
        if depth > 0.0:
            k[k[NEW_LIST] + row + found] = other
            s[k[NEW_DEPTH] + row + found] = depth
            found += 1
            total += weight * depth
    k[k[NEW_MET] + slot] = found
    return total


@compiled
def accept(f: Floats, n: Ints, s: Floats, k: Ints, size: int) -> None:
    """Make the figures of a tried change those of the state."""
    for entry in range(k[NETS_TRIED]):
        s[k[NET_COST] + k[k[NET_LIST] + entry]] = s[k[NEW_NET] + entry]
    for entry in range(k[WISHES_TRIED]):
        s[k[SHORT] + k[k[WISH_LIST] + entry]] = s[k[NEW_SHORT] + entry]
    for slot in range(size):
        part_from_all(f, n, s, k, k[k[GROUP] + slot])
    for slot in range(size):
        body = k[k[GROUP] + slot]
        s[k[OUT] + body] = s[k[NEW_OUT] + slot]
        row = slot * n[BODIES]
        for entry in range(row, row + k[k[NEW_MET] + slot]):
            meet(f, n, s, k, body, k[k[NEW_LIST] + entry], s[k[NEW_DEPTH] + entry])

"""Trying a change of a group that moves as one: what is among its own bodies stays as it is.

Shifted, turned by quarters or turned over as one, the bodies of a group keep their nets and
overlaps among themselves; only those with others are priced. As with a single body nothing is
noted until the change is accepted, for most fail.
"""

from __future__ import annotations

from math import inf

from layout_engine.arranging.compiled import compiled, inlined
from layout_engine.arranging.meeting import depth_off_ground
from layout_engine.arranging.moving import depths_of, wish_price
from layout_engine.arranging.pricing import (
    link_cost,
    meet,
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
    FACE,
    GROUP,
    KEPT,
    LINK_N,
    LINK_NW,
    LOAD,
    MEMBER,
    MET,
    MET_LIST,
    MIRROR,
    NET_COST,
    NET_LIST,
    NETS_OF,
    NETS_TRIED,
    NEW_DEPTH,
    NEW_LIST,
    NEW_MET,
    NEW_NET,
    NEW_OUT,
    NEW_SHORT,
    NEXT,
    OF_NETS,
    OF_WISHES,
    OUT,
    OVERLAP,
    PIN,
    PIN_W,
    PINS,
    POSE_N,
    POSE_NW,
    SCALE,
    SHORT,
    TRY,
    WISH_LIST,
    WISH_STAMP,
    WISHES_OF,
    WISHES_TRIED,
    WORK,
    Floats,
    Ints,
    X,
    Y,
)


@inlined
def moves_as_one(n: Ints, k: Ints, size: int, turns: int, over: bool) -> bool:
    """Whether each of a group can be turned so, after it is turned over if it is to be, and has
    nets of two ends alone.
    """
    for slot in range(size):
        body = k[k[GROUP] + slot]
        pose = k[k[AT] + body]
        if over:
            pose = n[n[POSE_N] + pose * POSE_NW + MIRROR]
        for _ in range(turns):
            after = n[n[POSE_N] + pose * POSE_NW + NEXT]
            if after == pose:
                return False
            pose = after
        row = n[BODY_N] + body * BODY_NW + OF_NETS
        for entry in range(n[row], n[row + 1]):
            if n[n[LINK_N] + entry * LINK_NW] < 0:
                return False
    return True


@inlined
def _is_in(k: Ints, body: int, mark: int) -> bool:
    return body >= 0 and k[k[MEMBER] + body] == mark


@inlined
def before_together(f: Floats, n: Ints, s: Floats, k: Ints, size: int, heavy: float) -> float:
    """Priced figures of the group that was marked last, but of what is among its own bodies."""
    mark, total, costs = k[TRY] * n[BODIES], 0.0, k[NET_COST]
    k[WISHES_TRIED] = 0
    for slot in range(size):
        body = k[k[GROUP] + slot]
        total += own_price(f, n, k[k[AT] + body], s[k[X] + body], s[k[Y] + body])
        total += heavy * (f[n[SCALE] + body] * s[k[OUT] + body] + s[k[LOAD] + body])
        met = k[MET_LIST] + body * n[BODIES]
        for entry in range(met, met + k[k[MET] + body]):
            if _is_in(k, k[entry], mark):
                total -= heavy * (overlap_weight(f, n, s, k, body, k[entry])
                                  * s[k[OVERLAP] + body * n[BODIES] + k[entry]])
        row = n[BODY_N] + body * BODY_NW
        for entry in range(n[row + OF_NETS], n[row + OF_NETS + 1]):
            if not _is_in(k, n[n[LINK_N] + entry * LINK_NW + 2], mark):
                total += s[costs + n[n[NETS_OF] + entry]]
        for entry in range(n[row + OF_WISHES], n[row + OF_WISHES + 1]):
            wish = n[n[WISHES_OF] + entry]
            if k[k[WISH_STAMP] + wish] != k[TRY]:
                k[k[WISH_STAMP] + wish] = k[TRY]
                k[k[WISH_LIST] + k[WISHES_TRIED]] = wish
                k[WISHES_TRIED] += 1
                total += wish_price(f, n, wish, s[k[SHORT] + wish], heavy)
    return total


@inlined
def after_together(f: Floats, n: Ints, s: Floats, k: Ints, size: int, heavy: float,
                   limit: float) -> float:
    """The same figures where the group stands now; given up, as inf, once over `limit`."""
    total, slot = 0.0, 0
    while slot < size and total <= limit:
        body = k[k[GROUP] + slot]
        pose, x, y = k[k[AT] + body], s[k[X] + body], s[k[Y] + body]
        out = depth_off_ground(f, n, pose, x, y)
        s[k[NEW_OUT] + slot] = out
        total += own_price(f, n, pose, x, y) + heavy * f[n[SCALE] + body] * out
        slot += 1
    if total <= limit:
        total = _nets_outward(f, n, s, k, size, total, limit)
    slot, mark = 0, k[TRY] * n[BODIES]
    while slot < size and total <= limit:
        total = depths_of(f, n, s, k, slot, heavy, total, limit, mark, mark)
        slot += 1
    for entry in range(k[WISHES_TRIED]):
        if total <= limit:
            wish = k[k[WISH_LIST] + entry]
            short = wish_short(f, n, s, k, wish)
            s[k[NEW_SHORT] + entry] = short
            total += wish_price(f, n, wish, short, heavy)
    return total if total <= limit else inf


@inlined
def _nets_outward(f: Floats, n: Ints, s: Floats, k: Ints, size: int, total: float, limit: float
                  ) -> float:
    """Add the nets from the group to others, as far as `limit`; note them."""
    mark, nets, costs, tried, slot = k[TRY] * n[BODIES], k[NET_LIST], k[NEW_NET], 0, 0
    while slot < size and total <= limit:
        body = k[k[GROUP] + slot]
        row, own = n[BODY_N] + body * BODY_NW + OF_NETS, n[POSE_N] + k[k[AT] + body] * POSE_NW
        pins, face = n[PIN] + n[own + PINS] * PIN_W, n[own + FACE]
        x, y = s[k[X] + body], s[k[Y] + body]
        for entry in range(n[row], n[row + 1]):
            if not _is_in(k, n[n[LINK_N] + entry * LINK_NW + 2], mark):
                cost = link_cost(f, n, s, k, entry, x, y, pins, face)
                k[nets + tried] = n[n[NETS_OF] + entry]
                s[costs + tried] = cost
                total += cost
                tried += 1
        slot += 1
    k[NETS_TRIED] = tried
    k[WORK] += tried
    return total


@compiled
def accept_together(f: Floats, n: Ints, s: Floats, k: Ints, size: int) -> None:
    """Make the figures of a tried change those of the state."""
    count, mark = n[BODIES], k[TRY] * n[BODIES]
    for entry in range(k[NETS_TRIED]):
        s[k[NET_COST] + k[k[NET_LIST] + entry]] = s[k[NEW_NET] + entry]
    for entry in range(k[WISHES_TRIED]):
        s[k[SHORT] + k[k[WISH_LIST] + entry]] = s[k[NEW_SHORT] + entry]
    for slot in range(size):
        body = k[k[GROUP] + slot]
        place_bounds(f, n, s, k, body)
        place_pins(f, n, s, k, body)
        s[k[OUT] + body] = s[k[NEW_OUT] + slot]
        met = k[MET_LIST] + body * count
        for entry in range(met, met + k[k[MET] + body]):  # those of its own are met again
            other = k[entry]
            if other > body and _is_in(k, other, mark):
                row = slot * count + k[k[NEW_MET] + slot]
                k[k[NEW_LIST] + row] = other
                s[k[NEW_DEPTH] + row] = s[k[OVERLAP] + body * count + other]
                k[k[NEW_MET] + slot] += 1
    for slot in range(size):
        part_from_all(f, n, s, k, k[k[GROUP] + slot])
    for slot in range(size):
        row = slot * count
        for entry in range(row, row + k[k[NEW_MET] + slot]):
            meet(f, n, s, k, k[k[GROUP] + slot], k[k[NEW_LIST] + entry], s[k[NEW_DEPTH] + entry])


@inlined
def put_back_together(s: Floats, k: Ints, size: int) -> None:
    """Undo a change."""
    for slot in range(size):
        row, body = k[KEPT] + 3 * slot, k[k[GROUP] + slot]
        s[k[X] + body], s[k[Y] + body] = s[row], s[row + 1]
        k[k[AT] + body] = int(s[row + 2])

"""Trying a change of one body, the most frequent kind: nothing is noted until it is accepted.

A net of two ends is priced by the terminal at its other end, which stays; a change that fails, as
most do, leaves no trace but the place to be put back.
"""

from __future__ import annotations

from math import inf

from layout_engine.arranging.compiled import inlined
from layout_engine.arranging.grouping import marked
from layout_engine.arranging.meeting import depth_off_ground
from layout_engine.arranging.moving import depths_of, wish_price
from layout_engine.arranging.pricing import (
    link_cost,
    meet,
    net_now,
    own_price,
    part_from_all,
    place_bounds,
    place_pins,
    wish_short,
)
from layout_engine.arranging.vectors import (
    AT,
    BODY_N,
    BODY_NW,
    FACE,
    KEPT,
    LINK_N,
    LINK_NW,
    LOAD,
    NET_COST,
    NETS_OF,
    NEW_DEPTH,
    NEW_LIST,
    NEW_MET,
    NEW_NET,
    NEW_OUT,
    NEW_SHORT,
    OF_NETS,
    OF_WISHES,
    OUT,
    PIN,
    PIN_W,
    PINS,
    PINS_TRIED,
    POSE_N,
    POSE_NW,
    SCALE,
    SHORT,
    WISHES_OF,
    WORK,
    Floats,
    Ints,
    X,
    Y,
)


@inlined
def before_alone(f: Floats, n: Ints, s: Floats, k: Ints, body: int, heavy: float) -> float:
    """Priced figures of a body, from those kept with the state."""
    total = own_price(f, n, k[k[AT] + body], s[k[X] + body], s[k[Y] + body])
    total += heavy * (f[n[SCALE] + body] * s[k[OUT] + body] + s[k[LOAD] + body])
    row, costs = n[BODY_N] + body * BODY_NW, k[NET_COST]
    for entry in range(n[NETS_OF] + n[row + OF_NETS], n[NETS_OF] + n[row + OF_NETS + 1]):
        total += s[costs + n[entry]]
    for entry in range(n[row + OF_WISHES], n[row + OF_WISHES + 1]):
        wish = n[n[WISHES_OF] + entry]
        total += wish_price(f, n, wish, s[k[SHORT] + wish], heavy)
    return total


@inlined
def after_alone(f: Floats, n: Ints, s: Floats, k: Ints, body: int, heavy: float, limit: float
                ) -> float:
    """The same figures where the body stands now; given up, as inf, once over `limit`."""
    pose, x, y = k[k[AT] + body], s[k[X] + body], s[k[Y] + body]
    k[PINS_TRIED] = 0
    out = depth_off_ground(f, n, pose, x, y)
    s[k[NEW_OUT]] = out
    total = own_price(f, n, pose, x, y) + heavy * f[n[SCALE] + body] * out
    if total <= limit:
        total = _nets_alone(f, n, s, k, body, total, limit)
    if total <= limit:
        mark = marked(n, k, 1)
        total = depths_of(f, n, s, k, 0, heavy, total, limit, mark, mark)
    row = n[BODY_N] + body * BODY_NW + OF_WISHES
    for entry in range(n[row], n[row + 1]):
        if total <= limit:
            wish = n[n[WISHES_OF] + entry]
            short = wish_short(f, n, s, k, wish)
            s[k[NEW_SHORT] + entry - n[row]] = short
            total += wish_price(f, n, wish, short, heavy)
    return total if total <= limit else inf


@inlined
def _nets_alone(f: Floats, n: Ints, s: Floats, k: Ints, body: int, total: float, limit: float
                ) -> float:
    """Add the nets of a body, as far as `limit`; note them."""
    row, own = n[BODY_N] + body * BODY_NW + OF_NETS, n[POSE_N] + k[k[AT] + body] * POSE_NW
    pins, face = n[PIN] + n[own + PINS] * PIN_W, n[own + FACE]
    x, y, costs = s[k[X] + body], s[k[Y] + body], k[NEW_NET]
    first, last = n[row], n[row + 1]
    entry = first
    while entry < last and total <= limit:
        if n[n[LINK_N] + entry * LINK_NW] < 0:  # of more ends
            if k[PINS_TRIED] == 0:
                place_pins(f, n, s, k, body)
                k[PINS_TRIED] = 1
            cost = net_now(f, n, s, k, n[n[NETS_OF] + entry])
        else:
            cost = link_cost(f, n, s, k, entry, x, y, pins, face)
        s[costs + entry - first] = cost
        total += cost
        entry += 1
    k[WORK] += entry - first
    return total


@inlined
def accept_alone(f: Floats, n: Ints, s: Floats, k: Ints, body: int) -> None:
    """Make the figures of a tried change those of the state."""
    row = n[BODY_N] + body * BODY_NW
    place_bounds(f, n, s, k, body)
    place_pins(f, n, s, k, body)
    first = n[row + OF_NETS]
    for entry in range(first, n[row + OF_NETS + 1]):
        s[k[NET_COST] + n[n[NETS_OF] + entry]] = s[k[NEW_NET] + entry - first]
    first = n[row + OF_WISHES]
    for entry in range(first, n[row + OF_WISHES + 1]):
        s[k[SHORT] + n[n[WISHES_OF] + entry]] = s[k[NEW_SHORT] + entry - first]
    part_from_all(f, n, s, k, body)
    s[k[OUT] + body] = s[k[NEW_OUT]]
    for entry in range(k[k[NEW_MET]]):
        meet(f, n, s, k, body, k[k[NEW_LIST] + entry], s[k[NEW_DEPTH] + entry])


@inlined
def put_back_alone(f: Floats, n: Ints, s: Floats, k: Ints, body: int) -> None:
    """Undo a change."""
    row = k[KEPT]
    s[k[X] + body], s[k[Y] + body] = s[row], s[row + 1]
    k[k[AT] + body] = int(s[row + 2])
    if k[PINS_TRIED]:
        place_pins(f, n, s, k, body)

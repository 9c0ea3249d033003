"""What a state costs: nets, wishes, and how far it is from being allowed."""

from __future__ import annotations

from math import inf

from layout_engine.arranging.compiled import compiled, inlined
from layout_engine.arranging.meeting import (
    depth_between,
    depth_off_ground,
    gap_between,
    metal_distance,
    outline_gap,
)
from layout_engine.arranging.vectors import (
    AT,
    BODIES,
    BODY_N,
    BODY_NW,
    COST,
    END_N,
    END_NW,
    ENDS_OF,
    FACE,
    HIGH,
    HINGE,
    HINGE_W,
    HINGES,
    LEFT,
    LINK,
    LINK_N,
    LINK_NW,
    LINK_W,
    LOAD,
    LOW,
    MET,
    MET_LIST,
    MOVABLE,
    NET,
    NET_COST,
    NET_N,
    NET_NW,
    NET_W,
    NETS,
    OF_ENDS,
    ON,
    OTHERS,
    OUT,
    OVERLAP,
    PIN,
    PIN_W,
    PIN_X,
    PIN_Y,
    PINS,
    POSE,
    POSE_N,
    POSE_NW,
    POSE_W,
    PRESSURE,
    RIGHT,
    SCALE,
    SHORT,
    WISH,
    WISH_N,
    WISH_NW,
    WISH_W,
    WISHES,
    WITHIN,
    Floats,
    Ints,
    X,
    Y,
)

# Times as heavy as one between two bodies that may move an overlap with what stays is: that cannot
# give way. While overlaps are light a body that wants to be where something stands would else pay
# for standing half in it all the way down, and everything else is arranged round that. Two jobs of
# 25 modules on one face, six seeds, the better of two chains, over the best seen: once 0 to 8.1 %
# and 0.1 to 5.4, 3 times 0 to 3.8 and 1.2 to 3.8, 6 times 0 to 0.5 and 0.2 to 1.9; 15 times as 6.
STAYS_FIRM = 6.0
FIRM = 2.0  # price of overlap that is given room only where it must be, of the sum of all weights
NEAR, METAL_APART, APART, SPACED = range(4)  # kinds of wishes between bodies; SPACED: on a face


@compiled
def net_cost(f: Floats, n: Ints, s: Floats, k: Ints, net: int) -> float:
    """Weighted half perimeter of a net, with its price for ends on two faces.

    A net with an end in the tray costs nothing.
    """
    row, ends = n[NET] + net * NET_W, n[NET_N] + net * NET_NW
    x0, y0, x1, y1 = f[row], f[row + 1], f[row + 2], f[row + 3]
    face, crossed = n[ends + 2], False
    for end in range(n[ends], n[ends + 1]):
        body = n[n[END_N] + end * END_NW]
        if k[k[ON] + body] == 0:
            return 0.0
        own = n[POSE_N] + k[k[AT] + body] * POSE_NW
        pin = n[PIN] + (n[own + PINS] + n[n[END_N] + end * END_NW + 1]) * PIN_W
        x, y = s[k[X] + body] + f[pin], s[k[Y] + body] + f[pin + 1]
        x0, x1, y0, y1 = min(x0, x), max(x1, x), min(y0, y), max(y1, y)
        if face >= 0 and face != n[own + FACE]:
            crossed = True
        elif end == n[ends] and face < 0 and n[ends + 1] - n[ends] > 1:
            face = n[own + FACE]
    if x1 < x0:
        return 0.0
    return f[row + 4] * (x1 - x0 + y1 - y0) + (f[row + 5] if crossed else 0.0)


@inlined
def net_now(f: Floats, n: Ints, s: Floats, k: Ints, net: int) -> float:
    """The same from the noted places of terminals, while every body is on the plate."""
    row, ends = n[NET] + net * NET_W, n[NET_N] + net * NET_NW
    x0, y0, x1, y1 = f[row], f[row + 1], f[row + 2], f[row + 3]
    across, along = k[PIN_X], k[PIN_Y]
    for end in range(n[ends], n[ends + 1]):
        x, y = s[across + end], s[along + end]
        x0 = x if x < x0 else x0
        x1 = x if x > x1 else x1
        y0 = y if y < y0 else y0
        y1 = y if y > y1 else y1
    cost = f[row + 4] * (x1 - x0 + y1 - y0)
    if f[row + 5] > 0.0:
        face = n[ends + 2]
        for end in range(n[ends], n[ends + 1]):
            own = n[n[POSE_N] + k[k[AT] + n[n[END_N] + end * END_NW]] * POSE_NW + FACE]
            if face >= 0 and own != face:
                return cost + f[row + 5]
            face = own
    return cost


@inlined
def link_cost(f: Floats, n: Ints, s: Floats, k: Ints, entry: int,  # noqa: PLR0913
              x: float, y: float, pins: int, face: int) -> float:
    """What a net of two ends costs a body, by the noted place of the terminal at its other end.

    Args:
        f: the problem's floats.
        n: its integers.
        s: the state's floats.
        k: its integers.
        entry: number of the net among the bodies' nets.
        x: of the body's centre, mm.
        y: of it.
        pins: where the terminals of its pose begin in f.
        face: that it stands on.
    """
    mark, link = n[LINK_N] + entry * LINK_NW, n[LINK] + entry * LINK_W
    end, pin = n[mark + 1], pins + n[mark] * PIN_W
    if end < 0:
        return f[link] * (abs(x + f[pin] - f[link + 2]) + abs(y + f[pin + 1] - f[link + 3]))
    cost = f[link] * (abs(x + f[pin] - s[k[PIN_X] + end]) + abs(y + f[pin + 1] - s[k[PIN_Y] + end]))
    if n[n[POSE_N] + k[k[AT] + n[mark + 2]] * POSE_NW + FACE] != face:
        cost += f[link + 1]
    return cost


@inlined
def own_price(f: Floats, n: Ints, pose: int, x: float, y: float) -> float:
    """Price of a body's own wishes in this pose at (x, y)."""
    total = f[n[POSE] + pose * POSE_W + COST]
    rows = n[POSE_N] + pose * POSE_NW + HINGES
    group, worst = -1.0, 0.0
    for hinge in range(n[rows], n[rows + 1]):
        h = n[HINGE] + hinge * HINGE_W
        if f[h + 4] != group:
            total += worst
            group, worst = f[h + 4], 0.0
        worst = max(worst, f[h + 3] * (f[h] * x + f[h + 1] * y + f[h + 2]))
    return total + worst


@inlined
def face_of(n: Ints, k: Ints, body: int) -> int:
    """The face that a body stands on."""
    return n[n[POSE_N] + k[k[AT] + body] * POSE_NW + FACE]


@compiled
def wish_short(f: Floats, n: Ints, s: Floats, k: Ints, wish: int) -> float:
    """By how many mm a wish between bodies is missed."""
    row = n[WISH_N] + wish * WISH_NW
    owner, wanted = n[row + 1], f[n[WISH] + wish * WISH_W]
    if k[k[ON] + owner] == 0:
        return 0.0
    short = 0.0
    for entry in range(n[row + 2], n[row + 3]):
        other = n[n[OTHERS] + entry]
        if k[k[ON] + other] == 0:
            continue
        dx, dy = s[k[X] + other] - s[k[X] + owner], s[k[Y] + other] - s[k[Y] + owner]
        if n[row] == NEAR:
            apart = outline_gap(f, n, k[k[AT] + owner], k[k[AT] + other], dx, dy)
            short = max(short, apart - wanted)
        elif n[row] == SPACED and face_of(n, k, owner) != face_of(n, k, other):
            continue
        elif n[row] >= APART:
            apart = gap_between(f, n, k[k[AT] + owner], k[k[AT] + other], dx, dy)
            short = max(short, wanted - apart)
        else:
            apart = metal_distance(f, n, k[k[AT] + owner], k[k[AT] + other], dx, dy)
            short = max(short, wanted - apart)
    return short


@inlined
def place_pins(f: Floats, n: Ints, s: Floats, k: Ints, body: int) -> None:
    """Note where a body's terminals are."""
    x, y = s[k[X] + body], s[k[Y] + body]
    pins = n[n[POSE_N] + k[k[AT] + body] * POSE_NW + PINS]
    row, across, along = n[BODY_N] + body * BODY_NW + OF_ENDS, k[PIN_X], k[PIN_Y]
    for entry in range(n[ENDS_OF] + n[row], n[ENDS_OF] + n[row + 1]):
        end = n[entry]
        pin = n[PIN] + (pins + n[n[END_N] + end * END_NW + 1]) * PIN_W
        s[across + end], s[along + end] = x + f[pin], y + f[pin + 1]


@inlined
def place_bounds(f: Floats, n: Ints, s: Floats, k: Ints, body: int) -> None:
    """Note the bounds of a body with the distances that it needs."""
    x, y = s[k[X] + body], s[k[Y] + body]
    around = n[POSE] + k[k[AT] + body] * POSE_W + WITHIN
    s[k[LEFT] + body], s[k[LOW] + body] = x + f[around], y + f[around + 1]
    s[k[RIGHT] + body], s[k[HIGH] + body] = x + f[around + 2], y + f[around + 3]


@inlined
def overlap_scale(f: Floats, n: Ints, body: int, other: int) -> float:
    """Weight of an overlap of a movable body and another one, no pressure on."""
    if other >= n[MOVABLE]:
        return f[n[SCALE] + body] * STAYS_FIRM
    return max(f[n[SCALE] + body], f[n[SCALE] + other])


@inlined
def overlap_weight(f: Floats, n: Ints, s: Floats, k: Ints, body: int, other: int) -> float:
    """Weight of an overlap of two bodies."""
    return overlap_scale(f, n, body, other) * s[k[PRESSURE] + body * n[BODIES] + other]


@compiled
def meet(f: Floats, n: Ints, s: Floats, k: Ints, body: int, other: int, depth: float) -> None:
    """Note that a body stands that deep in another one."""
    count, movable = n[BODIES], n[MOVABLE]
    load = depth * overlap_weight(f, n, s, k, body, other)
    s[k[OVERLAP] + body * count + other] = depth
    k[k[MET_LIST] + body * count + k[k[MET] + body]] = other
    k[k[MET] + body] += 1
    s[k[LOAD] + body] += load
    if other < movable:
        s[k[OVERLAP] + other * count + body] = depth
        k[k[MET_LIST] + other * count + k[k[MET] + other]] = body
        k[k[MET] + other] += 1
        s[k[LOAD] + other] += load


@compiled
def part_from_all(f: Floats, n: Ints, s: Floats, k: Ints, body: int) -> None:
    """Forget what a body stands in."""
    count, movable = n[BODIES], n[MOVABLE]
    for entry in range(k[k[MET] + body]):
        other = k[k[MET_LIST] + body * count + entry]
        if other < movable:
            depth = s[k[OVERLAP] + other * count + body]
            s[k[LOAD] + other] -= depth * overlap_weight(f, n, s, k, body, other)
            s[k[OVERLAP] + other * count + body] = 0.0
            row, last = k[MET_LIST] + other * count, k[k[MET] + other] - 1
            for slot in range(last):
                if k[row + slot] == body:
                    k[row + slot] = k[row + last]
                    break
            k[k[MET] + other] = last
            if last == 0:
                s[k[LOAD] + other] = 0.0
        s[k[OVERLAP] + body * count + other] = 0.0
    k[k[MET] + body] = 0
    s[k[LOAD] + body] = 0.0


@compiled
def refresh(f: Floats, n: Ints, s: Floats, k: Ints) -> None:
    """Compute every figure of a state anew from where things stand."""
    movable, count = n[MOVABLE], n[BODIES]
    for body in range(movable):
        k[k[MET] + body] = 0
        s[k[LOAD] + body] = 0.0
    for entry in range(movable * count):
        s[k[OVERLAP] + entry] = 0.0
    for body in range(count):
        place_pins(f, n, s, k, body)
        place_bounds(f, n, s, k, body)
    for body in range(movable):
        on, pose = k[k[ON] + body], k[k[AT] + body]
        x, y = s[k[X] + body], s[k[Y] + body]
        s[k[OUT] + body] = depth_off_ground(f, n, pose, x, y) if on else 0.0
        for other in range(body + 1, count):
            if on and k[k[ON] + other]:
                depth = depth_between(f, n, pose, k[k[AT] + other],
                                      s[k[X] + other] - x, s[k[Y] + other] - y, inf)
                if depth > 0.0:
                    meet(f, n, s, k, body, other, depth)
    for net in range(n[NETS]):
        s[k[NET_COST] + net] = net_cost(f, n, s, k, net)
    for wish in range(n[WISHES]):
        s[k[SHORT] + wish] = wish_short(f, n, s, k, wish)


@compiled
def fault(f: Floats, n: Ints, s: Floats, k: Ints) -> float:
    """Sum of all depths that are forbidden, mm; 0 for an allowed state."""
    movable, count, total = n[MOVABLE], n[BODIES], 0.0
    for body in range(movable):
        total += s[k[OUT] + body]
        for entry in range(k[k[MET] + body]):
            other = k[k[MET_LIST] + body * count + entry]
            if other >= movable or other < body:
                total += s[k[OVERLAP] + body * count + other]
    for wish in range(n[WISHES]):
        if f[n[WISH] + wish * WISH_W + 2] > 0.0:
            total += s[k[SHORT] + wish]
    return total


@compiled
def burden(f: Floats, n: Ints, s: Floats, k: Ints) -> float:
    """What is forbidden as the search prices it, for a weight of overlaps of 1."""
    movable, count, total = n[MOVABLE], n[BODIES], 0.0
    for body in range(movable):
        total += f[n[SCALE] + body] * s[k[OUT] + body]
        for entry in range(k[k[MET] + body]):
            other = k[k[MET_LIST] + body * count + entry]
            if other >= movable or other < body:
                total += (overlap_weight(f, n, s, k, body, other)
                          * s[k[OVERLAP] + body * count + other])
    for wish in range(n[WISHES]):
        total += f[n[WISH] + wish * WISH_W + 2] * s[k[SHORT] + wish]
    return total


@compiled
def firmness(f: Floats, n: Ints) -> float:
    """Price of a mm of overlap: more than all nets could gain by it."""
    total = 0.0
    for body in range(n[MOVABLE]):
        total += f[n[SCALE] + body]
    return FIRM * total


@inlined
def pressed(cost: float, load: float, heavy: float, heat: float) -> float:
    """What a state of this price and burden is worth at a temperature, over it.

    Args:
        cost: its price.
        load: its burden.
        heavy: weight of overlaps.
        heat: the temperature.
    """
    return (cost + heavy * load) / heat


@compiled
def price(f: Floats, n: Ints, s: Floats, k: Ints) -> float:
    """Cost of a state: nets, and wishes that are not musts."""
    total = 0.0
    for net in range(n[NETS]):
        total += s[k[NET_COST] + net]
    for wish in range(n[WISHES]):
        row = n[WISH] + wish * WISH_W
        if f[row + 2] == 0.0:
            total += f[row + 1] * s[k[SHORT] + wish]
    for body in range(n[MOVABLE]):
        if k[k[ON] + body]:
            total += own_price(f, n, k[k[AT] + body], s[k[X] + body], s[k[Y] + body])
    return total

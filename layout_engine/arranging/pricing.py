"""What a state costs: nets, wishes, and how far it is from being allowed."""

from __future__ import annotations

from layout_engine.arranging.compiled import compiled
from layout_engine.arranging.meeting import (
    depth_between,
    depth_off_ground,
    gap_between,
    metal_distance,
)
from layout_engine.arranging.vectors import (
    AT,
    BODIES,
    COST,
    END_N,
    END_NW,
    FACE,
    HINGE,
    HINGE_W,
    HINGES,
    MOVABLE,
    NET,
    NET_COST,
    NET_N,
    NET_NW,
    NET_W,
    NETS,
    ON,
    OTHERS,
    OUT,
    OVERLAP,
    PIN,
    PIN_W,
    PINS,
    POSE,
    POSE_N,
    POSE_NW,
    POSE_W,
    SHORT,
    WISH,
    WISH_N,
    WISH_NW,
    WISH_W,
    WISHES,
    Floats,
    Ints,
    X,
    Y,
)

NEAR, METAL_APART, APART = 0, 1, 2  # kinds of wishes between bodies


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


@compiled
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
            apart = gap_between(f, n, k[k[AT] + owner], k[k[AT] + other], dx, dy)
            short = max(short, apart - wanted)
        elif n[row] == APART:
            apart = gap_between(f, n, k[k[AT] + owner], k[k[AT] + other], dx, dy)
            short = max(short, wanted - apart)
        else:
            apart = metal_distance(f, n, k[k[AT] + owner], k[k[AT] + other], dx, dy)
            short = max(short, wanted - apart)
    return short


@compiled
def refresh(f: Floats, n: Ints, s: Floats, k: Ints) -> None:
    """Compute every figure of a state anew from where things stand."""
    movable = n[MOVABLE]
    for body in range(movable):
        on, pose = k[k[ON] + body], k[k[AT] + body]
        x, y = s[k[X] + body], s[k[Y] + body]
        s[k[OUT] + body] = depth_off_ground(f, n, pose, x, y) if on else 0.0
        for other in range(n[BODIES]):
            depth = 0.0
            if other != body and on and k[k[ON] + other]:
                depth = depth_between(f, n, pose, k[k[AT] + other],
                                      s[k[X] + other] - x, s[k[Y] + other] - y)
            s[k[OVERLAP] + other * movable + body] = depth
    for net in range(n[NETS]):
        s[k[NET_COST] + net] = net_cost(f, n, s, k, net)
    for wish in range(n[WISHES]):
        s[k[SHORT] + wish] = wish_short(f, n, s, k, wish)


@compiled
def fault(f: Floats, n: Ints, s: Floats, k: Ints) -> float:
    """Sum of all depths that are forbidden, mm; 0 for an allowed state."""
    movable, total = n[MOVABLE], 0.0
    for body in range(movable):
        total += s[k[OUT] + body]
        for other in range(n[BODIES]):
            if other >= movable or other < body:
                total += s[k[OVERLAP] + other * movable + body]
    for wish in range(n[WISHES]):
        if f[n[WISH] + wish * WISH_W + 2] > 0.0:
            total += s[k[SHORT] + wish]
    return total


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

"""Groups of bodies that hang together by short nets, moved as one.

Once heavy nets are short, their bodies cannot part any more without a price that no temperature
pays; what is left to find is where such a group stands, and how it lies. Groups are gathered by
chance, the heavier and shorter a net the surer, as clusters are in Wolff, Phys. Rev. Lett. 62
(1989) 361.
"""

from __future__ import annotations

from math import exp, inf

from layout_engine.arranging.compiled import compiled, inlined
from layout_engine.arranging.moving import draw
from layout_engine.arranging.vectors import (
    AT,
    BODIES,
    BODY_N,
    BODY_NW,
    END_N,
    END_NW,
    GROUP,
    MEMBER,
    MIRROR,
    MOST_GROUP,
    MOVABLE,
    NET,
    NET_COST,
    NET_N,
    NET_NW,
    NET_W,
    NETS_OF,
    NEXT,
    OF_NETS,
    POSE,
    POSE_N,
    POSE_NW,
    POSE_W,
    SPAN,
    TRY,
    WORK,
    Floats,
    Ints,
    Words,
    X,
    Y,
)

MOST_ENDS = 4  # nets of more ends hold no group together
SURE = 12.0  # temperatures: what saves more takes its ends along without a draw
TURN_OVER = 0.3  # share of the moves in which a group goes to the other face, where it can


@inlined
def marked(n: Ints, k: Ints, size: int) -> int:
    """Mark the first `size` bodies of the group as its members; their mark."""
    k[TRY] += 1
    mark = k[TRY] * n[BODIES]
    for slot in range(size):
        k[k[MEMBER] + k[k[GROUP] + slot]] = mark
    return mark


@compiled
def gathered(f: Floats, n: Ints, s: Floats, k: Ints, random: Words, heat: float,
             reach: float) -> int:
    """Gather a group round the body in the first slot; its size.

    A net takes its other ends along by chance, by what it costs less than if it were `reach` mm
    long: surely where that is much beside `heat`, never where it costs more.
    """
    mark, size, at = marked(n, k, 1), 1, 0
    while at < size:
        row = n[BODY_N] + k[k[GROUP] + at] * BODY_NW + OF_NETS
        at += 1
        k[WORK] += n[row + 1] - n[row]
        for entry in range(n[NETS_OF] + n[row], n[NETS_OF] + n[row + 1]):
            net = n[entry]
            saved = f[n[NET] + net * NET_W + 4] * reach - s[k[NET_COST] + net]
            if saved <= 0.0:
                continue
            first, last = n[n[NET_N] + net * NET_NW], n[n[NET_N] + net * NET_NW + 1]
            if last - first > MOST_ENDS or _is_gathered(n, k, first, last, mark):
                continue
            if saved < SURE * heat and draw(random) < exp(-saved / heat):
                continue
            for end in range(first, last):
                other = n[n[END_N] + end * END_NW]
                if other < n[MOVABLE] and k[k[MEMBER] + other] != mark:
                    if size == MOST_GROUP:
                        return size
                    k[k[MEMBER] + other] = mark
                    k[k[GROUP] + size] = other
                    size += 1
    return size


@inlined
def _is_gathered(n: Ints, k: Ints, first: int, last: int, mark: int) -> bool:
    """Whether every end of a net belongs to the group, or stays."""
    for end in range(first, last):
        other = n[n[END_N] + end * END_NW]
        if other < n[MOVABLE] and k[k[MEMBER] + other] != mark:
            return False
    return True


@inlined
def turns_over(n: Ints, k: Ints, size: int) -> bool:
    """Whether each of a group can stand on the other face, turned over."""
    for slot in range(size):
        if n[n[POSE_N] + k[k[AT] + k[k[GROUP] + slot]] * POSE_NW + MIRROR] < 0:
            return False
    return True


@compiled
def move_group(f: Floats, n: Ints, s: Floats, k: Ints, random: Words, size: int,  # noqa: PLR0913
               window: float, turns: int, over: bool) -> bool:
    """Move a group as one; whether the bounds of its bodies' grounds have room for it.

    Args:
        f: the problem's floats.
        n: its integers.
        s: the state's floats, changed in place; figures are not refreshed.
        k: its integers.
        random: state of the random numbers.
        size: bodies of the group.
        window: how far it is shifted at most each way, mm; farther where it must be to fit.
        turns: quarter turns about its middle.
        over: whether to turn it over onto the other face, which each of it can be.
    """
    x0, y0, x1, y1 = inf, inf, -inf, -inf
    for slot in range(size):
        body = k[k[GROUP] + slot]
        x, y = s[k[X] + body], s[k[Y] + body]
        x0, y0, x1, y1 = min(x0, x), min(y0, y), max(x1, x), max(y1, y)
    u, v = (x0 + x1) / 2, (y0 + y1) / 2
    x0, y0, x1, y1 = -inf, -inf, inf, inf
    for slot in range(size):
        body = k[k[GROUP] + slot]
        pose, x, y = k[k[AT] + body], s[k[X] + body] - u, s[k[Y] + body] - v
        if over:
            pose, x = n[n[POSE_N] + pose * POSE_NW + MIRROR], -x
        for _ in range(turns):
            pose = n[n[POSE_N] + pose * POSE_NW + NEXT]
            x, y = -y, x
        x, y, span = u + x, v + y, n[POSE] + pose * POSE_W + SPAN
        s[k[X] + body], s[k[Y] + body], k[k[AT] + body] = x, y, pose
        x0, x1 = max(x0, f[span] - x), min(x1, f[span + 2] - x)
        y0, y1 = max(y0, f[span + 1] - y), min(y1, f[span + 3] - y)
    dx, dy = (draw(random) - 0.5) * 2.0 * window, (draw(random) - 0.5) * 2.0 * window
    dx, dy = min(max(dx, x0), x1), min(max(dy, y0), y1)
    for slot in range(size):
        body = k[k[GROUP] + slot]
        s[k[X] + body] += dx
        s[k[Y] + body] += dy
    return x0 <= x1 and y0 <= y1

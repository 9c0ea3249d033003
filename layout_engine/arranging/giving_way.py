"""Bodies that make way: all are moved at once to where they are apart and cheapest.

Each two pieces keep the direction in which they are farthest apart, or least deep in each other.
First along one axis, then along the other, the other coordinate held: so every distance between
two bodies, and to the edge, is one between two places on a line, each terminal's way a price for a
distance, and the places are those of a min-cost circulation. For twelve bodies that takes 15
microseconds; linear programs (`sliding.py`), which move them along both at once, take 2 to 4 ms
until they come to the same.
"""

from __future__ import annotations

from math import inf, sqrt

import numpy as np

from layout_engine.arranging.circulation import (
    ARCS,
    PLACE,
    add_arc,
    begin,
    place_cheapest,
    room_for,
)
from layout_engine.arranging.compiled import compiled, inlined
from layout_engine.arranging.pricing import METAL_APART, NEAR, SPACED, face_of, firmness
from layout_engine.arranging.puzzle import Puzzle
from layout_engine.arranging.touching import RELATION_W, relations
from layout_engine.arranging.vectors import (
    ANTENNA,
    AT,
    BODIES,
    END_N,
    END_NW,
    HINGE,
    HINGE_W,
    HINGES,
    METAL,
    METAL_W,
    METALS,
    MOVABLE,
    NET,
    NET_N,
    NET_NW,
    NET_W,
    NETS,
    OTHERS,
    OUTLINE,
    PIN,
    PIN_W,
    PINS,
    PLANE,
    PLANE_W,
    PLANES,
    POSE,
    POSE_N,
    POSE_NW,
    POSE_W,
    WISH,
    WISH_N,
    WISH_NW,
    WISH_W,
    WISHES,
    WORK,
    Floats,
    Ints,
    X,
    Y,
)

WATCHED_MM = 60.0  # pieces farther apart are not looked at; they may meet, and are seen after that
LEVEL = 0.05  # a direction that goes along an axis by less says nothing about it
ARCS_A_UNIT, ARCS_AT_LEAST = 16, 60  # a change of the tree, in units of pricing one net
BEYOND_FIRM = 2.0  # times as firm as bodies against each other the edge of the ground is


def room_for_ways(puzzle: Puzzle) -> tuple[Floats, Floats, Ints]:
    """Room for `make_way`: rows of relations, and vectors of a circulation."""
    bodies, movable = len(puzzle.bodies), puzzle.movable
    pieces = np.array([max(len(puzzle.poses[pose].pieces) for pose in body.poses)
                       for body in puzzle.bodies], dtype=np.int64)
    pairs = sum(int(pieces[one] * pieces[one + 1:].sum()) for one in range(movable))
    ends = sum(len(net.ends) + len(net.fixed) + 1 for net in puzzle.nets)
    hinges = sum(max(len(puzzle.poses[pose].hinges) for pose in body.poses)
                 for body in puzzle.bodies[:movable])
    metal = max((len(pose.metal) for pose in puzzle.poses), default=0)
    wished = sum(len(wish.others) * max(metal, 1) for wish in puzzle.wishes)
    nodes = movable + 1 + 2 * len(puzzle.nets)
    c, g = room_for(nodes, pairs + 2 * bodies + 2 * ends + hinges + 2 * wished)
    return np.empty((pairs, RELATION_W)), c, g


@compiled
def make_way(f: Floats, n: Ints, s: Floats, k: Ints, rows: Floats, c: Floats, g: Ints) -> bool:
    """Move all bodies, which must be on the plate, along x and then along y; whether it was done.

    Figures are not refreshed.

    Args:
        f: the problem's floats.
        n: its integers.
        s: the state's floats, changed in place.
        k: its integers.
        rows: room, by `room_for_ways`.
        c: room.
        g: room.
    """
    firm = firmness(f, n)
    count = relations(f, n, s, k, WATCHED_MM, rows, False)
    k[WORK] += n[MOVABLE] * n[BODIES] + count
    for axis in range(2):
        block = k[X] if axis == 0 else k[Y]
        begin(g, 1 + n[MOVABLE] + 2 * _spans(f, n))
        c[g[PLACE]] = 0.0
        for body in range(n[MOVABLE]):
            c[g[PLACE] + body + 1] = s[block + body]
        _price_nets(f, n, s, k, c, g, axis)
        _keep_apart(n, s, k, rows, count, c, g, axis, firm)
        _keep_ground(f, n, s, k, c, g, axis, firm)
        _price_wishes(f, n, s, k, c, g, axis, firm)
        pivots = place_cheapest(c, g)
        if pivots < 0:
            return False
        k[WORK] += pivots * (g[ARCS] + ARCS_AT_LEAST) // ARCS_A_UNIT
        for body in range(n[MOVABLE]):
            s[block + body] = c[g[PLACE] + body + 1]
    return True


@inlined
def _is_span(f: Floats, n: Ints, net: int) -> bool:
    """Whether a net joins other than two points: its length is then that from end to end."""
    row = n[NET_N] + net * NET_NW
    box, ends = n[NET] + net * NET_W, n[row + 1] - n[row]
    stays = f[box] < inf
    return ends + stays > 2 or (stays and (f[box + 2] > f[box] or f[box + 3] > f[box + 1]))


@inlined
def _spans(f: Floats, n: Ints) -> int:
    """How many nets are spans."""
    count = 0
    for net in range(n[NETS]):
        count += _is_span(f, n, net)
    return count


@inlined
def _pin(f: Floats, n: Ints, s: Floats, k: Ints, end: int, axis: int) -> tuple[int, float]:
    """The node of a net's end, and how far its terminal lies beyond it."""
    row = n[END_N] + end * END_NW
    body = n[row]
    pins = n[n[POSE_N] + k[k[AT] + body] * POSE_NW + PINS]
    off = f[n[PIN] + (pins + n[row + 1]) * PIN_W + axis]
    if body < n[MOVABLE]:
        return body + 1, off
    return 0, off + s[(k[X] if axis == 0 else k[Y]) + body]


@inlined
def _price_nets(f: Floats, n: Ints, s: Floats, k: Ints, c: Floats, g: Ints,
                axis: int) -> None:
    """Add what the nets cost along an axis."""
    node = n[MOVABLE] + 1
    for net in range(n[NETS]):
        row, box = n[NET_N] + net * NET_NW, n[NET] + net * NET_W
        first, last, weight = n[row], n[row + 1], f[box + 4]
        if _is_span(f, n, net):
            _price_span(f, n, s, k, c, g, axis, net, node)
            node += 2
        elif last - first + (f[box] < inf) == 2:
            one, off = _pin(f, n, s, k, first, axis)
            other, off_other = 0, f[box + axis]
            if last - first == 2:
                other, off_other = _pin(f, n, s, k, first + 1, axis)
            if one != other:
                add_arc(c, g, one, other, off - off_other, weight)
                add_arc(c, g, other, one, off_other - off, weight)


@inlined
def _price_span(f: Floats, n: Ints, s: Floats, k: Ints, c: Floats, g: Ints,  # noqa: PLR0913
                axis: int, net: int, high: int) -> None:
    """Add what a net costs from its lowest end, a node of its own, to its highest, another one."""
    row, box = n[NET_N] + net * NET_NW, n[NET] + net * NET_W
    weight, low, top, bottom = f[box + 4], high + 1, f[box + 2 + axis], f[box + axis]
    add_arc(c, g, high, low, 0.0, weight)
    if f[box] < inf:
        add_arc(c, g, 0, high, top, 2.0 * weight)
        add_arc(c, g, low, 0, -bottom, 2.0 * weight)
    for end in range(n[row], n[row + 1]):
        node, off = _pin(f, n, s, k, end, axis)
        add_arc(c, g, node, high, off, 2.0 * weight)
        add_arc(c, g, low, node, -off, 2.0 * weight)
        place = c[g[PLACE] + node] + off
        top, bottom = max(top, place), min(bottom, place)
    c[g[PLACE] + high], c[g[PLACE] + low] = top, bottom


@inlined
def _add_between(n: Ints, s: Floats, c: Floats, g: Ints, block: int,  # noqa: PLR0913
                 one: int, other: int, least: float, price: float) -> None:
    """Want a body at least so far beyond another one; `block`: of their places in s."""
    tail, head = one + 1, other + 1
    if one >= n[MOVABLE]:
        tail, least = 0, least + s[block + one]
    if other >= n[MOVABLE]:
        head, least = 0, least - s[block + other]
    add_arc(c, g, tail, head, least, price)


@inlined
def _keep_apart(n: Ints, s: Floats, k: Ints, rows: Floats, count: int,  # noqa: PLR0913
                c: Floats, g: Ints, axis: int, firm: float) -> None:
    """Add what the relations say along an axis, the other coordinate held."""
    block, held = (k[X], k[Y]) if axis == 0 else (k[Y], k[X])
    for row in range(count):
        along, across = rows[row, 2 + axis], rows[row, 3 - axis]
        one, other = int(rows[row, 0]), int(rows[row, 1])
        least = rows[row, 4] - across * (s[held + other] - s[held + one])
        if along > LEVEL:
            _add_between(n, s, c, g, block, one, other, least / along, firm)
        elif along < -LEVEL:
            _add_between(n, s, c, g, block, other, one, -least / along, firm)


@inlined
def _keep_ground(f: Floats, n: Ints, s: Floats, k: Ints, c: Floats, g: Ints,
                 axis: int, firm: float) -> None:
    """Add the ground of each body along an axis, the other coordinate held, and its own wishes."""
    held = k[Y] if axis == 0 else k[X]
    for body in range(n[MOVABLE]):
        row, place = n[POSE_N] + k[k[AT] + body] * POSE_NW, s[held + body]
        low, high = -inf, inf
        for plane in range(n[row + PLANES], n[row + PLANES + 1]):
            at = n[PLANE] + plane * PLANE_W
            along, left = f[at + axis], f[at + 2] - f[at + 1 - axis] * place
            if along > LEVEL:
                high = min(high, left / along)
            elif along < -LEVEL:
                low = max(low, left / along)
        if low > -inf:
            add_arc(c, g, 0, body + 1, low, BEYOND_FIRM * firm)
        if high < inf:
            add_arc(c, g, body + 1, 0, -high, BEYOND_FIRM * firm)
        for hinge in range(n[row + HINGES], n[row + HINGES + 1]):
            at = n[HINGE] + hinge * HINGE_W
            along, left = f[at + axis], f[at + 2] + f[at + 1 - axis] * place
            price = f[at + 3] * abs(along)
            if along > LEVEL:
                add_arc(c, g, body + 1, 0, left / along, price)
            elif along < -LEVEL:
                add_arc(c, g, 0, body + 1, -left / along, price)


@inlined
def _price_wishes(f: Floats, n: Ints, s: Floats, k: Ints, c: Floats, g: Ints,
                  axis: int, firm: float) -> None:
    """Add the wishes between bodies along an axis; of several others each has its own price."""
    for wish in range(n[WISHES]):
        row, figures = n[WISH_N] + wish * WISH_NW, n[WISH] + wish * WISH_W
        kind, owner, wanted = n[row], n[row + 1], f[figures]
        price = firm if f[figures + 2] > 0.0 else f[figures + 1]
        for entry in range(n[row + 2], n[row + 3]):
            other = n[n[OTHERS] + entry]
            if kind == SPACED and face_of(n, k, owner) != face_of(n, k, other):
                continue
            one, two = k[k[AT] + owner], k[k[AT] + other]
            a, b = n[POSE] + one * POSE_W, n[POSE] + two * POSE_W
            if kind != METAL_APART:
                _price_gap(f, n, s, k, c, g, axis, owner, other, a + OUTLINE, a + OUTLINE + 2,
                           b + OUTLINE, kind == NEAR, wanted, price)
                continue
            metals = n[POSE_N] + two * POSE_NW + METALS
            for metal in range(n[metals], n[metals + 1]):
                m, aerial = n[METAL] + metal * METAL_W, a + ANTENNA
                deep = max(f[m + 4] - f[aerial + 2], f[aerial + 2] - f[m + 5], 0.0)
                if deep < wanted:
                    level = sqrt(wanted * wanted - deep * deep)
                    _price_gap(f, n, s, k, c, g, axis, owner, other, aerial, aerial, m, False,
                               level, price)


@inlined
def _price_gap(f: Floats, n: Ints, s: Floats, k: Ints, c: Floats, g: Ints,  # noqa: PLR0913
               axis: int, owner: int, other: int, a: int, a_far: int, b: int,
               is_near: bool, wanted: float, price: float) -> None:
    """Want the bounds of two bodies at most, or at least, so far apart; mm, and price of a mm.

    Those of the owner stand in f, the least x and y from `a` on, the greatest from `a_far`; those
    of the other one from `b` on. At least: on the side where it is now.
    """
    block, held = (k[X], k[Y]) if axis == 0 else (k[Y], k[X])
    step, aside = s[block + other] - s[block + owner], s[held + other] - s[held + owner]
    right = f[b + axis] - f[a_far + axis]  # of the step: less, and they meet
    left = f[b + 2 + axis] - f[a + axis]
    along = max(step + right, -left - step, 0.0)
    across = max(aside + f[b + 1 - axis] - f[a_far + 1 - axis],
                 f[a + 1 - axis] - aside - f[b + 3 - axis], 0.0)
    reach = sqrt(max(wanted * wanted - across * across, 0.0))
    if is_near:
        share = along / sqrt(along * along + across * across) if across > wanted else 1.0
        _add_between(n, s, c, g, block, owner, other, -left - reach, price * share)
        _add_between(n, s, c, g, block, other, owner, right - reach, price * share)
    elif reach > 0.0 and (along > 0.0 or across == 0.0):
        share = along / sqrt(along * along + across * across) if along > 0.0 else 1.0
        if step + right >= -left - step:
            _add_between(n, s, c, g, block, owner, other, reach - right, price * share)
        else:
            _add_between(n, s, c, g, block, other, owner, left + reach, price * share)

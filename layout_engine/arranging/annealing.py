"""Soft annealing: positions are moved directly, overlap is a price that grows as it cools.

Kirkpatrick, Gelatt, Vecchi, Science 220 (1983) 671, for the acceptance rule.
"""

from __future__ import annotations

from math import exp, isfinite, log
from typing import cast

import numpy as np

from layout_engine.arranging.alone import (
    accept_alone,
    after_alone,
    before_alone,
    put_back_alone,
)
from layout_engine.arranging.compiled import compiled, inlined
from layout_engine.arranging.grouping import TURN_OVER, gathered, marked, move_group, turns_over
from layout_engine.arranging.moving import (
    accept,
    draw,
    keep,
    pick,
    price_after,
    price_before,
    put,
    put_back,
)
from layout_engine.arranging.pricing import refresh
from layout_engine.arranging.together import (
    accept_together,
    after_together,
    before_together,
    moves_as_one,
    put_back_together,
)
from layout_engine.arranging.vectors import (
    AT,
    BODIES,
    BODY_N,
    BODY_NW,
    CLASSES,
    END_N,
    END_NW,
    FACE,
    GROUP,
    MOVABLE,
    NEED,
    NET,
    NET_N,
    NET_NW,
    NET_W,
    NETS_OF,
    OF_NETS,
    OF_POSES,
    ON,
    OUTLINE,
    PIECE_N,
    PIECE_NW,
    PIECES,
    PIN,
    PIN_W,
    PIN_X,
    PIN_Y,
    PINS,
    POSE,
    POSE_N,
    POSE_NW,
    POSE_W,
    POSES,
    SPAN,
    WORK,
    Floats,
    Ints,
    Words,
    X,
    Y,
)

STEP = 32  # moves between two steps of the cooling
# The first move. For a mere 0, a type of its own to numba, all would be compiled once more.
FIRST = cast("int", np.int64(0))
MOVES, HEAT, HEAVY, WINDOW, REACH, SHARES = 0, 1, 3, 5, 7, 8  # entries of a plan
# Kinds of moves; what is left are shifts.
JUMP, SWAP, TURN, PULL, BESIDE, PLUG, PAIR, WHEEL, TOGETHER = range(9)
NOBODY = -1
# Nets that hold a group together are, by chance, down to e^-CLOSER times as short as the plan says:
# once most nets are short, groups of all sizes are wanted, not the same large one each time. Twelve
# jobs of 25 and 40 modules on one face, 12 seeds: 4.5 % over the best seen without, 3.8 so, 4.0
# where groups of 16 are not moved at all.
CLOSER = 2.0
MATES_TRIED = 4  # bodies beside which one may be put: on two faces most are out of its way


@compiled
def anneal(f: Floats, n: Ints, s: Floats, k: Ints, random: Words,  # noqa: PLR0913
           plan: Floats, first: int, last: int, who: Ints) -> int:
    """Run moves `first` up to `last` of a cooling; every body must be on the plate.

    Args:
        f: the problem's floats.
        n: its integers.
        s: the state's floats, changed in place.
        k: its integers.
        random: state of the random numbers.
        plan: moves in all; at start and end: temperature, weight of overlaps, window (mm); how
            short (mm) the nets are by which a group hangs together; then the running sums of the
            shares of the kinds of moves.
        first: first move.
        last: the one after the last.
        who: the bodies that are moved; with some of them others may move, as a group.

    Returns:
        The work done, in units that do not depend on the machine.
    """
    k[WORK] = 0
    refresh(f, n, s, k)
    go_on(f, n, s, k, random, plan, first, last, who)
    return k[WORK]


@compiled
def go_on(f: Floats, n: Ints, s: Floats, k: Ints, random: Words,  # noqa: PLR0913
          plan: Floats, first: int, last: int, who: Ints) -> None:
    """The same for a state whose figures are fresh; its work is added to what is counted there."""
    heat, heavy, window = 0.0, 0.0, 0.0
    for move in range(first, last):
        if move % STEP == 0 or move == first:
            done = move / plan[MOVES]
            heat = plan[HEAT] * (plan[HEAT + 1] / plan[HEAT]) ** done
            heavy = plan[HEAVY] * (plan[HEAVY + 1] / plan[HEAVY]) ** done
            window = plan[WINDOW + 1] + (plan[WINDOW] - plan[WINDOW + 1]) * exp(-5.5 * done)
        try_move(f, n, s, k, random, plan, heat, heavy, window, who[pick(random, len(who))])


@inlined
def try_move(f: Floats, n: Ints, s: Floats, k: Ints, random: Words,  # noqa: PLR0913
             plan: Floats, heat: float, heavy: float, window: float, one: int) -> None:
    """Try one random change of a body, kept or undone by the acceptance rule."""
    kind, chosen = JUMP, draw(random)
    while kind <= TOGETHER and chosen >= plan[SHARES + kind]:
        kind += 1
    k[k[GROUP]] = one
    size = _taking_part(f, n, s, k, random, kind, one, heat, plan[REACH])
    if size == 0:
        return
    slack = -heat * log(max(draw(random), 1e-300))
    keep(s, k, size)
    if size == 1:
        _try_alone(f, n, s, k, random, one, kind, heavy, window, slack)
    elif kind == SWAP:
        limit = price_before(f, n, s, k, size, heavy) + slack
        _swap(f, n, s, k, random, one, k[k[GROUP] + 1])
        _decide(f, n, s, k, size, heavy, limit, True)
    else:
        _try_group(f, n, s, k, random, kind, size, heavy, window, slack)


@inlined
def _try_alone(f: Floats, n: Ints, s: Floats, k: Ints, random: Words,  # noqa: PLR0913
               one: int, kind: int, heavy: float, window: float, slack: float) -> None:
    limit = before_alone(f, n, s, k, one, heavy) + slack
    _shift(f, n, s, k, random, one, kind, window)
    if after_alone(f, n, s, k, one, heavy, limit) <= limit:
        accept_alone(f, n, s, k, one)
    else:
        put_back_alone(f, n, s, k, one)


@inlined
def _try_group(f: Floats, n: Ints, s: Floats, k: Ints, random: Words,  # noqa: PLR0913
               kind: int, size: int, heavy: float, window: float, slack: float) -> None:
    turns = 0 if kind == PAIR else pick(random, 4) if kind == TOGETHER else 1 + pick(random, 3)
    over = kind == TOGETHER and draw(random) < TURN_OVER and turns_over(n, k, size)
    if moves_as_one(n, k, size, turns, over):
        limit = before_together(f, n, s, k, size, heavy) + slack
        fits = move_group(f, n, s, k, random, size, window, turns, over)
        if fits and after_together(f, n, s, k, size, heavy, limit) <= limit:
            accept_together(f, n, s, k, size)
        else:
            put_back_together(s, k, size)
    else:
        limit = price_before(f, n, s, k, size, heavy) + slack
        fits = move_group(f, n, s, k, random, size, window, turns, over)
        _decide(f, n, s, k, size, heavy, limit, fits)


@inlined
def _decide(f: Floats, n: Ints, s: Floats, k: Ints, size: int, heavy: float,
            limit: float, fits: bool) -> None:
    """Keep a change of some bodies that fits and costs no more than the limit; else undo it."""
    if fits and price_after(f, n, s, k, size, heavy, limit) <= limit:
        accept(f, n, s, k, size)
    else:
        put_back(f, n, s, k, size)


@inlined
def _taking_part(f: Floats, n: Ints, s: Floats, k: Ints, random: Words,  # noqa: PLR0913
                 kind: int, one: int, heat: float, reach: float) -> int:
    """Find who takes part in a move of a body, besides itself; how many do, 0 if there is none."""
    if kind == TOGETHER:
        size = gathered(f, n, s, k, random, heat, reach * exp(-CLOSER * draw(random)))
        return size if size > 1 else 0
    if kind != SWAP and (kind < PAIR or kind > WHEEL):
        return 1
    two = pick(random, n[MOVABLE]) if kind == SWAP else _mate(f, n, random, one)
    if two in (one, NOBODY) or two >= n[MOVABLE]:
        return 0
    k[k[GROUP] + 1] = two
    marked(n, k, 2)
    return 2


@inlined
def any_pose(n: Ints, random: Words, body: int) -> int:
    """A random pose of a body."""
    row = n[BODY_N] + body * BODY_NW + OF_POSES
    return n[n[POSES] + n[row] + pick(random, n[row + 1] - n[row])]


@compiled
def face_pose(n: Ints, k: Ints, random: Words, body: int, face: int) -> int:
    """A random pose of a body on a face; its own pose if it has none there."""
    row = n[BODY_N] + body * BODY_NW + OF_POSES
    count = n[row + 1] - n[row]
    start = pick(random, count)
    for step in range(count):
        pose = n[n[POSES] + n[row] + (start + step) % count]
        if n[n[POSE_N] + pose * POSE_NW + FACE] == face:
            return pose
    return k[k[AT] + body]


@inlined
def _swap(f: Floats, n: Ints, s: Floats, k: Ints, random: Words, one: int, two: int) -> None:
    """Let two bodies change places, each on the other's face where it may stand there."""
    x, y, u, v = s[k[X] + one], s[k[Y] + one], s[k[X] + two], s[k[Y] + two]
    pose, pose_two = k[k[AT] + one], k[k[AT] + two]
    face, face_two = n[n[POSE_N] + pose * POSE_NW + FACE], n[n[POSE_N] + pose_two * POSE_NW + FACE]
    if face != face_two or draw(random) < 0.5:
        pose = face_pose(n, k, random, one, face_two)
        pose_two = face_pose(n, k, random, two, face)
    put(f, n, s, k, one, pose, u, v)
    put(f, n, s, k, two, pose_two, x, y)


@inlined
def _shift(f: Floats, n: Ints, s: Floats, k: Ints, random: Words, body: int, kind: int,
           window: float) -> None:
    x, y, pose = s[k[X] + body], s[k[Y] + body], k[k[AT] + body]
    if kind == JUMP:
        pose = any_pose(n, random, body)
        span = n[POSE] + pose * POSE_W + SPAN
        x = f[span] + draw(random) * (f[span + 2] - f[span])
        y = f[span + 1] + draw(random) * (f[span + 3] - f[span + 1])
    elif kind == TURN:
        pose = any_pose(n, random, body)
        x += (draw(random) - 0.5) * window
        y += (draw(random) - 0.5) * window
    elif kind == PULL:
        x, y = _pulled(f, n, s, k, random, body, window)
    elif kind == BESIDE:
        x, y = _beside(f, n, s, k, random, body)
    elif kind == PLUG:
        pose, x, y = _plugged(f, n, s, k, random, body)
    else:
        along = draw(random)
        if along < 0.67:
            x += (draw(random) - 0.5) * 2.0 * window
        if along > 0.33:
            y += (draw(random) - 0.5) * 2.0 * window
    put(f, n, s, k, body, pose, x, y)


@inlined
def pin_row(n: Ints, k: Ints, end: int) -> int:
    """Row in f of the terminal at an end of a net, in the pose its body has."""
    row = n[END_N] + end * END_NW
    own = n[POSE_N] + k[k[AT] + n[row]] * POSE_NW
    return n[PIN] + (n[own + PINS] + n[row + 1]) * PIN_W


@inlined
def wanted_gap(f: Floats, n: Ints, pose: int, other: int) -> float:
    """Distance that the outlines of two poses need, negative where they never meet."""
    piece = n[n[POSE_N] + pose * POSE_NW + PIECES]
    piece_b = n[n[POSE_N] + other * POSE_NW + PIECES]
    kind, kind_b = n[n[PIECE_N] + piece * PIECE_NW], n[n[PIECE_N] + piece_b * PIECE_NW]
    return f[n[NEED] + kind * n[CLASSES] + kind_b]


@inlined
def _own_and_mate(f: Floats, n: Ints, random: Words, body: int) -> tuple[int, int, int]:
    """A net of a body, heavier ones more often, an end of the body's, and another one.

    -1 where there is none: for the net if the body has no nets, for the other end if it is one
    that stays.
    """
    row = n[BODY_N] + body * BODY_NW + OF_NETS
    count = n[row + 1] - n[row]
    if count == 0:
        return -1, -1, -1
    net = n[n[NETS_OF] + n[row] + pick(random, count)]
    rival = n[n[NETS_OF] + n[row] + pick(random, count)]
    if f[n[NET] + rival * NET_W + 4] > f[n[NET] + net * NET_W + 4]:
        net = rival
    first, last = n[n[NET_N] + net * NET_NW], n[n[NET_N] + net * NET_NW + 1]
    own, mate, start = -1, -1, pick(random, last - first)
    for step in range(last - first):
        end = first + (start + step) % (last - first)
        if n[n[END_N] + end * END_NW] == body:
            own = end
        else:
            mate = end
    return net, own, mate


@inlined
def _mate(f: Floats, n: Ints, random: Words, body: int) -> int:
    """A body that another one is joined to."""
    _, _, mate = _own_and_mate(f, n, random, body)
    return n[n[END_N] + mate * END_NW] if mate >= 0 else NOBODY


@inlined
def _pulled(f: Floats, n: Ints, s: Floats, k: Ints, random: Words, body: int, window: float
            ) -> tuple[float, float]:
    """A place at which a terminal stands level with another end of one of its nets."""
    x, y = s[k[X] + body], s[k[Y] + body]
    net, own, mate = _own_and_mate(f, n, random, body)
    if net < 0:
        return x, y
    u, v = f[n[NET] + net * NET_W], f[n[NET] + net * NET_W + 1]
    if mate >= 0:
        u, v = s[k[PIN_X] + mate], s[k[PIN_Y] + mate]
    if not isfinite(u):
        return x, y
    pin, along = pin_row(n, k, own), draw(random)
    if along < 0.67:
        x = u - f[pin] + (draw(random) - 0.5) * 0.3 * window
    if along > 0.33:
        y = v - f[pin + 1] + (draw(random) - 0.5) * 0.3 * window
    return x, y


@inlined
def _plugged(f: Floats, n: Ints, s: Floats, k: Ints, random: Words, body: int
             ) -> tuple[int, float, float]:
    """A pose and place outside a terminal of a mate, own terminal level with it."""
    x, y, pose = s[k[X] + body], s[k[Y] + body], k[k[AT] + body]
    net, own, mate = _own_and_mate(f, n, random, body)
    if net < 0 or mate < 0:
        return pose, x, y
    other = n[n[END_N] + mate * END_NW]
    theirs = k[k[AT] + other]
    pose = face_pose(n, k, random, body, n[n[POSE_N] + theirs * POSE_NW + FACE])
    u, v = s[k[PIN_X] + mate], s[k[PIN_Y] + mate]
    pin = n[PIN] + (n[n[POSE_N] + pose * POSE_NW + PINS] + n[n[END_N] + own * END_NW + 1]) * PIN_W
    a, b = n[POSE] + pose * POSE_W + OUTLINE, n[POSE] + theirs * POSE_W + OUTLINE
    need = max(wanted_gap(f, n, pose, theirs), 0.0) * 1.0001
    cx, cy = s[k[X] + other], s[k[Y] + other]
    left, right = u - cx - f[b], cx + f[b + 2] - u
    low, high = v - cy - f[b + 1], cy + f[b + 3] - v
    x, y = u - f[pin], v - f[pin + 1]
    if min(left, right) < min(low, high):
        x = cx + f[b] - f[a + 2] - need if left < right else cx + f[b + 2] - f[a] + need
    else:
        y = cy + f[b + 1] - f[a + 3] - need if low < high else cy + f[b + 3] - f[a + 1] + need
    return pose, x, y


@inlined
def _beside(f: Floats, n: Ints, s: Floats, k: Ints, random: Words, body: int
            ) -> tuple[float, float]:
    """A place right beside another body, on the side where this one stands; or farther along."""
    x, y, pose = s[k[X] + body], s[k[Y] + body], k[k[AT] + body]
    mate, need, tries = body, -1.0, 0
    while need < 0.0 and tries < MATES_TRIED:
        tries += 1
        mate = pick(random, n[BODIES])
        if mate != body and k[k[ON] + mate]:
            need = wanted_gap(f, n, pose, k[k[AT] + mate])
    if need < 0.0:
        return x, y
    other = k[k[AT] + mate]
    a, b = n[POSE] + pose * POSE_W + OUTLINE, n[POSE] + other * POSE_W + OUTLINE
    u, v = s[k[X] + mate], s[k[Y] + mate]
    level, high = draw(random) < 0.5, draw(random) < 0.5
    if draw(random) < 0.5:
        x = u + f[b + 2] - f[a] + need if x > u else u + f[b] - f[a + 2] - need
        if level:
            y = v + (f[b + 3] - f[a + 3] if high else f[b + 1] - f[a + 1])
    else:
        y = v + f[b + 3] - f[a + 1] + need if y > v else v + f[b + 1] - f[a + 3] - need
        if level:
            x = u + (f[b + 2] - f[a + 2] if high else f[b] - f[a])
    return x, y

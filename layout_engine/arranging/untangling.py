"""Making a nearly allowed state allowed: overlaps that stay are pressed harder, round by round.

Guided local search (Voudouris, Tsang 1999) over the same moves as the annealing.
"""

from __future__ import annotations

from layout_engine.arranging.annealing import try_move
from layout_engine.arranging.compiled import compiled
from layout_engine.arranging.moving import pick
from layout_engine.arranging.pricing import fault, refresh
from layout_engine.arranging.vectors import (
    BODIES,
    BODY_N,
    BODY_NW,
    MET,
    MOVABLE,
    OF_WISHES,
    OUT,
    OVERLAP,
    PRESSURE,
    SHORT,
    WISH,
    WISH_N,
    WISH_NW,
    WISH_W,
    WISHES_OF,
    WORK,
    Floats,
    Ints,
    Words,
)

CLEAR_MM = 1e-6  # a state with less fault in all is allowed
GROWTH = 1.3  # of the pressure on an overlap that outlives a round
MOST_PRESSURE = 1e4


@compiled
def untangle(f: Floats, n: Ints, s: Floats, k: Ints, random: Words, plan: Floats, first: int,
             last: int) -> int:
    """Try to free a state of faults; the work done, as `anneal` counts it.

    Args:
        f: the problem's floats.
        n: its integers.
        s: the state's floats, changed in place.
        k: its integers.
        random: state of the random numbers.
        plan: as for `anneal`; its values at the end of the cooling hold.
        first: first round; pressure grows at the end of each.
        last: the one after the last. Whoever calls takes the pressure off before and after.
    """
    k[WORK] = 0
    for turn in range(first, last):
        refresh(f, n, s, k)
        if fault(f, n, s, k) < CLEAR_MM:
            break
        for _ in range(6 * n[MOVABLE]):
            body = _troubled(f, n, s, k, random)
            if body < 0:
                break
            window = plan[6] * (0.3 + 3.0 * ((turn % 8) / 8.0) ** 2)
            try_move(f, n, s, k, random, plan, plan[2], plan[4], window, body)
        _press(n, s, k)
    return k[WORK]


@compiled
def relax(n: Ints, s: Floats, k: Ints) -> None:
    """Take the pressure off all overlaps."""
    for entry in range(n[BODIES] * n[MOVABLE]):
        s[k[PRESSURE] + entry] = 1.0


@compiled
def _press(n: Ints, s: Floats, k: Ints) -> None:
    for entry in range(n[BODIES] * n[MOVABLE]):
        if s[k[OVERLAP] + entry] > 0.0:
            s[k[PRESSURE] + entry] = min(s[k[PRESSURE] + entry] * GROWTH, MOST_PRESSURE)


@compiled
def _troubled(f: Floats, n: Ints, s: Floats, k: Ints, random: Words) -> int:
    """A random body that has a fault, or, now and then, any body; -1 if none has one."""
    movable = n[MOVABLE]
    start = pick(random, movable)
    for step in range(movable):
        body = (start + step) % movable
        if s[k[OUT] + body] > 0.0 or misses_must(f, n, s, k, body):
            return body
        if k[k[MET] + body] > 0:
            return start if pick(random, 5) == 0 else body
    return -1


@compiled
def misses_must(f: Floats, n: Ints, s: Floats, k: Ints, body: int) -> bool:
    """Whether a body can mend a must that is missed: its owner; where that stays, any other."""
    row = n[BODY_N] + body * BODY_NW + OF_WISHES
    for entry in range(n[row], n[row + 1]):
        wish = n[n[WISHES_OF] + entry]
        owner = n[n[WISH_N] + wish * WISH_NW + 1]
        if ((owner == body or owner >= n[MOVABLE])
                and f[n[WISH] + wish * WISH_W + 2] > 0.0 and s[k[SHORT] + wish] > 0.0):
            return True
    return False

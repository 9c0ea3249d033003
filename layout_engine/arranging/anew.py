"""Placing a few neighbours of an arrangement anew, all others making way for them.

What there is is left by a change of one to four neighbours, which are cooled among the rest while
overlaps are light; then all make way for each other, to the cheapest places (`giving_way`). That
is accepted as in annealing, the places having no part in it (basin hopping: Wales, Doye, J. Phys.
Chem. A 101 (1997) 5111; of circuits: Martin, Otto, Felten, Complex Systems 5 (1991) 299; both from
memory).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf, log

import numpy as np

from layout_engine.arranging.annealing import FIRST, HEAVY, MOVES, go_on
from layout_engine.arranging.compiled import compiled, inlined
from layout_engine.arranging.cooling import Cooling, State
from layout_engine.arranging.ends import SAME_SHARE
from layout_engine.arranging.giving_way import make_way
from layout_engine.arranging.moving import draw, pick
from layout_engine.arranging.pricing import burden, price, refresh
from layout_engine.arranging.schedules import LAST, Stage
from layout_engine.arranging.vectors import MOVABLE, WORK, Floats, Ints, Words, X, Y

MOST = 4  # neighbours; how many, is the lesser of two random numbers
# Of the seven hardest of fourteen plates of 12 modules, 16 seeds, 54.6 million units, over the best
# seen (0.05 is chance): with 300 moves 0.39 %, 150 0.38, 80 0.47. From each end again at once where
# it was no gain 0.57 %; a walk of 24 tries at 0.01 0.44, at 0.02 0.45, of 40 at 0.006 0.56, of 60
# at 0.003 0.45, of 100 at 0.01 0.64.
MOVES_EACH = 150  # for each
# How they are cooled, but for overlaps; from 0.08 on it was alike (0.46 and 0.44 %).
STAGE: Stage = (1.0, 0.15, 0.01, 0.1, 0.4, 0.6, 0.1)
LIGHT, HEAVIER = (0.3, 1.5), 4.0  # weight of overlaps at the end, by chance; so much heavier then
BLUR = 0.3  # how loosely they are the nearest: of the logarithm of distances; not varied
WARM = 0.01  # temperature at which what comes of it is accepted, of the cost of where it began
TRIES = 24  # from one end, until one is a gain
# How many times what would be accepted it may be worth after each time that all made way;
# not varied.
HOPE = (1.1, 1.05, 1.02, 1.0)
AGAIN, AS_BEFORE = 1e-4, 1e-6  # shares of the cost: a gain worth making way again; no change


@dataclass(eq=False)
class Anew:
    """Places neighbours anew in the ends of one search.

    Attributes:
        cooling: the search.
        tried: what is tried, and in the end, if it was a gain, that.
        here: where the next change begins.
    """

    cooling: Cooling
    tried: State = field(init=False)
    here: State = field(init=False)

    def __post_init__(self) -> None:
        self.tried, self.here = self.cooling.first_state(), self.cooling.first_state()
        self._plan = self.cooling.plan(STAGE, MOVES_EACH)
        self._who = np.zeros(MOST, dtype=np.int64)

    def go_from(self, state: State, value: float) -> tuple[int, float]:
        """Change a state of this value again and again, until it is a gain.

        Returns:
            How many changes were tried, and the value of `tried`; inf if none was a gain.
        """
        for to, of in zip(self.here, state, strict=True):
            to[:] = of
        cooling, (rows, c, g) = self.cooling, self.cooling.room
        tries, worth = place_anew(cooling.f, cooling.n, *self.tried, cooling.random, self._plan,
                                  self._who, rows, c, g, *self.here, value)
        cooling.spent += int(self.tried[1][WORK])
        return tries, worth


@compiled
def place_anew(f: Floats, n: Ints, s: Floats, k: Ints, random: Words, plan: Floats,  # noqa: PLR0913
               who: Ints, rows: Floats, c: Floats, g: Ints, here_s: Floats, here_k: Ints,
               value: float) -> tuple[int, float]:
    """See `Anew`; of a state every body must be on the plate."""
    work, here = 0, value
    for number in range(TRIES):
        _copy(here_s, here_k, s, k)
        size = 1 + min(pick(random, MOST), pick(random, MOST))
        _choose(n, s, k, random, who, size)
        plan[MOVES] = MOVES_EACH * size
        plan[HEAVY + 1] = LIGHT[0] * (LIGHT[1] / LIGHT[0]) ** draw(random)
        plan[HEAVY] = plan[HEAVY + 1] / HEAVIER
        k[WORK] = work
        refresh(f, n, s, k)
        go_on(f, n, s, k, random, plan, FIRST, MOVES_EACH * size, who[:size])
        limit = here - WARM * value * log(max(draw(random), 1e-300))
        worth = make_way_again(f, n, s, k, rows, c, g, max(limit, value))
        if worth < value * (1.0 - SAME_SHARE):
            return number + 1, worth
        work = k[WORK]
        if worth < limit and abs(worth - here) > AS_BEFORE * here:
            here = worth
            _copy(s, k, here_s, here_k)
    return TRIES, inf


@compiled
def make_way_again(f: Floats, n: Ints, s: Floats, k: Ints, rows: Floats,
                   c: Floats, g: Ints, limit: float) -> float:
    """Let all make way, again while it is a gain and may come under a limit; what that is worth."""
    worth = inf
    for hope in HOPE:
        if not make_way(f, n, s, k, rows, c, g):
            return inf
        refresh(f, n, s, k)
        now = price(f, n, s, k) + LAST[4] * burden(f, n, s, k)
        gains, worth = now < worth * (1.0 - AGAIN), now
        if not gains or now > limit * hope:
            break
    return worth


@inlined
def _choose(n: Ints, s: Floats, k: Ints, random: Words, who: Ints, size: int) -> None:
    """Choose a body by chance and some that stand near it."""
    who[0] = pick(random, n[MOVABLE])
    x, y = s[k[X] + who[0]], s[k[Y] + who[0]]
    for slot in range(1, size):
        nearest = inf
        for body in range(n[MOVABLE]):
            taken = False
            for other in range(slot):
                taken = taken or who[other] == body
            dx, dy, share = s[k[X] + body] - x, s[k[Y] + body] - y, draw(random)
            blur = BLUR * log((share + 1e-9) / (1.0 - share))  # logistic
            far = 0.5 * log(dx * dx + dy * dy + 1.0) + blur
            if not taken and far < nearest:
                nearest, who[slot] = far, body


@inlined
def _copy(from_s: Floats, from_k: Ints, s: Floats, k: Ints) -> None:
    for entry in range(len(s)):
        s[entry] = from_s[entry]
    for entry in range(len(k)):
        k[entry] = from_k[entry]

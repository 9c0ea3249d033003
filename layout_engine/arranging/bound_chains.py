"""What wires cost at least when each body stands in one place for all of them.

Pair by pair, a body is where each of its wires likes it best. Let x_i be the places of the bodies'
centres and d_t the difference of the two that a group t of wires joins (of a group to what stays,
the one place itself). With g_t(d) the least price of the group in any poses that keep clear, and
any numbers p_t, two for each group,

    sum of g_t(d_t) = sum of (g_t(d_t) + p_t d_t) - sum of q_i x_i
                   >= sum of min (g_t + p_t d) + sum of min (-q_i x) over where body i can be,

where q_i is the sum of the p_t of its groups, with the sign that x_i has in d_t: for the places of
an arrangement the sums of p and of q are the same, and each minimum is over more than it can be.
With p = 0 it is the bound pair by pair. The numbers are found by climbing; it holds whatever they
are. It is Lagrangian decomposition (Guignard, Kim 1987): p is how hard wires pull along a chain.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from layout_engine.arranging.bound_climb import climbed
from layout_engine.arranging.bound_pairs import Option, Side, options_of, span_of
from layout_engine.arranging.puzzle import Net, Puzzle
from layout_engine.arranging.vectors import Floats, Ints

ROUNDS, STEP = 100, 0.1  # of the climb, more gain nothing; numbers count in weights of their group
ROUNDING = 1e-9  # of the bound, taken off it
LEAST_CHAIN = 2
Pairs = dict[tuple[int, ...], list[Net]]


def least_of_chains(puzzle: Puzzle, pairs: Pairs, alone: dict[tuple[int, ...], float]) -> float:
    """Proven least price of all these wires together, at least the sum of what each costs alone.

    Args:
        puzzle: the puzzle.
        pairs: wires by the bodies that they join.
        alone: the least price of each of these groups.
    """
    plain = sum(alone[key] for key in pairs)
    if len(pairs) < LEAST_CHAIN or not np.isfinite(plain):
        return plain
    climb = _Climb(puzzle, pairs)
    if not climb.is_bounded:
        return plain
    best = climbed(climb.value, np.zeros(2 * len(pairs)), lambda x: x, ROUNDS, STEP)
    bound = climb.value(best)[0]
    return max(plain, bound - ROUNDING * abs(bound))


@dataclass(eq=False)
class _Rows:
    """Sides of options along one axis, each once: points that can be least, and their prices."""

    groups: list[int] = field(default_factory=list)
    points: list[list[float]] = field(default_factory=list)
    prices: list[list[float]] = field(default_factory=list)
    known: dict[tuple[int, Side], int] = field(default_factory=dict)

    def of(self, group: int, side: Side) -> int:
        """Number of a side."""
        key = group, side
        if key not in self.known:
            self.known[key] = len(self.groups)
            self.groups.append(group)
            self.points.append(side.points())
            self.prices.append([side.price(at) for at in self.points[-1]])
        return self.known[key]

    def packed(self) -> tuple[Ints, Floats, Floats]:
        """Groups, points and prices, with prices without end where a side has fewer points."""
        width = max(map(len, self.points))
        points, prices = (np.full((len(self.points), width), fill) for fill in (0.0, np.inf))
        for row, (at, price) in enumerate(zip(self.points, self.prices, strict=True)):
            points[row, : len(at)], prices[row, : len(at)] = at, price
        return np.array(self.groups), points, prices


@dataclass(eq=False)
class _Climb:
    """The bound as a function of the numbers p, in weights of their group: all x, then all y."""

    puzzle: Puzzle
    pairs: Pairs

    def __post_init__(self) -> None:
        self.count = len(self.pairs)
        self.unit = np.array([sum(net.weight for net in nets) or 1.0
                              for nets in self.pairs.values()])
        found = [[option for option in options_of(self.puzzle, key, nets)
                  if option.across.low <= option.across.high
                  and option.along.low <= option.along.high]
                 for key, nets in self.pairs.items()]
        rows = _Rows(), _Rows()
        width = max(map(len, found))
        self.sides = np.zeros((2, self.count, width), dtype=np.int64)
        self.plus = np.full((self.count, width), np.inf)
        for group, options in enumerate(found):
            for number, option in enumerate(options):
                self._note(rows, group, number, option)
        self.rows = [own.packed() for own in rows]
        self.is_bounded = all(np.isfinite(points).all() for _, points, _ in self.rows)
        self._join()

    def _note(self, rows: tuple[_Rows, _Rows], group: int, number: int, option: Option) -> None:
        self.plus[group, number] = option.plus
        for axis, side in enumerate((option.across, option.along)):
            self.sides[axis, group, number] = rows[axis].of(group, side)

    def _join(self) -> None:
        """Which places make the difference of a group, and where bodies can be."""
        bodies = sorted({body for key in self.pairs for body in key})
        self.signs = np.zeros((self.count, len(bodies)))
        for group, key in enumerate(self.pairs):
            for body, sign in zip(key, (-1.0, 1.0) if len(key) > 1 else (1.0,), strict=True):
                self.signs[group, bodies.index(body)] = sign
        spans = [[span_of(self.puzzle, self.puzzle.poses[pose], body)
                  for pose in self.puzzle.bodies[body].poses] for body in bodies]
        self.low = np.array([np.min(own, axis=0)[:2] for own in spans])
        self.high = np.array([np.max(own, axis=0)[2:] for own in spans])

    def value(self, x: Floats) -> tuple[float, Floats]:
        """The bound, and its slopes."""
        pulls = x.reshape(2, self.count) * self.unit
        least, at = [], []
        for (groups, points, prices), pull in zip(self.rows, pulls, strict=True):
            whole = prices + pull[groups][:, None] * points
            best = np.argmin(whole, axis=1)[:, None]
            least.append(np.take_along_axis(whole, best, 1)[:, 0])
            at.append(np.take_along_axis(points, best, 1)[:, 0])
        options = self.plus + least[0][self.sides[0]] + least[1][self.sides[1]]
        taken = np.argmin(options, axis=1)
        every = np.arange(self.count)
        total = float(options[every, taken].sum())
        slopes = []
        for axis in (0, 1):
            pull = pulls[axis] @ self.signs
            place = np.where(pull > 0, self.high[:, axis], self.low[:, axis])
            total -= float(pull @ place)
            apart = at[axis][self.sides[axis][every, taken]]
            slopes.append((apart - self.signs @ place) * self.unit)
        return total, np.concatenate(slopes)

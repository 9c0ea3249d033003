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

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from layout_engine.arranging.bound_climb import climbed
from layout_engine.arranging.bound_pairs import Options, span_of
from layout_engine.arranging.puzzle import Puzzle
from layout_engine.arranging.vectors import Floats, Ints

ROUNDS, STEP = 100, 0.1  # of the climb, more gain nothing; numbers count in weights of their group
ROUNDING = 1e-9  # of the bound, taken off it
LEAST_CHAIN = 2


def least_of_chains(puzzle: Puzzle, pairs: Mapping[tuple[int, ...], Options],
                    is_stopped: Callable[[], bool] = lambda: False) -> float:
    """Proven least price of all these wires together, at least the sum of what each costs alone.

    Args:
        puzzle: the puzzle.
        pairs: by the bodies that wires join, their options.
        is_stopped: whether to make do with what it has climbed to.
    """
    plain = sum(own.least for own in pairs.values())
    if len(pairs) < LEAST_CHAIN or not np.isfinite(plain) or is_stopped():
        return plain
    climb = _Climb(puzzle, pairs)
    if not climb.is_bounded:
        return plain
    best = climbed(climb.value, np.zeros(2 * len(pairs)), lambda x: x, ROUNDS, STEP,
                   is_stopped)
    bound = climb.value(best)[0]
    return max(plain, bound - ROUNDING * abs(bound))


@dataclass(eq=False)
class _Climb:
    """The bound as a function of the numbers p, in weights of their group: all x, then all y."""

    puzzle: Puzzle
    pairs: Mapping[tuple[int, ...], Options]

    def __post_init__(self) -> None:
        self.count = len(self.pairs)
        self.unit = np.array([float(own.weights.sum()) or 1.0 for own in self.pairs.values()])
        left = [own.of(np.all(own.low <= own.high, axis=0)) for own in self.pairs.values()]
        self.is_bounded = all(np.isfinite(own.low).all() and np.isfinite(own.high).all()
                              for own in left)
        width = max(len(own.plus) for own in left)
        self.plus = np.full((self.count, width), np.inf)
        for group, own in enumerate(left):
            self.plus[group, : len(own.plus)] = own.plus
        self.sides = np.zeros((2, self.count, width), dtype=np.int64)
        self.rows = [self._rows(left, axis) for axis in (0, 1)]
        self._join()

    def _rows(self, left: list[Options], axis: int) -> tuple[Ints, Floats, Floats]:
        """Groups, points and prices of what the options have along an axis, each once."""
        groups, points, prices = list[Ints](), list[Floats](), list[Floats]()
        most, count = max(own.points.shape[2] for own in left), 0
        for group, own in enumerate(left):
            alike = np.column_stack((own.low[axis], own.high[axis], own.offsets[axis]))
            _, first, number = np.unique(alike, axis=0, return_index=True, return_inverse=True)
            self.sides[axis, group, : len(number)] = count + number.ravel()
            # with prices without end where a side has fewer points
            space = (0, 0), (0, most - own.points.shape[2])
            groups.append(np.full(len(first), group))
            points.append(np.pad(own.points[axis, first], space))
            prices.append(np.pad(own.prices[axis, first], space, constant_values=np.inf))
            count += len(first)
        return np.concatenate(groups), np.concatenate(points), np.concatenate(prices)

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

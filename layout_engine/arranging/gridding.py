"""Holes on a grid: lined-up bodies are shifted together by whole steps of it.

Along one axis, the other held, everything that bodies must keep is a difference of two shifts, or a
limit of one. In whole steps that is a network: its linear program has whole solutions (Hoffman,
Kruskal, Ann. Math. Studies 38, 1956). Where a chain of bodies has no room for it, the group of the
chain with the fewest holes stays where it is; where it all costs too much, each group is tried
alone.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from math import ceil, floor

import numpy as np

from layout_engine.arranging.lines import (
    MADE_MM,
    holes,
    modules,
    near_lines,
    place,
    pose_of,
    rows,
)
from layout_engine.arranging.pricing import fault, price, refresh
from layout_engine.arranging.programs import Program, Terms, price_span
from layout_engine.arranging.puzzle import Puzzle
from layout_engine.arranging.respects.tidiness import GRID_MM
from layout_engine.arranging.sliding import FREE_MM, Slider, State
from layout_engine.arranging.vectors import Floats, X, Y

STEP = GRID_MM
LOOSE = 1e-6  # of a step: rounding of what must be kept
NEAR_ZERO = 1e-9
LACKING = 1e-6  # of a step, by which a row is broken
STAY = 1e-3  # price of a step, beside the mean weight of a net: of equal answers the nearest


@dataclass(frozen=True, eq=False)
class Gridder:
    """Puts the holes of a puzzle's bodies on the grid."""

    puzzle: Puzzle
    slider: Slider

    def to_grid(self, state: State, most: float, axis: int,
                held: frozenset[int] = frozenset()) -> None:
        """Shift an allowed state along an axis, in place, so that more holes are on the grid.

        Args:
            state: the state.
            most: what it may cost afterwards.
            axis: 0 or 1.
            held: bodies that stay where they are.
        """
        groups = [group for group in self._groups(state, axis) if not held & set(group)]
        off = [self._off(state, group, axis) for group in groups]
        kept = state[0].copy()
        for group, shift in self._together(state, axis, groups):
            self._shift(state, group, axis, shift)
        if not self._is_good(state, most):
            state[0][:] = kept
            self._one_by_one(state, axis, groups, off, most)

    def _together(self, state: State, axis: int, groups: list[list[int]]
                  ) -> list[tuple[list[int], float]]:
        """Groups that go to the grid together, each with its shift, mm."""
        left, held = list(groups), self.slider.relations(state)
        while left:
            off = [self._off(state, group, axis) for group in left]
            steps, blamed = self._steps(state, axis, left, off, held)
            if not blamed:
                return list(zip(left, steps, strict=True))
            del left[min(blamed, key=lambda g: (self._holes(state, left[g], axis), g))]
        return []

    def _holes(self, state: State, group: list[int], axis: int) -> int:
        return sum(len(holes(pose_of(self.puzzle, state, body), axis)) for body in group)

    def _groups(self, state: State, axis: int) -> list[list[int]]:
        """Bodies lined up across an axis, if one has holes and all of them may move."""
        lines = near_lines(self.puzzle, state, MADE_MM)
        return [
            group for group in rows(self.puzzle, state, lines, axis)
            if max(group) < self.puzzle.movable
            and any(holes(pose_of(self.puzzle, state, body), axis) for body in group)
        ]

    def _off(self, state: State, group: list[int], axis: int) -> float:
        """How far a group is to be shifted to the nearest place on the grid, mm."""
        spots = [place(state, body, axis) + at for body in group
                 for at in holes(pose_of(self.puzzle, state, body), axis)]
        over = Counter(round(spot % STEP, 3) % STEP for spot in spots)
        most = min(over, key=lambda rest: (-over[rest], rest))
        return -most if most <= STEP / 2 else STEP - most

    def _shift(self, state: State, group: list[int], axis: int, way: float) -> None:
        block = state[1][Y if axis else X]
        for body in group:
            state[0][block + body] += way

    def _is_good(self, state: State, most: float) -> bool:
        f, n = self.slider.f, self.slider.n
        refresh(f, n, *state)
        return bool(fault(f, n, *state) <= FREE_MM and price(f, n, *state) <= most + 1e-9)

    def _one_by_one(self, state: State, axis: int, groups: list[list[int]], off: list[float],
                    most: float) -> None:
        order = sorted(range(len(groups)), key=lambda g: (abs(off[g]), g))
        for number in order:
            near = off[number]
            far = near - STEP if near > 0 else near + STEP
            for way in (near, far):
                self._shift(state, groups[number], axis, way)
                if self._is_good(state, most):
                    break
                self._shift(state, groups[number], axis, -way)
        self._is_good(state, most)

    def _steps(self, state: State, axis: int, groups: list[list[int]], off: list[float],
               held: Floats) -> tuple[list[float], set[int]]:
        """Shifts, mm, of all groups together to where they are cheapest on the grid.

        And the groups for which there is no room, by number; then the shifts do not hold.
        `held`: the ways in which bodies are apart, see `Slider.relations`.
        """
        program = Program([0.0] * len(groups), [-np.inf] * len(groups))
        lacks: dict[int, set[int]] = {}
        group_of = {body: g for g, group in enumerate(groups) for body in group}
        for row in held:
            self._keep_apart(program, state, (axis, group_of, off, lacks), row)
        for body, g in group_of.items():
            self._keep_ground(program, state, (axis, off, lacks), (body, g))
        self._price(program, state, axis, group_of, off)
        solution = program.solved()
        if solution is None:
            return [], set(range(len(groups)))
        steps = np.rint(solution[0][: len(groups)])
        blamed = {g for v, who in lacks.items() if solution[0][v] > LACKING for g in who}
        return [float(rest + STEP * step) for rest, step in zip(off, steps, strict=True)], blamed

    def _at_most(self, program: Program, terms: Terms, limit: float,
                 lacks: dict[int, set[int]]) -> None:
        """A row that may be broken at a high price; who is in it is noted with what breaks it."""
        lack = program.variable(self.slider.firm)
        lacks[lack] = {g for g, _ in terms}
        program.at_most([*terms, (lack, -1.0)], limit)

    def _keep_apart(self, program: Program, state: State,
                    how: tuple[int, dict[int, int], list[float], dict[int, set[int]]],
                    row: Floats) -> None:
        axis, group_of, off, lacks = how
        one, other = int(row[0]), int(row[1])
        g, h = group_of.get(one), group_of.get(other)
        along, across = float(row[2 + axis]), float(row[3 - axis])
        if g == h or abs(along) < NEAR_ZERO:
            return
        rest = float(row[4]) - across * (
            place(state, other, 1 - axis) - place(state, one, 1 - axis))
        apart = place(state, other, axis) - place(state, one, axis)
        moved = (0.0 if h is None else off[h]) - (0.0 if g is None else off[g])
        steps = (rest / along - apart - moved) / STEP
        terms = [(v, sign) for v, sign in ((g, 1.0), (h, -1.0)) if v is not None]
        if along > 0:  # step of other - step of one >= steps
            self._at_most(program, terms, -float(ceil(steps - LOOSE)), lacks)
        else:
            self._at_most(program, [(v, -sign) for v, sign in terms],
                          float(floor(steps + LOOSE)), lacks)

    def _keep_ground(self, program: Program, state: State,
                     how: tuple[int, list[float], dict[int, set[int]]], who: tuple[int, int]
                     ) -> None:
        axis, off, lacks = how
        body, g = who
        for a, b, c in pose_of(self.puzzle, state, body).planes:
            along, across = (a, b) if axis == 0 else (b, a)
            if abs(along) < NEAR_ZERO:
                continue
            limit = (c - across * place(state, body, 1 - axis)) / along
            steps = (limit - place(state, body, axis) - off[g]) / STEP
            if along > 0:
                self._at_most(program, [(g, 1.0)], float(floor(steps + LOOSE)), lacks)
            else:
                self._at_most(program, [(g, -1.0)], -float(ceil(steps - LOOSE)), lacks)

    def _price(self, program: Program, state: State, axis: int, group_of: dict[int, int],
               off: list[float]) -> None:
        """Nets, their terminals rounded to whole steps so that the answer is whole."""
        there = set(modules(self.puzzle, state))
        weights = [net.weight for net in self.puzzle.nets] or [1.0]
        for net in self.puzzle.nets:
            if not all(body in there for body, _ in net.ends):
                continue
            ends = []
            for body, pin in net.ends:
                g = group_of.get(body)
                at = place(state, body, axis) + pose_of(self.puzzle, state, body).pins[pin][axis]
                at += 0.0 if g is None else off[g]
                ends.append(([] if g is None else [(g, 1.0)], float(round(at / STEP))))
            ends += [([], float(round(spot[axis] / STEP))) for spot in net.fixed]
            price_span(program, ends, net.weight * STEP)
        for g in range(len(off)):
            price_span(program, [([(g, 1.0)], 0.0), ([], 0.0)], STAY * float(np.mean(weights)))

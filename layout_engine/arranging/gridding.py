"""Holes on a grid: lined-up bodies are shifted together by whole steps of it.

Along one axis, the other held, everything that bodies must keep is a difference of two shifts, or a
limit of one. In whole steps that is a network: its linear program has whole solutions (Hoffman,
Kruskal, Ann. Math. Studies 38, 1956). Where that costs too much or has none, each group is tried
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
from layout_engine.arranging.programs import Program, price_span
from layout_engine.arranging.puzzle import Puzzle
from layout_engine.arranging.respects.tidiness import GRID_MM
from layout_engine.arranging.sliding import FREE_MM, Slider, State
from layout_engine.arranging.vectors import Floats, X, Y

STEP = GRID_MM
LOOSE = 1e-6  # of a step: rounding of what must be kept
NEAR_ZERO = 1e-9
STAY = 1e-3  # price of a step, beside the mean weight of a net: of equal answers the nearest


@dataclass(frozen=True, eq=False)
class Gridder:
    """Puts the holes of a puzzle's bodies on the grid."""

    puzzle: Puzzle
    slider: Slider

    def to_grid(self, state: State, most: float, held: frozenset[int] = frozenset()) -> None:
        """Shift an allowed state, in place, so that more holes are on the grid.

        Args:
            state: the state.
            most: what it may cost afterwards.
            held: bodies that stay where they are.
        """
        for axis in (0, 1):
            groups = [group for group in self._groups(state, axis) if not held & set(group)]
            off = [self._off(state, group, axis) for group in groups]
            kept = state[0].copy()
            steps = self._steps(state, axis, groups, off)
            if steps is not None:
                for group, shift in zip(groups, steps, strict=True):
                    self._shift(state, group, axis, shift)
            if steps is None or not self._is_good(state, most):
                state[0][:] = kept
                self._one_by_one(state, axis, groups, off, most)

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

    def _steps(self, state: State, axis: int, groups: list[list[int]], off: list[float]
               ) -> list[float] | None:
        """Shifts, mm, of all groups together to where they are cheapest on the grid; None: none."""
        program = Program([0.0] * len(groups), [-np.inf] * len(groups))
        group_of = {body: g for g, group in enumerate(groups) for body in group}
        _, held = self.slider.program(state)
        for row in held:
            self._keep_apart(program, state, axis, group_of, off, row)
        for body, g in group_of.items():
            self._keep_ground(program, state, axis, (body, g), off[g])
        self._price(program, state, axis, group_of, off)
        solution = program.solved()
        if solution is None:
            return None
        steps = np.rint(solution[0][: len(groups)])
        return [float(rest + STEP * step) for rest, step in zip(off, steps, strict=True)]

    def _keep_apart(self, program: Program, state: State, axis: int,
                    group_of: dict[int, int], off: list[float], row: Floats) -> None:
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
            program.at_most(terms, -float(ceil(steps - LOOSE)))
        else:
            program.at_most([(v, -sign) for v, sign in terms], float(floor(steps + LOOSE)))

    def _keep_ground(self, program: Program, state: State, axis: int, who: tuple[int, int],
                     off: float) -> None:
        body, g = who
        for a, b, c in pose_of(self.puzzle, state, body).planes:
            along, across = (a, b) if axis == 0 else (b, a)
            if abs(along) < NEAR_ZERO:
                continue
            limit = (c - across * place(state, body, 1 - axis)) / along
            steps = (limit - place(state, body, axis) - off) / STEP
            if along > 0:
                program.at_most([(g, 1.0)], float(floor(steps + LOOSE)))
            else:
                program.at_most([(g, -1.0)], -float(ceil(steps - LOOSE)))

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

"""Lining up: bodies that nearly share a line, or nearly stand at equal gaps, come to do so.

One linear program holds bodies apart, on their ground, and the price within a stated share of what
it was; it makes the weighed sum of what lines and gaps are off least. A sum of absolute values is
least with many of them at 0; solved again with weights turned round by what is left, more of them
come there (Candes, Wakin, Boyd, J. Fourier Anal. Appl. 14, 2008).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from layout_engine.arranging.budget import capped
from layout_engine.arranging.lines import Gaps, Line, near_gaps, near_lines, place
from layout_engine.arranging.pricing import fault, price, refresh
from layout_engine.arranging.programs import Program, Terms
from layout_engine.arranging.puzzle import Puzzle
from layout_engine.arranging.sliding import FREE_MM, Slider, State

ROUNDS = (0.5, 0.05, 0.02)  # mm added to what is off, before weights are turned round
THRIFT = 0.05  # price of a mm of the dearest body's wires, beside the weight of a line 1 mm off
GAP_SHARE = 0.7  # weight of a gap beside that of a line


@dataclass(frozen=True, eq=False)
class Liner:
    """Lines up the bodies of a puzzle; `is_stopped`: whether to make do with the rounds so far."""

    puzzle: Puzzle
    slider: Slider
    is_stopped: Callable[[], bool] = lambda: False

    def line_up(self, state: State, most: float, within: float,
                held: frozenset[int] = frozenset()) -> None:
        """Line a state up, in place.

        Args:
            state: an allowed state.
            most: what it may cost afterwards.
            within: lines and gaps that are off by more, mm, are left as they are.
            held: bodies that stay where they are.
        """
        for softness in ROUNDS:
            if self.is_stopped():
                break
            kept = state[0].copy()
            lines = near_lines(self.puzzle, state, within)
            gaps = near_gaps(self.puzzle, state, lines, within)
            program = capped(self.slider, state, most, THRIFT)
            for body in sorted(held):
                for axis in (0, 1):
                    at = place(state, body, axis)
                    program.at_most([(2 * body + axis, 1.0)], at)
                    program.at_most([(2 * body + axis, -1.0)], -at)
            self._price(program, state, lines, gaps, softness)
            if not (self._solve(program, state) and self._costs(state) <= most + 1e-9):
                state[0][:] = kept
                refresh(self.slider.f, self.slider.n, *state)
                break

    def _price(self, program: Program, state: State, lines: list[Line], gaps: list[Gaps],
               softness: float) -> None:
        """Price lines and gaps."""
        for line in lines:
            terms, constant = self._off_line(state, line)
            _price_off(program, terms, constant, 1.0 / (softness + abs(line.off)))
        for row in gaps:
            terms, constant = self._off_gaps(state, row)
            _price_off(program, terms, constant, GAP_SHARE / (softness + abs(row.off)))

    def _solve(self, program: Program, state: State) -> bool:
        """Move the bodies to a program's answer; whether that is allowed."""
        solution = program.solved()
        if solution is None:
            return False
        self.slider.put(state, solution[0])
        f, n = self.slider.f, self.slider.n
        refresh(f, n, *state)
        return bool(fault(f, n, *state) <= FREE_MM)

    def _costs(self, state: State) -> float:
        return price(self.slider.f, self.slider.n, *state)

    def _at(self, state: State, body: int, axis: int, factor: float) -> tuple[Terms, float]:
        if body < self.puzzle.movable:
            return [(2 * body + axis, factor)], 0.0
        return [], factor * place(state, body, axis)

    def _off_line(self, state: State, line: Line) -> tuple[Terms, float]:
        (p, cp), (q, cq) = (self._at(state, body, line.axis, factor)
                            for body, factor in ((line.one, 1.0), (line.other, -1.0)))
        return [*p, *q], cp + cq + line.a - line.b

    def _off_gaps(self, state: State, row: Gaps) -> tuple[Terms, float]:
        found = [self._at(state, body, row.axis, factor) for body, factor in (
            (row.middle, 2.0), (row.first, -1.0), (row.last, -1.0))]
        return [t for terms, _ in found for t in terms], row.shift + sum(c for _, c in found)


def _price_off(program: Program, terms: Terms, constant: float, weight: float) -> None:
    """Price |terms + constant|."""
    off = program.variable(weight)
    program.at_most([*terms, (off, -1.0)], -constant)
    program.at_most([*((c, -v) for c, v in terms), (off, -1.0)], constant)

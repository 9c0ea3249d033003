"""Clearing warnings: modules are shifted a little, so that the checker finds less to warn of.

Most of what it warns of is room that something lacks: a hole too near another, a part in a
terminal's bend room, a screw under a part of the other face. One linear program holds everything
that must be, and the price within what it may be; it makes the weighed sum of what is lacked least,
one term for each warning. As with lines it is solved again with weights turned round by what is
left, so that many lack nothing at all (Candes, Wakin, Boyd, J. Fourier Anal. Appl. 14, 2008).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from layout_engine.arranging import classes as c
from layout_engine.arranging.budget import capped
from layout_engine.arranging.cost import evaluate
from layout_engine.arranging.crowding import crowdedness
from layout_engine.arranging.packing import packed
from layout_engine.arranging.pricing import fault, price, refresh
from layout_engine.arranging.probing import Stopped
from layout_engine.arranging.problem import Problem, problem_of
from layout_engine.arranging.programs import Program, Terms
from layout_engine.arranging.puzzle import Puzzle
from layout_engine.arranging.running import Run
from layout_engine.arranging.sliding import FREE_MM, Slider, State
from layout_engine.arranging.vectors import (
    AT,
    MOVABLE,
    ON,
    PIECE_N,
    PIECE_NW,
    Floats,
    X,
    Y,
    new_state,
)
from layout_engine.arranging.verdict import is_allowed, look_at
from layout_engine.model.job import Job
from layout_engine.wiring.zones import wires_at_aerials

ROUNDS = (2.0, 0.5, 0.1, 0.02)  # mm added to what is lacked, before weights are turned round
THRIFT = 0.02  # price of a mm of the dearest body's wires, beside the weight of 1 mm that is lacked
WORTH = 0.001  # share of the cost that a warning less is worth, or a wire less at an aerial
CROWDED = 0.01  # share of the cost that gaps are worth which are full of wires in the mean
CLEAR_MM = 1e-3  # who lacks less lacks nothing: places are rounded to this
# Whose warning it is: what wants the room, its body, and the other one where each pair counts.
Wanting = tuple[type, int, int]
Wanted = tuple[Wanting, Terms, float]  # the sum of the terms is to be at most so much
_OWN = (c.Strip, c.Zone, c.Aerial, c.Drilled)  # one warning, however many others are in the way


@dataclass(frozen=True, eq=False)
class Clearer:
    """Clears what states of one problem are warned of.

    Attributes:
        slider: of the problem's puzzle.
        careful: the same problem with all room free that the checker would warn of; bodies in
            the same order, each in the one pose that it has in the states.
        room: of that puzzle.
    """

    slider: Slider
    careful: Problem
    room: Slider

    @classmethod
    def of(cls, slider: Slider, careful: Problem) -> Clearer:
        """For a problem's slider and its careful problem."""
        return cls(slider, careful, Slider(careful.puzzle, *packed(careful.puzzle)))

    def cleared(self, state: State, most: float, is_late: Callable[[], bool] = lambda: False
                ) -> Iterator[State]:
        """States with less to warn of, each a little farther on, that cost at most `most`."""
        f, n = self.slider.f, self.slider.n
        now = state[0].copy(), state[1].copy()
        wanted = self._wanted(now)
        for softness in ROUNDS:
            if is_late():
                break
            solution = self._program(now, wanted, most, softness).solved()
            if solution is None:
                break
            self.slider.put(now, solution[0])
            refresh(f, n, *now)
            if fault(f, n, *now) > FREE_MM or price(f, n, *now) > most + 1e-6:
                break
            wanted = self._wanted(now)
            if is_late():
                break
            yield self._cheapest(now, wanted)

    def _cheapest(self, state: State, wanted: list[Wanted]) -> State:
        """The cheapest places at which whoever has its room keeps it."""
        cheap = state[0].copy(), state[1].copy()
        program, _ = self.slider.program(state)
        lacks = self._lacked(state, wanted)
        for key, terms, limit in wanted:
            if lacks[key] <= CLEAR_MM:
                program.at_most(terms, limit + max(lacks[key], 0.0))
        solution = program.solved()
        f, n = self.slider.f, self.slider.n
        if solution is not None:
            self.slider.put(cheap, solution[0])
            refresh(f, n, *cheap)
            if fault(f, n, *cheap) <= FREE_MM and price(f, n, *cheap) <= price(f, n, *state):
                return cheap
        return state[0].copy(), state[1].copy()

    def lacked(self, state: State) -> dict[Wanting, float]:
        """By how much each lacks the room it wants, mm; negative: what it has to spare."""
        return self._lacked(state, self._wanted(state))

    def _lacked(self, state: State, wanted: list[Wanted]) -> dict[Wanting, float]:
        found: dict[Wanting, float] = {}
        for key, terms, limit in wanted:
            there = sum(factor * self._place(state, column) for column, factor in terms)
            found[key] = max(found.get(key, -np.inf), there - limit)
        return found

    def _wanted(self, state: State) -> list[Wanted]:
        """Who wants that the sum of the terms is at most so much."""
        there = self._standing(state)
        rows = self.room.relations(there, each=True)
        return [(self._wanting(row), *kept)
                for row, kept in zip(rows, self.room.apart(there, rows), strict=True)]

    def _standing(self, state: State) -> State:
        """The state as one of the careful puzzle."""
        s, k = new_state(self.room.n)
        movable = int(self.room.n[MOVABLE])
        for number, body in enumerate(self.careful.puzzle.bodies):
            k[k[AT] + number], k[k[ON] + number] = body.pose, 1
            if number >= movable:
                s[k[X] + number], s[k[Y] + number] = body.at or (0.0, 0.0)
        for block in (X, Y):
            own = state[1][block]
            s[k[block]: k[block] + movable] = state[0][own: own + movable]
        return s, k

    def _place(self, state: State, column: int) -> float:
        """A variable of the program: x and y of the movable bodies in turn."""
        return float(state[0][state[1][Y if column % 2 else X] + column // 2])

    def _wanting(self, row: Floats) -> Wanting:
        n = self.room.n
        who = int(row[0]), int(row[1])
        kinds = [self.careful.kinds[int(n[n[PIECE_N] + int(piece) * PIECE_NW])]
                 for piece in row[5:7]]
        for one in (0, 1):
            if isinstance(kinds[one], c.Counter):
                return c.Counter, *who
            if isinstance(kinds[one], _OWN):
                return type(kinds[one]), who[one], -1
        return type(kinds[0]), *who

    def _program(self, state: State, wanted: list[Wanted], most: float, softness: float
                 ) -> Program:
        program = capped(self.slider, state, most, THRIFT)
        lack_of = {key: program.variable(1.0 / (softness + max(lack, 0.0)))
                   for key, lack in self._lacked(state, wanted).items()}
        for key, terms, limit in wanted:
            program.at_most([*terms, (lack_of[key], -1.0)], limit)
        return program


def burden(job: Job) -> tuple[float, int]:
    """What a job costs with its warnings, crowded gaps and wires at aerials, to compare; how many
    warnings it has.
    """
    look = look_at(job)
    count, scene = len(look.warnings), look.facts.scene
    more = WORTH * (count + wires_at_aerials(job, scene)) + CROWDED * crowdedness(job, scene)
    return evaluate(job).cost * (1 + more), count


def clearings(run: Run, state: State, share: float, most: float, is_late: Callable[[], bool],
              puzzle: Puzzle | None = None) -> Iterator[tuple[State, Job]]:
    """Allowed states with less to warn of, and their jobs.

    Args:
        run: its run.
        state: an allowed state.
        share: of its cost, what they may cost more.
        most: what they may cost in any case.
        is_late: whether there is no time for another one.
        puzzle: its puzzle, where it is not the run's.
    """
    def look() -> None:
        if is_late():
            raise Stopped

    try:
        careful = run.careful = problem_of(run.job_of(state), run.problem.only, care=c.Care.ALL,
                                           turning=False, like=run.careful, look=look)
    except Stopped:
        return
    if careful.movable != run.problem.movable or is_late():
        return
    puzzle = puzzle or run.problem.puzzle
    slider = Slider(puzzle, *packed(puzzle))
    refresh(slider.f, slider.n, *state)
    limit = min(price(slider.f, slider.n, *state) * (1 + share), most)
    parts = run.job_of(state).parts
    for after in Clearer.of(slider, careful).cleared(state, limit, is_late):
        if is_late():
            return
        job = run.job_of(after)
        parts, before = job.parts, parts
        if parts != before and is_allowed(job, run.given) and evaluate(job).cost <= most:
            yield after, job

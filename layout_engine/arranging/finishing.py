"""The finish of an offer: lines, equal gaps and round hole places where they cost next to nothing.

Deterministic. What it makes is judged by the checker: no stop, and no warning that was not there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from math import inf

from layout_engine.arranging.gridding import Gridder
from layout_engine.arranging.lines import holes, modules, place, pose_of
from layout_engine.arranging.lining import Liner
from layout_engine.arranging.packing import packed
from layout_engine.arranging.pricing import fault, price, refresh
from layout_engine.arranging.puzzle import Puzzle
from layout_engine.arranging.respects.tidiness import GRID_MM, tidiness
from layout_engine.arranging.sliding import FREE_MM, Slider, State
from layout_engine.arranging.vectors import X, Y
from layout_engine.arranging.verdict import Given, Warned, avoidable, is_allowed, warnings
from layout_engine.checks.standing import Standing
from layout_engine.model.job import Job


@dataclass(frozen=True, slots=True)
class Finish:
    """How far a finish goes.

    Attributes:
        share: it may cost this share of the cost more, lines and grid together.
        within: lines and gaps that are off by more, mm, are left alone.
        clearing: what fewer warnings may cost before that, share of the cost.
        opening: what ways for wires may cost after that, share of the cost; of characters see
            `choosing`.
    """

    share: float
    within: float
    clearing: float
    opening: float = 0.0


USUAL = Finish(share=0.001, within=4.0, clearing=0.004, opening=0.006)
GENEROUS = Finish(share=0.001, within=4.0, clearing=0.03)
TIDIEST = Finish(share=0.08, within=15.0, clearing=0.03)
TRIES = 6  # each with the modules held that got a new warning before, or stand round one
ROUND_MM = 40.0  # as far as what moves there can give a module a new warning, mostly
MOST_ALONE = 25  # modules that are tried one by one: a few hundredths of a second each
LINES_SHARE = 0.6  # of what the finish may cost goes into lines, the rest into the grid


@dataclass(frozen=True, eq=False)
class Finisher:
    """Finishes states of one puzzle; `job_of` makes the job of a state.

    `is_stopped`: whether to make do with what is finished by then; `is_late`: whether there is no
    time for more than one try.
    """

    puzzle: Puzzle
    job_of: Callable[[State], Job]
    given: Given
    is_stopped: Callable[[], bool] = lambda: False
    is_late: Callable[[], bool] = lambda: False

    def finished(self, state: State, how: Finish, most: float = inf,
                 still: frozenset[str] = frozenset()) -> tuple[State, Job]:
        """The tidiest of the state and its finishes that the checker allows, and its job.

        `most`: what it may cost in any case; `still`: names of bodies that are not moved.
        """
        f, n = packed(self.puzzle)
        slider = Slider(self.puzzle, f, n)
        refresh(f, n, *state)
        cost = price(f, n, *state)
        job = self.job_of(state)
        before = warnings(job)
        found = [(tidiness_of(job), state, job)]
        kept = frozenset(b for b in range(self.puzzle.movable)
                         if self.puzzle.bodies[b].name in still)
        held = kept
        for number in range(TRIES):
            if self.is_stopped() or (number > 0 and self.is_late()):
                break
            lined = copied(state)
            lines, grid = (min(cost * (1 + share * how.share), most) for share in (LINES_SHARE, 1))
            Liner(self.puzzle, slider, self.is_stopped).line_up(lined, lines, how.within, held)
            gridded = copied(lined)
            for axis in (0, 1):
                if not self.is_stopped():
                    Gridder(self.puzzle, slider).to_grid(gridded, grid, axis, held)
            allowed, faulty = self._judged((lined, gridded), before)
            found += allowed
            named = frozenset(b for b in range(self.puzzle.movable)
                              if self.puzzle.bodies[b].name in faulty)
            more = named - held or self._round(state, named) - held
            if not more:
                break
            held |= more
        return self._each_to_grid(slider, max(found, key=lambda entry: entry[0])[1:], before,
                                  min(cost * (1 + how.share), most), kept)

    def _judged(self, states: Iterable[State], before: Warned
                ) -> tuple[list[tuple[float, State, Job]], set[str]]:
        """Those that the checker allows, with no more warnings than before, and their tidiness;
        names of what is at fault in the others.
        """
        allowed, faulty = list[tuple[float, State, Job]](), set[str]()
        for state in states:
            if self.is_stopped():
                break
            job = self.job_of(state)
            new = {name for _, names in warnings(job) - before for name in names}
            new |= {name for found in avoidable(job, self.given) for name in found.subjects}
            faulty |= new
            if not new and is_allowed(job, self.given):
                allowed.append((tidiness_of(job), state, job))
        return allowed, faulty

    def _each_to_grid(self, slider: Slider, end: tuple[State, Job], before: Warned, most: float,
                      kept: frozenset[int]) -> tuple[State, Job]:
        """The end with bodies put on the grid, each by itself, where that is tidier."""
        state, job = end
        score = tidiness_of(job)
        for body in modules(self.puzzle, state)[:MOST_ALONE]:
            if self.is_stopped() or self.is_late():
                break
            if body >= self.puzzle.movable or body in kept:
                continue
            for ways in self._ways_to_grid(state, body):
                tried = copied(state)
                for block, way in zip((X, Y), ways, strict=True):
                    tried[0][tried[1][block] + body] += way
                refresh(slider.f, slider.n, *tried)
                if (fault(slider.f, slider.n, *tried) > FREE_MM
                        or price(slider.f, slider.n, *tried) > most):
                    continue
                after = self.job_of(tried)
                better = tidiness_of(after)
                if better > score and not warnings(after) - before and is_allowed(
                        after, self.given):
                    state, job, score = tried, after, better
                    break
        return state, job

    def _ways_to_grid(self, state: State, body: int) -> list[tuple[float, float]]:
        """Shifts of a body, mm, that put its first hole on the grid, the shortest first."""
        steps = []
        for axis in (0, 1):
            spots = holes(pose_of(self.puzzle, state, body), axis)
            if not spots:
                return []
            over = (place(state, body, axis) + spots[0]) % GRID_MM
            steps.append((-over, GRID_MM - over))
        ways = [(x, y) for x in steps[0] for y in steps[1]]
        return sorted(ways, key=lambda way: abs(way[0]) + abs(way[1]))

    def _round(self, state: State, named: frozenset[int]) -> frozenset[int]:
        """Bodies that stand near one of these on its face."""
        boxes = {body: self._box(state, body) for body in modules(self.puzzle, state)}
        faces = {body: pose_of(self.puzzle, state, body).face for body in boxes}
        return frozenset(
            other for other, box in boxes.items() for body in named & boxes.keys()
            if faces[other] == faces[body] and box[0] < boxes[body][2] + ROUND_MM
            and box[2] > boxes[body][0] - ROUND_MM and box[1] < boxes[body][3] + ROUND_MM
            and box[3] > boxes[body][1] - ROUND_MM)

    def _box(self, state: State, body: int) -> tuple[float, ...]:
        """Bounds of a body's outline where it stands."""
        x, y = (place(state, body, axis) for axis in (0, 1))
        a, b, c, d = pose_of(self.puzzle, state, body).outline
        return x + a, y + b, x + c, y + d


def copied(state: State) -> State:
    """A state of its own."""
    return state[0].copy(), state[1].copy()


def tidiness_of(job: Job) -> float:
    """The score by which finishes are compared."""
    return tidiness(tuple(Standing.of(job, part) for part in job.placed)).score

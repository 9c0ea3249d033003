"""The finish of an offer: lines, equal gaps and round hole places where they cost next to nothing.

Deterministic. What it makes is judged by the checker: no stop, and no warning that was not there.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import inf

from layout_engine.arranging.gridding import Gridder
from layout_engine.arranging.lining import Liner
from layout_engine.arranging.packing import packed
from layout_engine.arranging.pricing import price, refresh
from layout_engine.arranging.puzzle import Puzzle
from layout_engine.arranging.respects.tidiness import tidiness
from layout_engine.arranging.sliding import Slider, State
from layout_engine.arranging.verdict import Given, avoidable, is_allowed
from layout_engine.checks.facts import Facts
from layout_engine.checks.rules import PLACEMENT
from layout_engine.checks.standing import Standing
from layout_engine.model.job import Job


@dataclass(frozen=True, slots=True)
class Finish:
    """How far a finish goes.

    Attributes:
        share: it may cost this share of the cost more, lines and grid together.
        within: lines and gaps that are off by more, mm, are left alone.
        clearing: what fewer warnings may cost before that, share of the cost.
    """

    share: float
    within: float
    clearing: float


USUAL = Finish(share=0.001, within=4.0, clearing=0.004)
ROOMY = Finish(share=0.001, within=4.0, clearing=0.03)
TIDIEST = Finish(share=0.08, within=15.0, clearing=0.03)
PLACELESS = ("not_measured",)  # what is warned of wherever things stand
TRIES = 4  # each with the modules held that got a new warning before
LINES_SHARE = 0.6  # of what the finish may cost goes into lines, the rest into the grid


@dataclass(frozen=True, eq=False)
class Finisher:
    """Finishes states of one puzzle; `job_of` makes the job of a state.

    `is_stopped`: whether to make do with what is finished by then.
    """

    puzzle: Puzzle
    job_of: Callable[[State], Job]
    given: Given
    is_stopped: Callable[[], bool] = lambda: False

    def finished(self, state: State, how: Finish, most: float = inf) -> tuple[State, Job]:
        """The tidiest of the state and its finishes that the checker allows, and its job.

        `most`: what it may cost in any case.
        """
        f, n = packed(self.puzzle)
        slider = Slider(self.puzzle, f, n)
        refresh(f, n, *state)
        cost = price(f, n, *state)
        job = self.job_of(state)
        before = warnings(job)
        found = [(tidiness_of(job), state, job)]
        held: frozenset[int] = frozenset()
        for _ in range(TRIES):
            if self.is_stopped():
                break
            lined = copied(state)
            lines, grid = (min(cost * (1 + share * how.share), most) for share in (LINES_SHARE, 1))
            Liner(self.puzzle, slider).line_up(lined, lines, how.within, held)
            gridded = copied(lined)
            for axis in (0, 1):
                if not self.is_stopped():
                    Gridder(self.puzzle, slider).to_grid(gridded, grid, axis, held)
            faulty: set[str] = set()
            for tried in (lined, gridded):
                job = self.job_of(tried)
                new = {name for rule, names in warnings(job) - before for name in names}
                new |= {name for found in avoidable(job, self.given) for name in found.subjects}
                faulty |= new
                if not new and is_allowed(job, self.given):
                    found.append((tidiness_of(job), tried, job))
            more = frozenset(b for b in range(self.puzzle.movable)
                             if self.puzzle.bodies[b].name in faulty) - held
            if not more:
                break
            held |= more
        _, state, job = max(found, key=lambda entry: entry[0])
        return state, job


def copied(state: State) -> State:
    """A state of its own."""
    return state[0].copy(), state[1].copy()


def tidiness_of(job: Job) -> float:
    """The score by which finishes are compared."""
    return tidiness(tuple(Standing.of(job, part) for part in job.placed)).score


def warnings(job: Job) -> frozenset[tuple[str, tuple[str, ...]]]:
    """Every warning about where things stand: rule and whom it is about."""
    facts = Facts(job)
    return frozenset(
        (f.rule, f.subjects) for name, rule in PLACEMENT.items() if name not in PLACELESS
        for f in rule(facts) if f.severity == "warn"
    )

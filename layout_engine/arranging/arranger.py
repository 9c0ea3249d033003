"""Arranging a job from end to end: problem, search, verdict, bound, words."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np

from layout_engine.arranging.arrangement import Arrangement, OnProgress, Plan, Progress, plan_for
from layout_engine.arranging.bound import lower_bound
from layout_engine.arranging.cost import Cost, evaluate
from layout_engine.arranging.problem import Problem, problem_of
from layout_engine.arranging.reasons import why_not_whole
from layout_engine.arranging.search import Search, State
from layout_engine.arranging.vectors import AT, ON, X, Y
from layout_engine.arranging.verdict import Given, avoidable, is_allowed, unavoidable
from layout_engine.model.job import Job
from layout_engine.model.part import Placement

# Units of work of each plan; some 13 million a second on the machine they were chosen on.
WORK: dict[Plan, int] = {"quick": 10_000_000, "normal": 90_000_000, "thorough": 500_000_000}
NEAR_SHARE = 0.01  # starts that end within this of the best are counted


@dataclass
class _Run:
    """One arranging: the problem and the best offer so far."""

    problem: Problem
    base: Job
    given: Given
    best: Job | None = None
    cost: Cost | None = None
    refused: set[str] = field(default_factory=set)

    def judge(self, state: State) -> bool:
        """Whether the checker allows a state; if so and it is cheapest, it is the offer."""
        job = self.job_of(state)
        if not is_allowed(job, self.given):
            self.refused.update(finding.rule for finding in avoidable(job, self.given))
            return False
        cost = evaluate(job)
        if self.cost is None or cost.cost < self.cost.cost:
            self.best, self.cost = job, cost
        return True

    def keep(self, job: Job, moving: frozenset[str]) -> None:
        """Take the layout that is there as the first offer, where it is whole and allowed."""
        whole = all(job.part(part_id).placement for part_id in moving)
        if whole and is_allowed(job, self.given):
            self.best, self.cost = job, evaluate(job)

    def job_of(self, state: State) -> Job:
        """The job with a state's places."""
        s, k = state
        places = {
            part_id: self.problem.placement(int(k[k[AT] + n]), s[k[X] + n], s[k[Y] + n])
            for n, part_id in enumerate(self.problem.movable) if k[k[ON] + n]
        }
        return with_places(self.base, places)

    def progress(self, fraction: float) -> Progress:
        """What to tell."""
        if self.cost is None:
            return Progress(fraction, None, None, None, None)
        return Progress(fraction, self.best, self.cost.cost, self.cost.wire_cost,
                        self.cost.wish_cost)


def with_places(job: Job, places: Mapping[str, Placement | None]) -> Job:
    """The job with these parts at these places, None being the tray."""
    parts = tuple(
        part.model_copy(update={"placement": places[part.id]}) if part.id in places else part
        for part in job.parts
    )
    changed = job.model_copy(update={"parts": parts})
    changed.__dict__.pop("parts_by_id", None)  # a copy takes over what the old parts were
    return changed


def cleared(job: Job, part_ids: frozenset[str]) -> Job:
    """The job with these parts in the tray."""
    return with_places(job, dict.fromkeys(part_ids))


def arranged(job: Job, seconds: float, seed: int, on_progress: OnProgress | None,
             moves: tuple[frozenset[str] | None, float | None],
             clock: Callable[[], float]) -> Arrangement:
    """Arrange a job; see `layout_engine.arrange`."""
    start, plan = clock(), plan_for(seconds)
    only, at_most = moves
    problem = problem_of(job, only, at_most)
    moving = frozenset(part.id for part in job.parts if _may_move(job, part.id, only))
    base = cleared(job, moving)
    run = _Run(problem, base, unavoidable(base, moving))
    run.keep(job, moving)
    capped = False
    search: Search | None = None
    if problem.movable:
        search = Search(problem.puzzle, seed, WORK[plan], judge=run.judge)
        for fraction in search.steps():
            if clock() - start > seconds:
                capped = True
                break
            if on_progress and not on_progress(run.progress(fraction)):
                capped = True
                break
    return _offer(run, search, moving, (plan, seed, capped))


def _may_move(job: Job, part_id: str, only: frozenset[str] | None) -> bool:
    part = job.part(part_id)
    chosen = only is None or part_id in only
    return chosen and not part.locked and part.away is None


def _offer(run: _Run, search: Search | None, moving: frozenset[str],
           how: tuple[Plan, int, bool]) -> Arrangement:
    job = run.best or _partial(run, search)
    cost = evaluate(job)
    unplaced = tuple(p.id for p in job.parts if p.id in moving and p.placement is None)
    ends = np.array(search.best.ends if search else [])
    ended = ends[np.isfinite(ends)]
    plan, seed, capped = how
    return Arrangement(
        job=job, cost=cost.cost, wire_cost=cost.wire_cost, wish_cost=cost.wish_cost,
        bound=min(lower_bound(run.problem, job), cost.cost), capped=capped, whole=not unplaced,
        reason=why_not_whole(run.problem, job, unplaced, run.refused) if unplaced else "",
        unplaced=unplaced, plan=plan, seed=seed, starts=len(ended),
        starts_near=int(np.sum(ended <= ended.min() * (1 + NEAR_SHARE))) if len(ended) else 0,
    )


def _partial(run: _Run, search: Search | None) -> Job:
    """The best partial arrangement that the checker allows: parts are taken off until it does."""
    if search is None or search.partial is None:
        return run.base
    s, k = search.partial[0].copy(), search.partial[1].copy()
    while True:
        job = run.job_of((s, k))
        on = [n for n in range(len(run.problem.movable)) if k[k[ON] + n]]
        if not on or is_allowed(job, run.given):
            return job
        k[k[ON] + on[-1]] = 0


def warm() -> None:
    """Run every compiled function once on a small problem."""
    from layout_engine.arranging.samples import warming_puzzle

    for _ in Search(warming_puzzle(), 1, 2_000_000).steps():
        pass

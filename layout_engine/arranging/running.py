"""One arranging while it runs: what was offered to the checker, and the best so far."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf

from layout_engine.arranging.arrangement import Progress
from layout_engine.arranging.cooling import State
from layout_engine.arranging.cost import Cost, evaluate
from layout_engine.arranging.finishing import USUAL
from layout_engine.arranging.problem import Problem
from layout_engine.arranging.vectors import AT, ON, X, Y
from layout_engine.arranging.verdict import Given, avoidable, is_allowed
from layout_engine.model.job import Job

SAME_COST = 1e-9
# What the cheapest costs when it is finished.
FINISHED_AT_MOST = 1 + USUAL.clearing + USUAL.opening + USUAL.share
PROBE = -1  # stands for a chain: what was found before the search began
KEPT_ENDS = 40  # ends of starts among which a character chooses, the cheapest

Offer = tuple[Job, Cost]


def progress_of(fraction: float, job: Job, cost: Cost) -> Progress:
    """What is told of an offer."""
    return Progress(fraction, job, cost.cost, cost.wire_cost, cost.wish_cost)


def cleared(job: Job, part_ids: frozenset[str]) -> Job:
    """The job with these parts in the tray."""
    return job.with_places(dict.fromkeys(part_ids))


@dataclass
class Run:
    """One arranging: the problem and the best offer so far.

    Attributes:
        problem: the problem.
        base: the job with everything that may move in the tray.
        given: stops that no place can avoid.
        by_cost: whether the cheapest is best; else the one that the search offered last.
        best, cost: the best so far, and its cost.
        state: its state, None where it is the layout that was there.
        kept: the layout that was there, if it is whole and allowed.
        refused: rules for which the checker refused what the search offered.
        ends: price and state of the cheapest ends of starts.
        firsts: what the first offer of each chain cost.
        whole: the problem without what was decided before the search; None: it is the problem.
        told: the offer that was told of last.
        beaten: offers that were best once, the dearest first.
        leeway: what the end may cost more than the best for other reasons, share of the cost.
        careful: the careful problem of the end that was looked at last.
    """

    problem: Problem
    base: Job
    given: Given
    by_cost: bool = True
    best: Job | None = None
    cost: Cost | None = None
    state: State | None = None
    kept: Job | None = None
    refused: set[str] = field(default_factory=set)
    ends: list[tuple[float, State]] = field(default_factory=list)
    firsts: dict[int, float] = field(default_factory=dict)
    whole: Problem | None = None
    told: Offer | None = None
    beaten: list[Offer] = field(default_factory=list)
    leeway: float = 0.0
    careful: Problem | None = None

    @property
    def there(self) -> float:
        """What the layout that was there costs; infinite where there was none."""
        return evaluate(self.kept).cost if self.kept else inf

    @property
    def ceiling(self) -> float:
        """What was told, at the least, and what was there: what lines and grid may cost in the end.

        Told are the first offer of each chain, and those that cost more than the best may cost
        when it is finished; so it does not matter when one asks.
        """
        return min([self.there, *self.firsts.values()])

    def judge_first(self, state: State) -> bool:
        """As `judge`, for the first chain."""
        return self.judge(state, chain=0)

    def judge(self, state: State, chain: int = 1) -> bool:
        """Whether the checker allows a state; if so and it is the best, it is the offer."""
        job = self.job_of(state)
        if not is_allowed(job, self.given):
            self.refused.update(finding.rule for finding in avoidable(job, self.given))
            return False
        cost = evaluate(job)
        self.firsts.setdefault(chain, cost.cost)
        if self.firsts[chain] == cost.cost:
            self._tell(job, cost)
        if self.cost is None or cost.cost < self.cost.cost or not self.by_cost:
            if self.best is not None and self.cost is not None:
                self.beaten.append((self.best, self.cost))
            self.best, self.cost = job, cost
            self.state = state[0].copy(), state[1].copy()
        return True

    def settle(self, state: State | None) -> None:
        """Make the search's best state the offer, if nothing cheaper is."""
        if state is None:
            return
        job = self.job_of(state)
        if self.state is not None and self.best is not None and job.parts == self.best.parts:
            return  # what the checker found in the offer is not to be found anew
        cost = evaluate(job)
        if self.cost is None or cost.cost <= self.cost.cost + SAME_COST or not self.by_cost:
            self.best, self.cost, self.state = job, cost, state

    def keep(self, job: Job, moving: frozenset[str]) -> None:
        """Take the layout that is there as the first offer, where it is whole and allowed."""
        whole = all(job.part(part_id).placement for part_id in moving)
        if whole and is_allowed(job, self.given):
            self.kept = self.best = job
            self.cost = evaluate(job)
            self._tell(job, self.cost)

    def take(self, offer: Offer) -> None:
        """Take an offer that was found, and told, before the search began."""
        job, cost = offer
        self.firsts[PROBE] = min(self.firsts.get(PROBE, inf), cost.cost)
        if self.cost is None or cost.cost < self.cost.cost:
            self.best, self.cost, self.state = job, cost, None
        self._tell(job, cost)

    def note(self, state: State, price: float) -> None:
        """Keep the end of a start, if it is among the cheapest."""
        if any(abs(price - known) < 1e-6 for known, _ in self.ends):
            return
        self.ends.append((price, (state[0].copy(), state[1].copy())))
        self.ends.sort(key=lambda end: end[0])
        del self.ends[KEPT_ENDS:]

    def job_of(self, state: State) -> Job:
        """The job with a state's places."""
        s, k = state
        places = {
            part_id: self.problem.placement(int(k[k[AT] + n]), s[k[X] + n], s[k[Y] + n])
            for n, part_id in enumerate(self.problem.movable) if k[k[ON] + n]
        }
        return self.base.with_places(places)

    def progress(self, fraction: float) -> Progress:
        """What to tell. By cost, the cheapest offer than which the last one will not be dearer."""
        if self.best is None or self.cost is None:
            return Progress(fraction, None, None, None, None)
        if not self.by_cost:
            return progress_of(fraction, self.best, self.cost)
        most = self.cost.cost * FINISHED_AT_MOST * (1 + self.leeway)
        while self.beaten and self.beaten[0][1].cost >= most:
            self._tell(*self.beaten.pop(0))
        assert self.told is not None
        return progress_of(fraction, *self.told)

    def _tell(self, job: Job, cost: Cost) -> None:
        if self.told is None or cost.cost < self.told[1].cost:
            self.told = job, cost

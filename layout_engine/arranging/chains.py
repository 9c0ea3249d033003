"""Two independent chains of a search: side by side where a second process is there, else in turn.

Each chain has its own random numbers and its own share of the work, and neither looks at the
other. So the same seed and plan give the same answer with and without a second process; with one
it comes in half the time.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np

from layout_engine.arranging.arrangement import Plan
from layout_engine.arranging.cooling import Best, Judge, State
from layout_engine.arranging.pricing import price
from layout_engine.arranging.puzzle import Puzzle
from layout_engine.arranging.schedules import FEW_BODIES, LARGE, is_unlike
from layout_engine.arranging.search import Search
from layout_engine.arranging.vectors import AT, BODIES, ON, Floats, Ints, X, Y, new_state

# Units of work of each plan, both chains together, for twelve bodies on one face, and the most
# for more; some 65 to 120 million a second on the machine they were chosen on.
WORK: dict[Plan, tuple[int, float]] = {
    "quick": (42_000_000, 1.4), "normal": (480_000_000, 1.0), "thorough": (1_800_000_000, 1.0),
}
USUAL_BODIES = 12
# Times as much in the quick plan for few bodies on one face, whose finish and bound are quick, for
# few on two faces, and for more on two: there people wait for 2 s.
QUICK_FEW, QUICK_FEW_ON_TWO, QUICK_ON_TWO = 1.3, 3.0, 2.5
# Times as much in the normal plan for more than few bodies on one face; for up to twelve on two,
# and how much less that is for more, whose moves take longer. All to take some 9 s of 10 with what
# comes before and after; what the clock cuts is not the same again.
MORE_ON_ONE, TWELVE_ON_TWO, LESS_FOR_MORE = 0.95, 2.3, 0.67
ONE_CHAIN_UP_TO = 200_000_000  # units of work too few for two chains of populations; of more
# than few bodies so little goes into single coolings, two chains of them
WAIT_S = 0.02  # between two looks at the other process, once this one's chain is done

Seen = Callable[[State, float], None]


def work_of(plan: Plan, puzzle: Puzzle) -> int:
    """Units of work that a plan spends on a puzzle."""
    base, most = WORK[plan]
    size = puzzle.movable * puzzle.faces / USUAL_BODIES
    few, on_two = puzzle.movable <= FEW_BODIES, puzzle.faces > 1
    more = 1.0
    if plan == "quick" and (few or on_two):
        more = (QUICK_FEW_ON_TWO if few else QUICK_ON_TWO) if on_two else QUICK_FEW
    elif plan == "normal" and on_two:
        more = TWELVE_ON_TWO * min(USUAL_BODIES / puzzle.movable, 1.0)**LESS_FOR_MORE
    elif plan == "normal" and not few:
        more = MORE_ON_ONE
    return int(base * more * np.clip(size, 1.0, most))


@dataclass(frozen=True, eq=False)
class Places:
    """Where the bodies stand, in a form that another process can be sent.

    Attributes:
        spots: (2, bodies) x and y of the centres.
        poses: (2, bodies) pose, and 1 for what is on the plate.
    """

    spots: Floats
    poses: Ints

    @classmethod
    def of(cls, state: State, count: int) -> Places:
        """The places of a state."""
        s, k = state
        spots = np.array([s[k[block]: k[block] + count] for block in (X, Y)])
        return cls(spots, np.array([k[k[block]: k[block] + count] for block in (AT, ON)]))

    def state(self, n: Ints) -> State:
        """A state with these places; its figures are not computed."""
        s, k = new_state(n)
        count = int(n[BODIES])
        for row, block in enumerate((X, Y)):
            s[k[block]: k[block] + count] = self.spots[row]
        for row, block in enumerate((AT, ON)):
            k[k[block]: k[block] + count] = self.poses[row]
        return s, k


@dataclass(frozen=True, eq=False)
class News:
    """What the chain in the other process tells: work done, and what it found since.

    Attributes:
        spent: units of work.
        offers: allowed places that are better than all before them, with their price.
        ends: free ends of coolings, with their price.
        done: whether it is at its end; then `starts` are the prices at which its starts ended.
    """

    spent: int
    offers: tuple[tuple[Places, float], ...] = ()
    ends: tuple[tuple[Places, float], ...] = ()
    done: bool = False
    starts: tuple[float, ...] = ()


class PartnerLost(Exception):
    """The other process is no more, or does not answer."""


class Partner(Protocol):
    """Another process that runs the second chain. Every call may raise `PartnerLost`."""

    def begin(self, task: object) -> None:
        """Set it to work on a task: what `second_chain` of the arranger takes."""

    def news(self, wait: float) -> list[News]:
        """What it told since; waits up to so many seconds for something."""

    def end(self) -> None:
        """Let it stop its work and take the next; does nothing where it has none."""


def told_chain(search: Search, tell: Callable[[News], bool]) -> None:
    """Run a chain to its end, telling of it; stops when `tell` says False."""
    offers: list[tuple[Places, float]] = []
    ends: list[tuple[Places, float]] = []
    count, judge = search.count, search.judge

    def judged(state: State) -> bool:
        allowed = judge(state)
        if allowed:
            offers.append((Places.of(state, count), float(price(search.f, search.n, *state))))
        return allowed

    search.judge = judged
    search.seen = lambda state, cost: ends.append((Places.of(state, count), cost))
    for _ in search.steps():
        if not tell(News(search.spent, tuple(offers), tuple(ends))):
            return
        offers.clear()
        ends.clear()
    tell(News(search.spent, tuple(offers), tuple(ends), done=True,
              starts=tuple(search.best.ends)))


@dataclass
class _Remote:
    """The second chain, in another process, as far as it has told."""

    partner: Partner
    search: Search  # this process's own, unused but for its vectors
    spent: int = 0
    done: bool = False
    best: Best = field(default_factory=Best)
    ends: list[tuple[State, float]] = field(default_factory=list)

    def listen(self, wait: float, judge: Judge) -> None:
        """Take what was told."""
        for told in self.partner.news(wait):
            self.spent, self.done = told.spent, told.done
            self.ends += [(places.state(self.search.n), cost) for places, cost in told.ends]
            for places, cost in told.offers:
                state = places.state(self.search.n)
                if judge(state):
                    self.best.state, self.best.cost = state, cost
            self.best.ends += told.starts


@dataclass
class Chains:
    """The whole search of one puzzle, as a `Search` is, of two chains.

    Attributes:
        puzzle, seed, judge: as of a `Search`.
        work: units of work of both chains together.
        seen: told at the end of every free end of a cooling.
        partner: the other process, for the second chain; None: there is none.
        task: what it is set to work on.
        used: share of the time that is gone.
    """

    puzzle: Puzzle
    seed: int
    work: int
    judge: Judge = lambda _: True
    seen: Seen = lambda _state, _price: None
    partner: Partner | None = None
    task: object = None
    used: Callable[[], float] = lambda: 0.0

    def __post_init__(self) -> None:
        first = Search(self.puzzle, self.seed, _shares(self.puzzle, self.work)[0],
                       judge=self.judge)
        self.chains = [first, second_search(self.puzzle, self.seed, self.work, self.judge,
                                            (first.f, first.n))]
        for search in self.chains:
            search.used = self.used
        self.going = [search.steps() for search in self.chains]
        self.notes: list[list[tuple[State, float]]] = [[], []]
        for search, notes in zip(self.chains, self.notes, strict=True):
            search.seen = lambda state, cost, notes=notes: notes.append(  # type: ignore[misc]
                ((state[0].copy(), state[1].copy()), cost))
        self.remote = _Remote(self.partner, self.chains[1]) if self.partner else None

    @property
    def f(self) -> Floats:
        """The problem's floats."""
        return self.chains[0].f

    @property
    def n(self) -> Ints:
        """The problem's integers."""
        return self.chains[0].n

    @property
    def first(self) -> Search:
        """The first chain."""
        return self.chains[0]

    @property
    def hurried(self) -> bool:
        """Whether a chain was shortened because time was short."""
        return any(search.hurried for search in self.chains)

    @property
    def partial(self) -> State | None:
        """The partial state with most bodies on the plate."""
        return self.first.partial

    @property
    def best(self) -> Best:
        """The better of both chains' best, the first one's if they are alike."""
        one, two = self.first.best, (self.remote or self.chains[1]).best
        better = two if two.cost < one.cost * (1 - 1e-12) else one
        return Best(better.state, better.cost, [*one.ends, *two.ends])

    def steps(self) -> Iterator[float]:
        """Run the chains; yields the share of the work done, often enough to be stopped."""
        try:
            if self.partner:
                self.partner.begin(self.task)
            yield from self._side_by_side() if self.remote else self._in_turn([0, 1])
        except PartnerLost:  # it goes on alone
            self.remote = None
            yield from self._in_turn([0, 1])

    def _in_turn(self, numbers: list[int]) -> Iterator[float]:
        """The chain that has done less goes on."""
        going = {number: self.going[number] for number in numbers}
        while going:
            number = min(going, key=lambda at: (self.chains[at].spent, at))
            if next(going[number], None) is None:
                del going[number]
            yield self._share()

    def _side_by_side(self) -> Iterator[float]:
        assert self.remote is not None
        for _ in self.going[0]:
            self.remote.listen(0.0, self.judge)
            yield self._share()
        while not self.remote.done:
            self.remote.listen(WAIT_S, self.judge)
            yield self._share()

    def close(self) -> State | None:
        """Tell of all ends seen, the first chain's first; the best state, if there is one."""
        if self.remote:
            with suppress(PartnerLost):
                self.remote.partner.end()
        seconds = self.remote.ends if self.remote else self.notes[1]
        for state, cost in (*self.notes[0], *seconds):
            self.seen(state, cost)
        return self.best.state

    def _share(self) -> float:
        spent = self.first.spent + (self.remote or self.chains[1]).spent
        return min(1.0, spent / max(self.work, 1))


def second_search(puzzle: Puzzle, seed: int, work: int, judge: Judge,
                  vectors: tuple[Floats, Ints] | None = None) -> Search:
    """The second chain of a puzzle; `work` is that of both, `vectors` those of the first."""
    return Search(puzzle, seed, _shares(puzzle, work)[1], judge=judge, chain=1, vectors=vectors)


def _shares(puzzle: Puzzle, work: int) -> tuple[int, int]:
    """Work of the first and of the second chain."""
    # one long cooling is worth more than two that are shorter, and so is one large population;
    # but two unlike chains are worth more than one
    few = puzzle.movable <= FEW_BODIES and work <= ONE_CHAIN_UP_TO and not puzzle.varied
    single = puzzle.movable >= LARGE or (few and not is_unlike(puzzle.movable, puzzle.faces))
    first = work if single else work // 2
    return first, work - first

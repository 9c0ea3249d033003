"""What a search does with a state: cooling it, taking overlaps out of it, sliding and offering it.

A fixed amount of work is counted in units that do not depend on the machine.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterator
from dataclasses import dataclass, field

import numpy as np

from layout_engine.arranging.annealing import anneal
from layout_engine.arranging.giving_way import room_for_ways
from layout_engine.arranging.packing import packed
from layout_engine.arranging.population import Step
from layout_engine.arranging.pricing import burden, fault, price, refresh
from layout_engine.arranging.puzzle import Puzzle
from layout_engine.arranging.schedules import (
    LARGE,
    LARGE_RECIPE,
    LAST,
    RECIPES,
    Stage,
    reheated,
    shares_of,
)
from layout_engine.arranging.sliding import FREE_MM, Slider
from layout_engine.arranging.untangling import misses_must, relax, untangle
from layout_engine.arranging.vectors import (
    AT,
    BODIES,
    MOVABLE,
    ON,
    POSE,
    POSE_W,
    SCALE,
    WITHIN,
    Floats,
    Ints,
    X,
    Y,
    new_state,
    seeded,
)
from layout_engine.once import cached_property

CHAINS = 2
CHUNK_WORK = 1_000_000  # work between two looks at the clock: some 30 ms
SLIDE_WORK = 250_000  # what sliding is counted as, and as much again for every hundred nets
REACH_SHARE = 0.2  # of the root of the plate's area: nets shorter than this hold a group together
QUENCHED = 10  # members of a population that are cooled to the end
QUENCH_MOVES = 1_500  # for a body, to cool a member to the end
PACE_AFTER, LARGE_PACE_AFTER = 0.1, 0.3  # of the time: the pace before is no measure
PACE_SLACK = 1.05  # of the work that seems to fit: pace is not told apart more finely
# A large puzzle that ended jammed is warmed up a little, each time a little more and longer.
MENDS, MEND_SHARE, MEND_GROWTH = 8, 0.12, 1.4  # how often; of the moves of the cooling
MEND_HEAT, MEND_WARMER = 0.05, 1.1
UNTANGLE_ROUNDS, ROUNDS_AT_ONCE = 120, 6
HOPEFUL = 1.03  # of the best: states that cost more are not freed of overlaps, or slid farther
GIVE_UP_SHARE = 0.15  # of the plate's size: more overlap in all than this is left alone
FREE_TRIES = (10, 4)  # of a large puzzle the second
FREE_WORK = 700_000
LEAST_MOVES = 2_000
HARDER, LARGE_HARDER = 60.0, 6.0  # how much heavier overlaps grow after a cooling
HARDENED_PART = 4  # one in so many of the moves to the end is added while overlaps grow heavier

State = tuple[Floats, Ints]
Judge = Callable[[State], bool]


def quench_moves(moves: int) -> int:
    """Moves in all of a state that is cooled to the end with so many."""
    return moves + moves // HARDENED_PART


@dataclass
class Best:
    """The best allowed state so far, and the cost at which each start ended."""

    state: State | None = None
    cost: float = np.inf
    ends: list[float] = field(default_factory=list)

    def copied(self) -> tuple[State, float]:
        """A copy of the state, and its cost."""
        assert self.state is not None
        return (self.state[0].copy(), self.state[1].copy()), self.cost


@dataclass
class Cooling:
    """What a search over one puzzle has and can do; `Search` says in which order.

    Attributes:
        puzzle: the problem.
        seed: of the random numbers.
        chain: which of the seed's independent chains of random numbers.
        work: units of work to spend.
        judge: has the last word on whether a state is allowed.
        seen: told of every start that came to a free end, and its price.
        used: share of the time that is gone. What would not come to its end in time, a population
            or a large puzzle, is cooled faster: half a way down is worth little.
        hurried: whether that was so.
        vectors: f and n of the puzzle, where they are there already; None: they are made.
        start: an allowed state that was found before; None: a first one is put together.
    """

    puzzle: Puzzle
    seed: int
    work: int
    judge: Judge = lambda _: True
    best: Best = field(default_factory=Best)
    partial: State | None = None
    spent: int = 0
    chain: int = 0
    seen: Callable[[State, float], None] = lambda _state, _price: None
    used: Callable[[], float] = lambda: 0.0
    hurried: bool = False
    vectors: tuple[Floats, Ints] | None = None
    start: State | None = None

    def __post_init__(self) -> None:
        self.f, self.n = self.vectors or packed(self.puzzle)
        self.random = seeded(self.seed * CHAINS + self.chain)
        self.order = np.random.default_rng([self.seed, self.chain])
        self.slider = Slider(self.puzzle, self.f, self.n)
        self.count, self.movable = int(self.n[BODIES]), int(self.n[MOVABLE])
        self.rate = 10 + 2 * len(self.puzzle.nets) / max(self.movable, 1) + self.count / 3
        self.everybody = np.arange(self.movable, dtype=np.int64)
        self.size = float(np.sqrt(np.prod(self.puzzle.size)))  # of a square plate as large, mm
        scale = self.f[self.n[SCALE]: self.n[SCALE] + self.movable]
        self.unit = float(np.sum(scale)) / max(self.movable, 1) * 0.2 * self.size
        self.shares = np.cumsum(shares_of(self.movable, self.puzzle.faces))
        self.begun: float | None = None  # share of the time that was gone at the first step

    @cached_property
    def room(self) -> tuple[Floats, Floats, Ints]:
        """What `make_way` needs room for."""
        return room_for_ways(self.puzzle)

    @property
    def fullness(self) -> float:
        """Share of the plate, of all its faces, that the bodies take.

        By the bounds of each in its first pose, with half the distances that it needs.
        """
        poses = np.array([body.poses[0] for body in self.puzzle.bodies[: self.movable]])
        rows = self.n[POSE] + poses * POSE_W + WITHIN
        taken = (self.f[rows + 2] - self.f[rows]) * (self.f[rows + 3] - self.f[rows + 1])
        return float(np.sum(taken) / (np.prod(self.puzzle.size) * self.puzzle.faces))

    def first_state(self) -> State:
        """Everything that may move in the tray; the rest where it stands."""
        s, k = new_state(self.n)
        for number, body in enumerate(self.puzzle.bodies):
            x, y = body.at or (0.0, 0.0)
            s[k[X] + number], s[k[Y] + number] = x, y
            k[k[AT] + number] = body.pose
            k[k[ON] + number] = number >= self.movable
        return s, k

    @property
    def is_large(self) -> bool:
        """Whether there are too many bodies for populations and groups."""
        return self.movable >= LARGE

    def recipe(self, number: int) -> tuple[Stage, ...]:
        """The recipe of a cooling, in turn."""
        return LARGE_RECIPE if self.is_large else RECIPES[number % len(RECIPES)]

    def fitting(self) -> float:
        """Moves that fit into the work that is left."""
        return (self.work - self.spent) / self.rate

    @property
    def is_varied(self) -> bool:
        """Whether it looks for ends of many kinds to choose among, not for the cheapest.

        Of two chains the second does. Nine jobs of 12 to 40 modules, three characters, two seeds,
        10 s for each chain, by the score of the own respect: against both that do, 20 times better
        and 12 worse; against both that do not, 34 and 10.
        """
        return self.puzzle.varied and self.chain % CHAINS == 1

    def in_time(self, until: float, after: float = 0.0) -> float:
        """Work until which something may go on: less where time is short, at the pace so far.

        `after`: work that follows it however short time is.
        """
        gone = self.used() - (self.begun or 0.0)
        if gone < PACE_AFTER:
            return until
        fitting = self.spent / gone * (1.0 - (self.begun or 0.0))
        if self.work <= fitting:
            return until
        self.hurried = True
        return min(until * fitting / self.work, fitting - after)

    def hurry(self, moves: float) -> float:
        """The share of these moves of a large puzzle that there is time for, at the pace so far.

        1: for all. Some work is kept for freeing and sliding, which take long.
        """
        now = self.used()
        gone = now - (self.begun or 0.0)
        if gone < LARGE_PACE_AFTER:
            return 1.0
        fitting = self.spent / gone * max(1.0 - now, 0.0) / self.rate
        kept = QUENCHED * QUENCH_MOVES * self.movable
        if moves + kept < fitting * PACE_SLACK:
            return 1.0
        self.hurried = True
        return min(1.0, max(fitting - kept, 0.0) / moves)

    def plan(self, stage: Stage, moves: int) -> Floats:
        """What `anneal` goes by for a stage of a recipe."""
        _, hot, cold, light, heavy, wide, narrow = stage
        begin, end = self.step((hot, light, wide)), self.step((cold, heavy, narrow))
        return np.array([max(moves, 1), begin.heat, end.heat, begin.heavy, end.heavy,
                         begin.window, end.window, REACH_SHARE * self.size, *self.shares])

    def plan_at(self, step: Step, moves: int) -> Floats:
        """What `anneal` goes by at one temperature."""
        plan = self.plan(LAST, moves)
        plan[1:7] = step.heat, step.heat, step.heavy, step.heavy, step.window, step.window
        return plan

    def step(self, figures: tuple[float, float, float]) -> Step:
        """Temperature, weight of overlaps and shifts, in this puzzle's measures."""
        return Step(figures[0] * self.unit, figures[1], figures[2] * max(self.puzzle.size))

    def hardened(self, plan: Floats, moves: int) -> Floats:
        """The end of a cooling held on, while overlaps grow heavier still."""
        hard = plan.copy()
        hard[[0, 1, 3]] = max(moves, 1), plan[2], plan[4]
        hard[4] = plan[4] * (LARGE_HARDER if self.is_large else HARDER)
        hard[[5, 6]] = plan[6], 0.4 * plan[6]
        return hard

    def anywhere(self) -> State:
        """All bodies on the plate, anywhere on their ground."""
        s, k = self.first_state()
        for number, body in enumerate(self.puzzle.bodies[: self.movable]):
            pose = body.poses[int(self.order.integers(len(body.poses)))]
            x0, y0, x1, y1 = self.puzzle.poses[pose].span
            s[k[X] + number], s[k[Y] + number] = (
                self.order.uniform(x0, x1), self.order.uniform(y0, y1))
            k[k[AT] + number], k[k[ON] + number] = pose, 1
        return s, k

    def cool(self, state: State, plan: Floats, *, in_time: bool = False,
             who: Ints | None = None, part: tuple[float, float] = (0.0, 1.0)) -> Iterator[float]:
        """Run the moves of a plan; with `in_time`, fewer where time is short.

        `who`: the bodies that are moved; None: all that may move. `part`: from which share of the
        plan on, and up to which.
        """
        moved = self.everybody if who is None else who
        done, moves = (int(share * plan[0]) for share in part)
        chunk = 2_000
        while done < moves:
            if in_time and done and (share := self.hurry(moves - done)) < 1.0:
                plan, done, moves = plan.copy(), int(done * share), max(int(moves * share), 1)
                plan[0] = moves
            until = min(done + chunk, moves)
            work = anneal(self.f, self.n, *state, self.random, plan, done, until, moved)
            self.spent += work
            if in_time:
                self.rate = work / (until - done)
            chunk = max(500, int(chunk * CHUNK_WORK / max(work, 1)))
            done = until
            yield self.share()

    def chilled(self, state: State, stages: tuple[Stage, ...], wanted: float
                ) -> Generator[float, None, Floats]:
        """Cool a state with so many moves; returns the plan of its last stage."""
        refresh(self.f, self.n, *state)
        moves = max(int(wanted), LEAST_MOVES)
        before, plan = self.spent, self.plan(stages[0], moves)
        for stage in stages:
            plan = self.plan(stage, int(stage[0] * moves))
            yield from self.cool(state, plan, in_time=self.is_large)
        yield from self.cool(state, self.hardened(plan, moves // 8))
        self.rate = (self.spent - before) / (moves + moves // 8)
        return plan

    def quenched(self, state: State, moves: int) -> Iterator[float]:
        """Cool a state to the end from where little changes any more."""
        plan = self.plan(LAST, moves)
        yield from self.cool(state, plan)
        yield from self.cool(state, self.hardened(plan, moves // HARDENED_PART))

    def hopefully(self, state: State, moves: int, value: float,
                  looks: tuple[tuple[float, float, float], ...]
                  ) -> Generator[float, None, bool]:
        """As `quenched`, given up where it will not come under a value; whether it was not.

        `looks`: after which share of the moves it is looked at, with which weight of overlaps, and
        how many times the value it may be worth then.
        """
        plan, done = self.plan(LAST, moves), 0.0
        for share, heavy, most in (*looks, (1.0, LAST[4], np.inf)):
            yield from self.cool(state, plan, part=(done, share))
            if self.laden(state, heavy) > most * value:
                return False
            done = share
        yield from self.cool(state, self.hardened(plan, moves // HARDENED_PART))
        return True

    def laden(self, state: State, heavy: float = LAST[4]) -> float:
        """The price of a state, and of what still overlaps, as heavy as at the end of a cooling.

        `heavy`: the weight of overlaps, if it is to be another one.
        """
        refresh(self.f, self.n, *state)
        return price(self.f, self.n, *state) + heavy * burden(self.f, self.n, *state)

    def cooled(self, state: State, stages: tuple[Stage, ...], moves: float) -> Iterator[float]:
        """Cool a state, free it of overlaps and slide it."""
        plan = yield from self.chilled(state, stages, moves)
        yield from self.settled(state, plan)
        for number in range(MENDS if self.is_large else 0):
            if fault(self.f, self.n, *state) <= FREE_MM:
                break
            share = MEND_SHARE * MEND_GROWTH**number
            for stage in reheated(self.recipe(0), MEND_HEAT * MEND_WARMER**number):
                plan = self.plan(stage, int(stage[0] * share * max(moves, LEAST_MOVES)))
                yield from self.cool(state, plan)
            yield from self.settled(state, plan)

    def settled(self, state: State, plan: Floats | None = None) -> Iterator[float]:
        """Free a state of overlaps and slide it."""
        yield from self._free(state, self.plan(LAST, 1) if plan is None else plan)
        yield from self.slid(state)

    def _free(self, state: State, plan: Floats) -> Iterator[float]:
        """Take the last overlaps out of a state that is worth it: by programs, else by force."""
        lack = fault(self.f, self.n, *state)
        cost = price(self.f, self.n, *state)
        if lack <= FREE_MM or cost >= self.best.cost * HOPEFUL:
            return
        kept = state[0].copy(), state[1].copy()
        if lack < GIVE_UP_SHARE * max(self.puzzle.size):
            self.spent += FREE_WORK * (1 + len(self.puzzle.nets) // 100)
            for _ in self.slider.freeing(state, FREE_TRIES[self.is_large]):
                yield self.share()
            refresh(self.f, self.n, *state)
        if fault(self.f, self.n, *state) > FREE_MM:
            state[0][:], state[1][:] = kept
            if not self.is_large or cost * HOPEFUL < self.best.cost:
                yield from self._force(state, plan)

    def _force(self, state: State, plan: Floats) -> Iterator[float]:
        """Move whatever overlaps, overlaps that stay being pressed harder and harder."""
        relax(self.n, *state)
        for turn in range(0, UNTANGLE_ROUNDS, ROUNDS_AT_ONCE):
            self.spent += untangle(self.f, self.n, *state, self.random, plan, turn,
                                   turn + ROUNDS_AT_ONCE)
            yield self.share()
            if fault(self.f, self.n, *state) <= FREE_MM:
                break
        relax(self.n, *state)
        refresh(self.f, self.n, *state)

    def slid(self, state: State) -> Iterator[float]:
        """Slide a free state to its cheapest places and offer it."""
        self.spent += SLIDE_WORK * (1 + len(self.puzzle.nets) // 100)
        if fault(self.f, self.n, *state) > FREE_MM:
            return
        if self.is_large:
            self.offer(state)  # there may be no time to slide it to the end
        for _ in self.slider.sliding(state, rounds=6):
            yield self.share()
            if price(self.f, self.n, *state) > self.best.cost * HOPEFUL:
                break
        self.offer(state)

    def ended(self, state: State) -> float:
        """The price of a state if it is free and allowed, else inf."""
        refresh(self.f, self.n, *state)
        if fault(self.f, self.n, *state) > FREE_MM:
            return np.inf
        cost = price(self.f, self.n, *state)
        self.seen(state, cost)
        return cost

    def offer(self, state: State) -> None:
        """Keep a state as the best if it is free, cheaper than that, and judged to be allowed."""
        refresh(self.f, self.n, *state)
        cost = price(self.f, self.n, *state)
        free = fault(self.f, self.n, *state) <= FREE_MM
        if free and cost < self.best.cost - 1e-9 and self.judge(state):
            self.best.state = state[0].copy(), state[1].copy()
            self.best.cost = cost

    def warm(self) -> None:
        """Run what a search does not always come to: taking out overlaps, copying the better."""
        state = self.anywhere()
        s, k = state
        for block in (X, Y):
            s[k[block]: k[block] + self.movable] = min(self.puzzle.size) / 2
        refresh(self.f, self.n, *state)
        burden(self.f, self.n, *state)
        misses_must(self.f, self.n, *state, 0)
        self.slider.free((s.copy(), k.copy()), 2)
        untangle(self.f, self.n, s, k, self.random, self.plan(LAST, 1), 0, 1)
        relax(self.n, s, k)

    def share(self) -> float:
        """Share of the work that is done."""
        return min(1.0, self.spent / self.work)

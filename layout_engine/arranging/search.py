"""The search: a first answer put in piece by piece, then coolings, freeing and sliding in turn.

One search is one chain of pseudo-random numbers and takes a fixed amount of work, counted in
units that do not depend on the machine, so that the same seed and plan give the same answer.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

import numpy as np

from layout_engine.arranging.annealing import anneal
from layout_engine.arranging.inserting import LINES, LINES_A_BODY, insert
from layout_engine.arranging.packing import packed
from layout_engine.arranging.population import Step, copies, go_on, way_down
from layout_engine.arranging.pricing import burden, fault, price, refresh
from layout_engine.arranging.puzzle import Puzzle
from layout_engine.arranging.schedules import (
    COLD,
    LARGE,
    LARGE_RECIPE,
    LARGE_REHEATS,
    LAST,
    RECIPES,
    REHEATS,
    Stage,
    hottest,
    populations_of,
    reheated,
    shares_of,
)
from layout_engine.arranging.sliding import FREE_MM, Slider
from layout_engine.arranging.untangling import relax, untangle
from layout_engine.arranging.vectors import (
    AT,
    BODIES,
    MOVABLE,
    ON,
    SCALE,
    WORK,
    Floats,
    Ints,
    X,
    Y,
    new_state,
    seeded,
)

CHAINS = 2
CHUNK_WORK = 1_000_000  # work between two looks at the clock: some 30 ms
SLIDE_WORK = 250_000  # what sliding is counted as, and as much again for every hundred nets
REACH_SHARE = 0.2  # of the root of the plate's area: nets shorter than this hold a group together
STEPS = 30
# Members of a population with so many moves for every body; their number and the moves of each
# both grow with the root of the moves.
MEMBERS, MOVES_A_BODY = 360, 100_000  # members x bodies
FEWEST, MOST = 4, 200  # members
POPULATION_SHARE = 0.85  # of the work that is left, for a population; its ends are much alike
# Moves for a body under which a population comes to nothing: single coolings do better.
LEAST_A_BODY = 75_000
QUENCHED, SETTLED = 10, 5  # members that are cooled to the end; those of them that are slid
QUENCHED_OF_MORE, SETTLED_OF_MORE = 5, 2  # where there are more populations than one
QUENCH_MOVES = 500  # for a body, to cool a member to the end
LOOKS = 4  # times on the way down at which the best is cooled to the end, if it is cut short
PACE_AFTER, LARGE_PACE_AFTER = 0.1, 0.3  # of the time: the pace before is no measure
PACE_SLACK = 1.05  # of the work that seems to fit: pace is not told apart more finely
SAME_SHARE = 1e-3  # of the cost: ends that are nearer to each other are one
REHEAT_SHARE = 0.3  # of the moves of a cooling, for a warming up
ORDERS = 8  # in which bodies are put in, until all have a place
FIRST_SHARE = 0.06  # of the moves of a cooling, for the first: an answer to be going on with
LONGEST_SHARE, LARGE_SHARE = 0.6, 0.75  # of all work, for one cooling; of a large puzzle
# A large puzzle that ended jammed is warmed up a little, each time a little more and longer.
MENDS, MEND_SHARE, MEND_GROWTH = 8, 0.12, 1.4  # how often; of the moves of the cooling
MEND_HEAT, MEND_WARMER = 0.05, 1.1
MOVES_A_PAIR = 1_000  # moves of a cooling for every two bodies
PATIENCE = 6  # warmings up without a gain before a new start
UNTANGLE_ROUNDS, ROUNDS_AT_ONCE = 120, 6
HOPEFUL = 1.03  # overlaps are taken out only of states that cost at most this share of the best
GIVE_UP_SHARE = 0.15  # of the plate's size: more overlap in all than this is left alone
FREE_TRIES = (10, 4)  # of a large puzzle the second
FREE_WORK = 700_000
GAIN = 1e-6  # share of the cost that is a gain
LEAST_MOVES = 2_000
HARDER, LARGE_HARDER = 60.0, 6.0  # how much heavier overlaps grow after a cooling

State = tuple[Floats, Ints]
Judge = Callable[[State], bool]


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
class Search:
    """A search over one puzzle.

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
        self.begun: float | None = None  # share of the time that was gone at the first step

    def first_state(self) -> State:
        """Everything that may move in the tray; the rest where it stands."""
        s, k = new_state(self.n)
        for number, body in enumerate(self.puzzle.bodies):
            x, y = body.at or (0.0, 0.0)
            s[k[X] + number], s[k[Y] + number] = x, y
            k[k[AT] + number] = body.pose
            k[k[ON] + number] = number >= self.movable
        return s, k

    def steps(self) -> Iterator[float]:
        """Run the search; yields the share of the work done, often enough to be stopped."""
        if self.work <= 0:
            return
        self.begun = self.used()
        if self.chain == 0:
            yield from self._known()
            if self.start is None:
                yield from self._construct()
            else:
                self._offer((self.start[0].copy(), self.start[1].copy()))
        if not self.is_large or self.best.state is None:
            yield from self._round(self._recipe(0), FIRST_SHARE * self._moves(), 0)
        moves = POPULATION_SHARE * max(self._fitting(), 0.0)
        worth = moves > LEAST_A_BODY * self.movable and not self.puzzle.varied and not self.is_large
        for left in range(populations_of(self.movable, self.puzzle.faces) if worth else 0, 0, -1):
            yield from self._populated(POPULATION_SHARE * max(self._fitting(), 0.0) / left, left)
        number = 0
        while self.spent < self.work:
            if self._fitting() > self._moves() or self.best.state is None:
                moves = min(self._moves(), self._fitting())
                yield from self._round(self._recipe(number), moves, PATIENCE)
            else:
                yield from self._improve(*self.best.copied(), self.work)
            number += 1

    @property
    def is_large(self) -> bool:
        """Whether there are too many bodies for populations and groups."""
        return self.movable >= LARGE

    def _moves(self) -> float:
        """Moves of a cooling from anywhere."""
        share = LARGE_SHARE if self.is_large else LONGEST_SHARE
        return min(MOVES_A_PAIR * self.movable**2, share * self.work / self.rate)

    def _recipe(self, number: int) -> tuple[Stage, ...]:
        """The recipe of a cooling, in turn."""
        return LARGE_RECIPE if self.is_large else RECIPES[number % len(RECIPES)]

    def _fitting(self) -> float:
        """Moves that fit into the work that is left."""
        return (self.work - self.spent) / self.rate

    def _known(self) -> Iterator[float]:
        """The arrangement that was there, if it is allowed."""
        if all(body.at for body in self.puzzle.bodies[: self.movable]):
            state = self.first_state()
            state[1][state[1][ON]: state[1][ON] + self.count] = 1
            refresh(self.f, self.n, *state)
            if fault(self.f, self.n, *state) <= FREE_MM:
                self._offer(state)
            yield self._share()

    def _construct(self) -> Iterator[float]:
        """Answers put in piece by piece, in a few orders, until one is whole.

        What found no place comes earlier the next time (Joslin, Clements, JAIR 10 (1999) 353).
        """
        lines = np.empty((4, LINES + LINES_A_BODY * self.count))
        near, urgent = np.empty(self.count, dtype=np.int64), np.zeros(self.movable)
        for attempt in range(ORDERS):
            state = self.first_state()
            state[1][WORK] = 0
            for body in self._order(attempt, urgent):
                urgent[body] += not insert(self.f, self.n, *state, int(body), lines, near)
                yield self._share()
            self.spent += int(state[1][WORK])
            self._remember(state)
            if self._is_whole(state) and self.is_large:
                self._offer(state)  # sliding it would take seconds, and cooling takes it apart
            elif self._is_whole(state):
                yield from self._slid(state)
            if self.best.state is not None or self.spent > 0.3 * self.work:
                break

    def _order(self, attempt: int, urgent: Floats) -> Ints:
        """Bodies by the ground they need, the largest first; later attempts shuffle that."""
        ground = np.array([self._ground(body) for body in range(self.movable)])
        noise = self.order.normal(0.0, 0.35 * (attempt > 0), self.movable)
        return np.argsort(-ground * np.exp(noise + urgent), kind="stable")

    def _ground(self, body: int) -> float:
        x0, y0, x1, y1 = self.puzzle.poses[self.puzzle.bodies[body].poses[0]].outline
        return (x1 - x0) * (y1 - y0) / len(self.puzzle.bodies[body].poses) ** 0.5

    def _is_whole(self, state: State) -> bool:
        k = state[1]
        return bool(np.all(k[k[ON]: k[ON] + self.movable] == 1))

    def _remember(self, state: State) -> None:
        """Keep the partial state with most bodies on the plate."""
        if self.partial is None or self._placed(state) > self._placed(self.partial):
            self.partial = state[0].copy(), state[1].copy()

    def _placed(self, state: State) -> int:
        k = state[1]
        return int(np.sum(k[k[ON]: k[ON] + self.movable]))

    def _round(self, recipe: tuple[Stage, ...], moves: float, patience: int) -> Iterator[float]:
        """A cooling from anywhere, then warming it up again while that gains."""
        state = self._anywhere()
        yield from self._cooled(state, recipe, moves)
        cost = self._ended(state)
        if np.isfinite(cost):
            yield from self._improve(state, cost, patience)
        else:
            self.best.ends.append(cost)

    def _improve(self, state: State, cost: float, patience: int) -> Iterator[float]:
        """Warm a state up again and again, keeping what is cheaper."""
        tired, low, high = 0, *np.log(LARGE_REHEATS if self.is_large else REHEATS)
        while tired < patience and self.spent < self.work:
            tried = state[0].copy(), state[1].copy()
            warm = float(np.exp(self.order.uniform(low, high)))
            moves = min(REHEAT_SHARE * self._moves(), max(self._fitting(), LEAST_MOVES))
            yield from self._cooled(tried, reheated(self._recipe(0), warm), moves)
            after = self._ended(tried)
            tired += 1
            if after < cost - GAIN * abs(cost):
                state, cost, tired = tried, after, 0
        self.best.ends.append(cost)

    def _populated(self, moves: float, left: int) -> Iterator[float]:
        """Cool a population from anywhere, then the best of it to the end.

        `left`: how many populations share the time that there is, with this one.
        """
        share = (moves / (MOVES_A_BODY * self.movable)) ** 0.5
        members = int(np.clip(MEMBERS / self.movable * share, FEWEST, MOST))
        states = [self._anywhere() for _ in range(members)]
        hot = hottest(self.movable, self.puzzle.faces)
        most = populations_of(self.movable, self.puzzle.faces)
        kept = (QUENCHED, SETTLED) if most == 1 else (QUENCHED_OF_MORE, SETTLED_OF_MORE)
        path = way_down(self._step(hot), self._step(COLD), STEPS)
        for number, step in enumerate(path):
            hurry = self._hurry(moves * (STEPS - number) / STEPS, left)
            plan = self._plan(LAST, max(int(moves * hurry / (members * STEPS)), 1))
            plan[1:7] = step.heat, step.heat, step.heavy, step.heavy, step.window, step.window
            for state in states:
                yield from self._cool(state, plan)
            if number + 1 < STEPS:
                figures = [(price(self.f, self.n, *state), burden(self.f, self.n, *state))
                           for state in states]
                go_on(states, copies(figures, step, path[number + 1], self.order.random()))
            if number + 1 == STEPS:
                yield from self._quenched(states, step, *kept)
            elif (number + 1) * LOOKS // STEPS > number * LOOKS // STEPS and left == most:
                yield from self._quenched(states, step, 1, 1)

    def _hurry(self, moves: float, among: int = 1) -> float:
        """The share of these moves that there is time for, at the pace so far; 1: for all.

        `among`: how many that want as much the time is to be shared by.
        """
        now = self.used()
        gone = now - (self.begun or 0.0)
        if gone < (LARGE_PACE_AFTER if self.is_large else PACE_AFTER):
            return 1.0
        fitting = self.spent / gone * max(1.0 - now, 0.0) / self.rate / among
        quenching = QUENCHED * QUENCH_MOVES * self.movable
        if moves + quenching < fitting * PACE_SLACK:
            return 1.0
        self.hurried = True
        return min(1.0, max(fitting - quenching, 0.0) / moves)

    def _quenched(self, states: list[State], step: Step, count: int, most: int
                  ) -> Iterator[float]:
        """Cool the best of a population to the end, and slide `most` of them, the best."""
        def worth(state: State) -> float:
            return step.pressed(price(self.f, self.n, *state), burden(self.f, self.n, *state))

        plan = self._plan(LAST, QUENCH_MOVES * self.movable)
        ends = []
        for state in sorted(states, key=worth)[:count]:
            tried = state[0].copy(), state[1].copy()
            yield from self._cool(tried, plan)
            yield from self._cool(tried, self._hardening(plan, int(plan[0]) // 4))
            ends.append((price(self.f, self.n, *tried) + plan[4] * burden(self.f, self.n, *tried),
                         tried))
        best, last, settled = np.inf, -np.inf, 0
        for value, tried in sorted(ends, key=lambda end: end[0]):
            if value - last > SAME_SHARE * abs(value) and settled < most:
                yield from self._settled(tried, plan)
                best, last, settled = min(best, self._ended(tried)), value, settled + 1
        if count > 1:
            self.best.ends.append(best)

    def _cooled(self, state: State, stages: tuple[Stage, ...], wanted: float) -> Iterator[float]:
        """Cool a state, free it of overlaps and slide it."""
        refresh(self.f, self.n, *state)
        moves = max(int(wanted), LEAST_MOVES)
        before, plan = self.spent, self._plan(stages[0], moves)
        for stage in stages:
            plan = self._plan(stage, int(stage[0] * moves))
            yield from self._cool(state, plan, in_time=self.is_large)
        yield from self._cool(state, self._hardening(plan, moves // 8))
        self.rate = (self.spent - before) / (moves + moves // 8)
        yield from self._settled(state, plan)
        for number in range(MENDS if self.is_large else 0):
            if fault(self.f, self.n, *state) <= FREE_MM:
                break
            share = MEND_SHARE * MEND_GROWTH**number
            for stage in reheated(self._recipe(0), MEND_HEAT * MEND_WARMER**number):
                plan = self._plan(stage, int(stage[0] * share * moves))
                yield from self._cool(state, plan)
            yield from self._settled(state, plan)

    def _settled(self, state: State, plan: Floats) -> Iterator[float]:
        """Free a state of overlaps and slide it."""
        yield from self._free(state, plan)
        yield from self._slid(state)

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
                yield self._share()
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
            yield self._share()
            if fault(self.f, self.n, *state) <= FREE_MM:
                break
        relax(self.n, *state)
        refresh(self.f, self.n, *state)

    def _anywhere(self) -> State:
        """All bodies on the plate, anywhere on their ground."""
        s, k = self.first_state()
        for number, body in enumerate(self.puzzle.bodies[: self.movable]):
            pose = body.poses[int(self.order.integers(len(body.poses)))]
            x0, y0, x1, y1 = self.puzzle.poses[pose].span
            s[k[X] + number], s[k[Y] + number] = (
                self.order.uniform(x0, x1), self.order.uniform(y0, y1))
            k[k[AT] + number], k[k[ON] + number] = pose, 1
        return s, k

    def _plan(self, stage: Stage, moves: int) -> Floats:
        _, hot, cold, light, heavy, wide, narrow = stage
        begin, end = self._step((hot, light, wide)), self._step((cold, heavy, narrow))
        reach = REACH_SHARE * float(np.sqrt(np.prod(self.puzzle.size)))
        shares = shares_of(self.movable, self.puzzle.faces)
        return np.array([max(moves, 1), begin.heat, end.heat, begin.heavy, end.heavy,
                         begin.window, end.window, reach, *np.cumsum(shares)])

    def _step(self, figures: tuple[float, float, float]) -> Step:
        """Temperature, weight of overlaps and shifts, in this puzzle's measures."""
        scale = self.f[self.n[SCALE]: self.n[SCALE] + self.movable]
        unit = float(np.mean(scale)) * 0.2 * float(np.sqrt(np.prod(self.puzzle.size)))
        return Step(figures[0] * unit, figures[1], figures[2] * max(self.puzzle.size))

    def _hardening(self, plan: Floats, moves: int) -> Floats:
        """The end of a cooling held on, while overlaps grow heavier still."""
        hard = plan.copy()
        hard[[0, 1, 3]] = max(moves, 1), plan[2], plan[4]
        hard[4] = plan[4] * (LARGE_HARDER if self.is_large else HARDER)
        hard[[5, 6]] = plan[6], 0.4 * plan[6]
        return hard

    def _cool(self, state: State, plan: Floats, *, in_time: bool = False) -> Iterator[float]:
        """Run the moves of a plan; with `in_time`, fewer where time is short."""
        done, chunk, moves = 0, 2_000, int(plan[0])
        while done < moves:
            if in_time and done and (share := self._hurry(moves - done)) < 1.0:
                plan, done, moves = plan.copy(), int(done * share), max(int(moves * share), 1)
                plan[0] = moves
            until = min(done + chunk, moves)
            work = anneal(self.f, self.n, *state, self.random, plan, done, until)
            self.spent += work
            if in_time:
                self.rate = work / (until - done)
            chunk = max(500, int(chunk * CHUNK_WORK / max(work, 1)))
            done = until
            yield self._share()

    def _slid(self, state: State) -> Iterator[float]:
        """Slide a free state to its cheapest places and offer it."""
        self.spent += SLIDE_WORK * (1 + len(self.puzzle.nets) // 100)
        if fault(self.f, self.n, *state) > FREE_MM:
            return
        if self.is_large:
            self._offer(state)  # there may be no time to slide it to the end
        for _ in self.slider.sliding(state, rounds=6):
            yield self._share()
        self._offer(state)

    def _ended(self, state: State) -> float:
        """The price of a state if it is free and allowed, else inf."""
        refresh(self.f, self.n, *state)
        if fault(self.f, self.n, *state) > FREE_MM:
            return np.inf
        cost = price(self.f, self.n, *state)
        self.seen(state, cost)
        return cost

    def _offer(self, state: State) -> None:
        refresh(self.f, self.n, *state)
        cost = price(self.f, self.n, *state)
        free = fault(self.f, self.n, *state) <= FREE_MM
        if free and cost < self.best.cost - 1e-9 and self.judge(state):
            self.best.state = state[0].copy(), state[1].copy()
            self.best.cost = cost

    def warm(self) -> None:
        """Run what a search does not always come to: taking out overlaps, copying the better."""
        state = self._anywhere()
        s, k = state
        for block in (X, Y):
            s[k[block]: k[block] + self.movable] = min(self.puzzle.size) / 2
        refresh(self.f, self.n, *state)
        burden(self.f, self.n, *state)
        self.slider.free((s.copy(), k.copy()), 2)
        untangle(self.f, self.n, s, k, self.random, self._plan(LAST, 1), 0, 1)
        relax(self.n, s, k)

    def _share(self) -> float:
        return min(1.0, self.spent / self.work)

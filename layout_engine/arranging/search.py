"""The search: a first answer put in piece by piece, then coolings, freeing and sliding in turn.

One search is one chain of pseudo-random numbers and takes a fixed amount of work, counted in
units that do not depend on the machine, so that the same seed and plan give the same answer.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from layout_engine.arranging.cooling import (
    FREE_WORK,
    LEAST_MOVES,
    QUENCH_MOVES,
    QUENCHED,
    SLIDE_WORK,
    Cooling,
    State,
    quench_moves,
)
from layout_engine.arranging.ends import End, Ends
from layout_engine.arranging.inserting import LINES, LINES_A_BODY, insert
from layout_engine.arranging.population import Step, copies, go_on, press, way_down
from layout_engine.arranging.pricing import burden, fault, price, refresh
from layout_engine.arranging.reworking import Reworking
from layout_engine.arranging.schedules import (
    LARGE_REHEATS,
    REHEATS,
    Stage,
    coldest,
    hottest,
    reheated,
)
from layout_engine.arranging.sliding import FREE_MM
from layout_engine.arranging.tempering import Tempering
from layout_engine.arranging.untangling import relax
from layout_engine.arranging.vectors import (
    ON,
    WORK,
    Floats,
    Ints,
)

# Steps of a population's way down, and members of one with so many moves for every body; their
# number and the moves of each both grow with the root of the moves. Four jobs of 40 modules on one
# face, 16 seeds, 216 million units, cost over the best seen, with 0.85 of the work for it: 30 steps
# and 240 4.9 %, 360 4.5, 540 4.1; 60 and 360 4.1; with 0.9: 30 and 540 4.3, 45 and 540 3.5, 60 and
# 720 3.8. Eight others of 25 and 40 on one face and two, eight seeds: 30, 360 and 0.85 4.2 %, 45,
# 540 and 0.9 3.2.
STEPS = 45
MEMBERS, MOVES_A_BODY = 540, 100_000  # members x bodies
FEWEST, MOST = 4, 200  # members
PRESSED_BELOW = 0.1  # temperature: there overlaps that most members have weigh more, step by step
POPULATION_LEAST = 0.7  # of the work that is left, for a population, however much its end wants
MENDING = 0.04  # of the work, for ends in which something overlaps
# Moves for a body under which a population comes to nothing: single coolings do better.
LEAST_A_BODY = 83_000
SETTLED = 5  # members of a population that are slid, of those that are cooled to the end
LEAST_RATE = 1.0  # units of work for a move: of a few moves all may have come to nothing at once
# Times as long as in the mean so far a unit of the work after that may take: of 40 modules it takes
# 14 ns while it is hot and 19 when it is colder, and programs are counted roughly.
FINISH_SLOWER = 1.5
LOOKS = 4  # times on the way down at which the best is cooled to the end, if it is cut short
LOOK_MOVES = 500  # for a body, for that
REHEAT_SHARE = 0.3  # of the moves of a cooling, for a warming up
ORDERS = 8  # in which bodies are put in, until all have a place
FIRST_SHARE = 0.06  # of the moves of a cooling, for the first: an answer to be going on with
LONGEST_SHARE, LARGE_SHARE = 0.6, 0.75  # of all work, for one cooling; of a large puzzle
MOVES_A_PAIR = 1_000  # moves of a cooling for every two bodies
PATIENCE = 6  # warmings up without a gain before a new start
GAIN = 1e-6  # share of the cost that is a gain



@dataclass
class Search(Cooling):
    """A search over one puzzle; see `Cooling`."""

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
                self.offer((self.start[0].copy(), self.start[1].copy()))
        if Reworking.suits(self):
            yield from Reworking(self).steps()
            return
        if not self.is_large or self.best.state is None:
            yield from self._round(self.recipe(0), FIRST_SHARE * self._moves(), 0)
        enough = self.fitting() > LEAST_A_BODY * self.movable
        if enough and not self.is_varied and not self.is_large:
            if Tempering.suits(self):
                yield from Tempering(self).steps()
            else:
                yield from self._populated()
        number = 0
        while self.spent < self.work:
            if self.fitting() > self._moves() or self.best.state is None:
                moves = min(self._moves(), self.fitting())
                yield from self._round(self.recipe(number), moves, PATIENCE)
            else:
                yield from self._improve(*self.best.copied(), self.work)
            number += 1

    def _moves(self) -> float:
        """Moves of a cooling from anywhere."""
        share = LARGE_SHARE if self.is_large else LONGEST_SHARE
        return min(MOVES_A_PAIR * self.movable**2, share * self.work / self.rate)

    def _known(self) -> Iterator[float]:
        """The arrangement that was there, if it is allowed."""
        if all(body.at for body in self.puzzle.bodies[: self.movable]):
            state = self.first_state()
            state[1][state[1][ON]: state[1][ON] + self.count] = 1
            refresh(self.f, self.n, *state)
            if fault(self.f, self.n, *state) <= FREE_MM:
                self.offer(state)
            yield self.share()

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
                self._remember(state)
                yield self.share()
            self.spent += int(state[1][WORK])
            if self._is_whole(state):
                self.offer(state)
                yield self.share()
            # sliding a large puzzle would take seconds, and cooling takes it apart
            if self._is_whole(state) and not self.is_large:
                yield from self.slid(state)
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
        state = self.anywhere()
        yield from self.cooled(state, recipe, moves)
        cost = self.ended(state)
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
            moves = min(REHEAT_SHARE * self._moves(), max(self.fitting(), LEAST_MOVES))
            yield from self.cooled(tried, reheated(self.recipe(0), warm), moves)
            after = self.ended(tried)
            tired += 1
            if after < cost - GAIN * abs(cost):
                state, cost, tired = tried, after, 0
        self.best.ends.append(cost)

    def _populated(self) -> Iterator[float]:
        """Cool a population from anywhere, then the best of it to the end.

        It has what that leaves of the work, at the pace of each step.
        """
        least = self.spent + POPULATION_LEAST * (self.work - self.spent)
        end = max(self.work - self._finish(), least)
        share = ((end - self.spent) / self.rate / (MOVES_A_BODY * self.movable)) ** 0.5
        members = int(np.clip(MEMBERS / self.movable * share, FEWEST, MOST))
        states = [self.anywhere() for _ in range(members)]
        hot, cold = hottest(self.puzzle.faces), coldest(self.fullness, self.chain)
        path = way_down(self.step(hot), self.step(cold), STEPS)
        for number, step in enumerate(path):
            left = max(self.in_time(end, FINISH_SLOWER * self._finish()) - self.spent, 0.0)
            plan = self.plan_at(step, int(left / self.rate / (members * (STEPS - number))))
            before = self.spent
            for state in states:
                yield from self.cool(state, plan)
            self.rate = max((self.spent - before) / (members * plan[0]), LEAST_RATE)
            end = max(self.work - self._finish(), least)
            if number + 1 < STEPS:
                after, worths = path[number + 1], self._worths(states, step)
                if after.heat < PRESSED_BELOW * self.unit:
                    press(states, self.movable * self.count)
                gains = np.subtract(worths, self._worths(states, after))
                go_on(states, copies(gains.tolist(), self.order.random()))
            if number + 1 == STEPS:
                yield from self._quenched(states, step, QUENCHED, SETTLED)
            elif (number + 1) * LOOKS // STEPS > number * LOOKS // STEPS:
                yield from self._quenched(states, step, 1, 1)

    def _worths(self, states: list[State], step: Step) -> list[float]:
        """What each state is worth at a temperature, over it."""
        return [step.pressed(price(self.f, self.n, *state), burden(self.f, self.n, *state))
                for state in states]

    def _finish(self) -> float:
        """Work for the best of a population: cooling it to the end, mending and sliding it."""
        quenching = QUENCHED * quench_moves(QUENCH_MOVES * self.movable) * self.rate
        return quenching + MENDING * self.work + SETTLED * (SLIDE_WORK + FREE_WORK)

    def _quenched(self, states: list[State], step: Step, count: int, most: int
                  ) -> Iterator[float]:
        """Cool the best of a population to the end, and slide `most` of them, the best."""
        ends = Ends(self)
        best_first = np.argsort(self._worths(states, step), kind="stable")
        for number, at in enumerate(best_first[:count]):
            tried = states[at][0].copy(), states[at][1].copy()
            moves = QUENCH_MOVES if count > 1 else LOOK_MOVES
            yield from self.quenched(tried, moves * self.movable)
            relax(self.n, *tried)
            ends.keep(End(number, self.laden(tried), tried))
        reworking, slid, best = Reworking(self, ends), set[End](), np.inf
        until = self.work - most * (SLIDE_WORK + FREE_WORK)
        for mending in (False, True):  # first what needs none: time may be up before it is done
            if mending:
                yield from reworking.mended(most, until)
            for end in ends.kept[:most]:
                if end not in slid and (mending or not reworking.is_jammed(end)):
                    slid.add(end)
                    yield from self.settled(end.state)
                    best = min(best, self.ended(end.state))
        if count > 1:
            self.best.ends.append(best)

"""Few bodies on one face, where little stays: short coolings, then neighbours placed anew.

Where the end of a cooling of few bodies is not the best, it mostly differs from it by three to
five neighbours that stand in another order, or turned. So the ends of many short coolings are
kept, and in each, by turns, a few neighbours are placed anew while all others make way (`anew`; on
a full plate they are cooled again among the rest, which only then gives way: large neighbourhood
search: Shaw, CP98, LNCS 1520 (1998) 417; iterated local search: Lourenco, Martin, Stuetzle,
Handbook of Metaheuristics (2003) 320). Else it is mostly another order of nearly all: so the ends
are turned over and round as wholes in between, and what comes of that is cooled, and worked on by
itself for a while, before it is kept with the rest.

Measured on six plates of 12 modules, ten seeds, 45 million units of work, cost over the best seen:
one population 1.2 % in the mean and up to 5.4, this, without turning ends over and without making
way, 0.8 and up to 3.9. Fourteen plates, 32 seeds, 54.6 million units, over the best seen: so
0.72 % in the mean, 0.68 of the searches within 0.5 % and 0.14 over 2; with ends turned over 0.50 %,
0.74 and 0.09. The seven hardest of these plates, 16 seeds: with that 0.80 %, 0.62 and 0.18, and
where all make way, three times, 0.38 to 0.44 %, 0.79 to 0.80 and 0.04 to 0.09. Where the clock
cuts it at 1 s, fourteen plates, ten seeds: 0.54 %, 0.77 and 0.11 without making way, 0.34 %, 0.85
and 0.04 with it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import InitVar, dataclass, field
from itertools import product

import numpy as np

from layout_engine.arranging.anew import Anew, make_way_again
from layout_engine.arranging.cooling import LEAST_MOVES, SLIDE_WORK, Cooling, State
from layout_engine.arranging.ends import KEPT, SAME_SHARE, TOLD_SHARE, End, Ends
from layout_engine.arranging.pricing import fault, refresh
from layout_engine.arranging.reflecting import SYMMETRIES, counterparts, reflected
from layout_engine.arranging.schedules import FEW_BODIES, RECIPES, Stage, is_tempered, reheated
from layout_engine.arranging.sliding import FREE_MM
from layout_engine.arranging.untangling import misses_must
from layout_engine.arranging.vectors import MET, OUT, WORK, Ints, X, Y
from layout_engine.once import cached_property


@dataclass(frozen=True)
class Shares:
    """How the work is shared out.

    Attributes:
        started: up to which share of it there are starts.
        worked_on: ends are worked on.
        turned_over: ends are turned over.
        by_themselves: those are worked on by themselves; the rest works on all.
        most_starts: so many at most.
        moves_a_start: for a body, where there are fewer.
        makes_way: whether all others make way for neighbours that are placed anew.
    """

    started: float
    worked_on: float
    turned_over: float
    by_themselves: float
    most_starts: int
    moves_a_start: int
    makes_way: bool


# Starts in which all make way at last may be short. Seven plates of 12 modules, the hardest, 16
# seeds, searches within 0.5 % of the best seen: with 40 starts of 1 500 moves 0.71, with 80 of 700
# 0.75, with 160 of 350 0.66; with 80 in 0.3 of the work 0.82. Where ends were turned over that had
# not been worked on, or only two of them, that was little better than not to do it.
ROOMY = Shares(0.3, 0.5, 0.65, 0.8, 80, 700, makes_way=True)
FULL = Shares(0.4, 0.55, 0.7, 0.8, 40, 1_500, makes_way=False)
# Up to so full, see `Cooling.fullness`, all others make way for neighbours that are placed anew.
# Twelve plates of 12 modules, six seeds, over the best seen, up to 0.65 full: 0.96 % in the mean
# without that, 0.84 with it; from there to 0.77 full 1.9 without, 3.1 with it. A jigsaw
# (dighe1 at 1.12) was not solved with it.
ROOMY_UP_TO = 0.65
FEWEST, MOST = 3, 6  # neighbours that are placed anew
BLUR = 0.3  # how loosely they are the nearest: of the logarithm of distances
ANEW: Stage = (1.0, 0.15, 0.02, 0.3, 4.0, 0.6, 0.1)  # how they are cooled
MOVES_ANEW, MOVES_AFTER = 300, 150  # for each of them; then for each body
# Looks on the way down after that, see `Cooling.hopefully`: they spare two fifths of the moves, and
# one in ten of those that would have been a gain is given up. Measured on four plates.
LOOKS = ((0.0, 1.0, 1.15), (0.3, 4.0, 1.1), (0.5, 4.0, 1.055), (0.7, 4.0, 1.027))
SLID_SHARE = 0.04  # of the work: for sliding the best ends
# Each kept end is turned over and round in all ways; after so many cold moves, with overlaps so
# heavy, the best of what comes of it, at most so many, are cooled from that temperature on. From
# 0.05 and 0.1, after 2 500 moves, or with overlaps three times as heavy, it was alike or worse.
FIRST_MOVES, FIRST_HEAVY, FROM_HEAT, MOST_TURNED_OVER = 1_200, 0.5, 0.07, 30
AT_FIRST: Stage = (1.0, 0.02, 0.02, FIRST_HEAVY, FIRST_HEAVY, 0.1, 0.1)
FIRST_SHARE = 0.2  # of the work for all that, at most, for these first moves
# Tries for each end where something overlaps, to place those anew that do and their neighbours. A
# population is cooled with light overlaps; where two in it could not part, all its ends were lost,
# or freed by force at up to half as much again. Two jobs of 40 modules on two faces, eight seeds,
# over the best seen: 5.0 % in the mean without, 4.0 so.
MENDS = 12
FREE_SURE_MM = 0.5  # of overlaps in all: so little can be taken out


@dataclass
class Reworking:
    """The search of few bodies on one face where little stays.

    Attributes:
        cooling: what it is done with.
        found: ends that another search has come to; None: there are none.
        ends: these, or those of the starts, and what was made of them.
        shares: how the work is shared out.
    """

    cooling: Cooling
    found: InitVar[Ends | None] = None
    ends: Ends = field(init=False)
    shares: Shares = field(init=False)

    @cached_property
    def anew(self) -> Anew:
        """What places neighbours anew."""
        return Anew(self.cooling)

    def __post_init__(self, found: Ends | None) -> None:
        self.ends = Ends(self.cooling) if found is None else found
        self.shares = ROOMY if self.cooling.fullness < ROOMY_UP_TO else FULL

    @classmethod
    def suits(cls, cooling: Cooling) -> bool:
        """Whether a puzzle is one for this."""
        puzzle = cooling.puzzle
        stays = cooling.count - cooling.movable
        return (cooling.movable <= FEW_BODIES and not cooling.is_varied
                and not is_tempered(cooling.movable, puzzle.faces, stays))

    def steps(self) -> Iterator[float]:
        """Run it to the end of the work; yields as `Search.steps`."""
        cooling = self.cooling
        slid = int(np.clip(SLID_SHARE * cooling.work / SLIDE_WORK, 1, KEPT))
        begun, whole = cooling.spent, cooling.work * (1 - SLID_SHARE)
        started, worked_on, turned, by_themselves = (
            begun + share * (whole - begun)
            for share in (self.shares.started, self.shares.worked_on,
                          self.shares.turned_over, self.shares.by_themselves))
        self.ends.keep_there()
        yield from self._started(started)
        yield from self.ends.slid(1)
        yield from self.go_on(worked_on)
        other = Reworking(cooling, Ends(cooling))
        yield from other.turned_over(self.ends, turned)
        yield from other.go_on(by_themselves)
        for end in other.ends.kept:
            self.ends.keep(End(end.start, end.value, end.state))
        yield from self.go_on(whole)
        yield from self.ends.slid(slid)
        self.ends.tell()

    def go_on(self, until: float) -> Iterator[float]:
        """Place neighbours anew in each end by turns, until so much work is spent."""
        while self.ends.kept and self.cooling.spent < self.cooling.in_time(until):
            end = min(self.ends.kept, key=End.turn)
            yield from self._changed(end) if self.shares.makes_way else self._reworked(end)

    def turned_over(self, ends: Ends, until: float) -> Iterator[float]:
        """Turn other ends over and round, cool what does best; until so much is spent at most."""
        cooling = self.cooling
        first = cooling.spent + FIRST_SHARE * (cooling.in_time(until) - cooling.spent)
        ways = [(symmetry, counterparts(cooling.puzzle, symmetry)) for symmetry in SYMMETRIES]
        found: list[End] = []
        for end, (symmetry, poses) in product(ends.kept, ways):
            if cooling.spent >= first:
                break
            state = reflected(cooling.puzzle, end.state, symmetry, poses)
            yield from cooling.cool(state, cooling.plan(AT_FIRST, FIRST_MOVES))
            found.append(End(end.start, cooling.laden(state, FIRST_HEAVY), state))
        found.sort(key=lambda end: end.value)
        moves = (cooling.in_time(until) - cooling.spent) / cooling.rate
        count = int(np.clip(moves / (self.shares.moves_a_start * cooling.movable), 1,
                            MOST_TURNED_OVER))
        for number, end in enumerate(found[:count]):
            left = cooling.in_time(until) - cooling.spent
            if left <= 0:
                break
            recipe = reheated(RECIPES[number % len(RECIPES)], FROM_HEAT)
            yield from self._cooled(end.state, recipe, left / cooling.rate / (count - number))
            self.ends.keep(End(end.start, cooling.laden(end.state), end.state))

    def _started(self, until: float) -> Iterator[float]:
        """Cool from anywhere, again and again, until so much work is spent."""
        cooling = self.cooling
        moves = (until - cooling.spent) / cooling.rate
        starts = int(np.clip(moves / (self.shares.moves_a_start * cooling.movable), 1,
                             self.shares.most_starts))
        for number in range(starts):
            left = cooling.in_time(until) - cooling.spent
            if left <= 0:
                break
            state = cooling.anywhere()
            recipe = RECIPES[number % len(RECIPES)]
            yield from self._cooled(state, recipe, left / cooling.rate / (starts - number))
            self.ends.keep(End(number, cooling.laden(state), state))
            if cooling.best.state is None:
                yield from self.ends.slid(1)

    def _cooled(self, state: State, recipe: tuple[Stage, ...], moves: float) -> Iterator[float]:
        """Cool a state by a recipe; where there is room, by its first stage, then all make way."""
        cooling, before = self.cooling, self.cooling.spent
        if not self.shares.makes_way:
            yield from cooling.chilled(state, recipe, moves)
            return
        moves = max(int(moves), LEAST_MOVES)
        refresh(cooling.f, cooling.n, *state)
        yield from cooling.cool(state, cooling.plan(recipe[0], moves))
        state[1][WORK] = 0
        rows, c, g = cooling.room
        make_way_again(cooling.f, cooling.n, *state, rows, c, g, np.inf)
        cooling.spent += int(state[1][WORK])
        cooling.rate = (cooling.spent - before) / moves

    def _changed(self, end: End) -> Iterator[float]:
        """Place a few neighbours of an end anew, all others making way; keep what is better."""
        cooling = self.cooling
        tries, value = self.anew.go_from(end.state, end.value)
        end.tries += tries
        yield cooling.share()
        if np.isfinite(value):
            s, k = self.anew.tried
            yield from self._replaced(end, value, (s.copy(), k.copy()))

    def _reworked(self, end: End) -> Iterator[float]:
        """Place a few neighbours of an end anew, and keep what comes of it if it is better."""
        cooling, state = self.cooling, (end.state[0].copy(), end.state[1].copy())
        end.tries += 1
        few = self._neighbours(state)
        yield from cooling.cool(state, cooling.plan(ANEW, MOVES_ANEW * len(few)), who=few)
        done = yield from cooling.hopefully(state, MOVES_AFTER * cooling.movable, end.value, LOOKS)
        value = cooling.laden(state)
        if done and value < end.value * (1 - SAME_SHARE):
            yield from self._replaced(end, value, state)

    def _replaced(self, end: End, value: float, state: State) -> Iterator[float]:
        """Keep what an end has become, unless it cannot be freed."""
        cooling = self.cooling
        if fault(cooling.f, cooling.n, *state) > FREE_SURE_MM:
            tried = state[0].copy(), state[1].copy()
            yield from cooling.settled(tried)
            if not np.isfinite(cooling.ended(tried)):
                return
        self.ends.kept.remove(end)
        self.ends.keep(End(end.start, value, state))
        if value < cooling.best.cost * (1 - TOLD_SHARE):
            yield from self.ends.slid(1)

    def is_jammed(self, end: End) -> bool:
        """Whether more overlaps in an end, or a must is missed by more, than can be taken out."""
        return len(self._troubled(end.state)) > 0

    def mended(self, most: int, until: float) -> Iterator[float]:
        """Place neighbours anew in the best `most` ends that are jammed, until so much is spent."""
        for _ in range(MENDS * most):
            jammed = [end for end in self.ends.kept[:most] if self.is_jammed(end)]
            if not jammed or self.cooling.spent >= until:
                break
            yield from self._reworked(min(jammed, key=lambda end: (end.tries, end.value)))

    def _troubled(self, state: State) -> Ints:
        """Bodies that stand beyond their ground, or in others, or miss a must; none where so little
        does that it can be taken out.
        """
        s, k = state
        cooling, count = self.cooling, self.cooling.movable
        if fault(cooling.f, cooling.n, s, k) <= FREE_SURE_MM:
            return np.empty(0, dtype=np.int64)
        out, met = s[k[OUT]: k[OUT] + count] > FREE_MM, k[k[MET]: k[MET] + count] > 0
        missing = [misses_must(cooling.f, cooling.n, s, k, body) for body in range(count)]
        return np.flatnonzero(out | met | np.array(missing))

    def _neighbours(self, state: State) -> Ints:
        """A body by chance and some that stand near it, on either face.

        It is one of those that overlap, if any do.
        """
        s, k = state
        random, count = self.cooling.order, self.cooling.movable
        troubled = self._troubled(state)
        first = int(random.choice(troubled)) if len(troubled) else int(random.integers(count))
        x, y = s[k[X]: k[X] + count], s[k[Y]: k[Y] + count]
        far = np.hypot(x - x[first], y - y[first]) * np.exp(random.normal(0.0, BLUR, count))
        far[first] = -1.0
        return np.argsort(far, kind="stable")[: int(random.integers(FEWEST, MOST + 1))]

"""Opening ways for wires: modules give way where a wire has no way that is wide enough.

The search packs modules as close as they may stand, and a wire that finds no gap of its width can't
be laid; mostly it lacks a millimetre or two, beside a screw of the other face or between a terminal
and what stands before it. What stands on both sides of the narrowest place of the best blocked way
is to keep the distance there that the wire needs; the bodies are freed and slid under that, and
what is gained is kept if it costs little. A wire may lack more than one place, which are found one
after another.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf

import numpy as np

from layout_engine.arranging.classes import NEVER
from layout_engine.arranging.clearing import burden, clearings
from layout_engine.arranging.cost import evaluate
from layout_engine.arranging.finishing import copied
from layout_engine.arranging.packing import packed
from layout_engine.arranging.puzzle import Piece, Pose, Puzzle
from layout_engine.arranging.running import Run
from layout_engine.arranging.sliding import Slider, State
from layout_engine.arranging.vectors import AT, Floats, X, Y
from layout_engine.arranging.verdict import is_allowed
from layout_engine.geometry.arrange_support import convex_parts
from layout_engine.model.job import Job
from layout_engine.sizing.routed import guessed_sizes
from layout_engine.wiring.lost import Lost, Pinch, Side, lost_wires

LOST = 0.02  # share of the cost that a way for a wire is worth: that of twenty warnings
# Where more of the wires have no way, and more than a few, the plate has no room for them.
MOST_LOST, FEW_LOST = 0.1, 2
ROUNDS, TRIES = 6, 4  # narrow places one after another; of each round tried one by one
MORE_MM = 0.6  # than a wire needs, as wires lie on tracks and not in the middle of every gap
FREE_TRIES, SLIDES = 6, 4


@dataclass(frozen=True, eq=False)
class Opened:
    """Where modules stand.

    Attributes:
        state: bodies and poses.
        puzzle: in which the ways that were opened stay open.
        lost: the wires without a way.
        burden: what it costs, with warnings, crowded gaps, and wires without a way.
        sizes: names of the sizes that wires have, by connection.
        minded: whether wires without a way count: not where it is late, nor where so many have none
            that the plate has no room for them.
    """

    state: State
    puzzle: Puzzle
    lost: Sequence[Lost]
    burden: float
    sizes: Mapping[str, str]
    minded: bool


def opened(run: Run, state: State, most: float, is_late: Callable[[], bool]) -> Opened:
    """A state with fewer wires that have no way, that costs at most `most`.

    Args:
        run: its run; the puzzle's bodies and poses are numbered as in its own.
        state: an allowed state.
        most: what it may cost.
        is_late: whether there is no time for another try.
    """
    job = run.job_of(state)
    if is_late():
        return Opened(state, run.problem.puzzle, (), burden(job)[0], {}, minded=False)
    opener = _Opener(run, most, is_late, guessed_sizes(job))
    best = now = opener.looked_at(state, run.problem.puzzle)
    if len(best.lost) > max(MOST_LOST * len(run.base.connections), FEW_LOST):
        return replace(best, minded=False)
    for _ in range(ROUNDS):
        after = opener.next(now)
        if after is None or not after.minded:
            break
        now = after
        best = min(best, now, key=lambda one: one.burden)
    return best


@dataclass(frozen=True, eq=False)
class _Opener:
    """Tries narrow places of one run."""

    run: Run
    most: float
    is_late: Callable[[], bool]
    sizes: Mapping[str, str]

    def looked_at(self, state: State, puzzle: Puzzle) -> Opened:
        """A state, with its wires that have no way."""
        job = self.run.job_of(state)
        plain = burden(job)[0]
        if self.is_late():
            return Opened(state, puzzle, (), plain, self.sizes, minded=False)
        lost = lost_wires(job, self.sizes)
        return Opened(state, puzzle, lost, plain * (1 + LOST * len(lost)), self.sizes, minded=True)

    def next(self, now: Opened) -> Opened | None:
        """All places opened at once, or the first of them that can be; None: none can."""
        pinches = [own for lost in now.lost if (own := lost.pinch) is not None]
        pinches.sort(key=lambda own: own.needs - own.apart)
        for tried in _in_turn(pinches):
            if self.is_late():
                return None
            puzzle = widened(now.puzzle, now.state, tried, self.run.problem.movable)
            after = None if puzzle is None else self._settled(puzzle, now.state)
            if after is not None:
                return after
        return None

    def _settled(self, puzzle: Puzzle, start: State) -> Opened | None:
        """A state freed, slid and cleared in a puzzle, if it may be the offer."""
        slider, state = Slider(puzzle, *packed(puzzle)), copied(start)
        if not slider.settled(state, FREE_TRIES, SLIDES, self.is_late):
            return None
        ends = [(state, self.run.job_of(state)),
                *clearings(self.run, state, inf, self.most, self.is_late, puzzle)]
        found = [(burden(job)[0], n, end) for n, (end, job) in enumerate(ends)
                 if evaluate(job).cost <= self.most and is_allowed(job, self.run.given)]
        return self.looked_at(min(found)[2], puzzle) if found else None


def _in_turn(pinches: list[Pinch]) -> Iterator[list[Pinch]]:
    """All of them, then one by one."""
    if pinches:
        yield pinches
    if len(pinches) > 1:
        yield from ([own] for own in pinches[:TRIES])


def who_stands_at(job: Job, lost: Iterable[Lost]) -> frozenset[str]:
    """Ids of the parts that stand where wires are lost: at their ends and at narrow places."""
    owners = {side.owner for one in lost if one.pinch for side in one.pinch.sides}
    ends = {c.id: c.ends for c in job.connections}
    return frozenset(owners | {part_id for one in lost for part_id, _ in ends[one.wire]})


def widened(puzzle: Puzzle, state: State, pinches: Iterable[Pinch], names: Sequence[str]
            ) -> Puzzle | None:
    """The puzzle in which what stands on both sides of narrow places keeps a wire's distance.

    Args:
        puzzle: the puzzle.
        state: says where bodies stand; in other poses they keep no more distance than before.
        pinches: the narrow places.
        names: of the bodies that may move, in order.

    Returns:
        The puzzle; None where nothing that may move stands at any of the places.
    """
    maker = _Widener(puzzle, state, {body.name: n for n, body in enumerate(puzzle.bodies)
                                     if body.name}, len(names))
    for pinch in pinches:
        maker.widen(pinch)
    return maker.made()


class _Widener:
    """Adds pieces with classes of their own, or planes where one side is the plate's."""

    def __init__(self, puzzle: Puzzle, state: State, numbers: dict[str, int], movable: int
                 ) -> None:
        self.puzzle, self.state, self.numbers, self.movable = puzzle, state, numbers, movable
        self.poses = list(puzzle.poses)
        self.distances: list[float] = []

    def widen(self, pinch: Pinch) -> None:
        """Keep both sides of a place apart."""
        one, other = (self.numbers.get(side.owner) for side in pinch.sides)
        wanted = max(pinch.needs, pinch.apart) + MORE_MM
        if one is not None and other is not None and one != other:
            if min(one, other) < self.movable:
                kind = len(self.puzzle.need) + 2 * len(self.distances)
                self.distances.append(wanted)
                self._add_pieces(one, pinch.sides[0], kind)
                self._add_pieces(other, pinch.sides[1], kind + 1)
            return
        for body, side in zip((one, other), pinch.sides, strict=True):
            if body is not None and body < self.movable and one != other:
                self._keep_off(body, side.way, wanted - pinch.apart)

    def made(self) -> Puzzle | None:
        """The puzzle with all that; None: it is as it was."""
        if all(new is old for new, old in zip(self.poses, self.puzzle.poses, strict=True)):
            return None
        count = len(self.puzzle.need)
        need = np.full((count + 2 * len(self.distances),) * 2, NEVER)
        need[:count, :count] = self.puzzle.need
        for n, wanted in enumerate(self.distances):
            one = count + 2 * n
            need[one, one + 1] = need[one + 1, one] = wanted
        return replace(self.puzzle, poses=tuple(self.poses), need=need)

    def _pose(self, body: int) -> tuple[int, Pose, Floats]:
        s, k = self.state
        number = int(k[k[AT] + body])
        return number, self.poses[number], np.array([s[k[X] + body], s[k[Y] + body]])

    def _add_pieces(self, body: int, side: Side, kind: int) -> None:
        number, pose, at = self._pose(body)
        more = tuple(Piece(corners - at, kind) for corners in convex_parts(side.corners))
        self.poses[number] = replace(pose, pieces=(*pose.pieces, *more))

    def _keep_off(self, body: int, way: tuple[float, float], by: float) -> None:
        """Let a body stand so many mm farther on its way from the place."""
        number, pose, at = self._pose(body)
        plane = -way[0], -way[1], -(float(at @ way) + by)
        self.poses[number] = replace(pose, planes=(*pose.planes, plane))

"""Seating: modules put where all their holes are drilled already, before the search for the rest.

A plate that was drilled before saves work where a module's holes fall into those that are there.
The search cannot find such a place by itself: to it a hole that is there is one to keep away from.
So the places are listed, one a module is taken greedily, and a short search of the rest tells what
they cost beside a short search of all; where that is too much, the module that stands farthest from
where it would be cheapest is let go. Deterministic, so that each process decides alike.

That is for few modules. Of more a short search does not tell what anything costs: seats are taken
when the search is over, by modules that stand near one, and priced beside what was found.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from math import hypot, inf

import numpy as np

from layout_engine.arranging.cost import evaluate
from layout_engine.arranging.footprints import Posed
from layout_engine.arranging.pricing import refresh
from layout_engine.arranging.probing import Watch, probed
from layout_engine.arranging.problem import Problem, problem_of
from layout_engine.arranging.running import Run, cleared
from layout_engine.arranging.search import Search
from layout_engine.arranging.vectors import ON, Floats
from layout_engine.arranging.verdict import Given, is_allowed
from layout_engine.geometry.frames import EPS_MM
from layout_engine.model.job import Job
from layout_engine.model.part import Placement
from layout_engine.tables.holes import HoleWanted

SEAT_SHARE, MOST_SHARE = 0.01, 0.05  # of the cost: what each seat may cost, and all together
SEATING_WORK = 8_000_000  # of a short search
MOST_BODIES = 6  # of more, a short search tells no per cent
NEAR_MM = 30.0  # from a seat at which a module is put on it in the end; from farther off none was
TOGETHER_SHARE = 0.02  # of the cost: what all seats may cost that are taken in the end
# Times that share, for a module put on a seat while all others stand: sliding gives no more back.
# Of 67 that were tried on jobs of 12 to 40 modules those that were taken cost up to 2.5 % so.
BEFORE_SLIDING = 2.0
FREE_TRIES, SLIDES = 6, 4
LET_GO = 4  # times that a module is let go
NEARLY_MM = 0.005  # by which ground may be missed that the checker looks at again


@dataclass(frozen=True, slots=True)
class Seat:
    """A place at which every hole of a module is one that is there."""

    part: str
    place: Placement
    x: float
    y: float


def seated(problem: Problem, base: Job, given: Given, watch: Watch) -> Job:
    """The base with modules on seats that cost little; the base itself where there are none.

    Args:
        problem: the whole problem.
        base: the job with everything that may move in the tray.
        given: stops that no place can avoid.
        watch: looks on while it searches.
    """
    few = problem.puzzle.movable <= MOST_BODIES and not watch.stopped
    places = list(seats(problem)) if few else []
    if not places:
        return base
    free, cheapest = _found(problem, base, given, watch)
    if free is None:
        return base
    taken = _greedy(places, free, base, given)
    for _ in range(LET_GO):
        if not taken:
            break
        there = base.with_places({seat.part: seat.place for seat in taken})
        rest = frozenset(problem.movable) - {seat.part for seat in taken}
        cost = _found(problem_of(there, rest), there, given, watch)[1]
        if watch.stopped:
            break
        if cost <= cheapest * (1 + min(SEAT_SHARE * len(taken), MOST_SHARE)):
            return there
        taken.remove(max(taken, key=lambda seat: _way(seat, free)))
    return base


def reseated(run: Run, is_late: Callable[[], bool]) -> Run:
    """The run, modules of its best put on seats near which they stand, where that costs little.

    What stands in the way is pushed aside and slid to its cheapest places.

    Args:
        run: a search that is over.
        is_late: whether there is no time to try another seat.
    """
    if run.best is None or run.state is None or run.cost is None:
        return run
    ways = [(_way(seat, run.best), number, seat) for number, seat in enumerate(seats(run.problem))]
    near = [seat for way, _, seat in sorted(ways, key=lambda entry: entry[:2]) if way <= NEAR_MM]
    now, taken = run, list[str]()
    dearest = run.cost.cost * (1 + BEFORE_SLIDING * TOGETHER_SHARE)
    for seat in near:
        if seat.part in taken or is_late() or _moved(now, seat) > dearest:
            continue
        tried = _on_seat(now, seat, is_late)
        share = min(SEAT_SHARE * (len(taken) + 1), TOGETHER_SHARE)
        if tried.cost and tried.cost.cost <= min(run.cost.cost * (1 + share), run.ceiling):
            now, taken = tried, [*taken, seat.part]
    return now


def _moved(run: Run, seat: Seat) -> float:
    """What the best of a run costs with one module on a seat and all others where they stand."""
    assert run.best is not None
    return evaluate(run.best.with_places({seat.part: seat.place})).cost


def _on_seat(run: Run, seat: Seat, is_late: Callable[[], bool]) -> Run:
    """A run whose best, if there is one, is that of another with a module on a seat."""
    assert run.best is not None
    there = run.best.with_places({seat.part: seat.place})
    rest = frozenset(run.problem.movable) - {seat.part}
    problem = problem_of(there, rest, turning=False, like=run.problem)
    tried = replace(run, problem=problem, base=cleared(there, rest), best=None, cost=None,
                    state=None, ends=[], refused=set(), beaten=[])
    if not rest or len(problem.movable) < len(rest):
        return tried
    search = Search(problem.puzzle, 1, 1)
    state = search.first_state()
    state[1][state[1][ON]: state[1][ON] + search.count] = 1
    refresh(search.f, search.n, *state)
    if search.slider.settled(state, FREE_TRIES, SLIDES, is_late):
        tried.judge(state)
    return tried


def _found(problem: Problem, base: Job, given: Given, watch: Watch) -> tuple[Job | None, float]:
    """What a short search finds, and its cost."""
    if problem.puzzle.movable:
        run = probed(problem, base, given, SEATING_WORK, watch)
    else:
        run = Run(problem, base, given)
        run.keep(base, frozenset())
    return run.best, run.cost.cost if run.cost else inf


def seats(problem: Problem) -> Iterator[Seat]:
    """Every place at which all holes of a module are such as are there."""
    old = problem.job.plate.existing_holes
    holes = np.array([(hole.x, hole.y, hole.diameter) for hole in old]).reshape(-1, 3)
    for body in problem.puzzle.bodies[: problem.puzzle.movable] if old else ():
        known: set[tuple[int, float, float]] = set()
        for number in body.poses:
            pose = problem.puzzle.poses[number]
            own = pose.label
            assert isinstance(own, Posed)
            for x, y in _fits(own, holes):
                key = number, round(x, 3), round(y, 3)
                on_ground = all(a * x + b * y <= c + NEARLY_MM for a, b, c in pose.planes)
                if key not in known and on_ground:
                    known.add(key)
                    yield Seat(body.name, problem.placement(number, x, y), x, y)


def _fits(own: Posed, holes: Floats) -> Iterator[tuple[float, float]]:
    """Centres of a pose at which each of its holes lies within the slack of one that is there."""
    if not own.holes:
        return
    spots = np.array([spot.mean(axis=0) for spot, _ in own.holes])
    slack = _slacks(own.wanted, tuple(holes[:, 2].tolist()))
    for first in np.flatnonzero(slack[0] >= -EPS_MM):
        centre = holes[first, :2] - spots[0]
        off = holes[None, :, :2] - (centre + spots)[:, None]
        apart = np.where(slack >= -EPS_MM, np.hypot(off[..., 0], off[..., 1]), inf)
        nearest = np.argmin(apart, axis=1)
        own_off = off[np.arange(len(spots)), nearest]
        shift = own_off.mean(axis=0)
        left = np.hypot(*(own_off - shift).T)
        if np.all(left <= slack[np.arange(len(spots)), nearest] + EPS_MM):
            yield float(centre[0] + shift[0]), float(centre[1] + shift[1])


@lru_cache(maxsize=64)
def _slacks(wanted: tuple[HoleWanted, ...], diameters: tuple[float, ...]) -> Floats:
    """Slack of each hole of a module in each that is there, mm; negative: it does not serve."""
    return np.array([[hole.slack(diameter) for diameter in diameters] for hole in wanted])


def _greedy(places: list[Seat], free: Job, base: Job, given: Given) -> list[Seat]:
    """One seat a module, the nearest to where it stands in a cheap layout first."""
    taken: list[Seat] = []
    for seat in sorted(places, key=lambda seat: _way(seat, free)):
        if all(seat.part != other.part for other in taken):
            there = {other.part: other.place for other in (*taken, seat)}
            if is_allowed(base.with_places(there), given):
                taken.append(seat)
    return taken


def _way(seat: Seat, free: Job) -> float:
    """How far a seat is from where its module stands in a cheap layout, mm; behind: farther."""
    place = free.part(seat.part).placement
    if place is None:
        return inf
    other = 0.0 if place.face == seat.place.face else max(free.plate.size)
    return hypot(place.x - seat.place.x, place.y - seat.place.y) + other

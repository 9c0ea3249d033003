"""What no arrangement can cost less than: proven.

The wires are parted into groups that no wire shares, so that the groups' bounds add up:

- those between two bodies, priced at the nearest that both can stand (`bound_pairs`);
- those of one body, the hub, to several others, which cannot all stand there (`bound_crowds`);
- those of all bodies to what stays: parts that are locked, and where leads leave the plate.

Pairs that are in no other group are priced together, each body in one place (`bound_chains`); so
are all pairs without other groups, where that gives more. Wishes of single bodies are priced at the
least over their ground. A pair goes with the hub that gains most by it; which hub is tried is a
choice, and no part of the proof.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np

from layout_engine.arranging.bound_areas import Ground, ground_of, grown_box
from layout_engine.arranging.bound_chains import least_of_chains
from layout_engine.arranging.bound_crowds import NOT_THERE, Sheet, Wired, least_of_crowd
from layout_engine.arranging.bound_pairs import (
    Options,
    is_box,
    must_keep_clear,
    need_between,
    options_of,
    span_of,
)
from layout_engine.arranging.problem import Problem
from layout_engine.arranging.puzzle import FRONT, Box, Net, Point, Pose, Puzzle
from layout_engine.model.job import Job
from layout_engine.working import Given, Working

HUBS = 6  # bodies tried as hubs, those with the heaviest wires
LEAST_CROWD = 2
Pairs = dict[tuple[int, ...], list[Net]]
SAME_MM2 = 1e-6  # areas of poses that differ by less are the same
SOURCE = ("proven: pairs at their nearest, chains of them by Lagrangian decomposition, ground "
          "round hubs and fixed points by transport duality")


@dataclass(frozen=True, slots=True)
class Bound:
    """A bound and the parts that it is the sum of: what, and how much."""

    total: float
    parts: tuple[tuple[str, float], ...]

    @property
    def working(self) -> Working:
        """The bound with its working."""
        given = tuple(Given("b", what, value, "A mm", "least, proven")
                      for what, value in self.parts)
        return Working("sum of b over groups of wires that share none", given, self.total, "A mm",
                       SOURCE)


def lower_bound(problem: Problem, job: Job, *, crowds: bool = True, chains: bool = True,
                is_stopped: Callable[[], bool] = lambda: False) -> Working:
    """A proven lower bound of the cost of the parts that are placed, with its working.

    Args:
        problem: the arranging problem.
        job: says which parts are placed; connections to others are left out.
        crowds: False: only pair by pair, which takes a tenth of the time.
        chains: False: not along chains of pairs, which take half of it.
        is_stopped: whether the bound that was found by then will do.
    """
    placed = {part.id for part in job.placed}
    puzzle = problem.puzzle
    there = {n for n, body in enumerate(puzzle.bodies) if body.name in placed}
    pairs: Pairs = defaultdict(list)
    for net in puzzle.nets:
        bodies = [body for body, _ in net.ends]
        if len(bodies) + len(net.fixed) == 2 and there.issuperset(bodies):
            pairs[tuple(sorted(set(bodies)))].append(net)
    return bound_of(puzzle, pairs, sorted(there), crowds=crowds, chains=chains,
                    is_stopped=is_stopped).working


def bound_of(puzzle: Puzzle, pairs: Pairs, there: list[int], *, crowds: bool = True,
             chains: bool = True, is_stopped: Callable[[], bool] = lambda: False) -> Bound:
    """The bound of a puzzle's nets of two ends, given by the bodies they join."""
    options = {key: options_of(puzzle, key, nets) for key, nets in pairs.items()}
    splitter = _Splitter(puzzle, pairs, {key: own.least for key, own in options.items()})
    if crowds:
        splitter.take_crowds(is_stopped)
    climb = is_stopped if crowds and chains else None
    parts = max((_rest(puzzle, options, splitter, found, climb)
                 for found in ([], splitter.found)), key=lambda own: sum(v for _, v in own))
    wishes = sum(_least_wishes(puzzle, body) for body in there if body < puzzle.movable)
    if wishes > 0:
        parts.append(("wishes, each at its best place", wishes))
    return Bound(sum(value for _, value in parts), tuple(parts))


def _rest(puzzle: Puzzle, options: Mapping[tuple[int, ...], Options], splitter: _Splitter,
          found: list[tuple[str, float]], climb: Callable[[], bool] | None
          ) -> list[tuple[str, float]]:
    """Groups that were found, or none, and the wires of all other pairs.

    `climb`: whether to stop climbing along chains; None: not along chains.
    """
    keys = sorted(splitter.left if found else options)
    plain = sum(splitter.alone[key] for key in keys)
    together = plain
    if climb is not None:
        together = least_of_chains(puzzle, {key: options[key] for key in keys}, climb)
    how = "each module in one place for all" if together > plain else "each at its nearest"
    return [(f"wires of pairs, {len(keys)} of them, {how}", together), *found]


def _least_wishes(puzzle: Puzzle, body: int) -> float:
    """Least price of a body's own wishes: in each pose the worst row of a wish at its least."""
    prices = []
    for number in puzzle.bodies[body].poses:
        pose = puzzle.poses[number]
        x0, y0, x1, y1 = span_of(puzzle, pose, body)
        groups: dict[int, float] = defaultdict(float)
        for h in pose.hinges:
            low = h.c + min(h.a * x0, h.a * x1) + min(h.b * y0, h.b * y1)
            groups[h.group] = max(groups[h.group], h.factor * low)
        prices.append(pose.cost + sum(groups.values()))
    return min(prices)


@dataclass(frozen=True, slots=True)
class _Gain:
    """What a hub's wires cost at least together, and how much more that is than alone."""

    hub: int
    keys: tuple[tuple[int, ...], ...]
    bound: float
    gain: float


@dataclass
class _Splitter:
    """Parts wires into groups; `left`: pairs in no group yet, `found`: groups and their bounds."""

    puzzle: Puzzle
    pairs: Pairs
    alone: dict[tuple[int, ...], float]
    left: set[tuple[int, ...]] = field(default_factory=set)
    found: list[tuple[str, float]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.left = set(self.pairs)

    def take_crowds(self, is_stopped: Callable[[], bool]) -> None:
        """Take the group with the greatest gain, again and again while there is any."""
        hubs = (-1, *self._heaviest())
        queue = [self._gain(hub) for hub in hubs if not is_stopped()]
        while queue and not is_stopped():
            best = max(queue, key=lambda entry: (entry.gain, -entry.hub))
            queue.remove(best)
            if best.gain <= 0.0:
                continue
            if set(best.keys) <= self.left:
                self.left -= set(best.keys)
                self.found.append((self._words(best.hub, len(best.keys)), best.bound))
            else:  # some of its pairs were taken meanwhile
                queue.append(self._gain(best.hub))

    def _gain(self, hub: int) -> _Gain:
        keys = tuple(self._keys(hub))
        bound = self._bound(hub, keys)
        return _Gain(hub, keys, bound, bound - sum(self.alone[key] for key in keys))

    def _words(self, hub: int, count: int) -> str:
        name = self.puzzle.bodies[hub].name if hub >= 0 else "what stays"
        return f"wires of {count} modules to {name}, which all need ground"

    def _heaviest(self) -> list[int]:
        weights: dict[int, float] = defaultdict(float)
        for key in self.left:
            for body in key if len(key) == 2 and min(key) < self.puzzle.movable else ():
                if body < self.puzzle.movable:
                    weights[body] += sum(net.weight for net in self.pairs[key])
        return sorted(weights, key=lambda body: (-weights[body], body))[:HUBS]

    def _keys(self, hub: int) -> list[tuple[int, ...]]:
        """Pairs of a hub (-1: what stays) that are in no group yet."""
        movable = self.puzzle.movable
        if hub < 0:
            return sorted(key for key in self.left if key[0] < movable and (
                key[-1] >= movable or (len(key) == 1 and self.pairs[key][0].fixed)))
        return sorted(key for key in self.left if len(key) == 2 and hub in key
                      and max(key) < movable)

    def _bound(self, hub: int, keys: tuple[tuple[int, ...], ...]) -> float:
        plain = sum(self.alone[key] for key in keys)
        if len(keys) < LEAST_CROWD:
            return plain
        if hub < 0:
            return max(plain, self._round_what_stays(keys))
        others = [key[0] if key[1] == hub else key[1] for key in keys]
        poses = _unlike(self.puzzle, hub, others)
        return max(plain, min(self._round(hub, pose, keys) for pose in poses))

    def _round(self, hub: int, pose: Pose, keys: tuple[tuple[int, ...], ...]) -> float:
        """The bound of wires to a hub in one pose, in the frame of its centre."""
        others = {key: key[0] if key[1] == hub else key[1] for key in keys}
        wired, rest, gaps = [], 0.0, []
        for key, other in others.items():
            ends = [(net, dict(net.ends)) for net in self.pairs[key]]
            points = tuple(pose.pins[pin[hub]] for _, pin in ends)
            body, gap = self._wired(other, [b for b in others.values() if b != other] + [hub], [
                (net.weight, pin[other]) for net, pin in ends], points, self.alone[key],
                _sides(self.puzzle, other, pose.face, sum(net.cross for net, _ in ends)))
            if body is None:
                rest += self.alone[key]
            else:
                wired.append(body)
                gaps.append(gap)
        taken: tuple[Box, ...] = ()
        if gaps and is_box(pose):
            taken = tuple(grown_box(pose.outline, min(gaps) / 2))
        return rest + least_of_crowd(wired, [Sheet(None, taken), Sheet(None)])

    def _round_what_stays(self, keys: tuple[tuple[int, ...], ...]) -> float:
        """The bound of wires to fixed points, on both faces of the plate."""
        puzzle = self.puzzle
        of_body: dict[int, list[tuple[int, ...]]] = defaultdict(list)
        for key in keys:
            of_body[key[0]].append(key)
        wired, rest, widest = [], 0.0, 0.0
        for body, own in of_body.items():
            ends, points, sides = [], [], [0.0, 0.0]
            for net in (net for key in own for net in self.pairs[key]):
                pin = next(pin for b, pin in net.ends if b == body)
                point, face = self._fixed_end(net, body)
                ends.append((net.weight, pin))
                points.append(point)
                if face is not None:
                    sides[1 - face] += net.cross
            faces = {puzzle.poses[p].face for p in puzzle.bodies[body].poses}
            extra = tuple(side if face in faces else NOT_THERE for face, side in enumerate(sides))
            alone = sum(self.alone[key] for key in own)
            found, gap = self._wired(body, [b for b in of_body if b != body], ends,
                                     tuple(points), alone, extra)
            if found is None:
                rest += alone
            else:
                wired.append(found)
                widest = max(widest, gap)
        bounds = _field(puzzle, list(of_body), widest)
        return rest + least_of_crowd(wired, [Sheet(bounds, _stays(puzzle, face))
                                             for face in (FRONT, 1 - FRONT)])

    def _fixed_end(self, net: Net, body: int) -> tuple[Point, int | None]:
        """The end of a net that stays, and its face; None for where a lead leaves the plate."""
        if net.fixed:
            return (net.fixed[0][0], net.fixed[0][1]), None
        other, pin = next((b, pin) for b, pin in net.ends if b != body)
        stays = self.puzzle.bodies[other]
        pose = self.puzzle.poses[stays.pose]
        x, y = stays.at or (0.0, 0.0)
        return (x + pose.pins[pin][0], y + pose.pins[pin][1]), pose.face

    def _wired(self, body: int, others: list[int],
               ends: list[tuple[float, int]], points: tuple[Point, ...], alone: float,
               extra: tuple[float, ...]) -> tuple[Wired | None, float]:
        """A body of a crowd, and the gap it keeps to the others; None if it need not keep clear."""
        puzzle = self.puzzle
        poses = [puzzle.poses[p] for p in puzzle.bodies[body].poses]
        needs = [need_between(puzzle, a, puzzle.poses[p])
                 for a in poses for other in others for p in puzzle.bodies[other].poses
                 if a.face == puzzle.poses[p].face]
        gap = max(0.0, min(needs, default=0.0))
        if any(need < -0.5 for need in needs):
            return None, 0.0
        grounds: list[Ground] = [ground_of(pose, gap) for pose in poses]
        areas = [ground.area for ground in grounds]
        if max(areas) - min(areas) > SAME_MM2:
            return None, 0.0
        own = max(sum(weight * ground.mean_way(pose.pins[pin]) for weight, pin in ends)
                  for ground, pose in zip(grounds, poses, strict=True))
        weights = tuple(weight for weight, _ in ends)
        return Wired(areas[0], alone, own, points, weights, extra), gap


def _sides(puzzle: Puzzle, body: int, hub_face: int, cross: float) -> tuple[float, float]:
    """What a body's wires to a hub cost more on the hub's face and on the other one."""
    faces = {puzzle.poses[p].face for p in puzzle.bodies[body].poses}
    return (0.0 if hub_face in faces else NOT_THERE,
            cross if 1 - hub_face in faces else NOT_THERE)


def _unlike(puzzle: Puzzle, body: int, others: list[int]) -> list[Pose]:
    """Poses of a body that quarter turns and mirroring do not make the same.

    Wires and ground round a hub are measured along the axes, so those cost the same. Faces matter
    where one of the others cannot stand on both.
    """
    both = all(len({puzzle.poses[p].face for p in puzzle.bodies[other].poses}) == 2
               for other in others)
    found: dict[tuple[object, ...], Pose] = {}
    for number in puzzle.bodies[body].poses:
        pose = puzzle.poses[number]
        spots = np.array([*pose.pins, pose.outline[:2], pose.outline[2:]])
        likes = []
        for turned in (spots, spots[:, ::-1]):
            for sx in (1.0, -1.0):
                for sy in (1.0, -1.0):
                    like = np.round(turned * (sx, sy), 6) + 0.0
                    corners = np.sort(like[-2:], axis=0)
                    likes.append((*map(tuple, like[:-2].tolist()), *map(tuple, corners.tolist())))
        found.setdefault((both or pose.face, min(likes)), pose)
    return list(found.values())


def _stays(puzzle: Puzzle, face: int) -> tuple[Box, ...]:
    """Rectangles of a face that modules that stay take."""
    taken = []
    movers = [puzzle.poses[p] for body in puzzle.bodies[: puzzle.movable] for p in body.poses
              if puzzle.poses[p].face == face]
    for body in puzzle.bodies[puzzle.movable:]:
        pose = puzzle.poses[body.pose]
        if (body.name and body.at and pose.face == face
                and must_keep_clear(puzzle, [pose], movers).all()):
            x, y = body.at
            a, b, c, d = pose.outline
            taken.append((x + a, y + b, x + c, y + d))
    return tuple(taken)


def _field(puzzle: Puzzle, bodies: list[int], gap: float) -> Box:
    """Bounds of all ground that bodies can take, with half the gap round them."""
    boxes = []
    for body in bodies:
        for number in puzzle.bodies[body].poses:
            pose = puzzle.poses[number]
            span, out = span_of(puzzle, pose, body), pose.outline
            boxes.append([span[i] + out[i] for i in range(4)])
    found = np.array(boxes)
    low, high = found[:, :2].min(axis=0) - gap / 2, found[:, 2:].max(axis=0) + gap / 2
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])

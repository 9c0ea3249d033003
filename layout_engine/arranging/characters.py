"""Four characters of an offer: what the search prefers beside the cost, and what it chooses by.

A character adds soft prices to the search (and none to the cost that is reported), then chooses
among the allowed ends of its starts by its own respect, and finishes as far as suits it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import combinations

from layout_engine.arranging.arrangement import Character
from layout_engine.arranging.finishing import GENEROUS, TIDIEST, USUAL, Finish
from layout_engine.arranging.footprints import FACES, Posed
from layout_engine.arranging.pricing import APART, SPACED
from layout_engine.arranging.problem import Problem
from layout_engine.arranging.puzzle import Body, BodyWish, Hinge, Pose, Puzzle
from layout_engine.arranging.respects.coolness import APART as APART_MM
from layout_engine.arranging.respects.coolness import watts_of
from layout_engine.arranging.respects.service import handy_face
from layout_engine.checks.facts import Facts
from layout_engine.checks.reach import reach_way
from layout_engine.geometry.frames import unit
from layout_engine.model.part_type import PartType
from layout_engine.tables.access import DRIVER_HANDLE

FINISHES: dict[Character, tuple[Finish, ...]] = {
    "shortest": (USUAL,), "coolest": (GENEROUS,), "serviceable": (GENEROUS,),
    "tidiest": (TIDIEST, replace(TIDIEST, within=6.0), replace(TIDIEST, share=0.02, within=9.0)),
}
# Prices of a mm, as shares of the weight of all wires together: what is wanted outweighs the wires
# of the modules it is wanted of. Chosen on the demo jobs and the generated family.
CLIMB, SPREAD = 1.0, 0.8
OUTWARD, TOOL_ROOM = 0.4, 3.0
CORRIDOR, CORRIDOR_MM = 3.0, 35.0
AWAY_SIDE_MM = 400.0  # a module on the other face counts as this many mm of all the wires

Change = Callable[[Body, Pose], Pose]


def flavoured(problem: Problem, character: Character) -> Puzzle:
    """The puzzle with what the character prefers as soft prices; bodies and poses keep numbers."""
    if character == "shortest":
        return problem.puzzle
    makers = {"coolest": _coolest, "serviceable": _serviceable, "tidiest": _tidiest}
    return replace(makers[character](problem), varied=True)


def _all_weight(puzzle: Puzzle) -> float:
    """Weight of all wires together; 1 where there are none."""
    return sum(net.weight for net in puzzle.nets) or 1.0


def _coolest(problem: Problem) -> Puzzle:
    """Hot modules up, on an upright plate, and apart."""
    puzzle, job = problem.puzzle, problem.job
    watts = [watts_of(job.type_of(body.name)) if body.name else 0.0 for body in puzzle.bodies]
    total = sum(watts)
    if total <= 0:
        return puzzle
    unit_price = _all_weight(puzzle)
    heat = {body.name: w / total for body, w in zip(puzzle.bodies, watts, strict=True) if w > 0}
    pairs = [
        (i, j) for i, j in combinations(range(len(watts)), 2)
        if watts[i] > 0 and watts[j] > 0 and i < puzzle.movable
    ]
    both = sum(watts[i] * watts[j] for i, j in pairs) or 1.0
    wishes = tuple(
        BodyWish(APART, i, (j,), APART_MM.value, SPREAD * unit_price * watts[i] * watts[j] / both,
                 must=False)
        for i, j in pairs
    )

    def climb(body: Body, pose: Pose) -> Pose:
        if body.name not in heat or job.plate.stands != "upright":
            return pose
        return _wanting(pose, (0.0, -1.0, puzzle.size[1]), CLIMB * unit_price * heat[body.name])

    return replace(_changed(puzzle, climb), wishes=(*puzzle.wishes, *wishes))


def _serviceable(problem: Problem) -> Puzzle:
    """Everything on the face that hands come to, room between, and ways out to the free edges.

    Where hands come along the board, what they are to reach is drawn to that edge.
    """
    puzzle, job = problem.puzzle, problem.job
    facts = Facts(job)
    handy, way = FACES[handy_face(facts)], reach_way(job)
    unit_price = _all_weight(puzzle)
    kinds = [job.type_of(body.name) if body.name else None for body in puzzle.bodies]
    worth = _worth(kinds)
    wishes = _spaced(puzzle, worth, DRIVER_HANDLE.value, TOOL_ROOM * unit_price)
    shares = _shares(kinds)

    def reachable(body: Body, pose: Pose) -> Pose:
        if pose.face != handy:
            pose = replace(pose, cost=pose.cost
                           + AWAY_SIDE_MM * unit_price / max(puzzle.movable, 1))
        kind = job.type_of(body.name)
        if way.axis == "y" and _is_reached(kind):
            to_edge = (0.0, -float(way.sign), puzzle.size[1] if way.sign > 0 else 0.0)
            pose = _wanting(pose, to_edge, OUTWARD * unit_price * shares[2])
        return _wanting(pose, _outward(puzzle, kind, pose, shares), OUTWARD * unit_price)

    return replace(_changed(puzzle, reachable), wishes=(*puzzle.wishes, *wishes))


def _tidiest(problem: Problem) -> Puzzle:
    """Some room between modules, so that lines, equal gaps and corridors can be made of it."""
    puzzle = problem.puzzle
    modules = [float(bool(body.name)) for body in puzzle.bodies]
    wishes = _spaced(puzzle, modules, CORRIDOR_MM, CORRIDOR * _all_weight(puzzle))
    return replace(puzzle, wishes=(*puzzle.wishes, *wishes))


def _spaced(puzzle: Puzzle, worth: list[float], wanted: float, price: float
            ) -> tuple[BodyWish, ...]:
    """Wishes that modules of one face stand `wanted` mm apart; `price` of a mm of all together."""
    pairs = [(i, j) for i, j in combinations(range(len(worth)), 2)
             if i < puzzle.movable and puzzle.bodies[j].name and worth[i] + worth[j] > 0]
    both = sum(worth[i] + worth[j] for i, j in pairs) or 1.0
    return tuple(BodyWish(SPACED, i, (j,), wanted, price * (worth[i] + worth[j]) / both,
                          must=False) for i, j in pairs)


def _shares(kinds: list[PartType | None]) -> tuple[float, float, float]:
    """What one terminal, one service point and one module to be reached are of all of them."""
    there = [kind for kind in kinds if kind]
    counts = (sum(len(kind.terminals) for kind in there),
              sum(len(kind.service) for kind in there),
              sum(_is_reached(kind) for kind in there))
    one, two, three = (1.0 / count if count else 0.0 for count in counts)
    return one, two, three


def _worth(kinds: list[PartType | None]) -> list[float]:
    """What each module's terminals, service points and itself are of all that is reached."""
    terminal, point, whole = _shares(kinds)
    return [
        terminal * len(kind.terminals) + point * len(kind.service)
        + whole * _is_reached(kind) if kind else 0.0
        for kind in kinds
    ]


def _is_reached(kind: PartType) -> bool:
    """Whether a hand or a tool is to reach it."""
    return kind.reach is not None and kind.reach.by != "none"


def _outward(puzzle: Puzzle, kind: PartType, pose: Pose, shares: tuple[float, float, float]
             ) -> tuple[float, float, float]:
    """Mean way to the plate's edge that terminals and service points face: a x + b y + c."""
    own = pose.label
    assert isinstance(own, Posed)
    ways = [(t.leaves, *pin, shares[0]) for t, pin in zip(kind.terminals, pose.pins, strict=True)]
    ways += [(point.towards, *own.about(point.x, point.y), shares[1])
             for point in kind.service if point.towards != "top"]
    width, height = puzzle.size
    a = b = c = 0.0
    for leaves, px, py, share in ways:
        ux, uy = unit(own.pose.direction(leaves))
        edge = (width if ux > 0 else 0.0) * ux + (height if uy > 0 else 0.0) * uy
        a, b, c = a - share * ux, b - share * uy, c + share * (edge - ux * px - uy * py)
    return a, b, c


def _wanting(pose: Pose, row: tuple[float, float, float], factor: float) -> Pose:
    """The pose with one more soft price: factor x (a x + b y + c)."""
    group = 1 + max((hinge.group for hinge in pose.hinges), default=-1)
    return replace(pose, hinges=(*pose.hinges, Hinge(*row, factor, group)))


def _changed(puzzle: Puzzle, change: Change) -> Puzzle:
    """The puzzle with the poses of its movable bodies changed."""
    poses = list(puzzle.poses)
    for body in puzzle.bodies[: puzzle.movable]:
        for number in body.poses:
            poses[number] = change(body, poses[number])
    return replace(puzzle, poses=tuple(poses))

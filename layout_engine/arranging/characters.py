"""Four characters of an offer: what the search prefers beside the cost, and what it chooses by.

A character adds soft prices to the search (and none to the cost that is reported), then chooses
among the allowed ends of its starts by its own respect, and finishes as far as suits it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import combinations

from layout_engine.arranging.arrangement import Character
from layout_engine.arranging.finishing import TIDIEST, USUAL, Finish
from layout_engine.arranging.footprints import FACES, Posed
from layout_engine.arranging.pricing import APART
from layout_engine.arranging.problem import Problem
from layout_engine.arranging.puzzle import Body, BodyWish, Hinge, Pose, Puzzle
from layout_engine.arranging.respects.coolness import APART as APART_MM
from layout_engine.arranging.respects.coolness import watts_of
from layout_engine.arranging.respects.service import handy_face
from layout_engine.checks.facts import Facts
from layout_engine.geometry.frames import unit

FINISHES: dict[Character, tuple[Finish, ...]] = {
    "shortest": (USUAL,), "coolest": (USUAL,), "serviceable": (USUAL,),
    "tidiest": (TIDIEST, replace(TIDIEST, within=6.0), replace(TIDIEST, share=0.02, within=9.0)),
}
# Prices of a mm, as shares of the weight of all wires together: what is wanted outweighs the wires
# of the modules it is wanted of. Chosen on the demo jobs and the generated family.
CLIMB, SPREAD = 1.0, 0.8
OUTWARD = 0.3
AWAY_SIDE_MM = 400.0  # a module on the other face counts as this many mm of all the wires

Change = Callable[[Body, Pose], Pose]


def flavoured(problem: Problem, character: Character) -> Puzzle:
    """The puzzle with what the character prefers as soft prices; bodies and poses keep numbers."""
    puzzle = problem.puzzle
    if character == "coolest":
        return _coolest(problem)
    if character == "serviceable":
        return _serviceable(problem)
    return puzzle


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
    """Everything on the face that hands come to, and terminals out to the free edges."""
    puzzle, job = problem.puzzle, problem.job
    handy = FACES[handy_face(Facts(job))]
    unit_price = _all_weight(puzzle)
    terminals = sum(len(job.type_of(name).terminals) for name in problem.movable) or 1

    def reachable(body: Body, pose: Pose) -> Pose:
        if pose.face != handy:
            pose = replace(pose, cost=pose.cost
                           + AWAY_SIDE_MM * unit_price / max(puzzle.movable, 1))
        a, b, c = _outward(puzzle, problem, body, pose)
        return _wanting(pose, (a, b, c), OUTWARD * unit_price / terminals)

    return _changed(puzzle, reachable)


def _outward(puzzle: Puzzle, problem: Problem, body: Body, pose: Pose
             ) -> tuple[float, float, float]:
    """Sum of the ways from a body's terminals to the plate's edge that they face: a x + b y + c."""
    own = pose.label
    assert isinstance(own, Posed)
    width, height = puzzle.size
    a = b = c = 0.0
    for terminal, (px, py) in zip(problem.job.type_of(body.name).terminals, pose.pins, strict=True):
        ux, uy = unit(own.pose.direction(terminal.leaves))
        a, b = a - ux, b - uy
        c += (width if ux > 0 else 0.0) * ux + (height if uy > 0 else 0.0) * uy - ux * px - uy * py
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

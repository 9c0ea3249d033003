"""Places are rounded to a thousandth of a mm: what touches in the search keeps its distance."""

from __future__ import annotations

from math import cos, radians, sin
from random import Random

import numpy as np
import pytest

from layout_engine import dump_document
from layout_engine.arranging.cooling import State
from layout_engine.arranging.pricing import fault, refresh
from layout_engine.arranging.problem import problem_of
from layout_engine.arranging.search import Search
from layout_engine.arranging.vectors import AT, ON, OUT, X, Y
from layout_engine.model.job import Job
from tests.checks import oracle_shapes as shapes
from tests.checks.oracle import Scene
from tests.layout_engine.arranging.test_embracing import Points, job_of

SIDE, CLEARANCE, PUSHED = 250.0, 2.0, 70.0
TOLD_APART = 1e-6  # mm: what differs by less is the same to the checker
ALONG = (0.0, 90.0, 180.0, 270.0)


def sized(random: Random, digits: int) -> float:
    return round(random.uniform(15, 40), digits)


def outline(random: Random, digits: int, *, box: bool) -> Points:
    """A box, else an L, or a triangle, its sizes rounded to so many digits."""
    a, b = sized(random, digits), sized(random, digits)
    c, d = round(a * 0.4, digits), round(b * 0.4, digits)
    if box:
        return [[0, 0], [a, 0], [a, b], [0, b]]
    return random.choice([
        [[0, 0], [a, 0], [a, d], [c, d], [c, b], [0, b]],
        [[0, 0], [a, 0], [c, b]],
    ])


class Pair:
    """Two modules somewhere on a plate, the second one to be pushed."""

    def __init__(self, random: Random, digits: int, *, any_turn: bool = False, boxes: bool = False
                 ) -> None:
        document = dump_document(job_of(SIDE, *(
            outline(random, digits, box=boxes or random.random() < 0.3) for _ in "ab")))
        for part in document["parts"] if any_turn else ():
            part["wishes"].append({"rule": "turns", "allowed": "any", "must": True})
        self.job = Job.model_validate(document)
        self.problem = problem_of(self.job)
        self.search = Search(self.problem.puzzle, 1, 1)
        self.state: State = self.search.first_state()
        s, k = self.state
        for body in (0, 1):
            k[k[AT] + body] = random.choice(self.problem.puzzle.bodies[body].poses)
            k[k[ON] + body] = 1
            s[k[X] + body], s[k[Y] + body] = (random.uniform(120, 130) for _ in "xy")

    def lack(self) -> float:
        refresh(self.search.f, self.search.n, *self.state)
        return float(fault(self.search.f, self.search.n, *self.state))

    def pushed(self, degrees: float) -> None:
        """Push the second one that way, until nothing is lacking any more."""
        s, k = self.state
        x, y = s[k[X] + 1], s[k[Y] + 1]
        near, far = 0.0, PUSHED
        while far - near > 1e-11:
            middle = (near + far) / 2
            s[k[X] + 1], s[k[Y] + 1] = (
                x + middle * cos(radians(degrees)), y + middle * sin(radians(degrees)))
            near, far = (middle, far) if self.lack() > 0 else (near, middle)
        s[k[X] + 1], s[k[Y] + 1] = x + far * cos(radians(degrees)), y + far * sin(radians(degrees))

    def outlines(self) -> list[np.ndarray]:
        """Of both, at their rounded places."""
        s, k = self.state
        placed = self.job.with_places({
            f"p{body}": self.problem.placement(int(k[k[AT] + body]), s[k[X] + body],
                                               s[k[Y] + body]) for body in (0, 1)})
        return [part.outline for part in Scene(dump_document(placed)).placed]


@pytest.mark.parametrize("digits", [3, 6])
@pytest.mark.parametrize("any_turn", [False, True], ids=["quarter turns", "any turn"])
def test_two_that_touch_keep_their_distance_once_rounded(digits: int, any_turn: bool) -> None:
    random = Random(digits + any_turn)
    for _ in range(60):
        pair = Pair(random, digits, any_turn=any_turn)
        pair.pushed(random.choice([*ALONG, random.uniform(0, 360)]))
        assert shapes.gap(*pair.outlines()) >= CLEARANCE - TOLD_APART


@pytest.mark.parametrize("way", [*ALONG, 33.0, 211.0])
def test_boxes_of_whole_thousandths_have_next_to_nothing_to_spare(way: float) -> None:
    """Along an axis what rounding opens between two, as the first one stands between thousandths;
    elsewhere the slack too.
    """
    random = Random(4)
    most = 0.001 if way in ALONG else 0.001 + 0.002
    for _ in range(10):
        pair = Pair(random, 3, boxes=True)
        pair.pushed(way)
        assert shapes.gap(*pair.outlines()) <= CLEARANCE + most + TOLD_APART


@pytest.mark.parametrize("digits", [3, 6])
def test_who_stands_at_the_margin_keeps_it_once_rounded(digits: int) -> None:
    random = Random(digits)
    for _ in range(40):
        pair = Pair(random, digits, any_turn=random.random() < 0.5)
        s, k = pair.state
        pose = pair.problem.puzzle.poses[int(k[k[AT] + 1])]
        for block, low in ((X, random.choice([0, 2])), (Y, random.choice([1, 3]))):
            s[k[block] + 1] = pose.span[low]
        pair.lack()
        assert s[k[OUT] + 1] == 0.0
        corners = pair.outlines()[1]
        assert min(corners.min(), SIDE - corners.max()) >= 5.0 - TOLD_APART


def test_places_midway_between_thousandths_are_rounded_alike() -> None:
    """A linear program leaves them open by some 1e-7 mm to either side."""
    problem = Pair(Random(1), 3).problem
    pose = problem.puzzle.bodies[0].poses[0]
    origin = problem.placement(pose, 120.0, 120.0)
    midway = [120.0 + (round(origin.x) + 0.0005 - origin.x) + off for off in (-3e-7, 3e-7)]
    one, other = (problem.placement(pose, x, x) for x in midway)
    assert one == other

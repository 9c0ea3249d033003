"""The proven bound: never above what any allowed arrangement costs, by brute force and by worked
cases; and better than pair by pair."""

from __future__ import annotations

import json
from itertools import pairwise
from math import inf
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
import pytest

from layout_engine import arrange, dump_document, load_document
from layout_engine.arranging.arranger import cleared
from layout_engine.arranging.bound import lower_bound
from layout_engine.arranging.bound_areas import Ground
from layout_engine.arranging.bound_crowds import Sheet, Wired, least_of_crowd
from layout_engine.arranging.problem import problem_of
from tests.benchmarks.arranging import family_job

DEMOS = Path(__file__).parents[3] / "seed_data" / "demos"
TURNS = (0, 90, 180, 270)


def still() -> float:
    return 0.0


def small_job(seed: int) -> dict[str, Any]:
    """Boxes of whole tens of mm on a small plate, a hub wired to each, one wire to an edge."""
    rng = Random(seed)
    side, count = 80, 3
    document: dict[str, Any] = {
        "format": "platewright/1", "name": "Small",
        "body": {"shape": "box", "width": 300, "depth": 300, "height": 300,
                 "opening": {"shape": "rectangle", "width": 280, "height": 280},
                 "reach_from": "top"},
        "plate": {"outline": [[0, 0], [side, 0], [side, side], [0, side]], "thickness": 5,
                  "material": "acrylic", "stands": "upright", "base": 50, "edge_margin": 0},
        "types": {}, "parts": [], "connections": [],
    }
    for n in range(count):
        width, height = rng.choice((20, 30, 40)), rng.choice((20, 30))
        document["types"][f"t{n}"] = {
            "name": "Box", "kind": "other", "height": 10, "standoff": 5,
            "outline": [[0, 0], [width, 0], [width, height], [0, height]],
            "terminals": [{"id": f"x{k}", "x": rng.choice((0, width)), "y": rng.choice((0, height)),
                           "leaves": 0, "role": "signal"} for k in range(2)],
        }
        document["parts"].append({"id": f"p{n}", "type": f"t{n}", "wishes": [
            {"rule": "face", "face": "front", "must": True}]})
    document["types"]["far"] = {"name": "Far", "kind": "other", "height": 1,
                                "outline": [[0, 0], [9, 0], [9, 9], [0, 9]],
                                "terminals": [{"id": "x0", "x": 0, "y": 0, "leaves": 0,
                                               "role": "signal"}]}
    document["parts"].append({"id": "far", "type": "far", "away": {
        "exit": rng.choice(("top", "left", "bottom"))}})
    for n in range(1, count):
        document["connections"].append({
            "id": f"c{n}", "from": f"p0.x{rng.randrange(2)}", "to": f"p{n}.x{rng.randrange(2)}",
            "weight": rng.choice((1, 3, 8))})
    for n in range(count):
        document["connections"].append({
            "id": f"f{n}", "from": f"p{n}.x0", "to": "far.x0", "weight": rng.choice((1, 4))})
    return document


def brute_force(document: dict[str, Any], step: int = 10) -> float:
    """The least cost over all places on a grid, all quarter turns, by the contract's text alone.

    All sizes are multiples of the step, so the cheapest arrangement of boxes pushed together, or
    against edges and the exit's middle, is among them.
    """
    side = document["plate"]["outline"][2][0]
    leaves = document["parts"][-1]["away"]["exit"]
    exit_x, exit_y = {"top": (side / 2, side), "bottom": (side / 2, 0), "left": (0, side / 2)}[
        leaves]
    ways = []
    for part in document["parts"][:-1]:
        kind = document["types"][part["type"]]
        width, height = kind["outline"][2]
        own = []
        for turn in TURNS:
            w, h = (width, height) if turn % 180 == 0 else (height, width)
            pins = [turned(t["x"], t["y"], width, height, turn) for t in kind["terminals"]]
            own += [((x, y, x + w, y + h), [(x + a, y + b) for a, b in pins])
                    for x in range(0, int(side - w) + 1, step)
                    for y in range(0, int(side - h) + 1, step)]
        ways.append(own)
    boxes = [np.array([box for box, _ in own], dtype=float) for own in ways]
    pins = [np.array([spots for _, spots in own], dtype=float) for own in ways]
    leads = [sum(wire["weight"] * np.abs(pins[n][:, 0] - (exit_x, exit_y)).sum(axis=1)
                 for wire in document["connections"] if wire["from"] == f"p{n}.x0"
                 and wire["to"] == "far.x0") for n in range(3)]
    second_third = apart(boxes[1][:, None], boxes[2][None])
    best = np.inf
    for first in range(len(ways[0])):
        costs = []
        for n in (1, 2):
            wire = next(w for w in document["connections"] if w["id"] == f"c{n}")
            hub, own = (int(wire[end][-1]) for end in ("from", "to"))
            way = np.abs(pins[n][:, own] - pins[0][first, hub]).sum(axis=1)
            cost = leads[n] + wire["weight"] * way
            costs.append(np.where(apart(boxes[0][first], boxes[n]), cost, np.inf))
        both = np.where(second_third, costs[0][:, None] + costs[1][None], np.inf)
        best = min(best, float(leads[0][first] + both.min()))
    return best


def turned(x: float, y: float, width: float, height: float, turn: int) -> tuple[float, float]:
    """A point of a box after a quarter turn, from the turned box's lower left corner."""
    return {0: (x, y), 90: (height - y, x), 180: (width - x, height - y), 270: (y, width - x)}[turn]


def apart(a: Any, b: Any) -> Any:
    return ((a[..., 2] <= b[..., 0]) | (b[..., 2] <= a[..., 0])
            | (a[..., 3] <= b[..., 1]) | (b[..., 3] <= a[..., 1]))


@pytest.mark.parametrize("seed", range(20))
def test_the_bound_is_not_above_the_best_of_all_places_on_a_grid(seed: int) -> None:
    document = small_job(seed)
    job = load_document(document)
    offer = arrange(job, seconds=1, seed=1, clock=still)
    best = brute_force(document)
    bound = lower_bound(problem_of(job), offer.job).result
    assert bound <= min(best, offer.cost) + 1e-6


def known(name: str) -> Any:
    if name.startswith("family"):
        count, seed = (int(n) for n in name.split("_")[1:])
        return family_job(count, seed)
    document = json.loads((DEMOS / f"{name}.json").read_text())
    return load_document(document)


@pytest.mark.parametrize(
    "name", ["rolling_lighthouse", "family_12_1", "family_25_2", "family_40_3"])
def test_the_bound_is_below_every_arrangement_found_and_above_pair_by_pair(name: str) -> None:
    job = known(name)
    problem = problem_of(job)
    offer = arrange(job, seconds=1, seed=2, clock=still)
    whole, pairs = (lower_bound(problem, offer.job, crowds=crowds).result
                    for crowds in (True, False))
    assert pairs <= whole <= offer.cost
    if name.startswith("family"):
        assert whole > 1.1 * pairs


def test_a_bound_that_is_stopped_is_one_all_the_same_and_the_later_the_higher() -> None:
    job = family_job(12, 1)
    problem = problem_of(job)
    placed = arrange(job, seconds=1, seed=2, clock=still).job

    def bound(most: float) -> tuple[float, int]:
        asked: list[object] = []
        found = lower_bound(problem, placed, is_stopped=lambda: (
            asked.append(None) or len(asked) > most))  # type: ignore[func-returns-value]
        return found.result, len(asked)

    whole, asked = bound(inf)
    found = [bound(most)[0] for most in range(asked)]
    assert found[0] == lower_bound(problem, placed, crowds=False).result
    assert found[0] < found[-1] <= whole
    assert all(a <= b + 1e-9 for a, b in pairwise(found))


def test_locked_modules_bound_what_is_wired_to_them() -> None:
    document = dump_document(family_job(12, 5))
    for part in document["parts"][:6]:
        part["locked"] = True
    job = load_document(document)
    offer = arrange(job, seconds=1, seed=1, clock=still)
    free = arrange(cleared(family_job(12, 5), frozenset(p.id for p in job.parts)), seconds=1,
                   seed=1, clock=still)
    bound = lower_bound(problem_of(job), offer.job).result
    assert bound <= offer.cost
    assert bound > free.bound


def test_the_bound_is_the_sum_of_its_parts() -> None:
    offer = arrange(family_job(12, 1), seconds=1, seed=1, clock=still)
    working = offer.details.bound
    assert sum(given.value for given in working.given) == pytest.approx(working.result)
    assert working.result == offer.bound


def test_mean_way_over_a_box_and_a_triangle() -> None:
    """By integration: over a unit square from a corner 1/2 each way; over the triangle
    (0, 0), (1, 0), (0, 1) the centroid is at 1/3."""
    square = np.array([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)])
    assert Ground(boxes=((0, 0, 1, 1),)).mean_way((0, 0)) == pytest.approx(1.0)
    assert Ground(pieces=(square,)).mean_way((0.5, 0)) == pytest.approx(0.25 + 0.5)
    triangle = np.array([(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)])
    assert Ground(pieces=(triangle,)).mean_way((0, 0)) == pytest.approx(2 / 3)


def test_ground_round_a_point_on_an_endless_sheet() -> None:
    """Four equal bodies of area a each at one point fill the square |x| + |y| <= r, 2 r^2 = 4 a,
    over which the mean of |x| + |y| is 2 r / 3: by integration."""
    area = 100.0
    bodies = [Wired(area, 0.0, 0.0, ((0.0, 0.0),), (1.0,), (0.0,)) for _ in range(4)]
    exact = 4 * 2 * (2 * area) ** 0.5 / 3
    bound = least_of_crowd(bodies, [Sheet(None)])
    assert 0.9 * exact < bound <= exact


def test_half_a_sheet_leaves_half_the_ground() -> None:
    """At the middle of a long edge the ground is a half square: r^2 = 4 a."""
    area = 100.0
    bodies = [Wired(area, 0.0, 0.0, ((0.0, 0.0),), (1.0,), (0.0,)) for _ in range(4)]
    exact = 4 * 2 * (4 * area) ** 0.5 / 3
    bound = least_of_crowd(bodies, [Sheet((-100.0, 0.0, 100.0, 100.0))])
    assert 0.9 * exact < bound <= exact

"""The bound of chains: by hand, for any numbers, and never below pair by pair."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

import numpy as np
import pytest

from layout_engine import Job, load_document
from layout_engine.arranging.bound import lower_bound
from layout_engine.arranging.bound_chains import _Climb, least_of_chains
from layout_engine.arranging.bound_pairs import Options, options_of
from layout_engine.arranging.cost import evaluate
from layout_engine.arranging.problem import problem_of
from layout_engine.arranging.puzzle import Net, Puzzle
from tests.benchmarks.arranging.family import Member, made
from tests.layout_engine.arranging.test_arrange import small

Json = dict[str, Any]


def chain(side: float = 200) -> Json:
    """Two boxes 30 mm wide between leads that leave left and right, each wire of weight 2."""
    document = small(2, side)
    document["types"]["far"] = {
        "name": "Far", "kind": "other", "outline": [[0, 0], [9, 0], [9, 9], [0, 9]], "height": 1,
        "terminals": [{"id": "t", "x": 0, "y": 0, "leaves": 0, "role": "signal"}]}
    for exit_side, end in (("left", "p0.a"), ("right", "p1.b")):
        document["parts"].append({"id": exit_side, "type": "far", "away": {"exit": exit_side}})
        document["connections"].append(
            {"id": f"c_{exit_side}", "from": f"{exit_side}.t", "to": end, "weight": 2})
    return document


def placed_in_line() -> Job:
    """Both boxes in line with the leads, the chain as short as it can be."""
    document = chain()
    for part, x in zip(document["parts"][:2], (60, 120), strict=True):
        part["placement"] = {"face": "front", "x": x, "y": 90}
    return load_document(document)


def groups(puzzle: Puzzle) -> dict[tuple[int, ...], Options]:
    found: dict[tuple[int, ...], list[Net]] = defaultdict(list)
    for net in puzzle.nets:
        bodies = [body for body, _ in net.ends]
        if len(bodies) + len(net.fixed) == 2:
            found[tuple(sorted(set(bodies)))].append(net)
    return {key: options_of(puzzle, key, nets) for key, nets in found.items()}


def test_a_chain_across_the_plate_costs_its_width_but_for_the_boxes() -> None:
    """Worked by hand: 200 mm less twice 30 mm through the boxes, times the weight of 2."""
    job = placed_in_line()
    assert evaluate(job).cost == pytest.approx(2 * (200 - 2 * 30))
    bound = lower_bound(problem_of(job), job).result
    assert bound == pytest.approx(280, rel=0.005)
    assert bound <= 280
    assert lower_bound(problem_of(job), job, crowds=False).result < 60  # each wire by itself


@pytest.mark.parametrize("member", [Member(8, 1, "polygons", 3), Member(8, 2, "all", 1)],
                         ids=lambda member: member.name)
def test_any_numbers_give_a_bound(member: Member) -> None:
    """No numbers put it above what a known arrangement's wires cost; zeros make it pair by pair."""
    job = made(member)
    puzzle = problem_of(job.job).puzzle
    climb = _Climb(puzzle, groups(puzzle))
    cost = evaluate(job.known).wire_cost
    rng = np.random.default_rng(1)
    for size in (0.05, 0.3, 1.0, 5.0):
        for _ in range(5):
            assert climb.value(rng.normal(0, size, 2 * climb.count))[0] <= cost + 1e-6
    pairs = sum(own.least for own in climb.pairs.values())
    assert climb.value(np.zeros(2 * climb.count))[0] == pytest.approx(pairs)


def test_slopes_are_those_of_the_bound() -> None:
    """Between kinks the bound is straight: a small step changes it by step times slope."""
    puzzle = problem_of(made(Member(6, 1, "boxes", 2)).job).puzzle
    climb = _Climb(puzzle, groups(puzzle))
    at = np.random.default_rng(2).normal(0, 0.2, 2 * climb.count)
    value, slopes = climb.value(at)
    for number in range(len(at)):
        step = np.zeros(len(at))
        step[number] = 1e-7
        assert climb.value(at + step)[0] - value == pytest.approx(1e-7 * slopes[number], abs=1e-8)


def test_it_is_never_below_pair_by_pair_and_never_above_a_known_arrangement() -> None:
    for seed in range(1, 5):
        job = made(Member(8, 1 + seed % 2, "all", seed))
        puzzle = problem_of(job.job).puzzle
        pairs = groups(puzzle)
        bound = least_of_chains(puzzle, pairs)
        plain = sum(own.least for own in pairs.values())
        assert plain <= bound <= evaluate(job.known).wire_cost + 1e-6

"""Where a pose may stand beside what stays: the cells against outlines measured by shapely."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from shapely.geometry import MultiPoint

from layout_engine.arranging.annealing import (
    BESIDE,
    HEAT,
    JUMP,
    PLUG,
    SHARES,
    SWAP,
    TURN,
    anneal,
)
from layout_engine.arranging.cooling import State
from layout_engine.arranging.landing import FINEST_MM, MOST_CELLS, NOWHERE, land, land_rows
from layout_engine.arranging.packing import packed
from layout_engine.arranging.problem import problem_of
from layout_engine.arranging.puzzle import Body, Piece, Pose, Puzzle
from layout_engine.arranging.schedules import LAST
from layout_engine.arranging.search import Search
from layout_engine.arranging.vectors import (
    AT,
    Floats,
    X,
    Y,
    new_state,
)
from tests.benchmarks.arranging.family import Member, made

PLACES = 40  # of each pose
NEAR_MM = 1e-6
SAMPLES = np.array([(0.5, 0.5), (0, 0), (1, 0), (0, 1), (1, 1)])  # of a cell


@cache
def puzzle(modules: int = 12, faces: int = 2) -> Puzzle:
    return problem_of(made(Member(modules, faces, "all", 1)).job).puzzle


def stands_free(of: Puzzle, pose: int, at: Floats, others: tuple[Body, ...]) -> bool:
    """Whether a pose may stand there, by planes and by distances of outlines."""
    own = of.poses[pose]
    if any(a * at[0] + b * at[1] > c + NEAR_MM for a, b, c in own.planes):
        return False
    for other in others:
        assert other.at is not None
        for piece in own.pieces:
            for stays in of.poses[other.pose].pieces:
                need = of.need[piece.kind, stays.kind]
                if need < 0:
                    continue
                one = MultiPoint(piece.corners + at).convex_hull
                two = MultiPoint(stays.corners + np.array(other.at)).convex_hull
                if one.distance(two) < need - NEAR_MM or one.intersection(two).area > NEAR_MM:
                    return False
    return True


def landed(of: Puzzle, body: int, pose: int, at: Floats) -> Floats:
    """Where a body comes to that is put somewhere."""
    f, n = packed(of)
    s, k = new_state(n)
    s[k[X] + body], s[k[Y] + body], k[k[AT] + body] = at[0], at[1], pose
    land(f, n, s, k, body)
    return np.array([s[k[X] + body], s[k[Y] + body]])


def test_a_body_put_in_what_stays_comes_to_where_it_may_stand() -> None:
    """And one that may stand where it is stays there, but in pockets smaller than a cell."""
    of, random = puzzle(), np.random.default_rng(1)
    stays = of.bodies[of.movable:]
    moved = stayed = 0
    for number, body in enumerate(of.bodies[: of.movable]):
        for pose in body.poses[::3]:
            corner, far = np.array(of.poses[pose].span[:2]), np.array(of.poses[pose].span[2:])
            for at in random.uniform(corner, far, (PLACES, 2)):
                after = landed(of, number, pose, at)
                was_free, is_moved = stands_free(of, pose, at, stays), bool(np.any(after != at))
                if is_moved:  # for nothing of its cell is free
                    moved += 1
                    assert stands_free(of, pose, after, stays)
                    cell = corner + np.floor((at - corner) / FINEST_MM) * FINEST_MM
                    assert not any(
                        stands_free(of, pose, np.minimum(cell + FINEST_MM * by, far), stays)
                        for by in SAMPLES)
                stayed += was_free and not is_moved
    assert moved > 100
    assert stayed > 100


def test_it_comes_to_the_nearest_free_cell() -> None:
    """In steps from cell to cell, against all cells measured one by one."""
    of, body = puzzle(), 1
    stays, pose = of.bodies[of.movable:], of.bodies[body].poses[0]
    x0, y0, x1, y1 = of.poses[pose].span
    columns, rows = (int(np.ceil((b - a) / FINEST_MM)) for a, b in ((x0, x1), (y0, y1)))
    middles = {(column, row): np.minimum(
        np.array([x0 + (column + 0.5) * FINEST_MM, y0 + (row + 0.5) * FINEST_MM]), (x1, y1))
        for column in range(columns) for row in range(rows)}
    free = [cell for cell, at in middles.items() if stands_free(of, pose, at, stays)]
    assert 0 < len(free) < len(middles)
    seen = 0
    for (column, row), at in middles.items():
        after = landed(of, body, pose, at)
        if np.array_equal(after, at):
            continue
        seen += 1
        came = next(cell for cell in free if np.allclose(middles[cell], after))
        steps = [abs(column - a) + abs(row - b) for a, b in free]
        assert abs(column - came[0]) + abs(row - came[1]) == min(steps)
    assert seen > 20


@pytest.mark.parametrize("kind", [JUMP, SWAP, TURN, BESIDE, PLUG])
def test_moves_put_nobody_into_what_stays(kind: int) -> None:
    """However hot it is: whoever was moved stands where landing leaves it."""
    of = puzzle()
    search = Search(of, 5, 1)
    s, k = state = search.anywhere()
    started = places(state, of.movable)
    plan = search.plan(LAST, 400)
    plan[[HEAT, HEAT + 1]] = 1e12  # whatever is tried is kept
    plan[SHARES:] = np.arange(len(plan) - SHARES) >= kind
    anneal(search.f, search.n, s, k, search.random, plan, 0, 400, search.everybody)
    ended = places(state, of.movable)
    moved = np.flatnonzero(np.any(ended != started, axis=1))
    assert len(moved) > of.movable / 2
    for body in moved:
        pose = int(k[k[AT] + body])
        assert np.array_equal(landed(of, int(body), pose, ended[body]), ended[body])


def places(state: State, count: int) -> Floats:
    """Centres of the first bodies, (count, 2)."""
    s, k = state
    return np.transpose([s[k[at]: k[at] + count] for at in (X, Y)])


def test_where_nothing_stays_there_are_no_cells_and_a_body_stays_where_it_is_put() -> None:
    whole = puzzle()
    of = replace(whole, bodies=whole.bodies[: whole.movable], nets=(), wishes=())
    _, rows, words = land_rows(of)
    assert words == 0
    assert not rows.any()
    at = np.array([3.0, 4.0])
    assert np.array_equal(landed(of, 0, of.bodies[0].poses[0], at), at)


def test_cells_grow_where_there_are_many_poses() -> None:
    """All in all not many more than the most: only what is left over of a row or column."""
    per_mm, rows, _ = land_rows(puzzle(40))
    assert per_mm < 1 / FINEST_MM
    assert MOST_CELLS / 2 < np.sum(rows[:, 1] * rows[:, 2]) < 1.2 * MOST_CELLS


def test_cells_grow_on_a_large_plate_so_that_their_numbers_have_room() -> None:
    """A lone module on three metres each way beside one that stays in the far corner."""
    square = np.array([(-5.0, -5.0), (5.0, -5.0), (5.0, 5.0), (-5.0, 5.0)])
    span = (5.0, 5.0, 2995.0, 2995.0)
    planes = ((-1.0, 0.0, -5.0), (1.0, 0.0, 2995.0), (0.0, -1.0, -5.0), (0.0, 1.0, 2995.0))
    pose = Pose((Piece(square, 0),), (-5, -5, 5, 5), planes, span)
    stays = Body("stays", (0,), (2980.0, 2980.0))
    of = Puzzle((3000.0, 3000.0), (pose,), (Body("moves", (0,)), stays), 1, np.full((1, 1), 2.0))
    _, rows, _ = land_rows(of)
    assert 30_000 < rows[0, 1] * rows[0, 2] < NOWHERE
    after = landed(of, 0, 0, np.array([2981.0, 2979.0]))
    assert stands_free(of, 0, after, (stays,))
    assert np.hypot(*(after - (2981.0, 2979.0))) < 40
    assert np.array_equal(landed(of, 0, 0, np.array([2900.0, 2900.0])), (2900.0, 2900.0))


def test_where_nothing_moves_no_pose_needs_cells() -> None:
    whole = puzzle()
    of = replace(whole, bodies=whole.bodies[whole.movable:], movable=0, nets=(), wishes=())
    _, rows, words = land_rows(of)
    assert words == 0
    assert not rows.any()

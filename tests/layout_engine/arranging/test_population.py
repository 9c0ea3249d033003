"""Populations and moves: who is copied how often, and that moves keep the figures of a state."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from math import exp, floor

import numpy as np
import pytest

from layout_engine import Job, load_document
from layout_engine.arranging import cooling
from layout_engine.arranging.annealing import BESIDE, PAIR, PULL, SHARES, TOGETHER, WHEEL, anneal
from layout_engine.arranging.cooling import REACH_SHARE, Cooling, State
from layout_engine.arranging.meeting import depth_between
from layout_engine.arranging.packing import packed
from layout_engine.arranging.population import Step, copies, go_on, press, way_down
from layout_engine.arranging.pricing import burden, fault, price, refresh
from layout_engine.arranging.problem import problem_of
from layout_engine.arranging.puzzle import Net, Puzzle
from layout_engine.arranging.schedules import LARGE, LAST, coldest, shares_of
from layout_engine.arranging.search import Search
from layout_engine.arranging.together import moves_as_one
from layout_engine.arranging.vectors import AT, GROUP, MEMBER, ON, OVERLAP, PRESSURE, X, Y
from tests.benchmarks.arranging import family_job
from tests.benchmarks.arranging.family import Member, Shape, made
from tests.layout_engine.arranging.test_arrange import demo, small

HOT, COLD = Step(10.0, 1.0, 5.0), Step(5.0, 2.0, 1.0)


@pytest.mark.parametrize("chance", [0.0, 0.25, 0.5, 0.999])
def test_each_is_copied_as_often_as_is_due_rounded_down_or_up(chance: float) -> None:
    figures = [(100.0, 0.0), (90.0, 1.0), (140.0, 0.0), (95.0, 3.0), (100.0, 0.5)]
    told = copies([HOT.pressed(*own) - COLD.pressed(*own) for own in figures], chance)
    # (p + w b) / T hot less the same cold, for the figures above, by hand
    weights = [exp(10 - 20), exp(9.1 - 18.4), exp(14 - 28), exp(9.8 - 20.2), exp(10.05 - 20.2)]
    due = [len(figures) * weight / sum(weights) for weight in weights]
    assert int(told.sum()) == len(figures)
    assert all(floor(d) <= t <= floor(d) + 1 for d, t in zip(due, told, strict=True))


def test_those_dropped_give_their_place_to_copies() -> None:
    states = [(np.full(2, float(n)), np.full(2, n)) for n in range(4)]
    go_on(states, np.array([0, 3, 1, 0]))
    assert sorted(int(s[0][0]) for s in states) == [1, 1, 1, 2]
    states[0][0][:] = 9.0  # each has vectors of its own
    assert sum(s[0][0] == 9.0 for s in states) == 1


def test_what_most_states_have_of_two_bodies_overlapping_weighs_the_more_step_by_step() -> None:
    """Four states of three bodies: by hand, how deep who stands in whom."""
    search = Search(problem_of(load_document(small(3, 200))).puzzle, 1, 1)
    assert (search.movable, search.count) == (3, 3)
    states, size = [search.anywhere() for _ in range(4)], 9
    deep = {(0, 1): (3.0, 2.0, 1.0, 0.0), (0, 2): (9.0, 9.0, 0.0, 0.0), (1, 2): (0.4,) * 4}
    for number, (s, k) in enumerate(states):
        table = s[k[OVERLAP]:][:size].reshape(3, 3)
        for (one, two), depths in deep.items():
            table[one, two] = table[two, one] = depths[number]
    for step in range(1, 40):
        press(states, size)
        for s, k in states:
            told = s[k[PRESSURE]:][:size].reshape(3, 3)
            assert told[0, 1] == told[1, 0] == pytest.approx(min(1.2**step, 100.0))
            assert told[0, 2] == told[1, 2] == 1.0, "half of them have it, or it is but a trace"


def test_pressed_from_where_it_is_cold_and_no_more_when_it_is_cooled_to_the_end(
        monkeypatch: pytest.MonkeyPatch) -> None:
    """It goes from 0.3 to 0.02 in 44 equal shares, so after 17.9 of them it is under 0.1."""
    pressed, laden = list[int](), list[float]()
    search = Search(problem_of(made(Member(12, 2, "all", 1)).job).puzzle, 3, 30_000_000)

    def press_all(states: list[State], size: int) -> None:
        pressed.append(size)
        for s, k in states:
            s[k[PRESSURE]: k[PRESSURE] + size] *= 1.1

    def value(self: Search, state: State, heavy: float = LAST[4]) -> float:
        s, k = state
        laden.append(float(np.max(s[k[PRESSURE]: k[PRESSURE] + self.movable * self.count])))
        return Cooling.laden(self, state, heavy)

    monkeypatch.setattr("layout_engine.arranging.search.press", press_all)
    monkeypatch.setattr(Search, "laden", value)
    for _ in search._populated():
        pass
    assert pressed == [search.movable * search.count] * (44 - 17)
    assert len(laden) > 10
    assert set(laden) == {1.0}


def test_the_way_down_goes_in_equal_shares() -> None:
    heats = [step.heat for step in way_down(HOT, COLD, 5)]
    assert heats[0] == pytest.approx(10.0)
    assert heats[-1] == pytest.approx(5.0)
    assert np.diff(np.log(heats)) == pytest.approx([np.log(0.5) / 4] * 4)


@cache
def puzzle_with_a_net_of_three() -> Puzzle:
    puzzle = problem_of(made(Member(12, 2, "all", 1)).job).puzzle
    three = Net(((0, 0), (1, 1), (2, 0)), weight=3.0, cross=40.0)
    return replace(puzzle, nets=(*puzzle.nets, three))


@pytest.mark.parametrize("kind", range(TOGETHER + 2))
def test_each_kind_of_move_keeps_the_figures_and_the_bounds_of_the_ground(kind: int) -> None:
    """What is priced move by move is what pricing anew tells, with nets of two and more ends.

    From eight starts, as only from about every second one there are bodies that hang together.
    """
    search = Search(puzzle_with_a_net_of_three(), 3, 1)
    f, n, movable = search.f, search.n, slice(0, search.movable)
    plan = search.plan(LAST, 3_000)
    plan[[1, 2]] = plan[1] * 100  # warm, so that a good share is accepted
    went = 0
    for s, k in (search.anywhere() for _ in range(8)):
        for only in (PULL, kind):  # first nets get short, so that groups hang together
            plan[SHARES:] = np.arange(len(plan) - SHARES) >= only
            before = s.copy()
            anneal(f, n, s, k, search.random, plan, 0, 3_000, search.everybody)
        told = [figure(f, n, s, k) for figure in (price, fault, burden)]
        refresh(f, n, s, k)
        anew = [figure(f, n, s, k) for figure in (price, fault, burden)]
        assert told == pytest.approx(anew, rel=1e-9, abs=1e-6)
        went += not np.allclose(before[k[X]:][movable], s[k[X]:][movable])
        spans = np.array([search.puzzle.poses[pose].span for pose in k[k[AT]:][movable]])
        at = np.transpose([s[k[X]:][movable], s[k[Y]:][movable]])
        assert np.all(at >= spans[:, :2] - 1e-9)
        assert np.all(at <= spans[:, 2:] + 1e-9)
    assert went


def test_two_that_overlap_go_together_to_where_their_wires_are_short() -> None:
    """However heavy overlaps are: that of the two is the same there. A wire pulls to the right."""
    document = small(2, 300)
    document["types"]["lead"] = {
        "name": "Lead", "kind": "other", "outline": [[0, 0], [9, 0], [9, 9], [0, 9]], "height": 5,
        "terminals": [{"id": "t", "x": 0, "y": 0, "leaves": 0, "role": "signal"}]}
    document["parts"].append({"id": "away", "type": "lead", "away": {"exit": [300, 100]}})
    document["connections"].append({"id": "c", "from": "p1.b", "to": "away.t"})
    search = Search(problem_of(load_document(document)).puzzle, 1, 1)
    s, k = state = search.first_state()
    k[k[ON]: k[ON] + 2] = 1
    s[k[X]: k[X] + 2], s[k[Y]: k[Y] + 2] = (60.0, 80.0), (100.0, 100.0)  # 30 wide: 10 mm too near
    refresh(search.f, search.n, *state)
    before = fault(search.f, search.n, *state)
    assert before > 10.0
    plan = search.plan_at(Step(1e-9, 1e3, 60.0), 1)
    plan[SHARES:] = np.arange(len(plan) - SHARES) >= PAIR
    anneal(search.f, search.n, *state, search.random, plan, 0, 500, search.everybody)
    assert s[k[X] + 1] - s[k[X]] == pytest.approx(20.0)
    assert s[k[X] + 1] == pytest.approx(300.0 - 5.0 - 15.0, abs=0.1)  # at the edge margin
    assert fault(search.f, search.n, *state) == pytest.approx(before)


@pytest.mark.parametrize("of", [
    made(Member(12, 2, "all", 1)).job, made(Member(25, 2, "polygons", 1)).job,
    load_document(demo("rolling_lighthouse")),
], ids=["all", "polygons", "lighthouse"])
def test_bodies_that_are_turned_as_one_stand_in_each_other_as_before(of: Job) -> None:
    """By a quarter, and over onto the other face."""
    puzzle = problem_of(of).puzzle
    f, n = packed(puzzle)
    rng, met = np.random.default_rng(1), {"turned": 0, "mirrored": 0}
    for _ in range(4_000):
        one, two = rng.choice(puzzle.movable, 2, replace=False)
        first, second = (int(rng.choice(puzzle.bodies[body].poses)) for body in (one, two))
        x, y = rng.uniform(-60, 60, 2)
        before = depth_between(f, n, first, second, x, y, np.inf)
        for way, after in (("turned", (-y, x)), ("mirrored", (-x, y))):
            poses = [getattr(puzzle.poses[pose], way) for pose in (first, second)]
            if None not in poses:
                again = depth_between(f, n, *poses, *after, np.inf)
                assert again == pytest.approx(before, abs=1e-6)
                met[way] += before > 0
    assert min(met.values()) > 100


def test_a_group_moves_as_one_where_each_can_be_turned_on_the_face_that_it_comes_to() -> None:
    """One body, which on the back has no pose a quarter turn on from the one it comes to."""
    puzzle = problem_of(made(Member(12, 2, "polygons", 1)).job).puzzle
    poses, pose = list(puzzle.poses), puzzle.bodies[0].poses[0]
    over = poses[pose].mirrored
    assert over is not None
    poses[over] = replace(poses[over], turned=None)
    search = Search(replace(puzzle, poses=tuple(poses)), 3, 1)
    _, k = search.anywhere()
    k[k[GROUP]], k[k[AT]] = 0, pose
    assert [[moves_as_one(search.n, k, 1, turns, to_back) for turns in (0, 1)]
            for to_back in (False, True)] == [[True, True], [True, False]]


def test_groups_of_all_sizes_are_moved_however_short_nets_are() -> None:
    """A chain of twelve, nets 1 to 6 times a twelfth as long as what holds a group together."""
    search = Search(problem_of(load_document(small(12, 400))).puzzle, 1, 1)
    s, k = search.first_state()
    k[k[ON]: k[ON] + 12] = 1
    lengths = np.array([1, 6, 2, 5, 3, 4, 1, 6, 2, 5, 3])
    s[k[X]: k[X] + 12] = np.cumsum([0, *(30 + REACH_SHARE * search.size * lengths / 12)])
    s[k[Y]: k[Y] + 12] = 200.0
    plan, sizes = search.plan_at(Step(1e-9, 1.0, 1e-9), 1), set()
    plan[SHARES:] = np.arange(len(plan) - SHARES) >= TOGETHER
    for _ in range(300):
        anneal(search.f, search.n, s, k, search.random, plan, 0, 1, search.everybody)
        marks = k[k[MEMBER]: k[MEMBER] + 12]
        sizes.add(int(np.sum(marks == marks.max())))
    assert len(sizes) > 5
    assert max(sizes) >= 8


@pytest.mark.parametrize("kind", [WHEEL, TOGETHER])
@pytest.mark.parametrize("turns", [1, 2, 4])
@pytest.mark.parametrize("faces", [1, 2])
def test_groups_of_bodies_that_turn_in_part_keep_the_figures(kind: int, turns: int, faces: int
                                                             ) -> None:
    """Every other body has so many quarter turns of four: turned twice, it may stay at the first.

    On one face, or on the second of two. With nets of two ends and overlaps in the groups.
    """
    puzzle = problem_of(made(Member(12, 2, "polygons", 1)).job).puzzle
    poses, bodies = list(puzzle.poses), list(puzzle.bodies)
    for number in range(0, puzzle.movable, 2):
        assert len(bodies[number].poses) == 8
        kept = bodies[number].poses[:turns if faces == 1 else 4 + turns]
        bodies[number] = replace(bodies[number], poses=kept)
        poses[kept[-1]] = replace(poses[kept[-1]], turned=None)
    search = Search(replace(puzzle, poses=tuple(poses), bodies=tuple(bodies)), 3, 1)
    f, n, state = search.f, search.n, search.anywhere()
    plan = search.plan(LAST, 3_000)
    plan[[1, 2]] = plan[1] * 100  # warm, so that a good share is accepted
    for only in (PULL, kind):
        plan[SHARES:] = np.arange(len(plan) - SHARES) >= only
        anneal(f, n, *state, search.random, plan, 0, 3_000, search.everybody)
    figures = price, fault, burden
    told = [figure(f, n, *state) for figure in figures]
    refresh(f, n, *state)
    assert told == pytest.approx([figure(f, n, *state) for figure in figures], rel=1e-9, abs=1e-6)
    assert burden(f, n, *state) > 0


@pytest.mark.parametrize("pressed", [False, True])
@pytest.mark.parametrize("kind", range(TOGETHER + 2))
def test_without_temperature_no_kind_of_move_makes_it_dearer(kind: int, pressed: bool) -> None:
    """What decides on a move is the change of what the whole state is worth, also where the
    overlaps of some pairs weigh more than those of others.
    """
    search = Search(problem_of(made(Member(12, 2, "all", 1)).job).puzzle, 3, 1)
    f, n, state, heavy = search.f, search.n, search.anywhere(), 0.3
    if pressed:
        few, count = search.movable, search.count
        table = state[0][state[1][PRESSURE]:][: few * count].reshape(few, count)
        table[:] = np.random.default_rng(1).uniform(1.0, 20.0, (few, count))
        table[:, :few] = np.maximum(table[:, :few], table[:, :few].T)
    plan = search.plan_at(Step(1.0, heavy, 30.0), 1)
    plan[SHARES:] = np.arange(len(plan) - SHARES) >= PULL  # first nets get short, with overlaps
    anneal(f, n, *state, search.random, plan, 0, 3_000, search.everybody)
    plan = search.plan_at(Step(1e-9, heavy, 30.0), 1)
    plan[SHARES:] = np.arange(len(plan) - SHARES) >= kind
    worth = []
    for _ in range(400):
        anneal(f, n, *state, search.random, plan, 0, 1, search.everybody)
        refresh(f, n, *state)
        worth.append(price(f, n, *state) + heavy * burden(f, n, *state))
    assert burden(f, n, *state) > 0
    assert np.all(np.diff(worth) <= 1e-6)


def test_a_population_is_cooled_faster_where_time_is_short_and_else_as_planned() -> None:
    """By a clock that goes by the work done: one time is enough for all, the other for half."""
    puzzle = problem_of(family_job(12, 1)).puzzle
    work = 60_000_000
    for share, is_short in ((2.0, False), (0.5, True)):
        search = Search(puzzle, 1, work)
        search.used = lambda search=search, share=share: search.spent / (share * work)
        for _ in search.steps():
            if search.used() > 1.0:
                break
        assert search.hurried is is_short
        assert search.best.state is not None


@pytest.mark.parametrize("share", [0.95, 0.8, 0.6])
def test_the_best_of_a_population_is_cooled_to_the_end_however_short_time_is(share: float) -> None:
    """By a clock that goes by the work done: there is time for so much of it."""
    search = Search(problem_of(family_job(12, 1)).puzzle, 1, 60_000_000)
    search.used = lambda: search.spent / (share * search.work)
    search.begun = 0.0
    for _ in search._populated():
        if search.used() > 1.0:
            break
    assert search.hurried
    assert len(search.best.ends) == 1
    assert search.best.state is not None


def test_a_population_whose_moves_all_come_to_nothing_is_cooled_to_the_end_all_the_same(
        monkeypatch: pytest.MonkeyPatch) -> None:
    """All time is gone before it begins, so it has few moves, and none of them is any work."""
    monkeypatch.setattr(cooling, "anneal", lambda *_: 0)
    search = Search(problem_of(family_job(12, 1)).puzzle, 1, 6_000_000)
    search.begun, search.used = 0.0, lambda: 1.0
    for _ in search._populated():
        pass
    assert search.hurried
    assert len(search.best.ends) == 1


@pytest.mark.parametrize("wrong", [0.4, 1.0, 2.5])
def test_a_population_takes_its_share_of_the_work_whatever_pace_was_thought_of(wrong: float
                                                                               ) -> None:
    """And leaves as much as its end takes: nothing is spent that was not planned for."""
    search = Search(problem_of(family_job(12, 1)).puzzle, 1, 60_000_000)
    search.rate *= wrong
    for _ in search._populated():
        pass
    assert 0.8 * search.work < search.spent < search.work


def test_who_is_put_beside_another_moves_though_most_of_the_others_are_out_of_its_way() -> None:
    """On two faces, with holes that are there: beside whoever it could touch, it is put."""
    search = Search(problem_of(made(Member(12, 2, "all", 1)).job).puzzle, 3, 1)
    state, tries, moved = search.anywhere(), 200, 0
    s, k = state
    at = slice(k[X], k[X] + search.movable), slice(k[Y], k[Y] + search.movable)
    plan = search.plan(LAST, 1)
    plan[[1, 2]] = 1e12  # whatever is tried is kept
    plan[SHARES:] = np.arange(len(plan) - SHARES) >= BESIDE
    for _ in range(tries):
        before = np.concatenate([s[at[0]], s[at[1]]])
        anneal(search.f, search.n, *state, search.random, plan, 0, 1, search.everybody)
        moved += not np.array_equal(before, np.concatenate([s[at[0]], s[at[1]]]))
    assert moved > tries / 2


def test_what_is_left_to_cool_has_the_time_that_is_left() -> None:
    """Half the time is gone for 6 million units of work: as many are left."""
    search = Search(problem_of(family_job(12, 1)).puzzle, 1, 60_000_000)
    search.begun, search.used, search.spent, search.rate = 0.0, lambda: 0.5, 6_000_000, 10.0
    kept = 10 * 1_500 * search.movable  # moves
    assert search.hurry(1e6) == pytest.approx((6e5 - kept) / 1e6)


def test_where_time_is_short_what_comes_after_keeps_its_work() -> None:
    """Half the time is gone for 6 of 60 million units: 12 will fit, and 4 of them are to follow."""
    search = Search(problem_of(family_job(12, 1)).puzzle, 1, 60_000_000)
    search.begun, search.used, search.spent = 0.0, lambda: 0.5, 6_000_000
    assert search.in_time(50e6) == pytest.approx(10e6)
    assert search.in_time(50e6, 4e6) == pytest.approx(8e6)
    assert search.in_time(10e6, 1e6) == pytest.approx(2e6)
    assert search.hurried


@pytest.mark.parametrize(("bodies", "faces", "shape"), [
    (12, 1, "boxes"), (25, 1, "polygons"), (40, 2, "polygons")])
def test_how_full_a_plate_is_goes_by_bounds_and_clearances(bodies: int, faces: int, shape: Shape
                                                           ) -> None:
    """As the family counts it: bounding box and clearance each way, over the plate on its faces."""
    known = made(Member(bodies, faces, shape, 1))
    search = Search(problem_of(known.job).puzzle, 1, 1)
    assert search.fullness == pytest.approx(known.fill, abs=0.01)


def test_overlaps_end_light_on_a_roomy_plate_and_heavier_the_fuller_it_is() -> None:
    for chain in (0, 1):
        weights = [coldest(full, chain)[1] for full in (0.3, 0.5, 0.7, 0.8, 0.87)]
        assert weights[:2] == [1.0, 1.0]
        assert np.all(np.diff(weights[1:]) > 0)
    assert coldest(0.87, 0)[1] > coldest(0.87, 1)[1] > 4.0


@pytest.mark.parametrize("faces", [1, 2])
@pytest.mark.parametrize("bodies", [2, 16, 17, LARGE])
def test_moves_have_shares_that_leave_room_for_shifts(bodies: int, faces: int) -> None:
    shares = shares_of(bodies, faces)
    assert len(shares) == TOGETHER + 1
    assert min(shares) >= 0.0
    assert sum(shares) < 1.0

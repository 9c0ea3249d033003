"""Bodies that make way for each other, by hand, and against linear programs."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from layout_engine.arranging.anew import make_way_again
from layout_engine.arranging.circulation import ARCS, NODES, PLACE, SLOTS
from layout_engine.arranging.cooling import Cooling, State
from layout_engine.arranging.giving_way import make_way, room_for_ways
from layout_engine.arranging.packing import packed
from layout_engine.arranging.pricing import APART, METAL_APART, NEAR, SPACED, fault, price, refresh
from layout_engine.arranging.problem import problem_of
from layout_engine.arranging.puzzle import Body, BodyWish, Hinge, Net, Piece, Plane, Pose, Puzzle
from layout_engine.arranging.samples import warming_puzzle
from layout_engine.arranging.search import Search
from layout_engine.arranging.sliding import FREE_MM, Slider
from layout_engine.arranging.vectors import AT, ON, X, Y, new_state
from tests.benchmarks.arranging.family import Member, made

WIDE, HIGH = 200.0, 100.0  # of the ground
A, B = 20.0, 10.0  # of a body
GROUND: tuple[Plane, ...] = ((-1.0, 0.0, -A / 2), (1.0, 0.0, WIDE - A / 2),
                             (0.0, -1.0, -B / 2), (0.0, 1.0, HIGH - B / 2))
RING = np.array([(-A / 2, -B / 2), (A / 2, -B / 2), (A / 2, B / 2), (-A / 2, B / 2)])


def pose(*, planes: tuple[Plane, ...] = GROUND, hinges: tuple[Hinge, ...] = (),
         face: int = 0) -> Pose:
    """A body of 20 x 10, terminals in its middle and at its right edge, all of it metal 0 to 5."""
    return Pose((Piece(RING, 0),), (-A / 2, -B / 2, A / 2, B / 2), planes,
                (A / 2, B / 2, WIDE - A / 2, HIGH - B / 2), ((0.0, 0.0), (A / 2, 0.0)), face,
                hinges=hinges, metal=((RING, 0.0, 5.0),), antenna=(0.0, 0.0, 8.0))


def moved(at: list[tuple[float, float]], *, nets: tuple[Net, ...] = (),
          wishes: tuple[BodyWish, ...] = (), poses: dict[int, Pose] | None = None,
          stays: int = 0, need: float = 2.0) -> list[tuple[float, float]]:
    """Where bodies are after they made way once; the last `stays` of them stay."""
    own = [(poses or {}).get(number, pose()) for number in range(len(at))]
    bodies = tuple(Body(f"{number}", (number,), place) for number, place in enumerate(at))
    puzzle = Puzzle((WIDE, HIGH), tuple(own), bodies, len(at) - stays, np.array([[need]]),
                    nets, wishes)
    f, n = packed(puzzle)
    s, k = new_state(n)
    for number, (x, y) in enumerate(at):
        s[k[X] + number], s[k[Y] + number] = x, y
        k[k[AT] + number], k[k[ON] + number] = number, 1
    rows, c, g = room_for_ways(puzzle)
    assert make_way(f, n, s, k, rows, c, g)
    return [(float(s[k[X] + number]), float(s[k[Y] + number])) for number in range(len(at))]


def test_two_that_overlap_part_along_the_way_that_is_shortest() -> None:
    """22 mm between their centres along x, 12 along y: the latter is nearer to being so."""
    (x, y), (u, v) = moved([(50.0, 50.0), (52.0, 55.0)])
    assert (x, u) == (50.0, 52.0)
    assert v - y == pytest.approx(12.0)


def test_a_net_pulls_them_together_until_they_touch() -> None:
    net = Net(((0, 0), (1, 0)))
    (x, y), (u, v) = moved([(50.0, 50.0), (120.0, 53.0)], nets=(net,))
    assert u - x == pytest.approx(22.0)
    assert v == pytest.approx(y)


def test_a_third_between_them_is_passed_on() -> None:
    nets = (Net(((0, 0), (2, 0))), Net(((0, 0),), ((10.0, 50.0, -1),), weight=5.0))
    places = moved([(30.0, 50.0), (60.0, 50.0), (120.0, 50.0)], nets=nets)
    assert [x for x, _ in places] == pytest.approx([10.0, 32.0, 54.0])


def test_a_body_that_stays_is_kept_off() -> None:
    net = Net(((0, 0), (1, 0)))
    (x, _), (u, v) = moved([(50.0, 50.0), (120.0, 50.0)], nets=(net,), stays=1)
    assert (u, v) == (120.0, 50.0)
    assert x == pytest.approx(98.0)


def test_a_net_of_three_ends_and_a_point_is_as_long_as_it_reaches() -> None:
    """From 10 to 190 whatever the middle one does, so its other net has its way."""
    nets = (Net(((0, 0), (1, 0), (2, 0)), ((10.0, 50.0, -1),)),
            Net(((0, 0),), ((40.0, 50.0, -1),), weight=0.1),
            Net(((2, 0),), ((150.0, 50.0, -1),), weight=9.0),
            Net(((1, 0),), ((100.0, 50.0, -1),), weight=0.1))
    places = moved([(60.0, 50.0), (80.0, 50.0), (120.0, 50.0)], nets=nets)
    assert [x for x, _ in places] == pytest.approx([40.0, 100.0, 150.0])


def test_a_net_of_three_ends_pulls_at_its_last_end() -> None:
    nets = (Net(((0, 0), (1, 0), (2, 0))), Net(((0, 0),), ((10.0, 50.0, -1),), weight=9.0))
    places = moved([(10.0, 50.0), (20.0, 90.0), (70.0, 50.0)], nets=nets)
    assert places[1:] == [pytest.approx((10.0, 62.0)), pytest.approx((32.0, 50.0))]


def test_they_stay_on_the_ground() -> None:
    net = Net(((0, 1),), ((260.0, -40.0, -1),))
    assert moved([(50.0, 50.0)], nets=(net,)) == [pytest.approx((190.0, 5.0))]


def test_a_slanted_edge_counts_at_the_other_coordinate_that_there_is() -> None:
    """x + y at most 120 with y 50: first x comes to 70, then y has nowhere to go."""
    slanted = pose(planes=(*GROUND, (1.0, 1.0, 120.0)))
    net = Net(((0, 0),), ((150.0, 90.0, -1),))
    assert moved([(40.0, 50.0)], nets=(net,), poses={0: slanted}) == [pytest.approx((70.0, 50.0))]


@pytest.mark.parametrize(("factor", "x"), [(3.0, 60.0), (1.0, 120.0)])
def test_a_wish_of_its_own_is_weighed_against_a_net(factor: float, x: float) -> None:
    wished = pose(hinges=(Hinge(1.0, 0.0, -60.0, factor, 0),))
    net = Net(((0, 0),), ((120.0, 50.0, -1),), weight=2.0)
    assert moved([(80.0, 50.0)], nets=(net,), poses={0: wished})[0][0] == pytest.approx(x)


@pytest.mark.parametrize(("kind", "begins", "apart"), [(NEAR, 90.0, 30.0), (APART, 25.0, 30.0),
                                                       (SPACED, 25.0, 30.0)])
def test_a_wish_between_two_is_met(kind: int, begins: float, apart: float) -> None:
    """Outlines 10 mm apart: 30 from centre to centre."""
    wish = BodyWish(kind, 0, (1,), 10.0, 4.0, must=False)
    (x, _), (u, _) = moved([(50.0, 50.0), (50.0 + begins, 50.0)], wishes=(wish,))
    assert u - x == pytest.approx(apart)


def test_a_wish_to_be_near_counts_what_they_are_apart_the_other_way() -> None:
    """30 apart along y: 40 along x make 50."""
    wish = BodyWish(NEAR, 0, (1,), 50.0, 4.0, must=False)
    nets = (Net(((0, 0),), ((10.0, 10.0, -1),)), Net(((1, 0),), ((190.0, 50.0, -1),)))
    (x, _), (u, _) = moved([(10.0, 10.0), (190.0, 50.0)], wishes=(wish,), nets=nets)
    assert u - x - A == pytest.approx(40.0)


def test_an_aerial_is_kept_off_metal_in_space() -> None:
    """3 mm over it and 5 wanted: 4 along, beyond half a body."""
    wish = BodyWish(METAL_APART, 0, (1,), 5.0, 4.0, must=False)
    (x, _), (u, _) = moved([(50.0, 50.0), (61.0, 50.0)], wishes=(wish,), need=-1.0)
    assert u - x == pytest.approx(14.0)


def test_a_must_is_kept_whatever_nets_say() -> None:
    wish = BodyWish(APART, 0, (1,), 10.0, 0.01, must=True)
    net = Net(((0, 0), (1, 0)), weight=1.0)
    (x, _), (u, _) = moved([(50.0, 50.0), (90.0, 50.0)], wishes=(wish,), nets=(net,))
    assert u - x == pytest.approx(30.0)


def test_what_is_on_two_faces_may_be_nearer_than_on_one() -> None:
    wish = BodyWish(SPACED, 0, (1,), 10.0, 4.0, must=False)
    places = moved([(50.0, 50.0), (75.0, 50.0)], wishes=(wish,), poses={1: pose(face=1)},
                   need=-1.0)
    assert places == [(50.0, 50.0), (75.0, 50.0)]


@cache
def ended(shape: str, seed: int) -> Cooling:
    """A search of twelve modules at its end."""
    search = Search(problem_of(made(Member(12, 1, shape, seed)).job).puzzle, 1, 4_000_000)
    for _ in search.steps():
        pass
    return search


def shifted(search: Cooling, seed: int) -> State:
    """Its best state, everything shifted by some mm."""
    (s, k), _ = search.best.copied()
    rng = np.random.default_rng(seed)
    for block in (X, Y):
        s[k[block]: k[block] + search.movable] += rng.normal(0, 3.0, search.movable)
    return s, k


@pytest.mark.parametrize("seed", range(6))
def test_boxes_come_to_where_linear_programs_put_them(seed: int) -> None:
    search = ended("boxes", 1)
    state, other = shifted(search, seed), shifted(search, seed)
    rows, c, g = search.room
    worth = make_way_again(search.f, search.n, *state, rows, c, g, np.inf)
    slider = Slider(search.puzzle, search.f, search.n)
    slider.free(other, 4)
    slider.slide(other, 4)
    refresh(search.f, search.n, *other)
    assert fault(search.f, search.n, *state) <= FREE_MM
    assert fault(search.f, search.n, *other) <= FREE_MM
    assert worth == pytest.approx(price(search.f, search.n, *other), rel=2e-3)


@pytest.mark.parametrize("shape", ["boxes", "polygons", "all"])
def test_there_is_room_for_all_that_is_asked(shape: str) -> None:
    puzzles = [problem_of(made(Member(12, faces, shape, 2)).job).puzzle for faces in (1, 2)]
    for puzzle in (*puzzles, warming_puzzle()):
        search = Search(puzzle, 1, 1)
        rows, c, g = search.room
        for _ in range(20):
            state = search.anywhere()
            state[1][state[1][ON]: state[1][ON] + search.count] = 1
            make_way(search.f, search.n, *state, rows, c, g)
            assert g[NODES] < g[ARCS] <= g[SLOTS]
            assert np.all(np.isfinite(c[g[PLACE]: g[PLACE] + g[NODES]]))

"""Arrangements turned over and round as wholes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from layout_engine.arranging.cooling import State
from layout_engine.arranging.ends import End, Ends
from layout_engine.arranging.problem import problem_of
from layout_engine.arranging.puzzle import BACK, FRONT, Body, Piece, Pose, Puzzle
from layout_engine.arranging.reflecting import SYMMETRIES, counterparts, reflected
from layout_engine.arranging.reworking import FIRST_HEAVY, Reworking
from layout_engine.arranging.search import Search
from layout_engine.arranging.vectors import AT, Floats, X, Y
from tests.benchmarks.arranging.family import Member, made

NUMBERS = range(len(SYMMETRIES))
QUARTER = np.array([[0.0, -1.0], [1.0, 0.0]])


def test_they_are_the_symmetries_of_a_square() -> None:
    square = {(1.0, 2.0), (-1.0, 2.0), (1.0, -2.0), (-1.0, -2.0),
              (2.0, 1.0), (-2.0, 1.0), (2.0, -1.0), (-2.0, -1.0)}
    images = {tuple((symmetry @ [1.0, 2.0]).tolist()) for symmetry in SYMMETRIES}
    assert images == square - {(1.0, 2.0)}


def turned(face: int, times: int) -> Pose:
    """A body of 20 x 10 with one terminal, some quarter turns on, counter-clockwise."""
    turn = np.linalg.matrix_power(QUARTER, times)
    corners = np.array([turn @ [-10.0, -5.0], turn @ [10.0, 5.0]])
    (x0, y0), (x1, y1) = corners.min(axis=0), corners.max(axis=0)
    pin = turn @ [8.0, 1.0]
    box = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
    return Pose((Piece(box, 0),), (x0, y0, x1, y1), span=(-x0, -y0, 300 - x1, 200 - y1),
                pins=((float(pin[0]), float(pin[1])),), face=face)


def puzzle() -> Puzzle:
    """One body on either face, one on the front alone, one that stays."""
    poses = tuple(turned(face, times) for face in (FRONT, BACK) for times in range(4))
    bodies = (Body("a", tuple(range(8))), Body("b", (0, 1, 2, 3)), Body("c", (0,), at=(70.0, 70.0)))
    return Puzzle((300.0, 200.0), poses, bodies, 2, np.zeros((1, 1)))


@pytest.mark.parametrize("number", NUMBERS)
def test_counterparts_keep_their_face_and_lie_as_the_symmetry_has_it(number: int) -> None:
    own, symmetry = puzzle(), SYMMETRIES[number]
    found = counterparts(own, symmetry)
    for pose, other in enumerate(found):
        a, b = own.poses[pose], own.poses[int(other)]
        assert a.face == b.face
        pin, wanted = np.array(b.pins[0]), symmetry @ a.pins[0]
        if np.linalg.det(symmetry) > 0:
            assert pin == pytest.approx(wanted)
        else:  # a module has no mirror image: the terminal is 2 mm beside
            assert np.linalg.norm(pin - wanted) == pytest.approx(2.0)


def test_counterparts_lie_in_an_outline_of_the_same_proportions() -> None:
    lying, upright = (replace(turned(FRONT, times), pins=()) for times in range(2))
    own = Puzzle((300.0, 200.0), (lying, upright), (Body("a", (1, 0)), Body("b", (0, 1))), 2,
                 np.zeros((1, 1)))
    for symmetry in SYMMETRIES:
        as_it_was = symmetry[0, 0] != 0
        assert list(counterparts(own, symmetry)) == ([0, 1] if as_it_was else [1, 0])


def stood(*places: tuple[float, float, int]) -> State:
    """Places with centre and pose, in the vectors that a search of the puzzle has."""
    s, k = Search(puzzle(), 1, 1).anywhere()
    for body, (x, y, pose) in enumerate(places):
        s[k[X] + body], s[k[Y] + body], k[k[AT] + body] = x, y, pose
    return s, k


def centres(state: State) -> Floats:
    s, k = state
    return np.array([s[k[X]: k[X] + 3], s[k[Y]: k[Y] + 3]]).T


@pytest.mark.parametrize(("number", "first", "second"), [
    (0, (250, 40), (180, 100)), (1, (50, 160), (120, 100)), (2, (250, 160), (180, 100)),
    (3, (240, 100 / 3), (150, 80)), (4, (60, 500 / 3), (150, 120)),
    (5, (60, 100 / 3), (150, 80)), (6, (240, 500 / 3), (150, 120)),
])
def test_places_are_turned_about_the_middle_and_what_stays_is_left(
        number: int, first: tuple[float, float], second: tuple[float, float]) -> None:
    before = stood((50.0, 40.0, 0), (120.0, 100.0, 1), (70.0, 70.0, 0))
    symmetry = SYMMETRIES[number]
    after = reflected(puzzle(), before, symmetry, counterparts(puzzle(), symmetry))
    assert centres(after)[:2] == pytest.approx(np.array([first, second]))
    assert centres(after)[2] == pytest.approx([70.0, 70.0])
    assert centres(before)[0] == pytest.approx([50.0, 40.0])  # the state itself is not changed
    k = after[1]
    assert k[k[AT] + 2] == 0


def test_half_a_turn_twice_is_what_it_was() -> None:
    before, half = stood((50.0, 40.0, 4), (120.0, 100.0, 1)), SYMMETRIES[2]
    poses = counterparts(puzzle(), half)
    once = reflected(puzzle(), before, half, poses)
    twice = reflected(puzzle(), once, half, poses)
    at = slice(before[1][AT], before[1][AT] + 3)
    assert list(once[1][at]) == [6, 3, 0]
    assert list(twice[1][at]) == list(before[1][at])
    assert centres(twice) == pytest.approx(centres(before))


def test_places_are_held_on_the_ground() -> None:
    before, quarter = stood((10.0, 10.0, 0), (290.0, 195.0, 0)), SYMMETRIES[3]
    after = reflected(puzzle(), before, quarter, counterparts(puzzle(), quarter))
    assert centres(after)[0] == pytest.approx([285.0, 10.0])  # (285, 6.7), 20 mm high now
    assert centres(after)[1] == pytest.approx([7.5, 190.0])  # (7.5, 193.3)


def searched(work: int) -> Search:
    """A search of 12 modules at its end."""
    cooling = Search(problem_of(made(Member(12, 1, "boxes", 1)).job).puzzle, 1, work)
    for _ in cooling.steps():
        pass
    return cooling


def test_an_end_the_wrong_way_round_comes_to_what_it_is_worth_the_right_way() -> None:
    cooling = searched(20_000_000)
    right, cost = cooling.best.copied()
    mirror = SYMMETRIES[0]
    wrong = reflected(cooling.puzzle, right, mirror, counterparts(cooling.puzzle, mirror))
    own, cooling.work = Reworking(cooling), 10**12
    own.ends.keep(End(3, cooling.laden(wrong), wrong))
    kept, spent = own.ends.kept[0].value, cooling.spent
    assert kept > 1.5 * cost
    other = Reworking(cooling)
    for _ in other.turned_over(own.ends, spent + 6_000_000):
        pass
    # the same coolings of the end as it is come to 1.11 to 1.14 times the cost, three seeds
    assert other.ends.kept[0].value < 1.1 * cost
    assert {end.start for end in other.ends.kept} == {3}  # no start of its own
    assert own.ends.kept[0].value == kept
    assert spent < cooling.spent < spent + 7_000_000


def test_those_that_do_best_at_first_are_cooled_first(monkeypatch: pytest.MonkeyPatch) -> None:
    cooling = searched(6_000_000)
    own, cooling.work = Reworking(cooling), 10**12
    for start, state in enumerate((cooling.best.copied()[0], cooling.anywhere())):
        own.ends.keep(End(start, cooling.laden(state), state))
    other, values = Reworking(cooling), list[float]()
    cooled = other._cooled

    def noting(state: State, *how: Any) -> Iterator[float]:
        values.append(cooling.laden(state, FIRST_HEAVY))
        yield from cooled(state, *how)

    monkeypatch.setattr(other, "_cooled", noting)
    for _ in other.turned_over(own.ends, cooling.spent + 3_000_000):
        pass
    assert len(values) >= 3
    assert values == sorted(values)
    assert values[-1] > values[0]


def test_where_time_is_short_some_are_turned_over_as_well() -> None:
    cooling = searched(6_000_000)
    own, cooling.work, cooling.begun = Reworking(cooling), 60_000_000, 0.0
    state, cost = cooling.best.copied()
    own.ends.keep(End(1, cost, state))
    fits = 0.8 * cooling.work
    cooling.spent, cooling.used = int(0.55 * fits), lambda: cooling.spent / fits
    other = Reworking(cooling)
    for _ in other.turned_over(own.ends, 0.7 * cooling.work):
        pass
    assert cooling.hurried
    assert len(other.ends.kept) >= 2
    assert 0.57 * fits < cooling.spent < 0.75 * fits  # of one end there are seven at most


def test_what_comes_of_it_is_kept_with_the_rest(monkeypatch: pytest.MonkeyPatch) -> None:
    (state, _), cooling = searched(20_000_000).best.copied(), Search(
        problem_of(made(Member(12, 1, "boxes", 1)).job).puzzle, 2, 2_000_000)
    value, asked = cooling.laden(state), list[tuple[int, float]]()

    def found(self: Reworking, ends: Ends, until: float) -> Iterator[float]:
        asked.append((len(ends.kept), until))
        self.ends.keep(End(1, value, state))
        yield 0.0

    monkeypatch.setattr(Reworking, "turned_over", found)
    own = Reworking(cooling)
    for _ in own.steps():
        pass
    ((ends, until),) = asked
    assert ends >= 1
    assert 0.5 * cooling.work < until < cooling.work
    assert own.ends.kept[0].value <= value

"""What layings are compared by: plate that is covered, holes that leave each other a bridge."""

from __future__ import annotations

import numpy as np

from layout_engine.wiring.corridors import PASS, RUN, Corridors, PassEdge
from layout_engine.wiring.gathering import Covered
from layout_engine.wiring.holes import Holes


def graph_of(pieces: list[tuple[tuple[float, float], tuple[float, float]]], kind: int) -> Corridors:
    """One edge for each straight piece, all on one face."""
    count = len(pieces)
    xy = np.array(pieces).reshape(-1, 2)
    u, v = np.arange(0, 2 * count, 2), np.arange(1, 2 * count, 2)
    along = np.abs(xy[v] - xy[u]).argmax(axis=1)
    length = np.abs(xy[v] - xy[u]).sum(axis=1)
    return Corridors(xy, np.zeros(2 * count, dtype=np.intp), u, v, length, np.full(count, 9.0),
                     np.full(count, kind), along, {})


def test_what_lies_in_one_row_of_cells_covers_plate_once() -> None:
    """By hand, on a grid of 5 mm: 20 mm are 4 edges, and 10 mm of them beside that none more."""
    pieces = [((0.0, 10.0), (20.0, 10.0)), ((10.0, 11.0), (20.0, 11.0)),
              ((20.0, 10.0), (20.0, 25.0))]
    covered = Covered(graph_of(pieces, RUN))
    assert covered.by(np.array([True, False, False])) == 4
    assert covered.by(np.array([True, True, False])) == 4
    assert covered.by(np.array([False, True, True])) == 2 + 3
    assert covered.by(np.array([False, False, False])) == 0


def test_a_hole_keeps_a_bridge_of_the_wider_one() -> None:
    """Holes of 6 mm, for bundles up to 4 mm, stand 12 mm apart; one of 8 mm 15 mm from them."""
    spots = [(0.0, 0.0), (11.9, 0.0), (12.1, 0.0), (14.9, 20.0), (0.0, 20.0)]
    graph = graph_of([(spot, spot) for spot in spots], PASS)
    graph.passes = {n: PassEdge("drilled", x, y, 16.0) for n, (x, y) in enumerate(spots)}
    holes = Holes(graph)
    assert not holes.shut([3.0]).any()
    holes.use(0, [3.0])
    assert holes.shut([3.0]).tolist() == [False, True, False, False, False]
    assert holes.shut([5.0]).tolist() == [False, True, True, False, False]
    assert not holes.shut([3.0], without=[0]).any()
    holes.use(4, [3.0])
    holes.use(3, [3.0])
    assert holes.shut([3.0]).tolist() == [False, True, False, True, True], "two of 3 mm want 8 mm"
    holes.use(0, [])
    holes.use(3, [])
    assert not holes.shut([3.0])[[0, 1, 2]].any()

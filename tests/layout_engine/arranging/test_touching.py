"""Which way bodies are apart: the table of what can meet leaves out only what something covers."""

from __future__ import annotations

import numpy as np
import pytest

from layout_engine.arranging.problem import problem_of
from layout_engine.arranging.search import Search
from layout_engine.arranging.touching import RELATION_W, relations
from layout_engine.arranging.vectors import SHAPES, Floats, Ints, X, Y
from tests.benchmarks.arranging.family import Member, Shape, made


def lacking(rows: Floats, s: Floats, k: Ints) -> dict[tuple[int, int], float]:
    """By how much every two bodies lack most what their relations want, mm."""
    most: dict[tuple[int, int], float] = {}
    for one, other, nx, ny, least, *_ in rows.tolist():
        who = int(one), int(other)
        dx, dy = (s[k[block] + who[1]] - s[k[block] + who[0]] for block in (X, Y))
        most[who] = max(most.get(who, -np.inf), least - nx * dx - ny * dy)
    return most


@pytest.mark.parametrize("near", [0.0, 60.0])
@pytest.mark.parametrize(("shape", "faces"), [("polygons", 1), ("all", 1), ("all", 2)])
def test_the_table_says_what_a_look_at_all_pieces_does(shape: Shape, faces: int, near: float
                                                       ) -> None:
    search = Search(problem_of(made(Member(12, faces, shape, 1)).job).puzzle, 1, 1)
    assert search.n[SHAPES] > 0
    for _ in range(10):
        found, (s, k) = [], search.anywhere()
        for every in (False, True):
            rows = np.empty((9_000, RELATION_W))
            count = relations(search.f, search.n, s, k, near, rows, every)
            assert count <= len(rows)
            found.append(rows[:count])
        few, every = ({tuple(row) for row in rows.tolist()} for rows in found)
        assert len(few) > 5
        assert few <= every
        told, wanted = (lacking(rows, s, k) for rows in found)
        assert told.keys() == wanted.keys()
        for who, most in wanted.items():
            assert told[who] == pytest.approx(most, abs=1e-9)

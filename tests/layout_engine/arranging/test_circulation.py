"""Places along a line under distances that are wanted, against scipy's solver and by hand."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import linprog

from layout_engine.arranging.circulation import PLACE, add_arc, begin, place_cheapest, room_for

Arc = tuple[int, int, float, float]  # tail, head, distance wanted, price of a mm less


def placed(nodes: int, arcs: list[Arc], start: np.ndarray | None = None) -> np.ndarray:
    """The cheapest places, node 0 at 0."""
    c, g = room_for(nodes, len(arcs))
    begin(g, nodes)
    if start is not None:
        c[g[PLACE]: g[PLACE] + nodes] = start
    for arc in arcs:
        add_arc(c, g, *arc)
    assert place_cheapest(c, g) >= 0
    return c[g[PLACE]: g[PLACE] + nodes].copy()


def cost(arcs: list[Arc], places: np.ndarray) -> float:
    return sum(price * max(0.0, least - (places[head] - places[tail]))
               for tail, head, least, price in arcs)


def least_cost(nodes: int, arcs: list[Arc]) -> float:
    """What scipy's linear program finds: variables are the places, and what each arc is missed by.
    """
    rows = np.zeros((len(arcs), nodes + len(arcs)))
    for row, (tail, head, _, _) in enumerate(arcs):
        rows[row, tail] += 1.0
        rows[row, head] -= 1.0
        rows[row, nodes + row] = -1.0
    found = linprog([0.0] * nodes + [arc[3] for arc in arcs], A_ub=rows,
                    b_ub=[-arc[2] for arc in arcs],
                    bounds=[(0, 0)] + [(None, None)] * (nodes - 1) + [(0, None)] * len(arcs))
    return float(found.fun)


def random_arcs(seed: int) -> tuple[int, list[Arc]]:
    """Nets as two arcs, and distances that are kept at a high price; some nodes without an arc."""
    rng = np.random.default_rng(seed)
    nodes, arcs = int(rng.integers(2, 15)), list[Arc]()
    for _ in range(int(rng.integers(1, 60))):
        tail, head = (int(node) for node in rng.integers(nodes, size=2))
        if tail == head:
            continue
        least, price = float(rng.normal(0, 50)), float(rng.integers(1, 4))
        if rng.random() < 0.5:
            arcs += [(tail, head, least, price), (head, tail, -least, price)]
        else:
            arcs.append((tail, head, abs(least), 500.0))
    return nodes, arcs


@pytest.mark.parametrize("seed", range(60))
def test_it_costs_what_scipys_solver_finds(seed: int) -> None:
    nodes, arcs = random_arcs(seed)
    start = np.random.default_rng(seed).normal(0, 100, nodes)
    start[0] = 0.0
    for begun in (None, start):
        places = placed(nodes, arcs, begun)
        assert places[0] == 0.0
        assert cost(arcs, places) == pytest.approx(least_cost(nodes, arcs), abs=1e-5)


def test_the_cheapest_place_of_one_node_is_the_weighted_median() -> None:
    wants = [(1.0, 2.0), (5.0, 1.0), (9.0, 2.5), (20.0, 1.0)]
    arcs = [arc for at, price in wants for arc in ((0, 1, at, price), (1, 0, -at, price))]
    assert placed(2, arcs)[1] == pytest.approx(9.0)


def test_a_chain_that_is_too_long_gives_way_where_it_is_cheapest() -> None:
    """Three steps of 10 between walls 25 apart: the one with the lowest price comes short."""
    arcs = [(0, 1, 10.0, 5.0), (1, 2, 10.0, 2.0), (2, 0, -15.0, 9.0)]
    assert placed(3, arcs) == pytest.approx([0.0, 10.0, 15.0])


def test_who_is_not_asked_stays() -> None:
    start = np.array([0.0, 3.0, -7.0, 12.0])
    assert placed(4, [(1, 2, 4.0, 1.0)], start)[3] == 12.0


def test_what_is_kept_already_stays() -> None:
    start = np.array([0.0, 30.0, 80.0])
    assert placed(3, [(0, 1, 10.0, 5.0), (1, 2, 20.0, 5.0)], start) == pytest.approx(start)

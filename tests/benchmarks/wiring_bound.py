"""How little plate all runs of a board could lie on: a bound from below (`.wiring --bound`).

A linear program on the 5 mm grid of the independent search: each wire is a flow of one from its
first end to its other, y of an edge is at least what any one wire sends along it, all lengths
together are at most so many times the shortest, and the sum of y is made small. Whole wires are one
of its solutions, so no routes on that grid have a smaller union. To keep it small each wire has the
edges that lie on ways at most so much longer than its shortest (`SLACKS_MM`): routes in which a
wire goes farther round than that are not bounded. Flows may split, so that the bound is not
reached; it takes minutes on a board of a demo. Over `MOST_FLOWS`
flows on edges it is not worked out. Our own routes are not bound to the grid: they pass gaps that
it does not, and may do better.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import coo_array, csr_array
from scipy.sparse.csgraph import dijkstra

from tests.benchmarks.wiring_grid import Alone, Edge, grid_edges, sides, terminal_at

MOST_LONGER = 1.10
SLACKS_MM = (120.0, 60.0)  # the first with which the program is small enough
MOST_FLOWS = 200_000
Arcs = tuple[Any, Any, Any]


@dataclass
class _Program:
    """Rows of the linear program as they grow."""

    flows: int = 0
    lengths: list[float] = field(default_factory=list)
    kept: list[tuple[int, int, float]] = field(default_factory=list)  # node, flow, sign
    supply: list[float] = field(default_factory=list)
    uses: list[tuple[int, int, Edge]] = field(default_factory=list)  # row, flow, edge
    rows: int = 0


def most_shorter(alone: Iterable[Alone]) -> tuple[float, float] | None:
    """The share by which the union of all ways can be shorter than that of the shortest ones, and
    how much longer than its shortest each single way may be [mm].

    None where the program would be too large.
    """
    listed = list(alone)
    whole = sum(one.length for one in listed)
    union = set().union(*(grid_edges(one.path) for one in listed))
    for slack in SLACKS_MM:
        program = _program(listed, slack)
        if program is not None and union:
            return 1.0 - _solved(program, MOST_LONGER * whole) / len(union), slack
    return None


def _program(alone: Iterable[Alone], slack: float) -> _Program | None:
    """The flows of all wires; None where they are too many."""
    program = _Program()
    for one in alone:
        _add(program, one, slack)
        if program.flows > MOST_FLOWS:
            return None
    return program


def _add(program: _Program, one: Alone, slack: float) -> None:
    """The flow of one wire."""
    (u, v, length), starts, ends = _arcs(one, slack)
    count = one.grid.graph.shape[0]
    first = program.flows
    nodes, numbers = np.unique(np.concatenate((u, v)), return_inverse=True)
    base = len(program.supply)
    for n, (a, b) in enumerate(numbers.reshape(2, -1).T.tolist(), first):
        program.kept += [(base + a, n, 1.0), (base + b, n, -1.0)]
    program.supply += [1.0 if n == count else -1.0 if n == count + 1 else 0.0
                       for n in nodes.tolist()]
    rows: dict[tuple[str, Edge], int] = {}
    keys = (one.connection.from_, one.connection.to)
    for n, (a, b) in enumerate(zip(u.tolist(), v.tolist(), strict=True), first):
        if a == count or b == count + 1:
            side, node = ("from", b) if a == count else ("to", a)
            spot = (starts if a == count else ends)[node][1]
            place = one.grid.place(node)
            terminal = terminal_at(one.grid.job, keys[side == "to"])
            begins = [(*terminal, place[2])] if terminal else []
            edges = grid_edges([*begins, (*spot, place[2]), place])
        else:
            side, edges = "between", grid_edges((one.grid.place(a), one.grid.place(b)))
        for edge in edges:
            program.uses.append((rows.setdefault((side, edge), program.rows + len(rows)), n, edge))
    program.rows += len(rows)
    program.lengths += length.tolist()
    program.flows += len(u)


def _arcs(one: Alone, slack: float) -> tuple[Arcs, dict[int, Any], dict[int, Any]]:
    """Arcs on ways that are little longer than the shortest; two nodes more for both ends."""
    starts, ends, first, inside = sides(one.grid, one.connection, one.faces)
    count = one.grid.graph.shape[0]
    inner = inside.tocoo()
    u = np.concatenate((inner.row + first, np.full(len(starts), count), list(ends)))
    v = np.concatenate((inner.col + first, list(starts), np.full(len(ends), count + 1)))
    length = np.concatenate((inner.data, [s for s, _ in starts.values()],
                             [s for s, _ in ends.values()]))
    graph = csr_array((length, (u, v)), shape=(count + 2, count + 2))
    there = dijkstra(graph, indices=count)
    back = dijkstra(graph.T.tocsr(), indices=count + 1)
    near = there[u] + length + back[v] <= there[count + 1] + slack
    return (u[near].astype(int), v[near].astype(int), length[near]), starts, ends


def _solved(program: _Program, most: float) -> float:
    edges = {edge: n for n, edge in enumerate(sorted({edge for _, _, edge in program.uses}))}
    size = program.flows + len(edges)
    of_row = {row: edges[edge] for row, _, edge in program.uses}
    rows = [row for row, _, _ in program.uses] + list(of_row) + [program.rows] * program.flows
    columns = [flow for _, flow, _ in program.uses]
    columns += [program.flows + edge for edge in of_row.values()]
    columns += range(program.flows)
    values = [1.0] * len(program.uses) + [-1.0] * len(of_row) + program.lengths
    limits = np.append(np.zeros(program.rows), most)
    nodes, flows, signs = zip(*program.kept, strict=True)
    found = linprog(
        np.append(np.zeros(program.flows), np.ones(len(edges))),
        A_ub=coo_array((values, (rows, columns)), shape=(program.rows + 1, size)).tocsr(),
        b_ub=limits,
        A_eq=coo_array((signs, (nodes, flows)), shape=(len(program.supply), size)).tocsr(),
        b_eq=program.supply, bounds=(0.0, 1.0), method="highs-ipm")
    assert found.status == 0, found.message
    return float(found.fun)

"""The independent search: each wire alone on a 5 mm grid, by its shortest way."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import cos, hypot, radians, sin
from typing import Any

import numpy as np
import shapely
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from layout_engine import Job
from layout_engine.model.job import Connection
from layout_engine.model.plate import Face
from layout_engine.tables.dressing import grommet_for
from layout_engine.wiring import PathPoint, Routing, Wire
from tests.layout_engine.wiring.laws import (
    aerials,
    board,
    ends_in,
    low_things,
    may_run_under,
    placed,
    rims_and_holes,
    shape,
    solids,
    zones,
)

GRID_MM = 5.0
THROUGH_MM = 20.0  # of a change of face, beside the plate's thickness
FACES: tuple[Face, Face] = ("front", "back")
NEAR_MM = 7.5
Edge = tuple[int, int, int, int, str]
Ends = dict[int, tuple[float, tuple[float, float]]]


@dataclass(eq=False)
class Grid:
    """Free nodes of a 5 mm grid on both faces, joined along the grid and through the plate."""

    job: Job
    free: dict[str, np.ndarray[Any, Any]]
    things: dict[str, list[Any]]
    graph: Any
    columns: int
    rows: int
    radius: float
    walls: dict[str, Any]

    def number(self, face: int, i: int, j: int) -> int:
        """Number of a node."""
        return (face * self.columns + i) * self.rows + j

    def place(self, number: int) -> PathPoint:
        """Where a node is."""
        face, rest = divmod(number, self.columns * self.rows)
        i, j = divmod(rest, self.rows)
        return i * GRID_MM, j * GRID_MM, FACES[face]


def grid_of(job: Job, radius: float, keep_off: frozenset[str] = frozenset()) -> Grid:
    """The grid on which a wire of that radius finds its way alone; it keeps off these aerials."""
    width, height = job.plate.size
    columns, rows = int(width // GRID_MM) + 1, int(height // GRID_MM) + 1
    xs, ys = np.meshgrid(np.arange(columns) * GRID_MM, np.arange(rows) * GRID_MM, indexing="ij")
    plate = board(job).buffer(-radius)
    free, things = {}, {}
    for face in FACES:
        kept = [s for group in (solids(job, face), low_things(job, face), zones(job, face))
                for shapes in group.values() for s in shapes]
        kept += [zone for owner, zone in aerials(job, face).items() if owner in keep_off]
        things[face] = kept
        blocked = shapely.union_all([s.buffer(radius) for s in kept]) if kept else shapely.Point()
        free[face] = shapely.contains_xy(plate, xs, ys) & ~shapely.contains_xy(blocked, xs, ys)
    walls = {face: shapely.union_all(things[face]) for face in FACES}
    grid = Grid(job, free, things, None, columns, rows, radius, walls)
    grid.graph = _graph(grid, radius)
    return grid


def _graph(grid: Grid, radius: float) -> Any:
    count = 2 * grid.columns * grid.rows
    numbers = np.arange(count).reshape(2, grid.columns, grid.rows)
    rows, columns, costs = [], [], []
    for face, name in enumerate(FACES):
        wall = shapely.union_all([s.buffer(radius - 1e-6) for s in grid.things[name]])
        for a, b, ok in (
            (numbers[face, :-1], numbers[face, 1:], grid.free[name][:-1] & grid.free[name][1:]),
            (numbers[face, :, :-1], numbers[face, :, 1:],
             grid.free[name][:, :-1] & grid.free[name][:, 1:]),
        ):
            one, other = a[ok], b[ok]
            ends = np.array([[grid.place(int(n))[:2] for n in pair]
                             for pair in zip(one, other, strict=True)])
            clear = ~shapely.intersects(wall, shapely.linestrings(ends))
            rows.append(one[clear])
            columns.append(other[clear])
            costs.append(np.full(int(clear.sum()), GRID_MM))
    both = drillable(grid, radius)
    rows.append(numbers[0][both])
    columns.append(numbers[1][both])
    costs.append(np.full(int(both.sum()), grid.job.plate.thickness + THROUGH_MM))
    u, v, c = (np.concatenate(part) for part in (rows, columns, costs))
    return csr_array((np.concatenate((c, c)), (np.concatenate((u, v)), np.concatenate((v, u)))),
                     shape=(count, count))


def drillable(grid: Grid, radius: float) -> np.ndarray[Any, Any]:
    """Nodes at which a grommet for that wire has its ground on both faces, and its hole the
    distances to edges and other holes that are asked of every hole.
    """
    grommet = grommet_for(2 * radius)
    assert grommet is not None
    rims, holes = rims_and_holes(grid.job)
    plate = board(grid.job).buffer(-2.5 * grommet.hole)
    near = [rim.buffer(2.5 * grommet.hole) for rim in rims]
    near += [shapely.Point(x, y).buffer((wide + grommet.hole) / 2 + max(wide, grommet.hole, 2.0))
             for x, y, wide in holes]
    xs, ys = np.meshgrid(np.arange(grid.columns) * GRID_MM, np.arange(grid.rows) * GRID_MM,
                         indexing="ij")
    good = shapely.contains_xy(plate, xs, ys)
    good &= ~shapely.contains_xy(shapely.union_all(near), xs, ys)
    for face in FACES:
        wall = shapely.union_all([s.buffer(grommet.rim / 2) for s in grid.things[face]])
        good &= ~shapely.contains_xy(wall, xs, ys)
        under = [shape(p, grid.job.type_of(p).outline) for p in grid.job.placed
                 if may_run_under(grid.job, p)]
        good &= ~shapely.contains_xy(shapely.union_all(under), xs, ys)
    return good


def lanes(grid: Grid, key: str) -> Iterator[tuple[int, float, tuple[float, float]]]:
    """Grid nodes from which an end can be reached: (node, length, where the wire turns off)."""
    part_id, terminal_id = key.split(".")
    part = grid.job.part(part_id)
    if part.away is not None:
        width, height = grid.job.plate.size
        middles = {"top": (width / 2, height), "bottom": (width / 2, 0.0),
                   "left": (0.0, height / 2), "right": (width, height / 2)}
        exit_ = part.away.exit
        spot = middles[exit_] if isinstance(exit_, str) else exit_
        for face in FACES:
            yield from _near(grid, face, spot, 0.0, 12.0)
        return
    terminal = grid.job.type_of(part).terminal(terminal_id)
    where = part.placement
    assert where is not None
    x, y = placed(part, (terminal.x, terminal.y))
    own = 180 - terminal.leaves if where.face == "back" else terminal.leaves
    turn = radians(own + where.turn)
    outline = shapely.Polygon([placed(part, p) for p in grid.job.type_of(part).outline])
    ray = shapely.LineString([(x, y), (x + 2000 * cos(turn), y + 2000 * sin(turn))])
    met = shapely.get_coordinates(shapely.intersection(ray, outline.exterior))
    out = max((hypot(a - x, b - y) for a, b in met), default=0.0)
    room = max(terminal.room, 4.0)
    for along in np.arange(room / 2, room + 0.6, 1.0):
        spot = x + (out + along) * cos(turn), y + (out + along) * sin(turn)
        yield from _near(grid, where.face, spot, out + along, NEAR_MM)


def _near(grid: Grid, face: str, spot: tuple[float, float], along: float, reach: float
          ) -> Iterator[tuple[int, float, tuple[float, float]]]:
    side = FACES.index(face)
    i0, j0 = round(spot[0] / GRID_MM), round(spot[1] / GRID_MM)
    for i in range(max(0, i0 - 2), min(grid.columns, i0 + 3)):
        for j in range(max(0, j0 - 2), min(grid.rows, j0 + 3)):
            node = i * GRID_MM, j * GRID_MM
            away = abs(node[0] - spot[0]) + abs(node[1] - spot[1])
            if not grid.free[face][i, j] or away > reach:
                continue
            line = shapely.LineString([spot, node])
            if line.distance(grid.walls[face]) >= grid.radius - 0.1:
                yield grid.number(side, i, j), along + away, spot


def shortest(grid: Grid, connection: Connection, faces: set[str]
             ) -> tuple[float, list[PathPoint]] | None:
    """Length and path of a wire that is alone on the board; None where the grid has no way.

    faces: those on which it may run.
    """
    starts, ends, first, inside = sides(grid, connection, faces)
    if not starts or not ends:
        return None
    found = _cheapest(grid, inside, (starts, ends), first)
    if found is None:
        return None
    terminals = [terminal_at(grid.job, key) for key in (connection.from_, connection.to)]
    return _from_end_to_end(found, terminals)


def sides(grid: Grid, connection: Connection, faces: set[str]) -> tuple[Ends, Ends, int, Any]:
    """Nodes at both ends, the first node of the faces on which a wire may run, and their graph."""
    starts = _best(lanes(grid, connection.from_))
    ends = _best(lanes(grid, connection.to))
    half = grid.columns * grid.rows
    if len(faces) > 1:
        return starts, ends, 0, grid.graph
    first = FACES.index(next(iter(faces))) * half
    starts, ends = ({n: s for n, s in side.items() if first <= n < first + half}
                    for side in (starts, ends))
    return starts, ends, first, grid.graph[first:first + half, first:first + half]


def terminal_at(job: Job, key: str) -> tuple[float, float] | None:
    """Where a terminal is on the board; None where it is away."""
    part_id, terminal_id = key.split(".")
    part = job.part(part_id)
    if part.placement is None:
        return None
    terminal = job.type_of(part).terminal(terminal_id)
    return placed(part, (terminal.x, terminal.y))


def _from_end_to_end(found: tuple[float, list[PathPoint]],
                     terminals: list[tuple[float, float] | None]
                     ) -> tuple[float, list[PathPoint]]:
    """The path with the straight parts at both terminals."""
    whole, path = found
    one, other = terminals
    last = [(*one, path[-1][2])] if one else []
    first = [(*other, path[0][2])] if other else []
    return whole, [*first, *path, *last]


def _cheapest(grid: Grid, graph: Any, both: tuple[Ends, Ends], first: int
              ) -> tuple[float, list[PathPoint]] | None:
    starts, ends = ({n - first: s for n, s in side.items()} for side in both)
    found: tuple[float, int, int, Any] | None = None
    away, before = dijkstra(graph, indices=list(starts), return_predecessors=True)
    for row, (start, (lead, _)) in enumerate(starts.items()):
        for end, (last, _) in ends.items():
            whole = lead + last + float(away[row, end])
            if np.isfinite(whole) and (found is None or whole < found[0]):
                found = whole, start, end, before[row]
    if found is None:
        return None
    whole, start, node, previous = found
    path = [(*ends[node][1], grid.place(node + first)[2])]
    while node != start:
        path.append(grid.place(node + first))
        node = int(previous[node])
    path += [grid.place(start + first), (*starts[start][1], grid.place(start + first)[2])]
    return whole, path  # type: ignore[return-value]


def _best(nodes: Iterator[tuple[int, float, tuple[float, float]]]) -> Ends:
    best: Ends = {}
    for node, length, spot in nodes:
        if node not in best or length < best[node][0]:
            best[node] = length, spot
    return best


def grid_edges(path: list[PathPoint] | tuple[PathPoint, ...]) -> set[Edge]:
    """Edges of the 5 mm grid along a path, drawn to the nearest nodes."""
    edges: set[Edge] = set()
    for a, b in pairwise(path):
        if a[2] != b[2]:
            continue
        steps = max(1, int(hypot(b[0] - a[0], b[1] - a[1])))
        nodes = [(round((a[0] + (b[0] - a[0]) * k / steps) / GRID_MM),
                  round((a[1] + (b[1] - a[1]) * k / steps) / GRID_MM)) for k in range(steps + 1)]
        for (i, j), (m, n) in pairwise(nodes):
            if i != m:
                edges.add((min(i, m), j, max(i, m), j, a[2]))
            if j != n:
                edges.add((m, min(j, n), m, max(j, n), a[2]))
    return edges


@dataclass(frozen=True, eq=False)
class Alone:
    """A wire as it is routed, and its shortest way, were it alone; None where the grid has none."""

    wire: Wire
    connection: Connection
    grid: Grid
    faces: set[str]
    found: tuple[float, list[PathPoint]] | None

    @property
    def length(self) -> float:
        """Length of the shortest way, mm."""
        return self.found[0] if self.found else 0.0

    @property
    def path(self) -> list[PathPoint]:
        """The shortest way, from the wire's first end on."""
        return self.found[1][::-1] if self.found else []


def each_alone(job: Job, routing: Routing) -> Iterator[Alone]:
    """Every wire that is on the board, with its shortest way on the faces that it uses."""
    grids: dict[tuple[float, frozenset[str]], Grid] = {}
    fields = [(owner, zone) for face in FACES for owner, zone in aerials(job, face).items()]
    for wire, connection in zip(routing.wires, job.connections, strict=True):
        if wire.state not in ("routed", "no_corridor"):
            continue
        off = frozenset(o for o, zone in fields if not ends_in(job, wire, o, zone))
        key = round(wire.outer / 2, 1), off
        if key not in grids:
            grids[key] = grid_of(job, *key)
        faces: set[str] = {face for _, _, face in wire.path} or {"front", "back"}
        yield Alone(wire, connection, grids[key], faces, shortest(grids[key], connection, faces))

"""The independent search: each wire alone on a 5 mm grid, by its shortest way.

Wires have many shortest ways, and which one is found decides how much plate all of them cover: a
search from point to point of the grid, which passes no gap without a point in it, found ways that
covered a sixth less for the same wires (12 modules, seed 1: 280 edges; from cell to cell 334).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise, product
from math import cos, hypot, radians, sin
from typing import Any

import numpy as np
import shapely
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from layout_engine import Job
from layout_engine.model.job import Connection
from layout_engine.model.plate import FACES, Face
from layout_engine.tables.dressing import WIRE_GAP, grommet_for
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
HAIR_MM = 1e-4
THROUGH_MM = 20.0  # of a change of face, beside the plate's thickness
NEAR_MM = 7.5
Edge = tuple[int, int, int, int, str]
Ends = dict[int, tuple[float, tuple[float, float]]]


@dataclass(eq=False)
class Grid:
    """Free ground of both faces in cells of 5 mm, joined from cell to cell and through the plate.

    A cell is the square round a point of the grid. A node is a piece of free ground in one, so
    that gaps narrower than a cell lead through it wherever they lie.
    """

    job: Job
    radius: float
    cells: dict[tuple[str, int, int], list[int]]
    where: list[tuple[Face, int, int]]
    pieces: np.ndarray[Any, Any]
    walls: dict[str, Any]
    graph: Any

    @property
    def columns(self) -> int:
        """Cells along x."""
        return int(self.job.plate.size[0] // GRID_MM) + 1

    @property
    def rows(self) -> int:
        """Cells along y."""
        return int(self.job.plate.size[1] // GRID_MM) + 1

    def place(self, number: int) -> PathPoint:
        """The point of the grid whose cell a node is in."""
        face, i, j = self.where[number]
        return i * GRID_MM, j * GRID_MM, face

    def on(self, faces: set[str]) -> slice:
        """Numbers of the nodes of one or of both faces."""
        numbers = [n for n, (face, _, _) in enumerate(self.where) if face in faces]
        return slice(numbers[0], numbers[-1] + 1) if numbers else slice(0, 0)


def grid_of(job: Job, radius: float, keep_off: frozenset[str] = frozenset()) -> Grid:
    """The grid on which a wire of that radius finds its way alone; it keeps off these aerials."""
    walls: dict[str, Any] = {}
    grid = Grid(job, radius, {}, [], np.empty(0, dtype=object), walls, None)
    plate = board(job).buffer(-(radius - HAIR_MM))
    found: list[Any] = []
    for face in FACES:
        kept = [s for group in (solids(job, face), low_things(job, face), zones(job, face))
                for shapes in group.values() for s in shapes]
        kept += [zone for owner, zone in aerials(job, face).items() if owner in keep_off]
        walls[face] = shapely.union_all(kept)
        for i, j, piece in _pieces(plate - walls[face].buffer(radius - HAIR_MM), grid):
            grid.cells.setdefault((face, i, j), []).append(len(found))
            grid.where.append((face, i, j))
            found.append(piece)
    grid.pieces = np.array(found, dtype=object)
    grid.graph = _graph(grid)
    return grid


def _pieces(free: Any, grid: Grid) -> Iterator[tuple[int, int, Any]]:
    """Free ground in each cell, one piece after the other."""
    i, j = (n.ravel() for n in np.indices((grid.columns, grid.rows)))
    half = GRID_MM / 2
    squares = shapely.box(i * GRID_MM - half, j * GRID_MM - half,
                          i * GRID_MM + half, j * GRID_MM + half)
    shapely.prepare(free)
    whole = shapely.contains(free, squares)
    cut = np.flatnonzero(~whole & shapely.intersects(free, squares))
    squares[cut] = shapely.intersection(free, squares[cut])
    squares[~whole & ~np.isin(np.arange(len(squares)), cut)] = shapely.Polygon()
    parts, numbers = shapely.get_parts(squares, return_index=True)
    for n in np.flatnonzero(shapely.area(parts) > 0.0).tolist():
        yield int(i[numbers[n]]), int(j[numbers[n]]), parts[n]


def _graph(grid: Grid) -> Any:
    """Nodes that lead into each other, each 5 mm from the next, and through holes."""
    beside = [(a, b) for (face, i, j), here in grid.cells.items()
              for other in ((face, i + 1, j), (face, i, j + 1))
              for a in here for b in grid.cells.get(other, ())]
    above = [(a, b) for (face, i, j), here in grid.cells.items() if face == FACES[0]
             for a in here for b in grid.cells.get((FACES[1], i, j), ())]
    u, v = np.array(beside, dtype=int).reshape(-1, 2).T
    met = shapely.dwithin(grid.pieces[u], grid.pieces[v], HAIR_MM)
    p, q = np.array(above, dtype=int).reshape(-1, 2).T
    ground = drillable(grid)
    shapely.prepare(ground)
    drilled = shapely.intersects(ground, shapely.intersection(grid.pieces[p], grid.pieces[q]))
    u, v = np.append(u[met], p[drilled]), np.append(v[met], q[drilled])
    through = grid.job.plate.thickness + THROUGH_MM
    costs = np.append(np.full(met.sum(), GRID_MM), np.full(drilled.sum(), through))
    count = len(grid.pieces)
    return csr_array((np.tile(costs, 2), (np.append(u, v), np.append(v, u))), shape=(count, count))


def drillable(grid: Grid) -> Any:
    """Where a grommet for the wire has its ground on both faces, and its hole the distances to
    edges and other holes that are asked of every hole.
    """
    job, grommet = grid.job, grommet_for(2 * (grid.radius - WIRE_GAP.value))
    assert grommet is not None
    rims, holes = rims_and_holes(job)
    near: list[Any] = [shapely.buffer(rim, 2.5 * grommet.hole) for rim in rims]
    near += [shapely.Point(x, y).buffer((wide + grommet.hole) / 2 + max(wide, grommet.hole, 2.0))
             for x, y, wide in holes]
    near += [wall.buffer(grommet.rim / 2) for wall in grid.walls.values()]
    near += [shape(p, job.type_of(p).outline) for p in job.placed if may_run_under(job, p)]
    return board(job) - shapely.union_all(near)


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
    for lengths in (np.arange(room / 2, room + 0.6, 1.0), np.arange(room / 2, 0.5, -0.5)):
        found = [node for along in lengths.tolist() for node in _near(
            grid, where.face, (x + (out + along) * cos(turn), y + (out + along) * sin(turn)),
            out + along, NEAR_MM)]
        if found:
            yield from found
            return


def _near(grid: Grid, face: str, spot: tuple[float, float], along: float, reach: float
          ) -> Iterator[tuple[int, float, tuple[float, float]]]:
    i0, j0 = round(spot[0] / GRID_MM), round(spot[1] / GRID_MM)
    here = shapely.Point(spot)
    for i, j in product(range(i0 - 2, i0 + 3), range(j0 - 2, j0 + 3)):
        away = abs(i * GRID_MM - spot[0]) + abs(j * GRID_MM - spot[1])
        if away > reach:
            continue
        middle = shapely.Point(i * GRID_MM, j * GRID_MM)
        for node in grid.cells.get((face, i, j), ()):
            piece = grid.pieces[node]
            end = middle if piece.covers(middle) else shapely.shortest_line(piece, here).coords[0]
            line = shapely.LineString([here, end])
            if line.distance(grid.walls[face]) >= grid.radius - 0.1:
                yield node, along + away, spot


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
    mine = grid.on(faces)
    starts, ends = ({n: s for n, s in side.items() if mine.start <= n < mine.stop}
                    for side in (starts, ends))
    return starts, ends, mine.start, grid.graph[mine, mine]


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
    return whole, path


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
    """Every wire that is on the board, with its shortest way on the faces that it uses.

    It keeps off every aerial on whose ground none of its terminals is, as ours do wherever they
    can; where it finds no way so, off those alone that the laws ask it to keep off.
    """
    grids: dict[tuple[float, frozenset[str]], Grid] = {}
    fields = [(owner, zone) for face in FACES for owner, zone in aerials(job, face).items()]
    for wire, connection in zip(routing.wires, job.connections, strict=True):
        if wire.state not in ("routed", "no_corridor"):
            continue
        faces: set[str] = {face for _, _, face in wire.path} or {"front", "back"}
        asked = frozenset(o for o, zone in fields if not ends_in(job, wire, o, zone))
        whole = frozenset(o for o, zone in fields if not _starts_in(job, wire, o, zone))
        grid, found = None, None
        for off in dict.fromkeys((whole, asked)):
            key = round(wire.outer / 2 + WIRE_GAP.value, 2), off
            if key not in grids:
                grids[key] = grid_of(job, *key)
            grid = grids[key]
            found = shortest(grid, connection, faces)
            if found is not None:
                break
        assert grid is not None
        yield Alone(wire, connection, grid, faces, found)


def _starts_in(job: Job, wire: Wire, owner: str, ground: Any) -> bool:
    """Whether one of a wire's terminals is on an aerial's ground, or of its module."""
    ends = [key for key in (wire.from_, wire.to) if terminal_at(job, key) is not None]
    return any(key.split(".")[0] == owner or ground.covers(shapely.Point(terminal_at(job, key)))
               for key in ends)

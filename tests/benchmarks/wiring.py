"""Quality and time of routing (`python -m tests.benchmarks.wiring`).

Demo jobs, and the seeded family of the arranging benchmark with 12 mm to bend wires at every
terminal and between modules, all arranged by the project; and 80 wires on 300 x 400 mm. For each
job: wires routed, of those asked for; wires without a way that the independent search finds none
for either, on both faces; laws broken (an independent judge); wires that the independent search
can compare, its 5 mm grid being too coarse for narrow gaps. For these: total length over the sum
of the shortest obstacle-avoiding ways found for each wire alone on that grid, on the faces that our
wire uses; and how much shorter the union of all ways is, each edge of the grid counted once for
both, with the straight part at each terminal ("union") and without it ("corridors"). Then processor
time of all routes, of the routes again after one part was dropped, and of the estimate how crowded
the arrangement is; how full it says the fullest passage is; and bends that are too tight.

`--curve` prints, in place of times, what weighing the opening of runs more or less does: length and
union side by side.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import cos, hypot, radians, sin
from statistics import median
from time import process_time
from typing import Any

import numpy as np
import shapely
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from layout_engine import Job, arrange, dump_document, load_document
from layout_engine.arranging.arranger import cleared
from layout_engine.model.job import Connection
from layout_engine.tables.dressing import grommet_for
from layout_engine.wiring import (
    PathPoint,
    RouteWeights,
    Routing,
    congestion_of,
    plan_routes,
)
from tests.benchmarks.arranging import DEMOS, family_job
from tests.layout_engine.wiring.laws import (
    aerials,
    board,
    ends_in,
    faults,
    low_things,
    may_run_under,
    placed,
    shape,
    solids,
    zones,
)

GRID_MM = 5.0
ROOM_MM = 12.0  # bend room of the family's terminals
THROUGH_MM = 20.0  # of a change of face, beside the plate's thickness
FACES = ("front", "back")
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

    def place(self, number: int) -> tuple[float, float, str]:
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
    """Nodes at which a grommet for that wire has its ground on both faces."""
    grommet = grommet_for(2 * radius)
    assert grommet is not None
    plate = board(grid.job).buffer(-2.0 * grommet.hole)
    xs, ys = np.meshgrid(np.arange(grid.columns) * GRID_MM, np.arange(grid.rows) * GRID_MM,
                         indexing="ij")
    good = shapely.contains_xy(plate, xs, ys)
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
    starts = _best(lanes(grid, connection.from_))
    ends = _best(lanes(grid, connection.to))
    half = grid.columns * grid.rows
    inside, first = grid.graph, 0
    if len(faces) == 1:
        first = FACES.index(next(iter(faces))) * half
        starts, ends = ({n: s for n, s in side.items() if first <= n < first + half}
                        for side in (starts, ends))
        inside = grid.graph[first:first + half, first:first + half]
    if not starts or not ends:
        return None
    found = _cheapest(grid, inside, (starts, ends), first)
    if found is None:
        return None
    terminals = [terminal_at(grid.job, key) for key in (connection.from_, connection.to)]
    return _from_end_to_end(found, terminals)


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


def without_leads(job: Job, path: list[PathPoint], connection: Connection) -> list[PathPoint]:
    """A path without the straight part at each terminal: out of the module, half the bend room."""
    for key in (connection.from_, connection.to):
        path = _from(path, straight_part(job, key))[::-1]
    return path


def straight_part(job: Job, key: str) -> float:
    """Length of the straight part at a terminal; 0 where the end is away."""
    spot = terminal_at(job, key)
    if spot is None:
        return 0.0
    part_id, terminal_id = key.split(".")
    part = job.part(part_id)
    terminal, where = job.type_of(part).terminal(terminal_id), part.placement
    assert where is not None
    own = 180 - terminal.leaves if where.face == "back" else terminal.leaves
    turn = radians(own + where.turn)
    outline = shapely.Polygon([placed(part, p) for p in job.type_of(part).outline])
    ray = shapely.LineString([spot, (spot[0] + 2000 * cos(turn), spot[1] + 2000 * sin(turn))])
    met = shapely.get_coordinates(shapely.intersection(ray, outline.exterior))
    out = max((hypot(a - spot[0], b - spot[1]) for a, b in met), default=0.0)
    return out + max(terminal.room, 4.0) / 2


def _from(path: list[PathPoint], along: float) -> list[PathPoint]:
    """What is left of a path from a length on, on its first face."""
    for number, (a, b) in enumerate(pairwise(path)):
        length = hypot(b[0] - a[0], b[1] - a[1])
        if a[2] != b[2] or length > along:
            share = along / length if length else 0.0
            start = (a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share, a[2])
            return [start, *path[number + 1:]]
        along -= length
    return []


def whole_length(job: Job, path: tuple[PathPoint, ...]) -> float:
    """Length of a path, its changes of face counted as the grid counts them."""
    through = job.plate.thickness + THROUGH_MM
    return sum(through if a[2] != b[2] else hypot(b[0] - a[0], b[1] - a[1])
               for a, b in pairwise(path))


@dataclass(frozen=True)
class Quality:
    """How good the routes of a job are against each wire alone."""

    routed: int
    asked: int
    no_way: int
    compared: int
    broken: list[str]
    longer: float
    shorter_union: float
    shorter_corridors: float


def quality(job: Job, routing: Routing) -> Quality:
    """Routes against the shortest ways of each wire alone."""
    grids: dict[tuple[float, frozenset[str]], Grid] = {}
    fields = [(owner, zone) for face in FACES for owner, zone in aerials(job, face).items()]
    ours = theirs = 0.0
    union, alone, corridors, ways = set(), set(), set(), set()
    routed = asked = no_way = compared = 0
    for wire, connection in zip(routing.wires, job.connections, strict=True):
        if wire.state not in ("routed", "no_corridor"):
            continue
        off = frozenset(o for o, zone in fields if not ends_in(job, wire, o, zone))
        key = round(wire.outer / 2, 1), off
        if key not in grids:
            grids[key] = grid_of(job, *key)
        faces = {face for _, _, face in wire.path} or set(FACES)
        reference = shortest(grids[key], connection, faces)
        if wire.state == "no_corridor" and reference is None:
            no_way += 1
            continue
        asked += 1
        routed += wire.state == "routed"
        if wire.state == "routed" and reference is not None:
            compared += 1
            ours += whole_length(job, wire.path)
            theirs += reference[0]
            union |= grid_edges(wire.path)
            alone |= grid_edges(reference[1])
            corridors |= grid_edges(without_leads(job, list(wire.path), connection))
            ways |= grid_edges(without_leads(job, reference[1][::-1], connection))
    return Quality(routed, asked, no_way, compared, faults(job, routing), ours / max(theirs, 1e-9),
                   1 - len(union) / max(len(alone), 1), 1 - len(corridors) / max(len(ways), 1))


def arranged(job: Job, seconds: float, seed: int = 1) -> Job:
    """The job arranged by the project from scratch."""
    empty = cleared(job, frozenset(p.id for p in job.parts if p.away is None and not p.locked))
    return arrange(empty, seconds=seconds, seed=seed, clock=lambda: 0.0).job


def with_bend_room(job: Job) -> Job:
    """The same job, every terminal with room to bend its wire and modules as far apart."""
    document = dump_document(job)
    for kind in document["types"].values():
        kind["clearance"] = ROOM_MM
        for terminal in kind["terminals"]:
            terminal["room"] = ROOM_MM
    return load_document(document)


def dropped(job: Job) -> list[Job]:
    """Jobs in which one part was dropped a little aside; each part in turn."""
    jobs = []
    for number, part in enumerate(job.parts):
        if part.placement is None:
            continue
        document = dump_document(job)
        document["parts"][number]["placement"]["x"] = part.placement.x + 1.0
        jobs.append(load_document(document))
    return jobs


def curve(name: str, job: Job) -> Iterator[str]:
    """Length and union for lengths that may be so much longer, one line each."""
    for most in (1.0, 1.03, 1.06, 1.09, 1.15, 1.25):
        found = quality(job, plan_routes(job, weights=RouteWeights(most_longer=most, weighings=8)))
        yield (f"{name:26} {most:6.2f} {found.longer:8.3f} {100 * found.shorter_union:8.1f} % "
               f"{100 * found.shorter_corridors:8.1f} %")


def row(name: str, job: Job) -> str:
    """One line of the table."""
    plan_routes(job)
    start = process_time()
    routing = plan_routes(job)
    whole = process_time() - start
    again = []
    for changed in dropped(job)[:6]:
        start = process_time()
        plan_routes(changed, previous=routing)
        again.append(process_time() - start)
    start = process_time()
    crowded = congestion_of(job)
    estimate = process_time() - start
    found = quality(job, routing)
    for fault in found.broken[:5]:
        print("   ", fault)
    return (f"{name:26} {found.routed:4}/{found.asked:<3} {found.no_way:6} {len(found.broken):6} "
            f"{found.compared:8} "
            f"{found.longer:8.3f} {100 * found.shorter_union:8.1f} % "
            f"{100 * found.shorter_corridors:8.1f} % {whole * 1000:7.0f} ms "
            f"{median(again) * 1000 if again else 0:7.0f} ms {estimate * 1000:5.0f} ms "
            f"{crowded.worst:7.2f} {len(routing.tight_bends):6}")


def eighty_wires() -> Job:
    """Eighty wires between 36 modules on 300 x 400 mm."""
    document = dump_document(with_bend_room(family_job(36, 3)))
    side = document["plate"]["outline"][2][0]
    document["plate"]["outline"] = [[0, 0], [300, 0], [300, 400], [0, 400]]
    document["body"] |= {"width": 360, "height": 520}
    document["body"]["opening"] |= {"width": 340}
    document["connections"] = document["connections"][:80]
    for part in document["parts"]:
        part["placement"]["x"] *= 300 / side
        part["placement"]["y"] *= 400 / side
    for kind in document["types"].values():
        for key, share in (("outline", None),):
            kind[key] = [[round(x * 300 / side, 1), round(y * 400 / side, 1)]
                         for x, y in kind[key]]
            assert share is None
        for terminal in kind["terminals"]:
            terminal["x"] = round(terminal["x"] * 300 / side, 1)
            terminal["y"] = round(terminal["y"] * 400 / side, 1)
    return load_document(document)


def main() -> None:
    """Print the table."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--seconds", type=float, default=3.0)
    ask.add_argument("--counts", default="12,25,40")
    ask.add_argument("--seeds", type=int, default=2)
    ask.add_argument("--only", default="demos,family,eighty")
    ask.add_argument("--curve", action="store_true")
    told = ask.parse_args()
    if not told.curve:
        print(f"{'job':26} {'routed':>8} {'no way':>6} {'broken':>6} {'compared':>8} "
              f"{'length':>8} {'union':>10} {'corridors':>10} {'cpu':>10} {'again':>10} "
              f"{'crowd':>8} {'fullest':>7} {'tight':>6}")
    for name, job in _jobs(told):
        for line in curve(name, job) if told.curve else [row(name, job)]:
            print(line, flush=True)


def _jobs(told: argparse.Namespace) -> Iterator[tuple[str, Job]]:
    """The jobs that are asked for, arranged."""
    if "demos" in told.only:
        for path in sorted(DEMOS.glob("*.json")):
            job = load_document(json.loads(path.read_text()))
            yield path.stem, arranged(job, told.seconds)
    if "family" in told.only:
        for count in (int(c) for c in told.counts.split(",")):
            for seed in range(1, told.seeds + 1):
                job = with_bend_room(family_job(count, seed))
                yield f"{count} modules, seed {seed}", arranged(job, told.seconds)
    if "eighty" in told.only:
        yield "80 wires, 300 x 400", eighty_wires()


if __name__ == "__main__":
    main()

"""Quality and time of routing (`python -m tests.benchmarks.wiring`).

Demo jobs, and the seeded family of the arranging benchmark with 12 mm to bend wires at every
terminal and between modules, all arranged by the project; and 80 wires on 300 x 400 mm. For each
job: wires routed, of those asked for; wires without a way that the independent search finds none
for either, on both faces; laws broken (an independent judge); wires that the independent search
has a way for too. For these: total length over the sum of the shortest obstacle-avoiding ways
found for each wire alone on its 5 mm grid, from cell to cell through free ground, however narrow,
on the faces that our wire uses; and how much shorter the union of all ways is, each edge of the
grid counted once for both, with the straight part at each terminal ("union") and without it
("corridors"). Then processor time of all routes, of the routes again after one part was dropped,
and of the estimate how crowded the arrangement is; how full it says the fullest passage is; and
bends that are too tight.

`--curve` prints, in place of times, what weighing the opening of runs more or less does: length and
union side by side. `--bound` prints how much shorter the union can be at most on that grid, while
all lengths together are at most 1.10 times the shortest (`wiring_bound.py`).
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

import shapely

from layout_engine import Job, arrange, dump_document, load_document
from layout_engine.arranging.arranger import cleared
from layout_engine.model.job import Connection
from layout_engine.sizing.routed import sized_routes
from layout_engine.wiring import PathPoint, RouteWeights, Routing, congestion_of, plan_routes
from tests.benchmarks.arranging import DEMOS, family_job
from tests.benchmarks.wiring_bound import most_shorter
from tests.benchmarks.wiring_grid import THROUGH_MM, each_alone, grid_edges, terminal_at
from tests.layout_engine.wiring.laws import faults, placed

ROOM_MM = 12.0  # bend room of the family's terminals

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
    ours = theirs = 0.0
    union, alone, corridors, ways = set(), set(), set(), set()
    routed = asked = no_way = compared = 0
    for one in each_alone(job, routing):
        wire, lies = one.wire, one.wire.state == "routed"
        if not lies and one.found is None:
            no_way += 1
            continue
        asked += 1
        routed += lies
        if lies and one.found is not None:
            compared += 1
            ours += whole_length(job, wire.path)
            theirs += one.length
            union |= grid_edges(wire.path)
            alone |= grid_edges(one.path)
            corridors |= grid_edges(without_leads(job, list(wire.path), one.connection))
            ways |= grid_edges(without_leads(job, one.path, one.connection))
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


def bound(name: str, job: Job) -> str:
    """How much shorter the union is, and how much it can be at most, in one line."""
    routing = plan_routes(job)
    found = quality(job, routing)
    most = most_shorter(one for one in each_alone(job, routing)
                        if one.found is not None and one.wire.state == "routed")
    told = "too large" if most is None else (
        f"at most {100 * most[0]:.1f} %, no wire over {most[1]:g} mm longer than its shortest way")
    return f"{name:26} {found.longer:8.3f} {100 * found.shorter_union:8.1f} % {told}"


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


def sized(name: str, job: Job) -> Iterator[str]:
    """The figures of quality with wires as they are sized in the end; none without a battery."""
    found = sized_routes(job)
    if found.sizing is not None:
        good = quality(job, found.routing)
        yield (f"{name + ', sized':26.26} {good.routed:4}/{good.asked:<3} {good.no_way:6} "
               f"{len(good.broken):6} {good.compared:8} {good.longer:8.3f} "
               f"{100 * good.shorter_union:8.1f} % {100 * good.shorter_corridors:8.1f} %")


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
        kind["outline"] = [[round(x * 300 / side, 1), round(y * 400 / side, 1)]
                           for x, y in kind["outline"]]
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
    ask.add_argument("--bound", action="store_true")
    told = ask.parse_args()
    if not told.curve and not told.bound:
        print(f"{'job':26} {'routed':>8} {'no way':>6} {'broken':>6} {'compared':>8} "
              f"{'length':>8} {'union':>10} {'corridors':>10} {'cpu':>10} {'again':>10} "
              f"{'crowd':>8} {'fullest':>7} {'tight':>6}")
    for name, job in _jobs(told):
        for line in _lines(told, name, job):
            print(line, flush=True)


def _lines(told: argparse.Namespace, name: str, job: Job) -> Iterator[str]:
    """What is printed of a job."""
    if told.curve:
        yield from curve(name, job)
    elif told.bound:
        yield bound(name, job)
    else:
        yield row(name, job)
        yield from sized(name, job)


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

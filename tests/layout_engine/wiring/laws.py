"""Laws of routes, checked with plain shapely from the document alone: an independent judge."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import cos, hypot, radians, sin

import shapely
from shapely.geometry import LineString, Point, Polygon

from layout_engine import Job
from layout_engine.model.part import Part
from layout_engine.wiring import Routing, Run, Wire

# Larger of ISO 7045 head diameter and nut s/cos 30, as in the document's reference.
NUTS = {"M2": 4.62, "M2.5": 5.77, "M3": 6.35, "M4": 8.08, "M5": 9.5, "M6": 12.0}
# ISO 273, medium series.
CLEARANCE = {"M2": 2.4, "M2.5": 2.9, "M3": 3.4, "M4": 4.5, "M5": 5.5, "M6": 6.6}
NEVER_UNDER = {"fuse_block", "fuse_holder", "main_switch", "stop_button"}
RUN_TOP = 10.0  # keep-outs that begin higher leave runs alone
EPS = 1e-4


def placed(part: Part, point: tuple[float, float]) -> tuple[float, float]:
    """A part point on the plate, by the reference's formula."""
    where = part.placement
    assert where is not None
    x, y = (-point[0] if where.face == "back" else point[0]), point[1]
    c, s = cos(radians(where.turn)), sin(radians(where.turn))
    return c * x - s * y + where.x, s * x + c * y + where.y


def shape(part: Part, outline: tuple[tuple[float, float], ...]) -> Polygon:
    """A part polygon on the plate."""
    return Polygon([placed(part, p) for p in outline])


def may_run_under(job: Job, part: Part) -> bool:
    """Whether wires may lie beneath a part."""
    kind = job.type_of(part)
    return kind.wires_under and kind.standoff > 2 and kind.kind not in NEVER_UNDER


def solids(job: Job, face: str) -> dict[str, list[Polygon]]:
    """What stands on a face, by owner: outlines, what sticks out behind, sinks."""
    found: dict[str, list[Polygon]] = {}
    for part in job.placed:
        kind = job.type_of(part)
        assert part.placement is not None
        if part.placement.face == face:
            if not may_run_under(job, part):
                found.setdefault(part.id, []).append(shape(part, kind.outline))
            elif kind.heat and kind.heat.sink:
                found.setdefault(part.id, []).append(shape(part, kind.heat.sink))
        else:
            for behind in kind.behind:
                found.setdefault(part.id, []).append(shape(part, behind.outline))
    return found


def low_things(job: Job, face: str) -> dict[str, list[shapely.Geometry]]:
    """Nuts and heads on a face, by owner; a wire on its way to a terminal passes over them."""
    found: dict[str, list[shapely.Geometry]] = {}
    for mount in job.plate.mounts:
        size = max(mount.head_diameter, mount.diameter) / 2
        found.setdefault(mount.id, []).append(Point(mount.x, mount.y).buffer(size))
    for part in job.placed:
        kind = job.type_of(part)
        assert part.placement is not None
        if part.placement.face != face and kind.fixing == "screws":
            for fixing in kind.fixings:
                spot = Point(placed(part, (fixing.x, fixing.y)))
                found.setdefault(part.id, []).append(spot.buffer(NUTS[fixing.thread] / 2))
    return found


def zones(job: Job, face: str) -> dict[str, list[Polygon]]:
    """Keep-free ground on a face: of parts, and of the plate."""
    found: dict[str, list[Polygon]] = {}
    for part in job.placed:
        kind = job.type_of(part)
        assert part.placement is not None
        for zone in kind.keep_outs:
            if part.placement.face == face and kind.standoff + zone.height[0] < RUN_TOP:
                found.setdefault(part.id, []).append(shape(part, zone.outline))
    for index, keep_out in enumerate(job.plate.keep_outs):
        if face in keep_out.faces and keep_out.max_height < RUN_TOP:
            found[keep_out.label or f"keep_outs[{index}]"] = [Polygon(keep_out.outline)]
    return found


def aerials(job: Job, face: str) -> dict[str, Polygon]:
    """Ground on a face within a quarter wave (at most 50 mm) of an antenna, 5 mm over the face."""
    found = {}
    for part in job.placed:
        antenna = job.type_of(part).antenna
        if antenna is None:
            continue
        assert part.placement is not None
        reach = antenna.keep_from_metal
        if reach is None:
            reach = min(299_792.458 / antenna.band_mhz / 4, 50.0)  # c / f / 4, mm
        rise = job.type_of(part).standoff + antenna.z
        rise += 0.0 if part.placement.face == face else job.plate.thickness
        level = max(0.0, rise - 5.0)
        if level < reach:
            spot = Point(placed(part, (antenna.x, antenna.y)))
            found[part.id] = spot.buffer((reach**2 - level**2) ** 0.5)
    return found


def ends_in(job: Job, wire: Wire, owner: str, ground: Polygon) -> bool:
    """Whether a wire must come near an antenna: one of its terminals is there."""
    if owner in (wire.from_.split(".")[0], wire.to.split(".")[0]):
        return True
    for key in (wire.from_, wire.to):
        part_id, terminal_id = key.split(".")
        part = job.part(part_id)
        if part.placement is not None:
            terminal = job.type_of(part).terminal(terminal_id)
            room = ground.buffer(terminal.room + 10.0)  # where its wire is bent aside
            if room.covers(Point(placed(part, (terminal.x, terminal.y)))):
                return True
    return False


def board(job: Job) -> Polygon:
    """The plate with its cut-outs; convex corners rounded only where a test gives a radius."""
    return Polygon(job.plate.outline, job.plate.holes)


def faults(job: Job, routing: Routing) -> list[str]:
    """Every law that the routes of a job break, in words; none for good routes."""
    found = [f"{c.kind}: {', '.join(c.wires)}" for c in routing.conflicts]
    faces = {face: (solids(job, face), low_things(job, face), zones(job, face))
             for face in ("front", "back")}
    for wire in routing.wires:
        if wire.state == "routed":
            found += [f"{wire.id}: {fault}" for fault in wire_faults(job, routing, wire, faces)]
    outer = {wire.id: wire.outer for wire in routing.wires}
    found += [f"{run.id} does not fit its corridor" for run in routing.runs
              if run.diameter > run.width + 1e-3 and not _stands_flat(run, outer)]
    return found + list(hole_faults(job, routing))


def hole_faults(job: Job, routing: Routing) -> Iterator[str]:
    """Holes for wires that are too near to an edge or another hole, by the document's reference.

    From the centre to an edge or cut-out 2.5 diameters; a bridge of the larger one, at least 2 mm.
    """
    rims, there = rims_and_holes(job)
    drilled = [p for p in routing.passes if p.kind == "drilled"]
    for number, one in enumerate(drilled):
        spot = Point(one.x, one.y)
        if min(rim.distance(spot) for rim in rims) < 2.5 * one.hole - 0.01:
            yield f"{one.id} is too near an edge"
        for x, y, wide in (*there, *((p.x, p.y, p.hole) for p in drilled[:number])):
            bridge = hypot(x - one.x, y - one.y) - (wide + one.hole) / 2
            if bridge < max(wide, one.hole, 2.0) - 0.01:
                yield f"{one.id} is too near the hole at {x}, {y}"


def rims_and_holes(job: Job) -> tuple[list[shapely.Geometry], list[tuple[float, float, float]]]:
    """Edges of the plate and of what parts need cut out, and every round hole that is there.

    Holes: centre and diameter, mm.
    """
    plate = board(job)
    rims: list[shapely.Geometry] = [plate.exterior, *plate.interiors]
    there = [(m.x, m.y, m.diameter) for m in job.plate.mounts]
    there += [(h.x, h.y, h.diameter) for h in job.plate.existing_holes]
    for part in job.placed:
        kind = job.type_of(part)
        if kind.fixing == "screws":
            there += [(*placed(part, (f.x, f.y)), CLEARANCE[f.thread]) for f in kind.fixings]
        rims += [shape(part, t).exterior if isinstance(t, tuple) else
                 Point(placed(part, (t.x, t.y))).buffer(t.diameter / 2, quad_segs=64).exterior
                 for t in kind.through]
    return rims, there


def wire_faults(job: Job, routing: Routing, wire: Wire, faces: dict[str, tuple[dict, ...]]
                ) -> Iterator[str]:
    """Laws that one wire breaks."""
    yield from _step_faults(job, routing, wire)
    path = wire.path
    plate = board(job).buffer(EPS)
    ends = [key.split(".")[0] for key in (wire.from_, wire.to)]
    for number, ((x, y, face), (p, q, other)) in enumerate(pairwise(path)):
        if face != other:
            continue
        leg = LineString([(x, y), (p, q)])
        if not plate.covers(leg) and not _leaves(job, leg):
            yield f"leaves the plate between {x}, {y} and {p}, {q}"
        own = {end for end, last in ((ends[0], 0), (ends[1], len(path) - 2)) if number == last}
        yield from _met(wire, leg, faces[face], own)
        for owner, ground in aerials(job, face).items():
            if not ends_in(job, wire, owner, ground) and leg.intersects(ground.buffer(-0.5)):
                yield f"passes within the quarter wave of {owner}"
    if wire.length is not None and path:
        straight = hypot(path[-1][0] - path[0][0], path[-1][1] - path[0][1])
        if wire.length < straight:
            yield "is shorter than the straight line"


def _step_faults(job: Job, routing: Routing, wire: Wire) -> Iterator[str]:
    """Steps of a path that are no steps."""
    for (x, y, face), (p, q, other) in pairwise(wire.path):
        if face != other:
            if hypot(p - x, q - y) > EPS:
                yield "changes face and place at once"
            if not _is_pass(job, routing, wire, x, y):
                yield f"changes face at {x}, {y} where nothing goes through"
        elif hypot(p - x, q - y) < EPS:
            yield "has a leg without length"


def _stands_flat(run: Run, outer: dict[str, float]) -> bool:
    """Whether the wires of a run stand in columns in its corridor, at most 20 mm high."""
    wires = [outer[wire] for wire in run.wires]
    columns = int((run.width + 1e-3) // max(wires))
    return columns > 0 and sum(wires) / columns <= 20.0 + 1e-3


def _met(wire: Wire, leg: LineString, things: tuple[dict, ...], own: set[str]
         ) -> Iterator[str]:
    """Things that a leg comes too near to; first and last legs leave their own part."""
    solid, low, zone = things
    for owner, shapes in solid.items():
        for thing in shapes:
            room = leg.distance(thing)
            if owner in own:
                inside = leg.intersection(thing)
                if len(shapely.get_parts(inside)) > 1:
                    yield f"comes back over its own part {owner}"
            elif room < (0.9 if own else wire.outer / 2) - EPS:
                yield f"comes within {room:.2f} mm of {owner}"
    if own:
        return
    for group in (low, zone):
        for owner, shapes in group.items():
            if min(leg.distance(thing) for thing in shapes) < wire.outer / 2 - 0.05:
                yield f"comes within a nut's or a zone's ground of {owner}"


def _leaves(job: Job, leg: LineString) -> bool:
    """Whether a leg ends in a cut-out of the plate, where a wire goes through or leaves."""
    ends = [Point(p) for p in leg.coords]
    return any(Polygon(hole).buffer(EPS).covers(end) for hole in job.plate.holes for end in ends)


def _is_pass(job: Job, routing: Routing, wire: Wire, x: float, y: float) -> bool:
    for through in routing.passes:
        if through.id in wire.passes and hypot(through.x - x, through.y - y) < EPS:
            if through.kind == "plate_edge":
                return board(job).exterior.distance(Point(x, y)) < EPS
            if through.kind == "cut_out":
                return any(Polygon(h).covers(Point(x, y)) for h in job.plate.holes)
            return through.hole > 0 and board(job).covers(Point(x, y).buffer(through.hole / 2))
    return False

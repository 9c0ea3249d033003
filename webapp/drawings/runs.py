"""Runs of wires on the board: grey bands of true width, each wire's number at both ends.

Runs that the cut list names bear their names, where the page finds room for them.

Bands lie below the modules and go on above them from a module's edge to the terminal. Each layer
is the edges of all its bands, then the grounds of all: where runs meet no line is between them.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import dist, hypot

from layout_engine.geometry.frames import Pose
from layout_engine.model.job import Job
from layout_engine.model.plate import Face
from layout_engine.wiring import Clamp, PathPoint, Routing, Run, TiePoint, Wire
from webapp.drawings.board import board
from webapp.drawings.module import TERMINAL_MM
from webapp.drawings.primitives import (
    Circle,
    Command,
    Drawing,
    Group,
    Item,
    Line,
    Path,
    Pen,
    bent,
    figure,
    polygon,
)
from webapp.drawings.seen import Point, Seen, View

END_MM = 7.0  # across the ring round an end of the traced wire
FLAG_MM = 11.0  # from a terminal to its wire's number
FLAG_STEP_MM = 6.0  # to the next place along the wire, where the first is taken
FLAG_PLACES = 5
NAME_SHARES = (0.5, 0.35, 0.65, 0.2, 0.8)  # along a run, where its name may stand
HOLE_NAME_MM = 4.5  # from a hole's edge to the middle of its name
BEND_MM = 4.0  # radius of a drawn bend, at most
CLAMP_BAR_MM = 6.0  # of a clamp beyond the bundle; its two lines stand half of that apart
BENEATH_MM = 5.0  # what is shorter, beneath a module, has no room for a dash
FAR_MM = 20_000.0  # farther than any plate reaches
WIDTHS = 10.0  # bands are drawn in steps of a tenth of a millimetre


@dataclass(frozen=True, slots=True)
class RunLayers:
    """What is drawn below the modules, what above them, and the numbers over all."""

    under: tuple[Group, ...]
    over: tuple[Group, ...]
    flags: Group


def routed_board(routing: Routing, view: View, traced: str = "") -> Drawing:
    """The board of one face with all runs, wires, ties and holes for wires of that face.

    Holes for wires bear their names, and marks stand where wires find no way. traced: the wire
    whose way and ends stand out.
    """
    plain = board(routing.job, view)
    seen = Seen(view, *routing.job.plate.size)
    layers = run_layers(routing, view, traced)
    way = [_traced(wire, seen.face, seen) for wire in routing.wires
           if wire.id == traced and seen.face in {point[2] for point in wire.path}]
    title = plain.title.replace("Board of", "Wires on the board of", 1)
    first = next(n for n, item in enumerate(plain.items)
                 if isinstance(item, Group) and item.role == "modules")
    return replace(plain, title=title, items=(
        *plain.items[:first], *layers.under, *plain.items[first:], *layers.over, *way,
        layers.flags, Group(tuple(_hole_names(routing, seen)), "hole_names"),
        Group(tuple(_conflict_marks(routing, seen)), "conflicts")))


def _hole_names(routing: Routing, seen: Seen) -> Iterator[Group]:
    """What the list calls the holes for wires, beside each."""
    for one in routing.passes:
        if one.hole:
            aside = one.hole / 2 + HOLE_NAME_MM
            around = ((aside, 0.0), (-aside, 0.0), (0.0, aside), (0.0, -aside))
            yield _flag("", one.id, seen.points((one.x + dx, one.y + dy) for dx, dy in around),
                        hole=one.id)


def _conflict_marks(routing: Routing, seen: Seen) -> Iterator[Group]:
    """A mark where a wire finds no way, a run has no room or a pinned wire meets something."""
    for x, y in sorted({(c.x, c.y) for c in routing.conflicts if c.face == seen.face}):
        yield Group((), "mark", transform=(0.0, False, *seen.point(x, y)), data={"sign": "warn"})


def _run_names(routing: Routing, seen: Seen, traced: str) -> Group:
    """Names of the runs of the shown face, each near the middle of its run."""
    return Group(tuple(
        _flag("", run.id, seen.points(
            along_path(run.path, share * run.length) for share in NAME_SHARES),
              run=run.id, long=figure(run.length), **_stands_out(traced in run.wires))
        for run in routing.runs if run.is_named and run.face == seen.face), "run_names")


def _stands_out(is_traced: bool) -> dict[str, str]:
    return {"traced": "yes"} if is_traced else {}


def run_layers(routing: Routing, view: View, traced: str = "") -> RunLayers:
    """Bands, ties and holes of the shown face; seen through, the far face's as well, hidden.

    Over them the numbers of the wires, and the names of the shown face's runs; those of the traced
    wire stand out.
    """
    seen = Seen(view, *routing.job.plate.size)
    faces: tuple[Face, ...] = ("back", "front") if view == "through" else (seen.face,)
    under, over = [], []
    for face in faces:
        far = " far" if face != seen.face else ""
        under.append(Group(tuple(_bands(routing, face, seen)), f"runs{far}"))
        over.append(Group(tuple(_beneath(routing, face, seen)), f"runs_beneath{far}"))
        over.append(Group(tuple(_last_legs(routing, face, seen)), f"wire_ends{far}"))
        under.append(Group(tuple(
            item for tie in routing.ties if tie.face == face
            for item in _tie(tie, routing, seen)), f"ties{far}"))
        under.append(Group(tuple(
            item for clamp in routing.clamps if clamp.face == face
            for item in _clamp(clamp, seen)), f"clamps{far}"))
    under.append(Group(tuple(
        Circle(*seen.point(p.x, p.y), p.hole, "outline", "hole")
        for p in routing.passes if p.hole), "wire_holes"))
    numbers = (
        Group(tuple(_flag(wire.id, str(wire.number), places, **_stands_out(wire.id == traced))
                    for wire in routing.wires for places in flag_places(wire, seen, face)),
              "near" if face == seen.face else "far") for face in faces)
    return RunLayers(tuple(under), tuple(over),
                     Group((*numbers, _run_names(routing, seen, traced)), "flags"))


def _flag(wire: str, words: str, places: Iterable[Point], **more: str) -> Group:
    """A wire's number or a run's name; the page takes the first place that is free of others."""
    spots = tuple(places)
    return Group((), "flag", wire, transform=(0.0, False, *spots[0]), data={
        "words": words, "places": ";".join(f"{figure(x)} {figure(y)}" for x, y in spots), **more})


def faces_used(routing: Routing) -> tuple[View, ...]:
    """The faces on which something stands or runs, the front first."""
    faces = {face for wire in routing.wires for _, _, face in wire.path}
    faces |= {p.placement.face for p in routing.job.placed if p.placement is not None}
    return tuple(face for face in ("front", "back") if face in faces) or ("front",)


def pieces_on(path: Sequence[PathPoint], face: str) -> tuple[tuple[Point, ...], ...]:
    """The stretches of a path that lie on a face, mm as seen from the front."""
    pieces: list[list[Point]] = [[]]
    for x, y, on in path:
        if on == face:
            pieces[-1].append((x, y))
        elif pieces[-1]:
            pieces.append([])
    return tuple(tuple(piece) for piece in pieces if len(piece) > 1)


def way_of(wire: Wire, face: str, seen: Seen) -> Path:
    """A wire's way on a face as one stroke with rounded bends; no commands where it has none."""
    return Path(tuple(
        command for piece in pieces_on(wire.path, face)
        for command in bent(seen.points(piece), BEND_MM)), "band", width=wire.outer)


def flag_places(wire: Wire, seen: Seen, face: Face) -> Iterator[tuple[Point, ...]]:
    """For each end on a face: where its number may stand, the best place first."""
    for path in (wire.path, wire.path[::-1]):
        if len(path) < 2 or not path[0][2] == path[1][2] == face:
            continue
        stretch = pieces_on(path, face)[0]
        whole = sum(hypot(bx - ax, by - ay) for (ax, ay), (bx, by) in pairwise(stretch))
        wanted = [FLAG_MM + FLAG_STEP_MM * n for n in range(FLAG_PLACES)]
        places = [along for along in wanted if along <= whole / 2] or [whole / 2]
        yield seen.points(along_path(stretch, along) for along in places)


def along_path(stretch: Sequence[Point], along: float) -> Point:
    """The point of a stretch so many mm after its start; its end where it is shorter."""
    left = along
    for (ax, ay), (bx, by) in pairwise(stretch):
        length = hypot(bx - ax, by - ay)
        if left <= length and length:
            return ax + (bx - ax) * left / length, ay + (by - ay) * left / length
        left -= length
    return stretch[-1]


def _bands(routing: Routing, face: str, seen: Seen) -> Iterator[Path]:
    """Every wire on its way to a run, and every run as wide as its bundle lies."""
    wires = [(way_of(wire, face, seen).commands, wire.outer) for wire in routing.wires]
    runs = [(bent(seen.points(run.path), BEND_MM), run.lies_wide) for run in routing.runs
            if run.face == face and len(run.path) > 1]
    yield from _both_coats((*wires, *runs))


def _both_coats(bands: Iterable[tuple[tuple[Command, ...], float]]) -> Iterator[Path]:
    """Edges of all bands, then their grounds, one path for all bands of one width."""
    by_width: dict[float, list[Command]] = defaultdict(list)
    for commands, width in bands:
        by_width[max(1.0, round(width * WIDTHS)) / WIDTHS].extend(commands)
    pens: tuple[Pen, ...] = ("band_edge", "band")
    for pen in pens:
        for width, steps in sorted(by_width.items()):
            if steps:
                yield Path(tuple(steps), pen, width=width)


def _beneath(routing: Routing, face: str, seen: Seen) -> Iterator[Line]:
    """Where runs go on beneath modules, as hidden lines over them."""
    modules = {part.id: [Pose.of(part.placement).point(x, y)
                         for x, y in routing.job.type_of(part).outline]
               for part in routing.job.placed if part.placement and part.placement.face == face}
    own: dict[tuple[float, float], set[str]] = defaultdict(set)  # at terminals they lie above
    for wire in routing.wires:
        for end, path in ((wire.from_, wire.path[:1]), (wire.to, wire.path[-1:])):
            for x, y, _ in path:
                own[x, y].add(end.split(".")[0])
    for run in routing.runs:
        for a, b in pairwise(run.path) if run.face == face else ():
            for part, outline in modules.items():
                if part not in own.get(a, ()) and part not in own.get(b, ()):
                    yield from (Line(*seen.point(*c), *seen.point(*d), "hidden")
                                for c, d in _inside(a, b, outline) if dist(c, d) > BENEATH_MM)


def _inside(a: Point, b: Point, outline: Sequence[Point]) -> Iterator[tuple[Point, Point]]:
    """The stretches of a leg that lie inside an outline."""
    cuts = sorted({0.0, 1.0, *(t for t in _crossings(a, b, outline) if 0 < t < 1)})
    dx, dy = b[0] - a[0], b[1] - a[1]
    for one, other in pairwise(cuts):
        middle = (a[0] + dx * (one + other) / 2, a[1] + dy * (one + other) / 2)
        beyond = (middle[0] + FAR_MM, middle[1] + FAR_MM / 7)
        if len(list(_crossings(middle, beyond, outline))) % 2:
            yield (a[0] + dx * one, a[1] + dy * one), (a[0] + dx * other, a[1] + dy * other)


def _last_legs(routing: Routing, face: str, seen: Seen) -> Iterator[Path]:
    """From the edge of a module to the terminal on it, for every wire of a face."""
    legs = []
    for wire in routing.wires:
        for end, path in ((wire.from_, wire.path), (wire.to, wire.path[::-1])):
            leg = _last_leg(routing.job, end.split(".")[0], path, face)
            if leg:
                legs.append((bent(seen.points(leg), 0.0), wire.outer))
    yield from _both_coats(legs)


def _last_leg(job: Job, part_id: str, path: Sequence[PathPoint], face: str
              ) -> tuple[Point, Point] | None:
    part = job.part(part_id)
    if part.placement is None or len(path) < 2 or not path[0][2] == path[1][2] == face:
        return None
    (ax, ay), (bx, by) = path[0][:2], path[1][:2]
    length = hypot(bx - ax, by - ay)
    pose = Pose.of(part.placement)
    outline = [pose.point(x, y) for x, y in job.type_of(part).outline]
    reach = _leaves_at((ax, ay), (bx, by), outline) * length
    if reach <= TERMINAL_MM / 2:
        return None
    ux, uy = (bx - ax) / length, (by - ay) / length
    return ((ax + ux * TERMINAL_MM / 2, ay + uy * TERMINAL_MM / 2), (ax + ux * reach,
                                                                    ay + uy * reach))


def _leaves_at(a: Point, b: Point, outline: Sequence[Point]) -> float:
    """The share of a leg after which it is outside an outline; 0: it never was inside."""
    return max((min(1.0, t) for t in _crossings(a, b, outline)), default=0.0)


def _crossings(a: Point, b: Point, outline: Sequence[Point]) -> Iterator[float]:
    """The shares of a leg at which it crosses an outline, in no order."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    for (px, py), (qx, qy) in zip(outline, (*outline[1:], outline[0]), strict=True):
        ex, ey = qx - px, qy - py
        cross = dx * ey - dy * ex
        if abs(cross) < 1e-9:
            continue
        t = ((px - a[0]) * ey - (py - a[1]) * ex) / cross
        u = ((px - a[0]) * dy - (py - a[1]) * dx) / cross
        if -1e-9 <= u <= 1 + 1e-9 and 0 < t <= 1 + 1e-9:
            yield t


def _tie(tie: TiePoint, routing: Routing, seen: Seen) -> Iterator[Item]:
    """A stroke across the bundle, and what is drilled for it or stuck on below it."""
    x, y = seen.point(tie.x, tie.y)
    way = _direction(next(run for run in routing.runs if run.id == tie.run), tie, seen)
    half = tie.bundle / 2 + 1.0
    yield Line(x - way[1] * half, y + way[0] * half, x + way[1] * half, y - way[0] * half)
    for hx, hy, diameter in tie.holes:
        yield Circle(*seen.point(hx, hy), diameter, "thin", "hole")
    if tie.kind == "foot":
        yield polygon(tuple(
            (x + way[0] * a * half - way[1] * b * half, y + way[1] * a * half + way[0] * b * half)
            for a, b in ((1, 1), (-1, 1), (-1, -1), (1, -1))), "fine")


def _clamp(clamp: Clamp, seen: Seen) -> Iterator[Item]:
    """A double bar across the leads with its screws, one stroke for a tie through two slots.

    Dashed where nothing holds them.
    """
    if clamp.kind == "tie":
        return
    x, y = seen.point(clamp.x, clamp.y)
    ahead = seen.point(clamp.x + clamp.way[0], clamp.y + clamp.way[1])
    ux, uy = ahead[0] - x, ahead[1] - y
    screwed = clamp.kind in ("saddle", "clip")
    half = clamp.bundle / 2 + (CLAMP_BAR_MM if screwed else 1.0)
    for along in (0.0,) if clamp.kind == "strap" else (-CLAMP_BAR_MM / 4, CLAMP_BAR_MM / 4):
        px, py = x + ux * along, y + uy * along
        yield Line(px - uy * half, py + ux * half, px + uy * half, py - ux * half,
                   "thin" if clamp.holes else "hidden")
    for hx, hy, diameter in clamp.holes:
        yield Circle(*seen.point(hx, hy), diameter, "thin", "hole")


def _direction(run: Run, tie: TiePoint, seen: Seen) -> Point:
    """The direction of the leg that a tie holds, in the view."""
    left = tie.along
    legs = list(pairwise(seen.points(run.path)))
    for (ax, ay), (bx, by) in legs:
        length = hypot(bx - ax, by - ay)
        if length and (left <= length + 1e-6 or (bx, by) == legs[-1][1]):
            return (bx - ax) / length, (by - ay) / length
        left -= length
    return 1.0, 0.0


def _traced(wire: Wire, face: str, seen: Seen) -> Group:
    """One wire's way on a face, a ring round each of its ends there."""
    way = replace(way_of(wire, face, seen), pen="outline", width=0.0)
    ends = [Circle(*seen.point(x, y), END_MM, "outline", "none")
            for x, y, on in (*wire.path[:1], *wire.path[-1:]) if on == face]
    return Group((way, *ends), "traced", data={"wire": wire.id})

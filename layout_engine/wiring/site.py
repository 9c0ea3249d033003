"""The board as wires see it: what is in the way on each face, where wires begin, end and cross.

All coordinates are those of one `View` of the plate.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import hypot, sqrt

import numpy as np

from layout_engine.arranging.cost import exit_of
from layout_engine.checks.scene import Scene
from layout_engine.checks.standing import Standing
from layout_engine.geometry.frames import Points, unit
from layout_engine.geometry.shapes import Shape, leaves_at, shape_of
from layout_engine.geometry.wire_ground import (
    HAIR_MM,
    WireGround,
    circle_about,
    moved_by,
    plate_rings,
    within_piece,
)
from layout_engine.model.job import Job
from layout_engine.model.part import Part
from layout_engine.tables.radio import metal_warn_distance
from layout_engine.tables.sourced import COMMON_PRACTICE, Sourced
from layout_engine.wiring.obstacles import RUN_TOP, SIDE_MM, Obstacle, obstacles_of, wires_under
from layout_engine.wiring.symmetry import View, standard_view

LEAST_STUB = Sourced(4.0, "mm", COMMON_PRACTICE, "straight wire before its first bend")
EDGE_STUB = Sourced(8.0, "mm", COMMON_PRACTICE, "straight wire where it leaves the plate")
LEAST_CUT_OUT = Sourced(8.0, "mm", COMMON_PRACTICE, "narrowest cut-out that wires go through")
EDGE_PORT_SPACING_MM = 40.0  # places along a plate edge that are tried for going round it
FINE_PITCH_MM, PITCH_MM = 5.0, 6.0  # of the tracks that are tried in open ground
COARSE_PITCH_MM = 10.0
MOST_WORK = 140_000.0  # wires times squares between tracks, at most
FAR_MM = 80.0
END_ROOM = Sourced(4.0, "mm", COMMON_PRACTICE, "round the place where a wire is bent aside")
ZONE_SLICE_MM = 3.0  # of an aerial's ground, which wires pass between corners and it
END_STEP_MM, END_STEPS = 1.5, 7  # lengths near the wanted one that are tried
FINE_STEP_MM, FINE_STEPS = 0.5, 40  # the same where none of those has room for a common wire
COMMON_ROOM = Sourced(2.0, "mm", COMMON_PRACTICE, "half of a common wire, and ground beside it")


@dataclass(frozen=True, slots=True)
class Start:
    """Where one end of a wire enters the corridors: points from the end, then the way it goes."""

    face: int
    points: tuple[tuple[float, float], ...]
    way: tuple[float, float]

    @property
    def last(self) -> tuple[float, float]:
        """The point where corridors begin."""
        return self.points[-1]

    @property
    def axis(self) -> int:
        """The axis along which the wire arrives: 0 for x, 1 for y."""
        return int(abs(self.way[1]) > abs(self.way[0]))

    @property
    def length(self) -> float:
        """Length [mm] of the straight part."""
        return sum(hypot(b[0] - a[0], b[1] - a[1])
                   for a, b in pairwise(self.points))


@dataclass(frozen=True, slots=True)
class End:
    """One end of a wire: a terminal on the board, or where a lead leaves it.

    height: of the terminal over its face [mm]; lead: beyond the plate [mm]; away: elsewhere.
    """

    key: str
    part: str
    starts: tuple[Start, ...]
    height: float
    lead: float
    away: bool
    lift_out: bool


@dataclass(frozen=True, slots=True)
class Port:
    """A place where wires can change face: starts on face 0 and on face 1, largest bundle [mm]."""

    kind: str
    x: float
    y: float
    starts: tuple[tuple[Start, ...], tuple[Start, ...]]
    bundle: float


@dataclass(frozen=True, slots=True)
class Aerial:
    """Ground within the antenna's quarter wave on one face."""

    x: float
    y: float
    radius: float
    face: int
    part: str


class Site:
    """A job's board for wires, in one view."""

    def __init__(self, job: Job, scene: Scene | None = None) -> None:
        self.job, self.coarse, self.quick = job, False, False
        self.scene = scene or Scene(job)
        self.view = standard_view(*job.plate.size, _spots(job, self.scene))
        self.size = self.view.size
        self.thickness = job.plate.thickness
        rings = [self.view.points(ring) for ring in plate_rings(self.scene.plate)]
        self.outer, self.cut_outs = rings[0], rings[1:]
        found = obstacles_of(job, self.scene)
        self.obstacles = tuple(
            tuple(Obstacle(moved_by(o.shape, self.view.points), o.owner, o.zone, o.low)
                  for o in found[self.view.face_back(number)])
            for number in (0, 1)
        )
        self.grounds = tuple(
            WireGround([o.shape for o in side], rings) for side in self.obstacles
        )
        self.tall = tuple(
            WireGround([o.shape for o in side if not o.low], rings) for side in self.obstacles
        )
        self.under = tuple(
            tuple((moved_by(s.outline, self.view.points), s.type.standoff)
                  for s in self.scene.standing.values()
                  if wires_under(s) and s.face == self.view.face_back(number))
            for number in (0, 1)
        )
        self.aerials = tuple(aerials_of(self.scene, self.view))
        self._from_edge: dict[tuple[int, float, float], list[Start]] = {}
        self.pitch = self._pitch()
        self.ends = self._ends()

    def use_fewer_tracks(self) -> None:
        """For when few wires are laid beside many that stay, on whose tracks they may run too.

        From then on holes and gaps beside aerials are sought less closely (`quick`).
        """
        self.coarse, self.pitch, self.quick = True, max(self.pitch, COARSE_PITCH_MM), True

    def use_all_tracks(self) -> None:
        """For when fewer tracks do not lead every wire to its end."""
        self.coarse, self.pitch = False, self._pitch()

    def _pitch(self) -> float:
        odd = any(s.pose.turn % 90.0 for s in self.scene.standing.values())
        side = sqrt(self.size[0] * self.size[1])
        finest = side * sqrt(len(self.job.connections) / MOST_WORK)
        return max(FINE_PITCH_MM if odd else PITCH_MM, finest)

    def _ends(self) -> dict[str, End]:
        """Every end that a connection has and that has a place, by its key."""
        keys = {key for c in self.job.connections for key in (c.from_, c.to)}
        terminals: list[tuple[str, Standing, str]] = []
        ends: dict[str, End] = {}
        for key in sorted(keys):
            part_id, terminal_id = key.split(".")
            part = self.job.part(part_id)
            if part.away is not None:
                ends[key] = self._exit(key, part)
            elif part_id in self.scene.standing:
                terminals.append((key, self.scene.standing[part_id], terminal_id))
        for face in (0, 1):
            here = [t for t in terminals if self.view.face(t[1].face) == face]
            ends |= self._terminals(face, here)
        return ends

    def _terminals(self, face: int, terminals: list[tuple[str, Standing, str]]) -> dict[str, End]:
        if not terminals:
            return {}
        spots, edges, ways, rooms = [], [], [], []
        for _, standing, terminal_id in terminals:
            terminal = standing.type.terminal(terminal_id)
            x, y = standing.pose.point(terminal.x, terminal.y)
            c, s = unit(standing.pose.direction(terminal.leaves))
            out = leaves_at(terminal.x, terminal.y, terminal.leaves, standing.type.outline)
            spots.append(self.view.point(x, y))
            edges.append(self.view.point(x + c * out, y + s * out))
            ways.append(self.view.way(c, s))
            rooms.append(max(terminal.room, LEAST_STUB.value))
        free = self._free(self.tall[face], np.array(edges), np.array(ways))
        wanted = np.array([_stub(r, float(f)) for r, f in zip(rooms, free, strict=True)])
        least = np.array([
            -hypot(e[0] - p[0], e[1] - p[1]) if wires_under(t[1]) else w / 2
            for e, p, t, w in zip(edges, spots, terminals, wanted, strict=True)])
        stubs = self._at_free_points(face, (np.array(edges), np.array(ways)), wanted, least,
                                     np.maximum(free - SIDE_MM, wanted))
        ends = {}
        for n, (key, standing, terminal_id) in enumerate(terminals):
            stub = self._clear_of_zones(face, standing.id, edges[n], ways[n], float(stubs[n]))
            last = edges[n][0] + ways[n][0] * stub, edges[n][1] + ways[n][1] * stub
            start = Start(face, (spots[n], last), ways[n])
            terminal = standing.type.terminal(terminal_id)
            z = standing.type.height if terminal.z is None else terminal.z
            ends[key] = End(key, standing.id, (start,), standing.type.standoff + z, 0.0, False,
                            standing.type.lift_out)
        return ends

    def _free(self, ground: WireGround, starts: Points, ways: Points) -> Points:
        """Free length along ways, a little ground on both sides of the middle included."""
        side = np.column_stack((-ways[:, 1], ways[:, 0])) * SIDE_MM
        lines = np.vstack([starts + side * k for k in (-1, 0, 1)])
        runs = ground.free_runs(lines, np.tile(ways, (3, 1)), FAR_MM)
        least: Points = runs.reshape(3, -1).min(axis=0)
        return least

    def _at_free_points(self, face: int, lines: tuple[Points, Points], wanted: Points,
                        least: Points, most: Points) -> Points:
        """Lengths near the wanted ones, at whose ends a wire can be bent aside on the face.

        Low things (nuts, heads of screws) do not stop the straight part, but its end lies beside
        them: the nearest length with `END_ROOM` round it, else the one with the most room. Where
        that is little, shorter lengths and all between are looked at too.
        """
        steps = END_STEP_MM * np.array([0, *(k * n for n in range(1, END_STEPS) for k in (-1, 1))])
        lengths = np.clip(wanted[:, None] + steps, least[:, None], most[:, None])
        found, room = self._roomiest(face, lines, lengths)
        narrow = np.flatnonzero((room < COMMON_ROOM.value) & (least > 0))
        if len(narrow):
            fine = np.clip(SIDE_MM + FINE_STEP_MM * np.arange(FINE_STEPS)[None],
                           SIDE_MM, most[narrow, None])
            starts, ways = lines
            other, more = self._roomiest(face, (starts[narrow], ways[narrow]), fine)
            found[narrow] = np.where(more > room[narrow] + HAIR_MM, other, found[narrow])
        return found

    def _roomiest(self, face: int, lines: tuple[Points, Points], lengths: Points
                  ) -> tuple[Points, Points]:
        """Of some lengths along each line the first with the most room, and that room, mm."""
        starts, ways = lines
        spots = (starts[:, None] + ways[:, None] * lengths[:, :, None]).reshape(-1, 2)
        room = self.grounds[face].clearances(np.stack((spots, spots), axis=1))
        room = np.minimum(room.reshape(lengths.shape), END_ROOM.value)
        best = np.argmax(room, axis=1)
        rows = np.arange(len(lengths))
        return np.asarray(lengths[rows, best]), np.asarray(room[rows, best])

    def _clear_of_zones(self, face: int, owner: str, edge: tuple[float, float],
                        way: tuple[float, float], stub: float) -> float:
        """A longer straight part where the part's own keep-free zone lies before the terminal."""
        x, y = edge[0] + way[0] * stub, edge[1] + way[1] * stub
        for obstacle in self.obstacles[face]:
            if obstacle.zone and obstacle.owner == owner:
                ring = tuple((float(a), float(b)) for a, b in obstacle.shape.exterior.coords[:-1])
                angle = float(np.degrees(np.arctan2(way[1], way[0])))
                beyond = leaves_at(x, y, angle, ring)
                if beyond > 0:
                    return stub + beyond + LEAST_STUB.value / 2
        return stub

    def _exit(self, key: str, part: Part) -> End:
        assert part.away is not None
        x, y = self.view.point(*exit_of(self.job, part))
        starts = tuple(start for face in (0, 1) for start in self._edge_starts(face, x, y))
        return End(key, part.id, starts, 0.0, part.away.lead, True, False)

    def _edge_starts(self, face: int, x: float, y: float) -> list[Start]:
        """How wires come from a point at the plate's edge, or in it, to its corridors."""
        key = face, x, y
        if key not in self._from_edge:
            self._from_edge[key] = self._new_edge_starts(face, x, y)
        return self._from_edge[key]

    def _new_edge_starts(self, face: int, x: float, y: float) -> list[Start]:
        ways = _inward(self.outer, x, y) if _at_edge(self.outer, x, y) else None
        for ring in self.cut_outs:
            hole = shape_of(ring[:-1])
            if ways is None and hole.covers(shape_of([(x, y), (x + 1e-9, y), (x, y + 1e-9)])):
                return self._from_hole(face, hole, x, y)
        if ways is None:
            return [Start(face, ((x, y),), (1.0, 0.0))]
        return list(self._straight_in(face, [(x, y)], [ways])[0])

    def _straight_in(self, face: int, places: list[tuple[float, float]],
                     inward: list[tuple[float, float]]) -> list[tuple[Start, ...]]:
        """Straight parts from places at the plate's edge inwards; none where there is no room."""
        starts, ways = np.array(places), np.array(inward)
        free = self._free(self.grounds[face], starts + ways * 1e-3, ways)
        found: list[tuple[Start, ...]] = []
        for (x, y), way, room in zip(places, inward, free.tolist(), strict=True):
            stub = min(EDGE_STUB.value, room / 2)
            last = (x + way[0] * stub, y + way[1] * stub)
            found.append((Start(face, ((x, y), last), way),) if stub >= SIDE_MM else ())
        return found

    def _from_hole(self, face: int, hole: Shape, x: float, y: float) -> list[Start]:
        """Straight parts from a point in a cut-out, to four sides."""
        ring = tuple((float(a), float(b)) for a, b in hole.exterior.coords[:-1])
        starts = []
        for degrees in (0.0, 90.0, 180.0, 270.0):
            way = unit(degrees)
            rim = leaves_at(x, y, degrees, ring)
            edge = np.array([[x + way[0] * rim, y + way[1] * rim]])
            free = float(self._free(
                self.grounds[face], edge + np.array([way]) * 1e-3, np.array([way]))[0])
            out = rim + min(EDGE_STUB.value, free / 2)
            if free / 2 >= SIDE_MM:
                last = (x + way[0] * out, y + way[1] * out)
                starts.append(Start(face, ((x, y), last), way))
        return starts

    def zone_slices(self, face: int) -> list[Points]:
        """Boxes round slices along x and along y of the aerials' ground on a face."""
        circles = [circle_about(a.x, a.y, a.radius) for a in self.aerials if a.face == face]
        ground, thick = WireGround(circles, []), (2 if self.quick else 1) * ZONE_SLICE_MM
        return [ground.slices(axis, thick) for axis in (0, 1)]

    def ports(self) -> list[Port]:
        """Places where wires can change face without a hole being drilled."""
        ports = []
        for ring in self.cut_outs:
            hole = shape_of(ring[:-1])
            middle = hole.centroid
            (x, y), radius = within_piece(hole, float(middle.x), float(middle.y))
            if 2 * radius >= LEAST_CUT_OUT.value:
                sides = tuple(tuple(self._from_hole(face, hole, x, y)) for face in (0, 1))
                ports.append(Port("cut_out", x, y, (sides[0], sides[1]), 2 * radius))
        places = _edge_places(self.outer)
        if places:
            inward = [_inward(self.outer, x, y) for x, y in places]
            both = [self._straight_in(face, places, inward) for face in (0, 1)]
            for (x, y), one, other in zip(places, *both, strict=True):
                if one and other:
                    ports.append(Port("plate_edge", x, y, (one, other), float("inf")))
        return ports


def _stub(room: float, free: float) -> float:
    """Length of the straight part: half the bend room, or to the middle of a narrower gap.

    The wire may go on straight; within its bend room it has turned aside.
    """
    return min(max(room / 2, LEAST_STUB.value), free / 2)


def _spots(job: Job, scene: Scene) -> list[tuple[float, float, str | None]]:
    """Places that tell the views of a job apart: ends of wires, middles of parts."""
    spots: list[tuple[float, float, str | None]] = []
    for connection in job.connections:
        for part_id, terminal_id in connection.ends:
            part = job.part(part_id)
            if part.away is not None:
                spots.append((*exit_of(job, part), None))
            elif part_id in scene.standing:
                standing = scene.standing[part_id]
                terminal = standing.type.terminal(terminal_id)
                spots.append((*standing.pose.point(terminal.x, terminal.y), standing.face))
    for standing in scene.standing.values():
        x0, y0, x1, y1 = standing.outline.bounds
        spots.append(((x0 + x1) / 2, (y0 + y1) / 2, standing.face))
    return spots


def aerials_of(scene: Scene, view: View) -> list[Aerial]:
    """Circles on both faces within the quarter wave (at most 50 mm) or what the maker wants."""
    found = []
    for standing in scene.standing.values():
        antenna = standing.type.antenna
        if antenna is None:
            continue
        reach = metal_warn_distance(antenna.band_mhz, antenna.keep_from_metal)
        rise = standing.type.standoff + antenna.z
        x, y = view.point(*standing.pose.point(antenna.x, antenna.y))
        own = view.face(standing.face)
        for face, away in ((own, rise), (1 - own, rise + scene.job.plate.thickness)):
            level = max(0.0, away - RUN_TOP.value / 2)
            if level < reach:
                radius = sqrt(reach * reach - level * level)
                found.append(Aerial(x, y, radius, face, standing.id))
    return found


def _at_edge(ring: Points, x: float, y: float) -> bool:
    return bool(np.min(_edge_gaps(ring, x, y)) < 1e-3)


def _edge_gaps(ring: Points, x: float, y: float) -> Points:
    """Distance of a point from each straight piece of a closed ring."""
    a, b = ring[:-1], ring[1:]
    along = b - a
    share = np.clip(((np.array([x, y]) - a) * along).sum(1) / (along * along).sum(1), 0.0, 1.0)
    near = a + along * share[:, None]
    return np.asarray(np.hypot(near[:, 0] - x, near[:, 1] - y))


def _inward(ring: Points, x: float, y: float) -> tuple[float, float]:
    """The way straight into the plate from a point at its edge."""
    piece = int(np.argmin(_edge_gaps(ring, x, y)))
    dx, dy = ring[piece + 1] - ring[piece]
    length = hypot(dx, dy)
    twice = float(np.sum(ring[:-1, 0] * ring[1:, 1] - ring[1:, 0] * ring[:-1, 1]))
    left = 1.0 if twice > 0 else -1.0
    way = -dy / length * left, dx / length * left
    return round(way[0], 12) + 0.0, round(way[1], 12) + 0.0


def _edge_places(ring: Points) -> list[tuple[float, float]]:
    """Places along the straight edges of the plate, evenly on both sides of each one's middle."""
    places = []
    for a, b in pairwise(ring):
        length = float(np.hypot(*(b - a)))
        if min(abs(b - a)) > 1e-9 or length < EDGE_PORT_SPACING_MM:
            continue
        steps = int((length / 2 - EDGE_PORT_SPACING_MM / 2) // EDGE_PORT_SPACING_MM)
        for step in range(-steps, steps + 1):
            x, y = (a + b) / 2 + (b - a) / length * step * EDGE_PORT_SPACING_MM
            places.append((float(x), float(y)))
    return places

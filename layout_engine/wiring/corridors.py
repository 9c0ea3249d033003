"""The corridor graph: crossings of tracks on both faces, joined where a wire can pass.

Every crossing has two nodes, one for wires along x and one for wires along y; going from one to
the other is a bend. Ends of wires and pass-throughs add nodes of their own.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from layout_engine.geometry.wire_ground import WireGround, rests_on
from layout_engine.tables.dressing import WIRE_GAP
from layout_engine.wiring.grommets import grommets_at, hole_spots
from layout_engine.wiring.site import End, Port, Site, Start
from layout_engine.wiring.tracks import face_tracks, laid_tracks

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
RUN, BEND, STUB, PASS = 0, 1, 2, 3
ROOMY_MM = 1000.0  # capacity of what nothing limits
BENDS_FREELY = 1e-3  # least length of an edge that costs next to nothing
PLACES = 5  # decimals of a mm by which points are told apart


@dataclass(eq=False)
class Corridors:
    """The graph as arrays. Edges have no direction.

    xy: places of the nodes, shape (n, 2); face: 0 or 1, of each node; u, v: nodes of each edge;
    length: mm; width: clear width, mm; kind: RUN, BEND, STUB or PASS; axis of RUN edges.
    ends: node of every end of a wire; passes: what each PASS edge is.
    """

    xy: Floats
    face: Ints
    u: Ints
    v: Ints
    length: Floats
    width: Floats
    kind: Ints
    axis: Ints
    ends: dict[str, int]
    starts: dict[int, Start] = field(default_factory=dict)
    passes: dict[int, PassEdge] = field(default_factory=dict)
    stub_points: dict[int, tuple[tuple[float, float], ...]] = field(default_factory=dict)
    crossings: Crossings = field(default_factory=lambda: Crossings())

    @property
    def pieces(self) -> Floats:
        """Both points of every edge, shape (n, 2, 2)."""
        return np.stack((self.xy[self.u], self.xy[self.v]), axis=1)

    def node_at(self, face: int, x: float, y: float, axis: int) -> int | None:
        """The node at a point for wires along an axis; None where no crossing is there."""
        node = int(self.crossings.at(face, np.array([(x, y)]))[0])
        return None if node < 0 else node + axis

    def part(self, seen: NDArray[np.bool_]) -> tuple[Corridors, Ints, Ints]:
        """The graph of some edges, of the bends between them and of all straight parts alone.

        Also the numbers here of its nodes and of its edges.
        """
        met = np.zeros(len(self.xy), dtype=bool)
        stub, bend = self.kind == STUB, self.kind == BEND
        for side in (self.u, self.v):
            met[side[seen | stub]] = True
        edges = np.flatnonzero((seen | stub | bend) & met[self.u] & met[self.v])
        met[:] = False
        met[self.u[edges]] = met[self.v[edges]] = True
        nodes = np.flatnonzero(met)
        at = np.cumsum(met) - 1
        known = {int(edge): n for n, edge in enumerate(edges)}
        return Corridors(
            self.xy[nodes], self.face[nodes], at[self.u[edges]], at[self.v[edges]],
            self.length[edges], self.width[edges], self.kind[edges], self.axis[edges],
            {key: int(at[node]) for key, node in self.ends.items() if met[node]},
            {known[e]: start for e, start in self.starts.items()},
            {known[e]: what for e, what in self.passes.items() if e in known},
            {known[e]: points for e, points in self.stub_points.items()}), nodes, edges


class Crossings:
    """Crossings of tracks by face and place; the node of each for wires along x."""

    def __init__(self) -> None:
        self._known: dict[int, tuple[Ints, Ints]] = {}

    def add(self, face: int, spots: Floats, nodes: Ints) -> None:
        """All crossings of a face: places, shape (n, 2), and nodes."""
        keys = _place_keys(spots)
        order = np.argsort(keys, kind="stable")
        self._known[face] = keys[order], nodes[order]

    def at(self, face: int, spots: Floats) -> Ints:
        """Nodes of the crossings at places, shape (n, 2); -1 where none is."""
        keys, nodes = self._known.get(face, (np.empty(0, dtype=np.intp),) * 2)
        if not len(keys):
            return np.full(len(spots), -1)
        wanted = _place_keys(spots)
        there = np.minimum(np.searchsorted(keys, wanted), len(keys) - 1)
        return np.where(keys[there] == wanted, nodes[there], -1)


def _place_keys(spots: Floats) -> Ints:
    """One number for each place, shape (n, 2), the same for places that are not told apart."""
    parts = np.rint(spots * 10**PLACES).astype(np.int64)
    keys: Ints = parts[:, 0] * 2**32 + parts[:, 1]
    return keys


@dataclass(frozen=True, slots=True)
class PassEdge:
    """What a PASS edge is: kind, place, largest bundle [mm]."""

    kind: str
    x: float
    y: float
    bundle: float


class _Builder:
    """Collects nodes and edges."""

    def __init__(self) -> None:
        self.xy: list[Floats] = []
        self.face: list[Ints] = []
        self.count = 0
        self.edges: list[tuple[Ints, Ints, Floats, Floats, int, int]] = []
        self.edge_count = 0

    def nodes(self, xy: Floats, face: int) -> int:
        first = self.count
        self.xy.append(xy)
        self.face.append(np.full(len(xy), face, dtype=np.intp))
        self.count += len(xy)
        return first

    def join(self, u: Ints, v: Ints, length: Floats, width: Floats, what: tuple[int, int]) -> int:
        first = self.edge_count
        self.edges.append((u, v, length, width, *what))
        self.edge_count += len(u)
        return first

    def one(self, u: int, v: int, length: float, width: float, what: tuple[int, int]) -> int:
        return self.join(np.array([u], dtype=np.intp), np.array([v], dtype=np.intp),
                         np.array([length]), np.array([width]), what)

    def done(self) -> Corridors:
        u, v, length, width = (
            np.concatenate([edge[k] for edge in self.edges]) for k in range(4)
        )
        kind, axis = (
            np.concatenate([np.full(len(e[0]), e[k], dtype=np.intp) for e in self.edges])
            for k in (4, 5)
        )
        return Corridors(np.vstack(self.xy), np.concatenate(self.face), u, v, length, width,
                         kind, axis, {})


def corridors_of(site: Site, faces: Sequence[int], keys: Collection[str],
                 points: Sequence[tuple[int, float, float]], laid: Sequence[Sequence[Floats]],
                 through: Collection[tuple[float, float]] = (), *, only: bool = False
                 ) -> Corridors:
    """The corridor graph of a board.

    Args:
        site: the board.
        faces: the faces on which wires may run.
        keys: the ends that are to be reached.
        points: (face, x, y) that wires must be able to pass.
        laid: for each face, tracks along x and along y that wires which stay use.
        through: (x, y) of `points` where wires that are pinned change face.
        only: no tracks but those that are `laid`, no holes but those of `through`.
    """
    build = _Builder()
    crossings = Crossings()
    wanted = {key: end for key, end in site.ends.items() if key in keys}
    starts = [s for end in wanted.values() for s in end.starts]
    ports = site.ports() if len(faces) == 2 else []
    starts += [s for port in ports for side in port.starts for s in side]
    spots = hole_spots(site) if len(faces) == 2 and not only else []
    points = [*points, *((face, x, y) for x, y in spots for face in (0, 1))]
    for face in faces:
        # With both faces in use a hole may be drilled where any wire is bent aside.
        ends = [s.last for s in starts if s.face == face or len(faces) == 2]
        ends += [(x, y) for f, x, y in points if f == face]
        boxes = [] if only else [site.grounds[face].slices(axis) for axis in (0, 1)]
        tracks = laid_tracks(site.size, ends, laid[face]) if only else face_tracks(
            boxes, site.size, site.pitch, ends, laid[face], site.zone_slices(face))
        _add_face(build, site, face, tracks, crossings)
    named: dict[str, int] = {}
    stubs: dict[int, tuple[tuple[float, float], ...]] = {}
    by_node: dict[int, Start] = {}
    for key, end in wanted.items():
        node = _add_end(build, end, crossings, stubs, by_node)
        if node is not None:
            named[key] = node
    passes = _add_ports(build, ports, site.thickness, crossings, stubs)
    if len(faces) == 2:
        bent = {(round(s.last[0], PLACES), round(s.last[1], PLACES)) for s in starts}
        bent |= {(round(x, PLACES), round(y, PLACES)) for _, x, y in points}
        wanted_at = {(round(x, PLACES), round(y, PLACES)) for x, y in through}
        passes |= _add_holes(build, site, crossings, wanted_at if only else bent, wanted_at)
    graph = build.done()
    graph.ends, graph.starts, graph.stub_points = named, by_node, stubs
    graph.passes, graph.crossings = passes, crossings
    return graph


def _add_face(build: _Builder, site: Site, face: int, tracks: Sequence[Floats],
              crossings: Crossings) -> None:
    """Crossings of the tracks of one face, and the pieces of track between them."""
    along, across = tracks
    meets = (along[:, None, 1] - 1e-6 <= across[None, :, 0]) & (
        along[:, None, 2] + 1e-6 >= across[None, :, 0])
    meets &= (across[None, :, 1] - 1e-6 <= along[:, None, 0]) & (
        across[None, :, 2] + 1e-6 >= along[:, None, 0])
    h, v = np.nonzero(meets)
    xy = np.column_stack((across[v, 0], along[h, 0]))
    ground = site.grounds[face]
    free = _outside_boxes(ground, xy)
    h, v, xy = h[free], v[free], xy[free]
    first = build.nodes(np.repeat(xy, 2, axis=0), face)
    node = first + 2 * np.arange(len(xy))
    crossings.add(face, xy, node)
    roomy = np.full(len(xy), ROOMY_MM)
    build.join(node, node + 1, np.zeros(len(xy)), roomy, (BEND, 0))
    for axis, track in ((0, h), (1, v)):
        order = np.lexsort((xy[:, axis], track))
        same = np.flatnonzero(np.diff(track[order]) == 0)
        one, other = order[same], order[same + 1]
        width = free_widths(site, face, np.stack((xy[one], xy[other]), axis=1))
        length = np.abs(xy[other, axis] - xy[one, axis])
        build.join(node[one] + axis, node[other] + axis, length, width, (RUN, axis))


def free_widths(site: Site, face: int, pieces: Floats) -> Floats:
    """How wide [mm] a bundle about straight pieces, shape (n, 2, 2), may be."""
    width = 2.0 * (site.grounds[face].clearances(pieces) - WIRE_GAP.value)
    if site.under[face]:
        width = np.minimum(width, _under_width(pieces, site.under[face]))
    return np.maximum(width, 0.0)


def _under_width(pieces: Floats, under: Sequence[tuple[object, float]]) -> Floats:
    """Room beneath parts over a piece of track: their standoff."""
    shapes = [shape for shape, _ in under]
    rise = np.array([standoff for _, standoff in under] + [ROOMY_MM])
    spots = np.vstack((pieces[:, 0], pieces[:, 1], pieces.mean(axis=1)))
    lowest: Floats = rise[rests_on(shapes, spots)].reshape(3, -1).min(axis=0)  # type: ignore[arg-type]
    return lowest


def _outside_boxes(ground: WireGround, xy: Floats) -> NDArray[np.bool_]:
    """Crossings that do not lie inside a rectangle that stands there."""
    taken = np.zeros(len(xy), dtype=bool)
    for x0, y0, x1, y1 in ground.full_boxes:
        taken |= (xy[:, 0] > x0) & (xy[:, 0] < x1) & (xy[:, 1] > y0) & (xy[:, 1] < y1)
    return ~taken


def _add_end(build: _Builder, end: End, crossings: Crossings,
             stubs: dict[int, tuple[tuple[float, float], ...]], by_node: dict[int, Start]
             ) -> int | None:
    """The node at which a wire's end is: of its own, joined to the corridors by its straight
    parts; None where it reaches none.
    """
    reached = [(s, n) for s in end.starts if (n := _crossing(crossings, s)) is not None]
    if not reached:
        return None
    first = end.starts[0]
    node = build.nodes(np.array([first.points[0]]), first.face)
    for start, there in reached:
        edge = build.one(node, there, max(start.length, BENDS_FREELY), ROOMY_MM, (STUB, 0))
        stubs[edge] = start.points
        by_node[edge] = start
    return node


def _crossing(crossings: Crossings, start: Start) -> int | None:
    node = int(crossings.at(start.face, np.array([start.last]))[0])
    return None if node < 0 else node + start.axis


def _add_ports(build: _Builder, ports: Sequence[Port], thickness: float,
               crossings: Crossings,
               stubs: dict[int, tuple[tuple[float, float], ...]]) -> dict[int, PassEdge]:
    passes = {}
    for port in ports:
        sides = []
        for face, starts in enumerate(port.starts):
            reached = [(s, n) for s in starts if (n := _crossing(crossings, s)) is not None]
            if not reached:
                continue
            node = build.nodes(np.array([[port.x, port.y]]), face)
            sides.append(node)
            for start, there in reached:
                edge = build.one(node, there, start.length, ROOMY_MM, (STUB, 0))
                stubs[edge] = start.points
        if len(sides) == 2:
            edge = build.one(sides[0], sides[1], thickness, min(port.bundle, ROOMY_MM), (PASS, 0))
            passes[edge] = PassEdge(port.kind, port.x, port.y, port.bundle)
    return passes


def _add_holes(build: _Builder, site: Site, crossings: Crossings,
               bent: Collection[tuple[float, float]], wanted: Collection[tuple[float, float]]
               ) -> dict[int, PassEdge]:
    """Places where a hole can be drilled: free on both faces, far from edges and other holes.

    Tried are spots with the most ground, and places where wires are bent aside (`bent`). At those
    that are `wanted` free ground will do.
    """
    places = np.array(sorted(bent)).reshape(-1, 2)
    both = np.stack([crossings.at(face, places) for face in (0, 1)])
    free = (both >= 0).all(axis=0)
    if not free.any():
        return {}
    places, both = places[free], both[:, free]
    asked = [place in wanted for place in map(tuple, places.tolist())]
    passes = {}
    for (x, y), (one, other), grommet in zip(
            places.tolist(), both.T.tolist(), grommets_at(site, places, asked), strict=True):
        if grommet is not None:
            number = build.one(one, other, site.thickness, grommet.bundle, (PASS, 0))
            passes[number] = PassEdge("drilled", x, y, grommet.bundle)
    return passes

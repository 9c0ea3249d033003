"""Laying wires into corridors, each by its cheapest way beside all others.

The sum that is made small (`RouteWeights`) counts every mm of wire, and every mm of plate under a
run once. A wire's way costs what it adds to that sum beside all others as they lie: a shortest-way
question on the corridor graph.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from layout_engine.tables.dressing import FLAT_MOST, QUIET_FROM_LOUD, packing
from layout_engine.wiring.corridors import BEND, PASS, RUN, STUB, Corridors
from layout_engine.wiring.demands import Demand
from layout_engine.wiring.holes import Holes
from layout_engine.wiring.search import NO_WAY, Search
from layout_engine.wiring.site import Site
from layout_engine.wiring.tracks import merged
from layout_engine.wiring.weights import RouteWeights
from layout_engine.wiring.zones import aerial_zones

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
THROUGH_MM = 20.0  # a wire to the other face: this and the thickness, as in `wire_cost`
STRANGER = 60.0  # an aerial's ground costs a wire that does not end in it so much more
EDGE_MM = 1.0  # slack where distances are compared with lengths
MOST_WIRES = 512
_PACKING = np.array([0.0, *(packing(n) for n in range(1, MOST_WIRES + 2))])


class Laying:
    """Wires in the corridors of one board."""

    def __init__(self, site: Site, graph: Corridors, demands: Sequence[Demand],
                 weights: RouteWeights) -> None:
        self.site, self.graph, self.demands, self.weights = site, graph, demands, weights
        self.search = Search(graph)
        self.ways: dict[int, list[int]] = {}
        self.fixed: dict[int, list[int]] = {}
        count = len(graph.u)
        self.count = np.zeros(count, dtype=np.intp)
        self.squares = np.zeros(count)
        self.sums = np.zeros(count)  # of outer diameters, mm
        self.thickest = np.zeros((2, count))  # outer diameters of the two thickest, mm
        self._outers = sorted({d.outer for d in demands})
        self._thick_first = np.array(self._outers[::-1])
        self._kind = {outer: n for n, outer in enumerate(self._outers)}
        self._of_kind = np.zeros((len(self._outers), count), dtype=np.intp)
        self.crowd = np.full(count, weights.crowding)
        self.on: dict[int, set[int]] = {}
        self.via: dict[int, list[int]] = {}
        self.missed: dict[int, int | None] = {}  # of wires laid without their points: which
        self.scale = 1.0  # how many times more openings count
        self.cost = 0.0  # of the way that was found last
        self.changes: list[Ints] = []  # edges on which wires came or went, in order
        self._fields: dict[str, Floats] = {}
        self._own: dict[int, tuple[list[int] | None, Floats]] = {}
        self._room: dict[float, tuple[int, Floats]] = {}
        self._prepare()

    def _prepare(self) -> None:
        graph, weights = self.graph, self.weights
        self.run = np.flatnonzero(graph.kind == RUN)
        self.pieces = graph.pieces
        self.spots = np.ascontiguousarray(self.pieces.mean(axis=1).T)
        self.middle = self.pieces[self.run].mean(axis=1)
        self._beside_return: dict[int, tuple[list[int], Floats]] = {}
        self.opening = np.where(graph.kind == RUN, weights.opening * graph.length, 0.0)
        self.opening[graph.kind == BEND] = weights.bend
        self.own = np.where(graph.kind == BEND, weights.bend_wire, 1e-6)
        self.mm = graph.length.copy()
        for edge, what in graph.passes.items():
            self.mm[edge] = self.site.thickness + THROUGH_MM
            if what.kind == "drilled":
                self.opening[edge] = weights.drilled_hole
            elif what.kind == "plate_edge":
                self.own[edge] += weights.plate_edge
        self.unopened = self.opening.copy()  # nothing where a wire lies
        self.holes = Holes(graph)
        self.tallest = np.where(graph.kind == RUN, FLAT_MOST.value, 0.0)
        self.closed = np.zeros(len(graph.u), dtype=bool)
        self.end_edges: dict[int, list[int]] = {}
        for edge in graph.starts:
            self.end_edges.setdefault(int(graph.u[edge]), []).append(edge)
            self.closed[edge] = True
        self.backward = {node: self._backward(edges) for node, edges in self.end_edges.items()}
        self.zones = aerial_zones(self.site, graph)

    def part(self) -> tuple[Laying, Ints]:
        """The same wires on the track that ways were found on so far, and the number here of each
        of its edges. Where others keep wires off, it does so too.
        """
        seen = self.search.seen.copy()
        for lies in (self.ways | self.fixed).values():
            seen[lies] = True
        graph, nodes, edges = self.graph.part(seen)
        made = Laying(self.site, graph, self.demands, self.weights)
        made.crowd, made.closed = self.crowd[edges], self.closed[edges]
        made.search.effort = self.search.effort
        made.weigh_openings(self.scale)
        there, known = np.full(len(self.graph.u), -1), np.full(len(self.graph.xy), -1)
        there[edges], known[nodes] = np.arange(len(edges)), np.arange(len(nodes))
        for ways, fixed in ((self.fixed, True), (self.ways, False)):
            for index, way in ways.items():
                made.put(index, there[way].tolist(), fixed=fixed)
        made.via = {index: known[list(stops)].tolist() for index, stops in self.via.items()}
        return made, edges

    def _backward(self, edges: list[int]) -> list[int]:
        """Track pieces that lead from the end of a straight part back beside it."""
        graph, found = self.graph, []
        for edge in edges:
            there, way = int(graph.v[edge]), graph.starts[edge].way
            for near, far in ((graph.u, graph.v), (graph.v, graph.u)):
                for k in np.flatnonzero((near == there) & (graph.kind == RUN)):
                    step = graph.xy[far[k]] - graph.xy[there]
                    if step[0] * way[0] + step[1] * way[1] < 0:
                        found.append(int(k))
        return found

    # What a way costs

    def wire_cost(self, demand: Demand) -> Floats:
        """What each edge adds for one wire, without opening and crowding."""
        partner = demand.partner
        beside = None if partner is None else (
            self.ways.get(partner) or self.fixed.get(partner))
        known = self._own.get(demand.index)
        if known is None or known[0] is not beside:
            known = self._own[demand.index] = beside, self._own_cost(demand)
        return known[1]

    def _own_cost(self, demand: Demand) -> Floats:
        weights, run = self.weights, self.run
        costs = self.own + weights.per_mm(demand.amps) * self.mm
        partner = demand.partner
        if partner is not None and (away := self._away_from(partner)) is not None:
            costs[run] += away
        field = self._fields.get("loud" if demand.quiet else "quiet" if demand.loud else "")
        if field is not None:
            costs[run] += weights.noise * self.mm[run] * field
        ends = {demand.connection.from_, demand.connection.to}
        for _, inside, known in self.zones:
            costs[inside] *= weights.aerial * (1.0 if ends & known else STRANGER)
        return costs

    def _away_from(self, index: int) -> Floats | None:
        """What each piece of track adds for its distance from a wire; None where that lies not."""
        edges = self.ways.get(index) or self.fixed.get(index)
        if not edges:
            return None
        known = self._beside_return.get(index)
        if known is None or known[0] is not edges:
            legs, weights = self._legs(edges), self.weights
            if legs is None:
                return None
            away = np.minimum(self._distance(legs), weights.loop_reach) / weights.loop_reach
            known = edges, weights.loop * self.mm[self.run] * away
            self._beside_return[index] = known
        return known[1]

    def _legs(self, edges: list[int]) -> Floats | None:
        """Straight legs of a way, as boxes (x0, y0, x1, y1); None where it has none."""
        graph = self.graph
        chosen = np.array([e for e in edges if graph.kind[e] in (RUN, STUB)], dtype=np.intp)
        if not len(chosen):
            return None
        pieces = self.pieces[chosen]
        axis = np.where(graph.kind[chosen] == STUB, -1, graph.axis[chosen])
        breaks = np.flatnonzero(np.diff(axis) != 0) + 1
        low = np.minimum.reduceat(pieces.min(axis=1), np.concatenate(([0], breaks)))
        high = np.maximum.reduceat(pieces.max(axis=1), np.concatenate(([0], breaks)))
        return np.column_stack((low, high))

    def near(self, ends: tuple[int, int], reach: float, among: Ints | None = None) -> Ints:
        """Edges, of all or some, on ways of at most `reach` mm between two nodes."""
        (x, y), (a, b) = self.graph.xy[ends[0]], self.graph.xy[ends[1]]
        across, along = self.spots if among is None else self.spots[:, among]
        away = np.abs(across - x) + np.abs(across - a) + np.abs(along - y) + np.abs(along - b)
        return np.flatnonzero(away <= reach + EDGE_MM)

    def _distance(self, legs: Floats) -> Floats:
        """Distance in plan of each piece of track from the nearest leg, mm."""
        x, y = self.middle[:, 0], self.middle[:, 1]
        least = np.full(len(self.middle), np.inf)
        for x0, y0, x1, y1 in legs:
            dx = np.maximum(np.maximum(x0 - x, x - x1), 0.0)
            dy = np.maximum(np.maximum(y0 - y, y - y1), 0.0)
            np.minimum(least, dx * dx + dy * dy, out=least)
        away: Floats = np.sqrt(least)
        return away

    def refresh_noise(self) -> None:
        """How near each piece of track runs beside loud and beside quiet wires, 0 to 1."""
        for name in ("loud", "quiet"):
            members = [d.index for d in self.demands if getattr(d, name)]
            legs = [leg for i in members if (leg := self._run_legs(i)) is not None]
            if not legs:
                continue
            field = self._beside(np.unique(np.vstack(legs), axis=0))
            if name not in self._fields or not np.array_equal(self._fields[name], field):
                self._fields[name] = field
                self._own = {}

    def _run_legs(self, index: int) -> Floats | None:
        edges = self.ways.get(index) or self.fixed.get(index) or []
        graph = self.graph
        chosen = np.array([e for e in edges if graph.kind[e] == RUN], dtype=np.intp)
        if not len(chosen):
            return None
        axis, face = graph.axis[chosen], graph.face[graph.u[chosen]]
        ends = np.sort(self.pieces[chosen][np.arange(len(chosen)), :, axis], axis=1)
        line = graph.xy[graph.u[chosen], 1 - axis]
        return np.column_stack((face, axis, line, ends))

    def _beside(self, legs: Floats) -> Floats:
        graph, reach = self.graph, QUIET_FROM_LOUD.value
        face, axis = graph.face[graph.u[self.run]], graph.axis[self.run]
        level = np.zeros(len(self.run))
        for side, way in {(int(a), int(b)) for a, b in legs[:, :2]}:
            mine = np.flatnonzero((face == side) & (axis == way))
            line, along = self.middle[mine, 1 - way], self.middle[mine, way]
            alike = legs[(legs[:, 0] == side) & (legs[:, 1] == way)]
            for c, a, b in merged(alike[:, 2:]).tolist():
                near = np.maximum(0.0, 1.0 - np.abs(line - c) / reach)
                near[(along < a) | (along > b)] = 0.0
                level[mine] = np.maximum(level[mine], near)
        return level

    def weigh_openings(self, factor: float) -> None:
        """Let every opening count so many times more."""
        self.opening *= factor
        self.unopened *= factor
        self.scale *= factor
        self._room.clear()  # what is too full counts more with openings

    def shut(self, edges: Ints, was: NDArray[np.bool_] | None = None) -> NDArray[np.bool_]:
        """Close edges, or give them back what was; returns what was."""
        before = self.closed[edges].copy()
        self.closed[edges] = True if was is None else was
        self.changes.append(edges)
        return before

    def crowd_more(self, edges: Ints, factor: float) -> None:
        """Let it count so many times more where runs do not fit."""
        self.crowd[edges] *= factor
        self.changes.append(edges)
        self._room.clear()

    def group_costs(self, members: Sequence[int], edges: Ints, *, bare: bool = False,
                    without: Sequence[int] = ()) -> Floats:
        """What each of some edges would add if these wires were laid along it together.

        bare: as if no wire lay on these edges; without: edges that the wires leave for it.
        """
        demands = [self.demands[i] for i in members]
        costs: Floats = self.wire_cost(demands[0])[edges]
        for demand in demands[1:]:
            costs += self.wire_cost(demand)[edges]
        outers = sorted((d.outer for d in demands), reverse=True)
        opening = (self.opening if bare else self.unopened)[edges]
        return costs + opening + self._room_cost(outers, edges, bare=bare, without=without)

    def _room_cost(self, outers: list[float], edges: Ints, *, bare: bool = False,
                   without: Sequence[int] = ()) -> Floats:
        """What edges add for their width, if wires so thick, the thickest first, came to them.

        without: edges that those wires leave.
        """
        there = 0 if bare else 1
        first, second = self.thickest[:, edges] * there
        width, mm = self.graph.width[edges], self.mm[edges]
        wide = self._diameter(
            self.count[edges] * there + len(outers),
            self.squares[edges] * there + sum(d * d for d in outers),
            np.maximum(np.maximum(first + second, first + outers[0]), sum(outers[:2])))
        tall = self._height(self.sums[edges] * there + sum(outers), np.maximum(first, outers[0]),
                            width)
        flat = wide > width
        costs = self.weights.flat * mm * flat
        full = np.flatnonzero(flat & (tall > self.tallest[edges]))
        over = np.minimum(tall[full] / FLAT_MOST.value, 10.0)
        through = full[self.graph.kind[edges][full] == PASS]
        dear = max(self.scale, 1.0) * self.crowd[edges][full]
        costs[full] += dear * (1.0 + mm[full]) * (1.0 + over)
        costs[through] = NO_WAY
        shut = self.closed[edges] | self.holes.shut(outers, without)[edges]
        costs[(width < outers[0]) | shut] = NO_WAY
        return costs

    def _room_of(self, outer: float) -> Floats:
        """What each edge adds for its width, if one more wire so thick came to it."""
        since, costs = self._room.get(outer, (-1, self.graph.length))
        if since < 0:
            costs = self._room_cost([outer], np.arange(len(self.graph.u)))
        elif since < len(self.changes):
            stale = np.unique(np.concatenate(self.changes[since:]))
            costs[stale] = self._room_cost([outer], stale)
        self._room[outer] = len(self.changes), costs
        return costs

    def _diameter(self, count: Ints, squares: Floats, two: Floats) -> Floats:
        """Diameter of round bundles: wires, sum of squares, the two thickest side by side."""
        wide: Floats = _PACKING[np.minimum(count, MOST_WIRES)] * np.sqrt(squares)
        return np.asarray(np.where(count <= 2, two, np.maximum(wide, two)))

    def _height(self, sums: Floats, thickest: Floats, width: Floats) -> Floats:
        """Height of flat bundles in corridors of a width; inf where one wire is too thick."""
        columns = np.floor((width + 1e-9) / np.maximum(thickest, 1e-3))
        return np.asarray(np.where(columns > 0, sums / np.maximum(columns, 1.0), np.inf))

    def costs_for(self, demand: Demand) -> Floats:
        """What each edge would add if this wire were laid along it, beside all others."""
        costs = self.wire_cost(demand) + self.unopened
        costs += self._room_of(demand.outer)
        for key in (demand.connection.from_, demand.connection.to):
            node = self.graph.ends[key]
            edges = np.array(self.end_edges[node], dtype=np.intp)
            costs[edges] = self.mm[edges] * self.weights.per_mm(demand.amps) + 1e-6
            costs[self.backward[node]] = NO_WAY
        return costs

    def cost_of(self, demand: Demand, way: Sequence[int]) -> float:
        """What a way of a wire would add if it were laid along it, beside all others."""
        edges = np.array(way, dtype=np.intp)
        costs = self.group_costs([demand.index], edges)
        for key in (demand.connection.from_, demand.connection.to):
            ends = np.isin(edges, self.end_edges[self.graph.ends[key]])
            costs[ends] = self.mm[edges[ends]] * self.weights.per_mm(demand.amps) + 1e-6
        return float(costs.sum())

    def reaches(self, demand: Demand) -> bool:
        """Whether both ends of a wire come to corridors at all."""
        return {demand.connection.from_, demand.connection.to} <= self.graph.ends.keys()

    def open_to(self, demand: Demand) -> NDArray[np.bool_]:
        """Which edges a wire may use at all, however narrow they are."""
        open_ = ~self.closed
        for key in (demand.connection.from_, demand.connection.to):
            node = self.graph.ends[key]
            open_[self.end_edges[node]] = True
            open_[self.backward[node]] = False
        return open_

    # Laying and taking up

    def find_alone(self, demand: Demand, face: int | None = None) -> list[int] | None:
        """The shortest way of a wire, were it alone on the board or on one face; its via points
        left out.
        """
        costs = self.mm + self.own
        if face is not None:
            costs[self.graph.face[self.graph.v] != face] = NO_WAY
        ends = [self.graph.ends[k] for k in (demand.connection.from_, demand.connection.to)]
        for _, inside, known in self.zones:
            ends_there = {demand.connection.from_, demand.connection.to} & known
            costs[inside] *= 1.0 if ends_there else STRANGER
        costs[(self.graph.width < demand.outer) | self.closed] = NO_WAY
        for node in ends:
            edges = np.array(self.end_edges[node], dtype=np.intp)
            costs[edges] = self.mm[edges] + 1e-6
            costs[self.backward[node]] = NO_WAY
        lies = self.ways.get(demand.index)
        most = NO_WAY if lies is None else float(costs[lies].sum()) * (1.0 + 1e-9)
        return self.search.way(costs, ends[0], ends[1], min(most, NO_WAY), 1.0)

    def find(self, demand: Demand, known: list[int] | None = None, most: float = NO_WAY
             ) -> list[int] | None:
        """The cheapest way of a wire beside all others, through its via points.

        None is sought that costs more than a way that it has (`known`), or than `most`.
        """
        ends = [self.graph.ends.get(demand.connection.from_),
                self.graph.ends.get(demand.connection.to)]
        if ends[0] is None or ends[1] is None:
            return None
        stops = [ends[0], *self.via.get(demand.index, ()), ends[1]]
        costs = self.costs_for(demand)
        if len(stops) > 2:
            most = NO_WAY
        elif known is not None:
            most = float(costs[known].sum()) * (1.0 + 1e-9)
        edges: list[int] = []
        self.cost = 0.0
        for a, b in pairwise(stops):
            if a == b:
                continue
            part = self.search.way(costs, a, b, most, self.weights.per_mm(demand.amps))
            if part is None:
                return None
            edges += part
            self.cost += float(costs[part].sum())
            costs[part] = NO_WAY  # it does not come back the way it went
        return edges

    def first_missed(self, demand: Demand) -> int | None:
        """Number of the first point of a wire to which nothing leads from the one before it.

        None where each can be reached, but not on one way.
        """
        ends = [self.graph.ends[key] for key in (demand.connection.from_, demand.connection.to)]
        stops, costs = [ends[0], *self.via[demand.index], ends[1]], self.costs_for(demand)
        ways = (a == b or self.search.way(costs, a, b) is not None for a, b in pairwise(stops))
        missed = next((n for n, way in enumerate(ways) if not way), None)
        return None if missed is None else min(missed, len(stops) - 3)

    def put(self, index: int, edges: list[int], *, fixed: bool = False) -> None:
        """Lay a wire along edges."""
        (self.fixed if fixed else self.ways)[index] = edges
        self.load(index, edges)

    def load(self, index: int, edges: Sequence[int]) -> None:
        """Count a wire on edges."""
        outer, at = self.demands[index].outer, np.array(edges, dtype=np.intp)
        self.count[at] += 1
        self.squares[at] += outer * outer
        self.sums[at] += outer
        first, second = self.thickest
        second[at] = np.maximum(second[at], np.minimum(first[at], outer))
        first[at] = np.maximum(first[at], outer)
        self._of_kind[self._kind[outer], at] += 1
        self.unopened[at] = 0.0
        self.changes.append(at)
        for edge in edges:
            self.on.setdefault(edge, set()).add(index)
        self._note_holes(edges)

    def unload(self, index: int, edges: Sequence[int]) -> None:
        """Count it there no more."""
        outer, at = self.demands[index].outer, np.array(edges, dtype=np.intp)
        self.count[at] -= 1
        self.squares[at] -= outer * outer
        self.sums[at] -= outer
        for edge in edges:
            self.on[edge].discard(index)
        self.changes.append(at)
        bare = at[self.count[at] == 0]
        self.unopened[bare] = self.opening[bare]
        self.squares[bare] = self.sums[bare] = 0.0
        self._of_kind[self._kind[outer], at] -= 1
        self._find_thickest(at)
        self._note_holes(edges)

    def _note_holes(self, edges: Iterable[int], more: Mapping[int, list[float]] | None = None
                    ) -> None:
        """Holes near those through which wires came or went may be drilled no more, or again.

        more: outer diameters of wires that are thought to go through edges too [mm].
        """
        mine = [edge for edge in edges if edge in self.holes.at]
        for edge in mine:
            outers = [self.demands[i].outer for i in self.on.get(edge, ())]
            self.holes.use(edge, outers + (more or {}).get(edge, []))
        if mine:
            self.changes.append(self.holes.edges)

    def all_found(self, order: Iterable[Demand], known: Mapping[int, list[int]]
                  ) -> dict[int, list[int]]:
        """The cheapest way of each wire beside those that lie, and not beside each other.

        Only holes that one wire takes keep others off holes near it. known: ways that they have.
        """
        ways: dict[int, list[int]] = {}
        drilled: dict[int, list[float]] = {}
        for demand in order:
            way = self.find(demand, known.get(demand.index))
            if way is not None:
                ways[demand.index] = way
                for edge in way:
                    if edge in self.holes.at:
                        drilled.setdefault(edge, []).append(demand.outer)
                        self._note_holes((edge,), drilled)
        self._note_holes(drilled)
        return ways

    def _find_thickest(self, at: Ints) -> None:
        """The two thickest wires on edges, from how many of each thickness lie there."""
        there = self._of_kind[::-1, at]  # the thickest first
        rows = np.arange(len(at))
        for n in (0, 1):
            kind = np.argmax(there > 0, axis=0)
            some = there[kind, rows] > 0
            self.thickest[n, at] = np.where(some, self._thick_first[kind], 0.0)
            there[kind, rows] -= some

    def diameters(self) -> Floats:
        """Diameter of the round bundle on every edge, mm."""
        return self._diameter(self.count, self.squares, self.thickest.sum(axis=0))

    def overfull(self) -> Ints:
        """Pieces of track whose bundle fits its corridor neither round nor standing flat."""
        wide = self.diameters() > self.graph.width + 1e-9
        tall = self._height(self.sums, self.thickest[0], self.graph.width) > self.tallest + 1e-9
        return np.flatnonzero(wide & tall & (self.count > 0))

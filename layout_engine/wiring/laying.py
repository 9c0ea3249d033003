"""Laying wires into corridors, each by its cheapest way beside all others.

The sum that is made small (`RouteWeights`) counts every mm of wire, and every mm of plate under a
run once. A wire's way costs what it adds to that sum beside all others as they lie: a shortest-way
question on the corridor graph.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from layout_engine.tables.dressing import FLAT_MOST, QUIET_FROM_LOUD, packing
from layout_engine.wiring.corridors import BEND, RUN, STUB, Corridors
from layout_engine.wiring.demands import Demand
from layout_engine.wiring.search import NO_WAY, Search
from layout_engine.wiring.site import Site
from layout_engine.wiring.weights import RouteWeights

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
THROUGH_MM = 20.0  # a wire to the other face: this and the thickness, as in `wire_cost`
STRANGER = 60.0  # an aerial's ground costs a wire that does not end in it so much more
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
        self.crowd = np.full(count, weights.crowding)
        self.on: dict[int, set[int]] = {}
        self.via: dict[int, list[int]] = {}
        self._fields: dict[str, Floats] = {}
        self._prepare()

    def _prepare(self) -> None:
        graph, weights = self.graph, self.weights
        self.run = np.flatnonzero(graph.kind == RUN)
        self.pieces = graph.pieces
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
        self.tallest = np.where(graph.kind == RUN, FLAT_MOST.value, 0.0)
        self.closed = np.zeros(len(graph.u), dtype=bool)
        self.end_edges: dict[int, list[int]] = {}
        for edge in graph.starts:
            self.end_edges.setdefault(int(graph.u[edge]), []).append(edge)
            self.closed[edge] = True
        self.backward = {node: self._backward(edges) for node, edges in self.end_edges.items()}
        self._aerials()

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

    def _aerials(self) -> None:
        """Track pieces within an antenna's ground, for each antenna."""
        self.zones: list[tuple[str, Ints, frozenset[int]]] = []
        graph = self.graph
        for aerial in self.site.aerials:
            a, b = graph.xy[graph.u[self.run]], graph.xy[graph.v[self.run]]
            low, high = np.minimum(a, b), np.maximum(a, b)
            spot = np.array([aerial.x, aerial.y])
            near = np.hypot(*np.maximum(np.maximum(low - spot, spot - high), 0.0).T)
            here = graph.face[graph.u[self.run]] == aerial.face
            inside = self.run[here & (near < aerial.radius)]
            ends = frozenset(
                node for key, node in graph.ends.items()
                if key.startswith(f"{aerial.part}.") or self._within(key, spot, aerial.radius))
            self.zones.append((aerial.part, inside, ends))

    def _within(self, key: str, spot: Floats, radius: float) -> bool:
        return any(float(np.hypot(*(np.array(point) - spot))) < radius
                   for start in self.site.ends[key].starts for point in start.points)

    # What a way costs

    def _wire_cost(self, demand: Demand) -> Floats:
        """What each edge adds for one wire, without opening and crowding."""
        weights, run = self.weights, self.run
        costs = self.own + weights.per_mm(demand.amps) * self.mm
        partner = demand.partner
        if partner is not None and (away := self._away_from(partner)) is not None:
            costs[run] += away
        field = self._fields.get("loud" if demand.quiet else "quiet" if demand.loud else "")
        if field is not None:
            costs[run] += weights.noise * self.mm[run] * field
        ends = {self.graph.ends.get(demand.connection.from_),
                self.graph.ends.get(demand.connection.to)}
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
        self._fields = {}
        for name in ("loud", "quiet"):
            members = [d.index for d in self.demands if getattr(d, name)]
            legs = [leg for i in members if (leg := self._run_legs(i)) is not None]
            if legs:
                self._fields[name] = self._beside(np.unique(np.vstack(legs), axis=0))

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
            for c, a, b in _joined(legs[(legs[:, 0] == side) & (legs[:, 1] == way)][:, 2:]):
                near = np.maximum(0.0, 1.0 - np.abs(line - c) / reach)
                near[(along < a) | (along > b)] = 0.0
                level[mine] = np.maximum(level[mine], near)
        return level

    def group_costs(self, members: Sequence[int]) -> Floats:
        """What each edge would add if these wires were laid along it together."""
        demands = [self.demands[i] for i in members]
        costs: Floats = np.sum([self._wire_cost(d) for d in demands], axis=0)
        costs += np.where(self.count == 0, self.opening, 0.0)
        outers = sorted((d.outer for d in demands), reverse=True)
        first, second = self.thickest
        wide = self._diameter(
            self.count + len(members), self.squares + sum(d * d for d in outers),
            np.maximum(np.maximum(first + second, first + outers[0]), sum(outers[:2])))
        tall = self._height(self.sums + sum(outers), np.maximum(first, outers[0]))
        flat = wide > self.graph.width
        costs += self.weights.flat * self.mm * flat
        full = np.flatnonzero(flat & (tall > self.tallest))
        over = np.minimum(tall[full] / FLAT_MOST.value, 10.0)
        costs[full] += self.crowd[full] * (1.0 + self.mm[full]) * (1.0 + over)
        costs[(self.graph.width < outers[0]) | self.closed] = NO_WAY
        return costs

    def _diameter(self, count: Ints, squares: Floats, two: Floats) -> Floats:
        """Diameter of round bundles: wires, sum of squares, the two thickest side by side."""
        wide: Floats = _PACKING[np.minimum(count, MOST_WIRES)] * np.sqrt(squares)
        return np.asarray(np.maximum(wide, two))

    def _height(self, sums: Floats, thickest: Floats) -> Floats:
        """Height of flat bundles in their corridors; inf where one wire is too thick."""
        columns = np.floor((self.graph.width + 1e-9) / np.maximum(thickest, 1e-3))
        return np.asarray(np.where(columns > 0, sums / np.maximum(columns, 1.0), np.inf))

    def costs_for(self, demand: Demand) -> Floats:
        """What each edge would add if this wire were laid along it, beside all others."""
        costs = self.group_costs((demand.index,))
        for key in (demand.connection.from_, demand.connection.to):
            node = self.graph.ends[key]
            edges = np.array(self.end_edges[node], dtype=np.intp)
            costs[edges] = self.mm[edges] * self.weights.per_mm(demand.amps) + 1e-6
            costs[self.backward[node]] = NO_WAY
        return costs

    def open_to(self, demand: Demand) -> NDArray[np.bool_]:
        """Which edges a wire may use at all, however narrow they are."""
        open_ = ~self.closed
        for key in (demand.connection.from_, demand.connection.to):
            node = self.graph.ends[key]
            open_[self.end_edges[node]] = True
            open_[self.backward[node]] = False
        return open_

    # Laying and taking up

    def find_alone(self, demand: Demand) -> list[int] | None:
        """The shortest way of a wire, were it alone on the board; its via points left out."""
        costs = self.mm + self.own
        ends = {self.graph.ends[k] for k in (demand.connection.from_, demand.connection.to)}
        for _, inside, known in self.zones:
            costs[inside] *= 1.0 if ends & known else STRANGER
        costs[(self.graph.width < demand.outer) | self.closed] = NO_WAY
        return self._between(demand, costs, 1.0)

    def _between(self, demand: Demand, costs: Floats, per_mm: float) -> list[int] | None:
        ends = [self.graph.ends[key] for key in (demand.connection.from_, demand.connection.to)]
        for node in ends:
            edges = np.array(self.end_edges[node], dtype=np.intp)
            costs[edges] = self.mm[edges] * per_mm + 1e-6
            costs[self.backward[node]] = NO_WAY
        return self.search.way(costs, *ends)

    def find(self, demand: Demand) -> list[int] | None:
        """The cheapest way of a wire beside all others, through its via points."""
        ends = [self.graph.ends.get(demand.connection.from_),
                self.graph.ends.get(demand.connection.to)]
        if ends[0] is None or ends[1] is None:
            return None
        stops = [ends[0], *self.via.get(demand.index, ()), ends[1]]
        costs = self.costs_for(demand)
        edges: list[int] = []
        for a, b in pairwise(stops):
            if a == b:
                continue
            part = self.search.way(costs, a, b)
            if part is None:
                return None
            edges += part
            costs[part] = NO_WAY  # it does not come back the way it went
        return edges

    def put(self, index: int, edges: list[int], *, fixed: bool = False) -> None:
        """Lay a wire along edges."""
        (self.fixed if fixed else self.ways)[index] = edges
        self.load(index, edges)

    def load(self, index: int, edges: Sequence[int]) -> None:
        """Count a wire on edges."""
        outer, at = self.demands[index].outer, np.unique(np.array(edges, dtype=np.intp))
        self.count[at] += 1
        self.squares[at] += outer * outer
        self.sums[at] += outer
        first, second = self.thickest
        second[at] = np.maximum(second[at], np.minimum(first[at], outer))
        first[at] = np.maximum(first[at], outer)
        for edge in edges:
            self.on.setdefault(edge, set()).add(index)

    def unload(self, index: int, edges: Sequence[int]) -> None:
        """Count it there no more."""
        outer, at = self.demands[index].outer, np.unique(np.array(edges, dtype=np.intp))
        self.count[at] -= 1
        self.squares[at] -= outer * outer
        self.sums[at] -= outer
        for edge in edges:
            self.on[edge].discard(index)
        bare = at[self.count[at] == 0]
        self.squares[bare] = self.sums[bare] = 0.0
        self.thickest[:, bare] = 0.0
        for edge in at[(self.count[at] > 0) & (self.thickest[1, at] <= outer)]:
            outers = sorted((self.demands[i].outer for i in self.on[int(edge)]), reverse=True)
            self.thickest[:, edge] = (*outers, 0.0)[:2]

    def diameters(self) -> Floats:
        """Diameter of the round bundle on every edge, mm."""
        return self._diameter(self.count, self.squares, self.thickest.sum(axis=0))

    def overfull(self) -> Ints:
        """Pieces of track whose bundle fits its corridor neither round nor standing flat."""
        wide = self.diameters() > self.graph.width + 1e-9
        tall = self._height(self.sums, self.thickest[0]) > self.tallest + 1e-9
        return np.flatnonzero(wide & tall & (self.count > 0))


def _joined(rows: Floats) -> list[tuple[float, float, float]]:
    """Pieces (line, from, to) on one line that touch put together."""
    found: list[list[float]] = []
    for c, a, b in rows[np.lexsort((rows[:, 1], rows[:, 0]))].tolist():
        if found and found[-1][0] == c and a <= found[-1][2] + 1e-6:
            found[-1][2] = max(found[-1][2], b)
        else:
            found.append([c, a, b])
    return [(c, a, b) for c, a, b in found]


"""Taking wires and runs up and laying them again, while that makes the sum of costs smaller.

Wires are laid anew one by one; whole runs are laid anew between their two branch points, as key
paths are exchanged in Steiner trees (S. Voss, Annals of Operations Research 33 (1991), from
memory); runs are closed where their wires do as well elsewhere. Corridors that are too full get
dearer with each round (negotiated congestion: L. McMurchie and C. Ebeling, FPGA 1995).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from layout_engine.wiring.corridors import RUN
from layout_engine.wiring.demands import Demand
from layout_engine.wiring.laying import Laying
from layout_engine.wiring.search import NO_WAY

MOST_EFFORT = 120_000_000  # edges looked at; larger boards are improved less, in some seconds
SLANT_MM = 5.0  # that slanting straight parts may be shorter, at most
BETTER = 1e-6  # least saving for which a run is laid elsewhere


class Improvement:
    """Moves of wires in one laying.

    None makes the sum of costs larger as it stands for the wires that move: what a move does to the
    loop area of their returns, which do not move, shows when those are laid anew. widely: ways that
    cost too much are found all the same, so that the track over which they lead is seen.
    """

    def __init__(self, laying: Laying, *, widely: bool = False) -> None:
        self.laying, self.widely = laying, widely
        self._tried: dict[tuple[int, ...], tuple[int, float]] = {}
        self._stays: dict[tuple[int, ...], int] = {}
        self._moves: list[NDArray[np.intp]] = []  # edges of old and new ways, in order
        self._settled: dict[int, tuple[int, float, NDArray[np.float64]]] = {}

    @property
    def spent(self) -> bool:
        """Whether enough has been tried: wires all lie, and might lie in fewer runs."""
        return self.laying.search.effort > MOST_EFFORT

    def lay(self, order: Sequence[Demand]) -> int:
        """Take each wire up and lay it again; how many changed.

        Left out are wires near whose ways nothing has changed since they were last laid.
        """
        changed = 0
        for demand in order:
            before = self.laying.ways.get(demand.index)
            if before is not None:
                if self._is_settled(demand):
                    continue
                del self.laying.ways[demand.index]
                self.laying.unload(demand.index, before)
            way = self.laying.find(demand, before)
            if way is None:
                way = before
            if way is None:
                continue
            if way != before:
                changed += 1
                self._note((before or []) + way)
            self.laying.put(demand.index, before if way == before and before else way)
            self._settled[demand.index] = (
                len(self._moves), self.laying.cost, self.laying.wire_cost(demand))
        return changed

    def forget(self) -> None:
        """What was tried is open again: weights have changed."""
        self._settled.clear()
        self._tried.clear()
        self._stays.clear()

    def _note(self, edges: Sequence[int]) -> None:
        self._moves.append(np.array(edges, dtype=np.intp))

    def _is_settled(self, demand: Demand) -> bool:
        """Whether nothing has changed where a better way of a wire could lead."""
        known = self._settled.get(demand.index)
        if known is None or demand.index in self.laying.via:
            return False
        since, cost, own = known
        if own is not self.laying.wire_cost(demand):
            return False
        graph = self.laying.graph
        ends = (graph.ends[demand.connection.from_], graph.ends[demand.connection.to])
        return self._same_as_when((since, cost / self.laying.weights.per_mm(demand.amps)), ends)

    def _same_as_when(self, known: tuple[int, float] | None, ends: tuple[int, int]) -> bool:
        """Whether no way has changed since, as far as a way between two nodes reaches [mm]."""
        if known is None:
            return False
        since, reach = known
        if since == len(self._moves):
            return True
        moved = np.concatenate(self._moves[since:])
        return not len(self.laying.near(ends, reach, moved))

    def close_runs(self, most: int) -> int:
        """Take up all wires of a run and lay them anew without it, where that is cheaper.

        Runs that save most by their wire go first; at most `most` wires are laid.
        """
        runs = sorted(self._shared(), key=lambda c: -self._gain(c))
        changed = laid = 0
        for chain in runs:
            members = sorted(self.laying.on.get(chain[0], ()))
            if not members or not self._free(members):
                continue
            if laid + len(members) > most or self.spent:
                break
            laid += len(members)
            changed += self._close(members, chain)
        return changed

    def _free(self, members: Iterable[int]) -> bool:
        """Whether wires may be laid elsewhere together: none stays, none must pass points."""
        return all(m in self.laying.ways and m not in self.laying.via for m in members)

    def _shared(self) -> list[list[int]]:
        """Pieces of track that the same wires use one after the other."""
        seen: set[int] = set()
        chains: list[list[int]] = []
        for index in sorted(self.laying.ways):
            current: list[int] = []
            for edge in self.laying.ways[index]:
                if current and self.laying.on[edge] != self.laying.on[current[-1]]:
                    chains.append(current)
                    current = []
                if edge not in seen and self.laying.graph.kind[edge] == RUN:
                    seen.add(edge)
                    current.append(edge)
            if current:
                chains.append(current)
        return chains

    def _gain(self, chain: list[int]) -> float:
        return float(self.laying.opening[chain].sum()) / len(self.laying.on[chain[0]])

    def _close(self, members: list[int], chain: list[int]) -> bool:
        key = (*members, -1, *chain)
        if self._stays.get(key) == len(self._moves):
            return False
        before = {index: self.laying.ways.pop(index) for index in members}
        saved = 0.0
        for index in members:
            self.laying.unload(index, before[index])
            saved += self.laying.cost_of(self.laying.demands[index], before[index])
        run = np.array(chain, dtype=np.intp)
        kept = self.laying.shut(run)
        spent, rest = 0.0, sum(self._least(index) for index in members)
        for index in members:
            rest -= self._least(index)
            most = NO_WAY if self.widely else saved - spent - rest
            way = self.laying.find(self.laying.demands[index], most=most)
            if way is None:
                spent = np.inf
                break
            spent += self.laying.cost
            self.laying.put(index, way)
            if spent + rest > saved:
                spent = np.inf
                break
        self.laying.shut(run, kept)
        if spent < saved - BETTER:
            self._note([e for index in members for e in before[index] + self.laying.ways[index]])
            return True
        for index in members:
            if index in self.laying.ways:
                self.laying.unload(index, self.laying.ways.pop(index))
        for index in members:
            self.laying.put(index, before[index])
        self._stays[key] = len(self._moves)
        return False

    def _least(self, index: int) -> float:
        """What the way of a wire costs at least: straight along both axes."""
        graph, demand = self.laying.graph, self.laying.demands[index]
        ends = [graph.ends[key] for key in (demand.connection.from_, demand.connection.to)]
        return self.laying.weights.per_mm(demand.amps) * max(0.0, float(
            np.abs(graph.xy[ends[0]] - graph.xy[ends[1]]).sum()) - SLANT_MM)

    def exchange(self) -> int:
        """Take up each run of several wires and lay it again between its branch points."""
        changed = 0
        for index in sorted(self.laying.ways):
            place = 0
            while place < len(self.laying.ways[index]) and not self.spent:
                edges = self.laying.ways[index]
                members = self.laying.on[edges[place]]
                stop = place + 1
                while stop < len(edges) and self.laying.on[edges[stop]] == members:
                    stop += 1
                if min(members) == index and len(members) > 1 and self._free(members):
                    changed += self._exchange(sorted(members), edges[place:stop])
                place = stop
        return changed

    def _exchange(self, members: list[int], chain: list[int]) -> bool:
        graph = self.laying.graph
        tried = (*members, -1, *chain)
        if all(graph.kind[e] != RUN for e in chain):
            return False
        start, end = self._ends_of(chain)
        if self._same_as_when(self._tried.get(tried), (start, end)):
            return False
        per_mm = sum(self.laying.weights.per_mm(self.laying.demands[i].amps) for i in members)
        costs, reach = self._costs_near(members, chain, (start, end), per_mm)
        self._tried[tried] = len(self._moves), reach
        known = float(costs[chain].sum())
        way = self.laying.search.way(costs, start, end, known, per_mm)
        if way is None or float(costs[way].sum()) > known - BETTER or way == chain:
            return False
        self._note(chain + way)
        for index in members:
            self.laying.unload(index, chain)
        for index in members:
            self._replace(index, chain, way, start)
        return True

    def _costs_near(self, members: list[int], chain: list[int], ends: tuple[int, int],
                    per_mm: float) -> tuple[NDArray[np.float64], float]:
        """Costs of the edges over which wires can go for no more than along a chain they leave,
        and how far those reach [mm].
        """
        laying, run = self.laying, np.array(chain, dtype=np.intp)
        alone = laying.group_costs(members, run, bare=True, without=chain)  # nobody else lies there
        known = float(alone.sum())
        reach = known / per_mm
        near = laying.near(ends, reach)
        costs = np.full(len(laying.closed), NO_WAY)
        costs[near] = laying.group_costs(members, near, without=chain)
        costs[run] = alone
        for index in members:
            connection = laying.demands[index].connection
            for key in (connection.from_, connection.to):
                costs[laying.backward[laying.graph.ends[key]]] = NO_WAY
        return costs, reach

    def _replace(self, index: int, chain: list[int], way: list[int], start: int) -> None:
        """Put another way from `start` in the place of a chain that is already taken up."""
        edges = self.laying.ways[index]
        first, last = sorted((edges.index(chain[0]), edges.index(chain[-1])))
        before, after = edges[:first], edges[last + 1:]
        self.laying.unload(index, before + after)
        node = self._nodes(index, before)[-1]
        whole = before + (way if node == start else way[::-1]) + after
        self.laying.ways[index] = self._without_loops(index, whole)
        self.laying.load(index, self.laying.ways[index])

    def _nodes(self, index: int, edges: Sequence[int]) -> list[int]:
        """Nodes that a wire comes to along edges, from its first end on."""
        graph = self.laying.graph
        nodes = [graph.ends[self.laying.demands[index].connection.from_]]
        for edge in edges:
            u, v = int(graph.u[edge]), int(graph.v[edge])
            nodes.append(v if nodes[-1] == u else u)
        return nodes

    def _without_loops(self, index: int, edges: list[int]) -> list[int]:
        """A way that comes to no node twice."""
        nodes = self._nodes(index, edges)
        seen = {nodes[0]: 0}
        kept: list[int] = []
        for edge, node in zip(edges, nodes[1:], strict=True):
            kept.append(edge)
            if node in seen:
                del kept[seen[node]:]
                seen = {n: k for n, k in seen.items() if k <= seen[node]}
            seen[node] = len(kept)
        return kept

    def _ends_of(self, chain: list[int]) -> tuple[int, int]:
        graph = self.laying.graph
        if len(chain) == 1:
            return int(graph.u[chain[0]]), int(graph.v[chain[0]])
        first = {int(graph.u[chain[0]]), int(graph.v[chain[0]])}
        last = {int(graph.u[chain[-1]]), int(graph.v[chain[-1]])}
        second = {int(graph.u[chain[1]]), int(graph.v[chain[1]])}
        before = {int(graph.u[chain[-2]]), int(graph.v[chain[-2]])}
        return (first - second).pop(), (last - before).pop()

    def fit(self, order: Sequence[Demand], rounds: int = 6) -> None:
        """Lay wires of runs that are too full anew, at higher and higher prices."""
        for _ in range(rounds):
            full = self.laying.overfull()
            if not len(full):
                break
            self.laying.crowd_more(full, 3.0)
            self.forget()
            crowded = set().union(*(self.laying.on[int(e)] for e in full))
            self.lay([d for d in order if d.index in crowded and d.index in self.laying.ways])

    def rounds(self, order: Sequence[Demand], most: int, closings: int) -> None:
        """Lay wires and runs elsewhere, at most so often as long as something changes.

        closings: how many wires are laid, each round, to try what closing a run saves.
        """
        for _ in range(most):
            if self.spent:
                break
            self.laying.refresh_noise()
            changed = self.lay(order)
            for _ in range(self.laying.weights.exchanges):
                moved = self.exchange()
                changed += moved
                if not moved:
                    break
            if not changed + self.close_runs(closings):
                break


def order_of(demands: Iterable[Demand]) -> list[Demand]:
    """Heavy wires first, each feed with its return, quiet ones last."""
    listed = list(demands)
    at = {d.index: d for d in listed}

    def key(demand: Demand) -> tuple[bool, float, int, int]:
        partner = at.get(-1 if demand.partner is None else demand.partner)
        amps = max(demand.amps, partner.amps if partner else 0.0)
        first = min(demand.index, partner.index if partner else demand.index)
        return demand.quiet, -amps, first, demand.index

    return sorted(listed, key=key)

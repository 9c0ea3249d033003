"""Taking wires and runs up and laying them again, while that makes the sum of costs smaller.

Wires are laid anew one by one; whole runs are laid anew between their two branch points, as key
paths are exchanged in Steiner trees (S. Voss, Annals of Operations Research 33 (1991), from
memory); runs are closed where their wires do as well elsewhere. Corridors that are too full get
dearer with each round (negotiated congestion: L. McMurchie and C. Ebeling, FPGA 1995). Where all
wires are laid, each is first sought as if openings were shared by as many as would take them
(dynamic slope scaling: D. Kim and P. Pardalos, Operations Research Letters 24 (1999), from memory).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from layout_engine.wiring.corridors import RUN
from layout_engine.wiring.demands import Demand
from layout_engine.wiring.laying import Laying
from layout_engine.wiring.search import NO_WAY

STEP = 1.5  # by which the opening of runs is weighed more, or less
MOST_EFFORT = 120_000_000  # edges looked at; larger boards are improved less, in some seconds
SHARINGS = 3  # how often it is asked how many wires would share each piece of track
FIRST_SHARE, LEAST_SHARE = 4.0, 0.5  # wires that are thought to share one, at first and at least
BETTER = 1e-6  # least saving for which a run is laid elsewhere


@dataclass(frozen=True, slots=True)
class _Laid:
    """How wires lie: their ways, length over the sum of the shortest ways, track that is open
    [mm], and how openings were weighed.
    """

    ways: dict[int, list[int]]
    longer: float
    opened: float
    scale: float

    def better(self, other: _Laid, most: float) -> bool:
        """Whether they lie better so than otherwise, where lengths may be `most`."""
        return self._rank(most) < other._rank(most)

    def _rank(self, most: float) -> tuple[int, float, float]:
        return -len(self.ways), round(max(self.longer, most), 6), round(self.opened, 3)


class Improvement:
    """Moves of wires in one laying.

    None makes the sum of costs larger as it stands for the wires that move: what a move does to the
    loop area of their returns, which do not move, shows when those are laid anew.
    """

    def __init__(self, laying: Laying) -> None:
        self.laying = laying
        self._tried: dict[tuple[int, ...], tuple[int, float]] = {}
        self._stays: dict[tuple[int, ...], int] = {}
        self._moves: list[NDArray[np.intp]] = []  # edges of old and new ways, in order
        self._settled: dict[int, tuple[int, float, NDArray[np.float64]]] = {}
        self._shortest: dict[int, float] = {}

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

    def _forget(self) -> None:
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
            saved += float(self.laying.costs_for(self.laying.demands[index])[before[index]].sum())
        run = np.array(chain, dtype=np.intp)
        kept = self.laying.shut(run)
        spent = 0.0
        for index in members:
            way = self.laying.find(self.laying.demands[index])
            if way is None:
                spent = np.inf
                break
            spent += float(self.laying.costs_for(self.laying.demands[index])[way].sum())
            self.laying.put(index, way)
            if spent > saved:
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
        alone = laying.group_costs(members, run, bare=True)  # nobody else lies there
        known = float(alone.sum())
        reach = known / per_mm
        near = laying.near(ends, reach)
        costs = np.full(len(laying.closed), NO_WAY)
        costs[near] = laying.group_costs(members, near)
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

    def settle(self, order: Sequence[Demand], *, many: bool, extra: int = 6) -> None:
        """Rounds of laying until nothing changes, then until runs fit where they can.

        many: they are laid from scratch, in as few runs as can be, instead of one after the other.
        """
        if many:
            self._gather(order)
        else:
            self.lay(order)
            self._rounds(order, 1, 0)
        for _ in range(extra):
            full = self.laying.overfull()
            if not len(full):
                break
            self.laying.crowd_more(full, 3.0)
            self._forget()
            crowded = set().union(*(self.laying.on[int(e)] for e in full))
            self.lay([d for d in order if d.index in crowded and d.index in self.laying.ways])

    def _gather(self, order: Sequence[Demand]) -> None:
        """Lay all wires from scratch, then weigh openings more or less, step by step.

        What gathers at one weight leads into fewer runs at the next. Kept is what opens the least
        track while all wires together stay within `most_longer`.
        """
        weights, step, last = self.laying.weights, STEP, 0
        self.laying.weigh_openings(weights.first_weighing)
        self._begin(order)
        self._rounds(order, weights.rounds, weights.closings)
        best = self._laid(order)
        for _ in range(weights.weighings):
            if self.spent:
                break
            laid = self._laid(order)
            way = -1 if laid.longer > weights.most_longer else 1
            if last and way != last:
                step = sqrt(step)
            last = way
            self.laying.weigh_openings(step**way)
            self._forget()
            self._rounds(order, 1, 0)
            laid = self._laid(order)
            if laid.better(best, weights.most_longer):
                best = laid
            elif best.longer <= weights.most_longer < laid.longer:
                self._lay_as(best)
        self._lay_as(best)

    def _begin(self, order: Sequence[Demand]) -> None:
        """Lay wires as if each opening were shared by as many as would take it, were it so."""
        laying = self.laying
        for index in [d.index for d in order if d.index in laying.ways]:
            laying.unload(index, laying.ways.pop(index))
        taken = laying.count > 0
        shared = np.full(len(taken), FIRST_SHARE)
        ways: dict[int, list[int]] = {}
        for number in range(SHARINGS):
            laying.unopened = np.where(taken, 0.0, laying.opening / shared)
            use = np.zeros(len(taken))
            for demand in order:
                way = laying.find(demand, ways.get(demand.index))
                if way is not None:
                    ways[demand.index] = way
                    use[way] += 1.0
            shared = np.maximum(use if not number else (shared + use) / 2, LEAST_SHARE)
        laying.unopened = np.where(taken, 0.0, laying.opening)
        for index, way in ways.items():
            laying.put(index, way)
        self._forget()

    def _laid(self, order: Sequence[Demand]) -> _Laid:
        """How the wires lie."""
        laying = self.laying
        ways = {d.index: laying.ways[d.index] for d in order if d.index in laying.ways}
        used = (laying.count > 0) & (laying.graph.kind == RUN)
        return _Laid(ways, self._longer(order),
                     float(laying.graph.length[used].sum()), float(laying.scale))

    def _lay_as(self, laid: _Laid) -> None:
        """Lay the wires as they lay once, with openings weighed as they were."""
        laying = self.laying
        for index in laid.ways:
            if index in laying.ways:
                laying.unload(index, laying.ways.pop(index))
        laying.weigh_openings(laid.scale / laying.scale)
        for index, way in laid.ways.items():
            laying.put(index, way)

    def _rounds(self, order: Sequence[Demand], most: int, closings: int) -> None:
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

    def _longer(self, order: Sequence[Demand]) -> float:
        """How much longer all wires are together than each by its shortest way; at least 1."""
        length = self.laying.mm
        whole = alone = 0.0
        for demand in order:
            if demand.index in self.laying.ways:
                whole += float(length[self.laying.ways[demand.index]].sum())
                alone += self._alone(demand)
        return whole / alone if alone > 0 else 1.0

    def _alone(self, demand: Demand) -> float:
        """Length [mm] of the shortest way of a wire, were it alone on the board."""
        if demand.index not in self._shortest:
            way = self.laying.find_alone(demand)
            length = self.laying.mm
            self._shortest[demand.index] = float(length[way].sum()) if way else 0.0
        return self._shortest[demand.index]


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

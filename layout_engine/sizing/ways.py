"""Ways of the current: from a source to each consumer and back, and which fuses lie on them.

Conductors and nodes by their numbers in `layout_engine.supply.network.Network`; ohm, A, mm.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from heapq import heappop, heappush
from math import inf

import numpy as np
from numpy.typing import NDArray

from layout_engine.once import cached_property
from layout_engine.supply.elements import Array, Element
from layout_engine.supply.network import Network

LIMITING_OHMS = 1.0  # from here a path is a resistor that limits the current, no conductor
Leg = tuple[int, int]  # conductor, +1 where it is passed from its first node to its second


@dataclass(frozen=True)
class Source:
    """A battery, a string of batteries, or a converter's output.

    Attributes:
        elements: batteries from the top down, or the one output.
        plus, minus: nodes.
        links: legs between the batteries of a string.
    """

    elements: tuple[int, ...]
    plus: int
    minus: int
    links: tuple[Leg, ...] = ()


@dataclass(frozen=True)
class Way:
    """How one consumer is fed.

    Attributes:
        element: its number; -1 for a dead end, where a wire lies that feeds nothing (yet).
        part: the part at its end.
        source: what feeds it.
        out: legs from the source's plus to it, back: from it to the source's minus.
        node: where it ends, at its plus.
    """

    element: int
    part: str
    source: Source
    out: tuple[Leg, ...]
    back: tuple[Leg, ...]
    node: int

    @property
    def legs(self) -> tuple[Leg, ...]:
        """Every leg, links between batteries included."""
        return self.out + self.back + self.source.links


@dataclass
class Tree:
    """Least-resistance tree from some roots: the leg that leads to each node, and its distance."""

    ohms: dict[int, float] = field(default_factory=dict)
    leg: dict[int, Leg] = field(default_factory=dict)
    before: dict[int, int] = field(default_factory=dict)
    root: dict[int, int] = field(default_factory=dict)

    def legs_to(self, node: int) -> tuple[Leg, ...]:
        """Legs from the root to a node, in order."""
        found = []
        while node in self.leg:
            found.append(self.leg[node])
            node = self.before[node]
        return tuple(reversed(found))

    def legs_from(self, node: int) -> tuple[Leg, ...]:
        """Legs from a node to the root, in order."""
        return tuple((c, -sign) for c, sign in reversed(self.legs_to(node)))


class Ways:
    """The ways of a network."""

    def __init__(self, network: Network) -> None:
        self.network = network
        self.conductors = network.conductors
        items = network.elements.items
        self.batteries = [n for n, e in enumerate(items) if e.kind == "battery"]

    @cached_property
    def joined(self) -> dict[int, list[tuple[int, int, int]]]:
        """(conductor, sign, node at its other end) at each node, resistors left out."""
        found: dict[int, list[tuple[int, int, int]]] = defaultdict(list)
        for n, c in enumerate(self.conductors):
            if c.part is None or c.ohms < LIMITING_OHMS:
                found[c.a].append((n, 1, c.b))
                found[c.b].append((n, -1, c.a))
        return found

    def tree(self, roots: list[int]) -> Tree:
        """The ways of least resistance from the nearest of some nodes."""
        found = Tree()
        heap: list[tuple[float, int, int, Leg | None, int]] = [
            (0.0, root, root, None, root) for root in roots
        ]
        while heap:
            ohms, node, before, leg, root = heappop(heap)
            if node in found.ohms:
                continue
            found.ohms[node], found.root[node] = ohms, root
            if leg is not None:
                found.leg[node], found.before[node] = leg, before
            for c, sign, other in self.joined[node]:
                if other not in found.ohms:
                    more = ohms + self.conductors[c].ohms
                    heappush(heap, (more, other, node, (c, sign), root))
        return found

    @cached_property
    def sources(self) -> tuple[Source, ...]:
        """Batteries, strings of them from their top, and converters' outputs.

        An output that charges a battery is none: what hangs there hangs on the battery.
        """
        items = self.network.elements.items
        component = self.network.component
        above = {int(component[items[n].minus]): n for n in self.batteries}
        tops = [n for n in self.batteries if int(component[items[n].plus]) not in above]
        found = [self._string(n) for n in tops]
        fed = {int(component[items[n].plus]) for n in self.batteries}
        found += [
            Source((int(n),), items[n].plus, items[n].minus)
            for n in self.network.elements.of("converter_out")
            if int(component[items[n].plus]) not in fed
        ]
        return tuple(found)

    def _string(self, top: int) -> Source:
        items, component = self.network.elements.items, self.network.component
        chain = [top]
        links: tuple[Leg, ...] = ()
        while True:
            low = items[chain[-1]].minus
            below = next((n for n in self.batteries if n not in chain
                          and component[items[n].plus] == component[low]), None)  # fmt: skip
            if below is None:
                return Source(tuple(chain), items[top].plus, low, links)
            links += self.tree([low]).legs_to(items[below].plus)
            chain.append(below)

    @cached_property
    def is_battery(self) -> dict[Source, bool]:
        """Whether a source is made of batteries."""
        kinds = self.network.elements.items
        return {s: kinds[s.elements[0]].kind == "battery" for s in self.sources}

    @cached_property
    def plus_tree(self) -> Tree:
        """From every source's plus."""
        return self.tree([s.plus for s in self.sources])

    @cached_property
    def minus_trees(self) -> dict[int, Tree]:
        """From each source's minus, by its plus."""
        trees = {s.minus: self.tree([s.minus]) for s in self.sources}
        return {s.plus: trees[s.minus] for s in self.sources}

    @cached_property
    def by_plus(self) -> dict[int, Source]:
        """Each source by its plus node."""
        return {s.plus: s for s in self.sources}

    def way(self, element: int, plus: int, minus: int, part: str) -> Way | None:
        """The way of current to two nodes and back; None where no source reaches both."""
        tree = self.plus_tree
        if plus not in tree.ohms:
            return None
        source = self.by_plus[tree.root[plus]]
        back = self.minus_trees[source.plus]
        if minus not in back.ohms:
            return None
        return Way(element, part, source, tree.legs_to(plus), back.legs_from(minus), plus)

    @cached_property
    def feeds(self) -> tuple[Way, ...]:
        """The way of each load, driver's and converter's input, and motor on a source."""
        found = []
        for n, e in enumerate(self.network.elements.items):
            if e.kind in ("load", "drive", "converter", "motor"):
                way = self.way(n, e.plus, e.minus, e.part)
                if way is not None:
                    found.append(way)
        return tuple(found)

    @cached_property
    def dead_ends(self) -> tuple[Way, ...]:
        """Ways to the ends of wires that feed nothing: a charge socket, a spare lead."""
        tree = self.plus_tree
        on_the_way = {c for way in self.feeds for c, _ in way.out}
        inner = set(tree.before.values())
        found = []
        for node, (c, _) in tree.leg.items():
            if node in inner or c in on_the_way or self.conductors[c].part is not None:
                continue
            way = self._to_dead_end(node)
            if way is not None:
                found.append(way)
        return tuple(found)

    def _to_dead_end(self, node: int) -> Way | None:
        """To a node and back from the nearest return terminal of its part, else straight back."""
        source = self.by_plus[self.plus_tree.root[node]]
        part = self.network.names[node].partition(".")[0]
        back = self.minus_trees[source.plus]
        near = [(ohms, n) for n, ohms in back.ohms.items()
                if self.network.names[n].partition(".")[0] == part]
        return self.way(-1, node, min(near)[1] if near else source.minus, part)

    def to_fuses(self, fuses: Iterable[int]) -> tuple[Way, ...]:
        """To the near end of each fuse and straight back: a short in front of it."""
        tree = self.plus_tree
        found = []
        for c in fuses:
            ends = [n for n in (self.conductors[c].a, self.conductors[c].b) if n in tree.ohms]
            if ends:
                near = min(ends, key=lambda n: tree.ohms[n])
                source = self.by_plus[tree.root[near]]
                part = self.conductors[c].part or ""
                found.append(Way(-1, part, source, tree.legs_to(near), (), near))
        return tuple(found)

    @cached_property
    def motor_ways(self) -> tuple[tuple[Element, int, tuple[Leg, ...]], ...]:
        """Of each motor on a driver: itself, the driver's input, legs of its own two wires."""
        items = self.network.elements.items
        found = []
        for out in items:
            if out.kind != "drive_out":
                continue
            ways = [self.tree([node]) for node in (out.plus, out.minus)]
            for e in items:
                if e.kind == "motor":
                    legs = _both(ways, (e.plus, e.minus)) or _both(ways, (e.minus, e.plus))
                    if legs is not None:
                        found.append((e, out.partner, legs))
        return tuple(found)

    def matrix(self, ways: list[tuple[Leg, ...]]) -> Array:
        """(ways, conductors): +1 or -1 where a way passes a conductor."""
        found = np.zeros((len(ways), len(self.conductors)))
        for row, legs in enumerate(ways):
            for c, sign in legs:
                found[row, c] += sign
        return found


def _both(trees: list[Tree], nodes: tuple[int, int]) -> tuple[Leg, ...] | None:
    if nodes[0] not in trees[0].ohms or nodes[1] not in trees[1].ohms:
        return None
    return trees[0].legs_to(nodes[0]) + trees[1].legs_from(nodes[1])


def widest(
    ways: Ways, ratings: Mapping[int, float]
) -> tuple[NDArray[np.float64], dict[int, int]]:
    """What the fuses let through to each node at most: the best-fused way's smallest rating.

    Args:
        ways: of the network.
        ratings: A of each fused conductor, by its number.

    Returns:
        A at each node, inf where some way has no fuse, NaN where no battery reaches; and the fuse
        that sets it, by node.
    """
    found = np.full(len(ways.network.names), np.nan)
    fuse: dict[int, int] = {}
    roots = {ways.network.elements.items[n].plus for s in ways.sources if ways.is_battery[s]
             for n in s.elements}  # fmt: skip
    heap: list[tuple[float, float, int, int]] = [(-inf, 0.0, root, -1) for root in sorted(roots)]
    while heap:
        let, ohms, node, by = heappop(heap)
        if not np.isnan(found[node]):
            continue
        found[node] = -let
        if by >= 0:
            fuse[node] = by
        for c, _, other in ways.joined[node]:
            if np.isnan(found[other]):
                own = ratings.get(c, inf)
                least, through = (own, c) if own < -let else (-let, by)
                heappush(heap, (-least, ohms + ways.conductors[c].ohms, other, through))
    return found, fuse

"""The board as a network: terminals as nodes, wires and paths as conductances, elements between.

The conductances are reduced once to the elements' ports; every case is then solved on the ports
alone, and what flows in each wire follows by one multiplication.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from heapq import heappop, heappush

import numpy as np
from numpy.typing import NDArray

from layout_engine.disjoint import Sets
from layout_engine.model.job import Job
from layout_engine.model.part import Part
from layout_engine.model.part_type import Battery, ConductingPath, Motor, PartType
from layout_engine.once import cached_property
from layout_engine.supply.elements import Array, Element, Elements
from layout_engine.supply.state import BranchKind
from layout_engine.supply.wires import WireFacts
from layout_engine.tables.batteries import CHEMISTRIES
from layout_engine.tables.contacts import (
    CONVERTER_EFFICIENCY,
    CONVERTER_OHMS,
    DRIVER_OHMS,
    FUSE_OHMS,
    PATH_OHMS,
    SWITCH_OHMS,
)

KNEE_SHARE = 0.5  # of a load's least voltage: under it a module is taken as a plain resistance
LEAST_KNEE = 1.0  # V, where no least voltage is known
SOURCES: tuple[BranchKind, ...] = ("battery", "converter_out", "drive_out")
SHORT_OHMS = 1e-4  # what a short is taken as; common practice, no source
LEAST_OHMS = 1e-6  # under it a resistance is no resistance


@dataclass(frozen=True, slots=True)
class Conductor:
    """A wire or a path: its branch id, the part it lies in (None: a wire), nodes and ohm."""

    id: str
    part: str | None
    a: int
    b: int
    ohms: float
    path: ConductingPath | None = None


@dataclass(frozen=True)
class Change:
    """What is broken: branches that are open, pairs of ends that are shorted."""

    opened: frozenset[str] = frozenset()
    shorted: tuple[tuple[str, str], ...] = ()


class Network:
    """Nodes, conductors and elements of a job, and what follows from the conductances alone.

    Args:
        job: the job.
        wires: its connections as conductors.
        change: what is broken in it.
    """

    def __init__(
        self, job: Job, wires: Mapping[str, WireFacts], change: Change | None = None
    ) -> None:
        self.job = job
        self.wires = wires
        self.change = change or Change()
        self.told: dict[str, str] = {}  # where the ohms of each conductor come from, once asked
        self.names = [
            f"{part.id}.{terminal.id}"
            for part in job.parts for terminal in job.type_of(part).terminals
        ]  # fmt: skip
        self.number = {name: n for n, name in enumerate(self.names)}
        taken: Counter[str] = Counter()
        self.conductors = tuple(self._conductors(taken))
        self.elements = Elements(self._started(tuple(self._elements(taken))))

    def _conductors(self, taken: Counter[str]) -> Iterator[Conductor]:
        for wire in self.job.connections:
            facts = self.wires[wire.id]
            taken[wire.id] += 1
            if wire.id not in self.change.opened:
                a, b = self.number[wire.from_], self.number[wire.to]
                yield Conductor(wire.id, None, a, b, max(facts.ohms, LEAST_OHMS))
        for part in self.job.parts:
            for path in _paths(self.job.type_of(part)):
                name = _unique(f"{part.id}.{path.from_}>{path.to}", taken)
                if path.from_ == path.to or name in self.change.opened:
                    continue
                a, b = self._node(part, path.from_), self._node(part, path.to)
                yield Conductor(name, part.id, a, b, path_ohms(path), path)
        for one, other in self.change.shorted:
            name = _unique(f"short {one} to {other}", taken)
            yield Conductor(name, None, self.number[one], self.number[other], SHORT_OHMS)

    def _node(self, part: Part, terminal: str) -> int:
        return self.number[f"{part.id}.{terminal}"]

    def _elements(self, taken: Counter[str]) -> Iterator[Element]:
        made = 0
        for part in self.job.parts:
            for plan in _plans(self.job.type_of(part)):
                yield Element(
                    _unique(f"{part.id}.{plan.plus}>{plan.minus}", taken), plan.kind, part.id,
                    self._node(part, plan.plus), self._node(part, plan.minus), plan.ohms,
                    plan.knee, plan.index, made + plan.partner if plan.partner else -1,
                    plan.volts, plan.efficiency,
                )  # fmt: skip
                made += 1

    def _started(self, items: tuple[Element, ...]) -> tuple[Element, ...]:
        """The elements, converters that only converters feed (themselves, in a ring) being dead."""
        piece = self.component.tolist()
        joined: Sets[int] = Sets()

        def join(e: Element) -> None:
            joined.join(piece[e.plus], piece[e.minus])

        waiting = [n for n, e in enumerate(items) if e.kind == "converter"]
        for e in items:
            if e.kind not in ("converter", "converter_out"):
                join(e)
        packs = [piece[e.plus] for e in items if e.kind == "battery"]
        moving = bool(packs)
        while moving:
            fed = {joined.root(pack) for pack in packs}
            starting = [
                n for n in waiting
                if {joined.root(piece[k]) for k in (items[n].plus, items[n].minus)} <= fed
            ]
            for n in starting:
                join(items[n])
                join(items[items[n].partner])
                waiting.remove(n)
                packs.append(piece[items[items[n].partner].plus])
            moving = bool(starting)
        dead = {*waiting, *(items[n].partner for n in waiting)}
        return tuple(replace(e, starts=False) if n in dead else e for n, e in enumerate(items))

    @cached_property
    def component(self) -> NDArray[np.int_]:
        """Number of the piece of metal that each node belongs to (wires and paths join)."""
        joined: Sets[int] = Sets()
        for c in self.conductors:
            joined.join(c.a, c.b)
        roots = [joined.root(n) for n in range(len(self.names))]
        order = {r: k for k, r in enumerate(dict.fromkeys(roots))}
        return np.array([order[r] for r in roots], dtype=int)

    def piece(self, end: str) -> int:
        """Number of the piece of metal of an end "part.terminal"; raises KeyError."""
        return int(self.component[self.number[end]])

    @cached_property
    def islands(self) -> NDArray[np.int_]:
        """Number of the island of each piece: pieces that elements join."""
        piece = self.component.tolist()
        joined: Sets[int] = Sets()
        for e in self.elements.items:
            joined.join(piece[e.plus], piece[e.minus])
        count = max(piece, default=-1) + 1
        return np.array([joined.root(n) for n in range(count)], dtype=int)

    @cached_property
    def _factor(self) -> tuple[NDArray[np.int_], object]:
        """Row of each node in the grounded Laplacian (-1: the root of its piece), factored."""
        from scipy.sparse import csc_array  # slow to load, and a start can do without
        from scipy.sparse.linalg import splu

        roots: dict[int, int] = {}
        for node, piece in enumerate(self.component.tolist()):
            roots.setdefault(piece, node)
        row = np.full(len(self.names), -1)
        inner = [n for n in range(len(self.names)) if roots[int(self.component[n])] != n]
        row[inner] = np.arange(len(inner))
        if not inner:
            return row, None
        a = row[[c.a for c in self.conductors]]
        b = row[[c.b for c in self.conductors]]
        g = self.conductance
        rows = np.concatenate((a, b, a, b))
        columns = np.concatenate((a, b, b, a))
        values = np.concatenate((g, g, -g, -g))
        inside = (rows >= 0) & (columns >= 0)
        matrix = csc_array(
            (values[inside], (rows[inside], columns[inside])), shape=(len(inner), len(inner))
        )
        return row, splu(matrix)

    @cached_property
    def conductance(self) -> Array:
        """1/ohm of each conductor."""
        return np.array([1 / c.ohms for c in self.conductors])

    @cached_property
    def ends(self) -> tuple[NDArray[np.int_], NDArray[np.int_]]:
        """Both nodes of each conductor."""
        return (np.array([c.a for c in self.conductors], dtype=int),
                np.array([c.b for c in self.conductors], dtype=int))  # fmt: skip

    @cached_property
    def neighbours(self) -> dict[int, list[tuple[int, int]]]:
        """(node, number of the conductor) that each node is joined to."""
        found: dict[int, list[tuple[int, int]]] = {}
        for number, c in enumerate(self.conductors):
            found.setdefault(c.a, []).append((c.b, number))
            found.setdefault(c.b, []).append((c.a, number))
        return found

    @cached_property
    def stiffest_tree(self) -> tuple[tuple[int, int, int], ...]:
        """(node, its parent, number of the conductor between), leaves first: a spanning forest.

        Of least resistance (Prim 1957): where currents are worked out least exactly from voltages.
        A sparse matrix would add up two wires between the same nodes, and not know one from other.
        """
        found: list[tuple[int, int, int]] = []
        seen: set[int] = set()
        for start in range(len(self.names)):
            queue = [(0.0, start, -1, -1)]
            while queue:
                _, node, parent, number = heappop(queue)
                if node in seen:
                    continue
                seen.add(node)
                if parent >= 0:
                    found.append((node, parent, number))
                for other, n in self.neighbours.get(node, ()):
                    if other not in seen:
                        heappush(queue, (self.conductors[n].ohms, other, node, n))
        return tuple(reversed(found))

    def response(self, injected: Array) -> Array:
        """Voltages (nodes, n) against each piece's root for currents (nodes, n) fed in."""
        row, factor = self._factor
        found = np.zeros_like(injected)
        if factor is not None:
            inner = row >= 0
            found[inner] = factor.solve(np.ascontiguousarray(injected[inner]))  # type: ignore[attr-defined]
        return found

    @cached_property
    def incidence(self) -> Array:
        """(nodes, elements): current that 1 A in an element feeds into each node."""
        found = np.zeros((len(self.names), len(self.elements)))
        columns = np.arange(len(self.elements))
        np.add.at(found, (self.elements.plus, columns), -1.0)
        np.add.at(found, (self.elements.minus, columns), 1.0)
        return found

    @cached_property
    def transfer(self) -> Array:
        """(nodes, elements): voltage against its root of each node for 1 A in an element."""
        return self.response(self.incidence)

    @cached_property
    def shares(self) -> Array:
        """(conductors, elements): A in each wire and path for 1 A in each element (superposition).

        What a source gives is what the others draw: see `against_source`.
        """
        a, b = self.ends
        return self.against_source(
            (self.transfer[a] - self.transfer[b]) * self.conductance[:, None]
        )

    def flows(self, volts: Array) -> Array:
        """A in each conductor for voltages (nodes,) against each piece's root."""
        a, b = self.ends
        found: Array = (volts[a] - volts[b]) * self.conductance
        return found

    def against_source(self, found: Array) -> Array:
        """The same currents, (conductors, elements), with one source of each piece taken out.

        All currents into a piece together are none, so the source takes up what the others draw.
        """
        if not len(self.conductors):
            return found
        pieces, columns = int(self.component.max()) + 1, np.arange(len(self.elements))
        sign = np.zeros((pieces, len(self.elements)))
        np.add.at(sign, (self.component[self.elements.plus], columns), 1.0)
        np.add.at(sign, (self.component[self.elements.minus], columns), -1.0)
        here = self.component[self.ends[0]]
        for piece in range(pieces):
            source = next((n for kind in SOURCES for n in self.elements.of(kind)
                           if sign[piece, n]), None)  # fmt: skip
            if source is not None:
                rows = here == piece
                by_source = found[rows, source] / sign[piece, source]
                found[rows] -= by_source[:, None] * sign[piece]
        return found

    def effective_ohms(self, pairs: Iterable[tuple[int, int]]) -> tuple[Array, Array]:
        """Resistance between two nodes of one piece, and the response (nodes, pairs) to 1 A."""
        wanted = list(pairs)
        injected = np.zeros((len(self.names), len(wanted)))
        for column, (a, b) in enumerate(wanted):
            injected[a, column] += 1.0
            injected[b, column] -= 1.0
        answer = self.response(injected)
        ohms = np.array([answer[a, k] - answer[b, k] for k, (a, b) in enumerate(wanted)])
        return ohms, answer


def path_ohms(path: ConductingPath) -> float:
    """Resistance of a path: its own, else the default of a fuse, a switch or plain metal."""
    if path.ohms > 0:
        return max(path.ohms, LEAST_OHMS)
    if path.fuse is not None:
        return FUSE_OHMS.value
    return SWITCH_OHMS.value if path.switch else PATH_OHMS.value


def _paths(kind: PartType) -> list[ConductingPath]:
    """A type's paths, with those that its blocks imply: a common 0 V, a speaker's coil."""
    found = list(kind.paths)
    joined = {frozenset((p.from_, p.to)) for p in found}
    for c in kind.converters:
        if not c.isolated and c.minus != c.out_minus and not _reached(found, c.minus, c.out_minus):
            found.append(_path(c.minus, c.out_minus, PATH_OHMS.value))
    audio = [t.id for t in kind.terminals if t.role == "audio"]
    if kind.speaker_ohms and len(audio) == 2 and frozenset(audio) not in joined:
        found.append(_path(audio[0], audio[1], kind.speaker_ohms))
    return found


def _path(one: str, other: str, ohms: float) -> ConductingPath:
    return ConductingPath.model_validate({"from": one, "to": other, "ohms": ohms})


def _reached(paths: list[ConductingPath], start: str, goal: str) -> bool:
    seen = {start}
    for _ in paths:
        for p in paths:
            if (p.from_ in seen) != (p.to in seen):
                seen |= {p.from_, p.to}
    return goal in seen


def _unique(name: str, taken: Counter[str]) -> str:
    taken[name] += 1
    return name if taken[name] == 1 else f"{name}#{taken[name]}"


@dataclass(frozen=True, slots=True)
class _Plan:
    """An element of a type; `partner`: how many places further its other half stands."""

    kind: BranchKind
    plus: str
    minus: str
    ohms: float = 0.0
    knee: float = LEAST_KNEE
    index: int = 0
    partner: int = 0
    volts: float = 0.0
    efficiency: float = 0.0


def _plans(kind: PartType) -> Iterator[_Plan]:
    """Every element of a type, an output right behind its input."""
    if kind.battery is not None:
        yield _Plan("battery", kind.battery.plus, kind.battery.minus, battery_ohms(kind.battery))
    for n, load in enumerate(kind.loads):
        knee = KNEE_SHARE * load.volts[0] if load.volts and load.volts[0] > 0 else LEAST_KNEE
        yield _Plan("load", load.plus, load.minus, knee=knee, index=n)
    for n, d in enumerate(kind.drives):
        yield _Plan("drive", d.plus, d.minus, index=n, partner=1)
        yield _Plan("drive_out", *d.outs, ohms=DRIVER_OHMS.value, index=n, partner=-1)
    for n, c in enumerate(kind.converters):
        least = min((x.volts[0] for x in kind.loads if x.volts and x.plus == c.plus), default=0.0)
        knee = KNEE_SHARE * least if least > 0 else LEAST_KNEE
        efficiency = 0.0 if c.linear else c.efficiency or CONVERTER_EFFICIENCY.value
        yield _Plan("converter", c.plus, c.minus, 0.0, knee, n, 1, c.out_volts, efficiency)
        yield _Plan("converter_out", c.out_plus, c.out_minus, CONVERTER_OHMS.value, knee, n, -1,
                    c.out_volts, efficiency)  # fmt: skip
    if kind.motor is not None and kind.motor.terminals:
        one, other = kind.motor.terminals
        yield _Plan("motor", one, other, ohms=motor_ohms(kind.motor) or LEAST_KNEE)


def motor_ohms(motor: Motor) -> float | None:
    """Resistance of a motor, ohm: volts / stall current; None where one of them is missing."""
    if motor.volts <= 0 or motor.stall_amps <= 0:
        return None
    return max(motor.volts / motor.stall_amps, LEAST_OHMS)


def battery_ohms(battery: Battery) -> float:
    """Internal resistance: as given, else by order of magnitude from chemistry, cells and Ah."""
    if battery.ohms > 0:
        return max(battery.ohms, LEAST_OHMS)
    chemistry = CHEMISTRIES[battery.chemistry]
    cells = battery.cells or max(1.0, battery.volts / chemistry.rest.value)
    if battery.amp_hours > 0:
        return max(chemistry.sheet_ohms.value * cells / battery.amp_hours, LEAST_OHMS)
    return PATH_OHMS.value

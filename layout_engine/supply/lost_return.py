"""Each return opened in turn: where the current then goes, and what it would burn.

A return that is the only way back just leaves its module dead. One with another way round - the
thin 0 V of a signal lead, the screen of an audio cable - sends its current there.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from layout_engine.model.part_type import Terminal
from layout_engine.supply.basis import SHARED
from layout_engine.supply.elements import Array
from layout_engine.supply.joined import QUIET, fed_elements, terminals, zero_pieces
from layout_engine.supply.network import Change, Conductor, Network
from layout_engine.supply.shares import SUM, parts_of
from layout_engine.supply.solving import Ports, solve
from layout_engine.supply.study import Study
from layout_engine.supply.ways import least_way
from layout_engine.tables.sourced import COMMON_PRACTICE, Sourced
from layout_engine.working import Working

CASE = "peak"
STRAY_AMPS = Sourced(0.020, "A", COMMON_PRACTICE, "what a signal pin stands")
LEAST_TOLD = 1e-3  # A; returns that carry less are not worth a line
BRIDGE = 1e-9  # share of a conductor's current that may go another way and still is none


@dataclass(frozen=True, slots=True)
class Stray:
    """A current that goes astray.

    Attributes:
        opened: the return that opened (a branch id).
        victim: the wire that then carries the current.
        amps: through it, A; before: with the return whole.
        quiet: whether the victim is a signal, audio or data wire; else it is a thin 0 V lead.
        limit: what the victim may carry.
        working: how the current follows: what each module draws, and its share that goes there.
        way: parts that the current passes, from the module whose return opened to the supply.
    """

    opened: str
    victim: str
    amps: float
    before: float
    quiet: bool
    limit: float
    working: Working
    way: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OpenedReturn:
    """One return that opens, every load at its peak.

    Attributes:
        branch: the wire or path that opens.
        before: A that it carries while it is whole.
        dead: parts that lose their only way back.
        stray: the wire that then carries most over what it may; None: none does.
        carries: (wire, A) that takes most of the current over; None: there is no other way, or
            there is no steady state.
        working: how the current in `stray`, else in `carries`, follows; None without either.
    """

    branch: str
    before: float
    dead: tuple[str, ...]
    stray: Stray | None
    carries: tuple[str, float] | None
    working: Working | None


def opened_returns(study: Study) -> tuple[OpenedReturn, ...]:
    """Each return opened in turn: what goes dead, and where the current goes instead.

    Wires, fuses, switches and plugs of the 0 V side that carry something; in the job's order.
    """
    network, opened = study.network, _opened(study)
    if opened is None:
        return ()
    at = {n: k for k, n in enumerate(opened.second)}
    row, fed = study.row[CASE, "nominal"], fed_elements(network)
    found = []
    for n in _returns(study):
        c, before = network.conductors[n], abs(float(study.conductor_amps[row, n]))
        if before < LEAST_TOLD:
            continue
        carries, stray, working = None, None, None
        if n in at and opened.well[at[n]]:
            carries = _takes_over(study, row, n, opened.amps[at[n]])
            stray = _gravest(study, opened, at[n])
            working = stray.working if stray else None
            if working is None and carries is not None:
                working = _working(study, opened, at[n], study.conductor_row[carries[0]])
        found.append(OpenedReturn(c.id, before, _lost(study, c, fed), stray, carries, working))
    return tuple(found)


def _lost(study: Study, c: Conductor, fed: frozenset[int]) -> tuple[str, ...]:
    """Parts that are fed no more without a conductor, by what still hangs together."""
    without = Network(study.job, study.wires, Change(opened=frozenset({c.id})))
    gone = sorted(fed - fed_elements(without))
    items = study.network.elements.items
    return tuple(dict.fromkeys(items[n].part for n in gone))


def _takes_over(study: Study, row: int, n: int, amps: Array) -> tuple[str, float] | None:
    """The wire whose current grows most when another conductor opens."""
    wires = [k for k, c in enumerate(study.network.conductors) if c.part is None and k != n]
    grown = np.abs(amps[wires]) - np.abs(study.conductor_amps[row, wires])
    if not len(wires) or grown.max() < LEAST_TOLD:
        return None
    k = wires[int(grown.argmax())]
    return study.network.conductors[k].id, abs(float(amps[k]))


def _gravest(study: Study, opened: _Opened, k: int) -> Stray | None:
    """The victim of one opened return that is furthest over what it may carry."""
    only = _Opened([opened.second[k]], opened.amps[[k]], opened.well[[k]],
                   opened.elements[[k]], opened.ways[k : k + 1])  # fmt: skip
    found = _worst(study, only)
    return max(found, key=lambda s: (s.quiet, s.amps / s.limit), default=None)


def stray_returns(study: Study) -> list[Stray]:
    """The worst opened return for each wire that would carry its current; in the wires' order."""
    opened = _opened(study)
    return _worst(study, opened) if opened is not None and opened.second else []


@dataclass(frozen=True)
class _Opened:
    """Returns with another way round, opened one by one.

    second: their numbers; amps: what then flows, (opened, conductors); well: whether it is solved;
    elements: what the elements then draw, (opened, elements); ways: of each, what makes the A in a
    conductor for 1 A in an element, (conductors, elements).
    """

    second: list[int]
    amps: Array
    well: NDArray[np.bool_]
    elements: Array
    ways: Sequence[Callable[[], Array]]


def _opened(study: Study) -> _Opened | None:
    """Every return with a second way, opened in turn; None where the peak has no steady state."""
    network = study.network
    returns = _returns(study)
    if not returns or not study.solved.converged[study.row[CASE, "nominal"]]:
        return None
    pairs = [(network.conductors[n].a, network.conductors[n].b) for n in returns]
    ohms, answer = network.effective_ohms(pairs)
    g = network.conductance[returns]
    second = np.flatnonzero(1 - g * ohms > BRIDGE)
    if not len(second):
        none = np.zeros((0, len(network.conductors))), np.zeros(0, dtype=bool)
        return _Opened([], *none, np.zeros((0, len(network.elements))), [])
    weight = g[second] / (1 - g[second] * ohms[second])
    seen = network.incidence.T @ answer[:, second]  # (elements, opened)
    z = study.ports.z + np.einsum("k,ik,jk->kij", weight, seen, seen)
    row = np.full(len(second), study.row[CASE, "nominal"])
    ports = Ports(study.ports.elements, z, study.ports.pieces, study.ports.fixed)
    solved = solve(ports, study.settings.rows(row), study.start[row])
    drops = solved.amps @ network.transfer.T
    drops += (weight[:, None] * (solved.amps @ seen).diagonal()[:, None]) * answer[:, second].T
    a, b = network.ends
    amps = (drops[:, a] - drops[:, b]) * network.conductance
    ways = [partial(_ways, network, float(weight[k]), seen[:, k], answer[:, second[k]])
            for k in range(len(second))]  # fmt: skip
    return _Opened([returns[n] for n in second], amps, solved.converged, solved.amps, ways)


def _ways(network: Network, weight: float, seen: Array, answer: Array) -> Array:
    """A in each conductor for 1 A in each element, one conductor being open."""
    a, b = network.ends
    transfer = network.transfer + weight * np.outer(answer, seen)
    return network.against_source((transfer[a] - transfer[b]) * network.conductance[:, None])


def _working(study: Study, opened: _Opened, k: int, n: int) -> Working:
    """Why a conductor carries what it does with one return open."""
    amps = float(opened.amps[k, n])
    way = opened.ways[k]()[n] * (1.0 if amps >= 0 else -1.0)
    given = parts_of(study, study.row[CASE, "nominal"], way, opened.elements[k])
    lost = study.network.conductors[opened.second[k]].id
    return Working(f"{SUM}, every load at its peak, {lost} open", given, abs(amps), "A", SHARED)


def _returns(study: Study) -> list[int]:
    """Conductors of the 0 V side that can open: wires, fuses, switches, plugs."""
    network = study.network
    zero = zero_pieces(network)
    kinds = {part.id: study.job.type_of(part).kind for part in study.job.parts}
    ends = terminals(study.job)
    found = []
    for n, c in enumerate(network.conductors):
        if int(network.component[c.a]) not in zero:
            continue
        if c.path is not None:
            opens = c.path.fuse is not None or c.path.switch or kinds[c.part or ""] == "plug"
        else:
            opens = all(_carries_return(ends[network.names[k]]) for k in (c.a, c.b))
        if opens:
            found.append(n)
    return sorted(found, key=lambda n: (network.conductors[n].path is None, n))


def _carries_return(terminal: Terminal) -> bool:
    return terminal.role in ("negative", "positive")


def _worst(study: Study, found_open: _Opened) -> list[Stray]:
    opened, amps, well = found_open.second, found_open.amps, found_open.well
    network, row = study.network, study.row[CASE, "nominal"]
    ends = terminals(study.job)
    found = []
    for n, c in enumerate(network.conductors):
        if c.part is not None or c.id not in study.wires:
            continue
        quiet, limit = _limit(ends[network.names[c.a]], ends[network.names[c.b]])
        if limit is None:
            continue
        before = abs(float(study.conductor_amps[row, n]))
        after = np.where(well & (np.array(opened) != n), np.abs(amps[:, n]), 0.0)
        # of several as bad, a fuse, switch or plug before a wire: it is the likelier to open
        k = int(np.flatnonzero(after >= after.max() * (1 - 1e-6))[0])
        if after[k] > limit and after[k] > before + STRAY_AMPS.value:
            lost = network.conductors[opened[k]]
            found.append(
                Stray(
                    lost.id,
                    c.id,
                    float(after[k]),
                    before,
                    quiet,
                    limit,
                    _working(study, found_open, k, n),
                    way_round(study, lost),
                )
            )
    return found


def _limit(one: Terminal, other: Terminal) -> tuple[bool, float | None]:
    """Whether a wire is a signal, audio or data wire, and what stray current it may carry."""
    if one.role in QUIET or other.role in QUIET:
        return True, STRAY_AMPS.value
    if one.role == other.role == "negative":
        rated = [t.max_amps for t in (one, other) if t.max_amps is not None]
        return False, min(rated) if rated else None
    return False, None


def way_round(study: Study, lost: Conductor) -> tuple[str, ...]:
    """Parts on the way of least resistance round an opened conductor."""
    network = study.network
    number = network.conductors.index(lost)
    way = least_way(network, lost.b, lost.a, without=number)
    if way is None:
        return ()
    nodes = [lost.b]
    for n in way:
        c = network.conductors[n]
        nodes.append(c.b if c.a == nodes[-1] else c.a)
    return tuple(dict.fromkeys(network.names[n].partition(".")[0] for n in nodes))

"""What voltages are counted from: one node of each island, and first guesses of all others.

An island is what elements join: the battery with all it feeds; a motor with its bridge; what hangs
on an isolated converter; a lamp that nothing feeds.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layout_engine.supply.elements import Array, Settings
from layout_engine.supply.network import Network

SOURCES = ("battery", "converter_out", "drive_out")


@dataclass(frozen=True, slots=True)
class Held:
    """One island's zero: its node; `against`: the node of another island it is tied to, else -1."""

    island: int
    node: int
    against: int


@dataclass(frozen=True)
class Ground:
    """The zeros of a network.

    Attributes:
        held: one an island that elements touch.
        pieces: the piece of each.
        island: number of the island of each piece.
        live: which pieces belong to an island with a source.
    """

    held: tuple[Held, ...]
    pieces: tuple[int, ...]
    island: NDArray[np.int_]
    live: NDArray[np.bool_]


def grounds_of(network: Network) -> Ground:
    """Hold each island at the minus of its best source: battery, converter, bridge, any."""
    island, piece = network.islands, network.component
    elements = network.elements.items
    ranked = sorted(
        range(len(elements)),
        key=lambda n: (SOURCES.index(elements[n].kind) if elements[n].kind in SOURCES else 9, n),
    )
    held: dict[int, Held] = {}
    live = np.zeros(len(island), dtype=bool)
    for n in ranked:
        e = elements[n]
        own = int(island[piece[e.minus]])
        if own not in held:
            against = elements[e.partner].minus if e.kind == "drive_out" else -1
            if against >= 0 and int(island[piece[against]]) == own:
                against = -1
            held[own] = Held(own, e.minus, against)
            live[island == own] = e.kind in SOURCES
    zeros = tuple(held.values())
    return Ground(zeros, tuple(int(piece[h.node]) for h in zeros), island, live)


def first_volts(network: Network, ground: Ground, given: Settings) -> Array:
    """Voltage of each piece with no current flowing, (cases, pieces)."""
    cases, pieces = len(given.amps), len(ground.island)
    found = np.zeros((cases, pieces))
    known = np.zeros(pieces, dtype=bool)
    known[list(ground.pieces)] = True
    highest = np.nanmax(np.abs(given.emf), axis=1, initial=0.0)
    order = sorted(network.elements.items, key=lambda e: e.kind not in SOURCES)
    moving = True
    while moving:
        moving = False
        for e in order:
            plus, minus = int(network.component[e.plus]), int(network.component[e.minus])
            if known[plus] == known[minus]:
                continue
            if e.kind == "battery":
                volts = given.emf[:, network.elements.items.index(e)]
            elif e.kind == "converter_out":
                volts = np.full(cases, e.volts)
            elif e.kind == "drive_out":
                wanted = given.wanted[:, network.elements.items.index(e)]
                volts = np.minimum(wanted, highest)
            else:
                volts = np.zeros(cases)
            if known[minus]:
                found[:, plus] = found[:, minus] + volts
            else:
                found[:, minus] = found[:, plus] - volts
            known[plus] = known[minus] = moving = True
            if e.kind not in SOURCES:
                break  # first whatever a source now reaches
    return found

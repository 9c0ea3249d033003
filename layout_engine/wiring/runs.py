"""Runs: stretches in which the same wires lie together, and the places where they change face."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import dist

import numpy as np

from layout_engine.tables.dressing import bundle_diameter, flat_height, grommet_for
from layout_engine.wiring.corridors import PASS, RUN
from layout_engine.wiring.laying import Laying
from layout_engine.wiring.paths import straightened, to_plate
from layout_engine.wiring.wire import PassThrough, Run


@dataclass(frozen=True, slots=True)
class Gathered:
    """Runs and pass-throughs with the ids of those that each wire lies in, by index."""

    runs: tuple[Run, ...]
    passes: tuple[PassThrough, ...]
    runs_of: dict[int, tuple[str, ...]]
    passes_of: dict[int, tuple[str, ...]]


def gathered(laying: Laying) -> Gathered:
    """What the wires as they lie make together; runs that have names first, the fullest of them."""
    stretches: dict[frozenset[int], list[int]] = {}
    of_wire: dict[int, list[frozenset[int]]] = {}
    for index, edges in sorted((laying.ways | laying.fixed).items()):
        mine = of_wire.setdefault(index, [])
        for chain in _chains(laying, edges):
            key = frozenset(chain)
            stretches.setdefault(key, chain)
            mine.append(key)
    runs = [(key, _run(laying, chain)) for key, chain in stretches.items()]
    order = sorted(runs, key=lambda entry: (not entry[1].is_named, -len(entry[1].wires),
                                            -entry[1].length, entry[1].wires, entry[1].path))
    names = {key: f"R{n}" for n, (key, _) in enumerate(order, 1)}
    named = tuple(
        Run(names[key], run.face, run.path, run.wires, run.diameter, run.width, run.height)
        for key, run in order
    )
    passes, passes_of = _passes(laying)
    runs_of = {index: tuple(names[key] for key in keys) for index, keys in of_wire.items()}
    return Gathered(named, passes, runs_of, passes_of)


def _chains(laying: Laying, edges: list[int]) -> list[list[int]]:
    """A wire's pieces of track, cut wherever other wires join or leave it or the face changes."""
    graph, chains = laying.graph, []
    current: list[int] = []
    for edge in edges:
        if graph.kind[edge] == RUN:
            if current and _parts(laying, current[-1], edge):
                chains.append(current)
                current = []
            current.append(edge)
        elif graph.kind[edge] == PASS and current:
            chains.append(current)
            current = []
    return [*chains, current] if current else chains


def _parts(laying: Laying, one: int, other: int) -> bool:
    """Whether a run ends between two pieces of a wire's way."""
    graph = laying.graph
    return bool(laying.on[one] != laying.on[other]
                or graph.face[graph.u[one]] != graph.face[graph.u[other]])


def _run(laying: Laying, chain: list[int]) -> Run:
    graph, members = laying.graph, sorted(laying.on[chain[0]])
    face = int(graph.face[graph.u[chain[0]]])
    pieces = laying.pieces[chain].tolist()
    seen = [(x, y, face) for piece in _led_on(pieces) for x, y in piece]
    path = to_plate(laying.site, straightened(seen))
    demands = [laying.demands[i] for i in members]
    outers = [d.outer for d in demands]
    width, diameter = float(np.min(graph.width[chain])), bundle_diameter(outers)
    return Run(
        "", path[0][2], tuple((x, y) for x, y, _ in path),
        tuple(d.connection.id for d in demands),
        round(diameter, 3), round(width, 3),
        round(flat_height(outers, width), 3) if diameter > width + 1e-9 else 0.0,
    )


def _led_on(pieces: list[list[list[float]]]) -> Iterator[list[list[float]]]:
    """Pieces (a, b) turned so that each leads on to the next one."""
    for n, (a, b) in enumerate(pieces):
        if len(pieces) == 1:
            yield [a, b]
            continue
        last = n + 1 == len(pieces)
        other = pieces[n - 1 if last else n + 1]
        begins_near, ends_near = (min(dist(end, spot) for spot in other) for end in (a, b))
        yield [b, a] if (begins_near < ends_near) != last else [a, b]


def _passes(laying: Laying) -> tuple[tuple[PassThrough, ...], dict[int, tuple[str, ...]]]:
    graph = laying.graph
    used = [e for e in graph.passes if laying.count[e]]
    places = []
    for edge in used:
        what = graph.passes[edge]
        x, y = laying.site.view.back(what.x, what.y)
        members = sorted(laying.on[edge])
        bundle = bundle_diameter([laying.demands[i].outer for i in members])
        drilled = what.kind == "drilled"
        grommet = grommet_for(bundle) if drilled else None
        places.append((round(y, 6), round(x, 6), edge, members, bundle, grommet, what.kind))
    passes: list[PassThrough] = []
    of_wire: dict[int, list[str]] = {}
    for number, (y, x, _, members, bundle, grommet, kind) in enumerate(sorted(
            places, key=lambda p: p[:2]), 1):
        for index in members:
            of_wire.setdefault(index, []).append(f"P{number}")
        passes.append(PassThrough(
            f"P{number}", kind, x, y,  # type: ignore[arg-type]
            tuple(laying.demands[i].connection.id for i in members), round(bundle, 3),
            grommet.hole if grommet else 0.0, grommet.bundle if grommet else 0.0))
    return tuple(passes), {index: tuple(ids) for index, ids in of_wire.items()}


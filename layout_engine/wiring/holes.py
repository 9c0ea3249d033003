"""Holes that could be drilled for wires, and which of them are too near to those in use."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from layout_engine.tables.dressing import GROMMETS, bundle_diameter, grommet_for
from layout_engine.tables.holes import LEAST_BRIDGE
from layout_engine.wiring.corridors import Corridors

Bools = NDArray[np.bool_]


class Holes:
    """Drilled holes of a corridor graph by their edges; `use` says which wires go through one."""

    def __init__(self, graph: Corridors) -> None:
        listed = [(edge, what.x, what.y) for edge, what in graph.passes.items()
                  if what.kind == "drilled"]
        self.edges = np.array([edge for edge, _, _ in listed], dtype=np.intp)
        self.at = {edge: n for n, (edge, _, _) in enumerate(listed)}
        spots = np.array([(x, y) for _, x, y in listed]).reshape(-1, 2)
        self._apart = np.hypot(*(spots[:, None] - spots[None]).transpose(2, 0, 1))
        self._wide = np.zeros(len(listed))  # diameter of each that is used, mm
        self._none = np.zeros(len(graph.u), dtype=bool)
        self._through: dict[int, list[float]] = {}  # outer diameters of wires, mm
        self._known: dict[tuple[float, ...], Bools] = {}

    def use(self, edge: int, outers: Sequence[float]) -> None:
        """Let wires of these outer diameters [mm] go through a hole, and no others."""
        number = self.at[edge]
        self._through.pop(number, None)
        if outers:
            self._through[number] = list(outers)
        self._wide[number] = _hole(outers) if outers else 0.0
        self._known.clear()

    def shut(self, outers: Sequence[float], without: Sequence[int] = ()) -> Bools:
        """Which edges are holes that would stand too near to one that is used, with more wires.

        One value for each edge of the graph.

        Args:
            outers: outer diameters [mm] of the wires that would go through.
            without: edges, of which holes do not count.
        """
        if not self._through:
            return self._none
        left = {self.at[edge] for edge in without if edge in self.at}
        key = tuple(outers)
        if not left and key in self._known:
            return self._known[key]
        used = np.array(sorted(self._through.keys() - left), dtype=np.intp)
        wide = np.full(len(self.edges), _hole(outers))
        for number in used.tolist():
            wide[number] = _hole([*self._through[number], *outers])
        there = self._wide[used]
        bridge = self._apart[:, used] - (there + wide[:, None]) / 2
        thin = bridge < np.maximum(np.maximum(there, wide[:, None]), LEAST_BRIDGE.value)
        thin[used, np.arange(len(used))] = False
        found = self._none.copy()
        found[self.edges[thin.any(axis=1)]] = True
        if not left:
            self._known[key] = found
        return found


def _hole(outers: Sequence[float]) -> float:
    """Diameter of the hole for wires, mm."""
    grommet = grommet_for(bundle_diameter(list(outers)))
    return (grommet or GROMMETS[-1]).hole

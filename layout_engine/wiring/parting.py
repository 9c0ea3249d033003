"""Holes that wires want too near to each other: the wires of one go through another place."""

from __future__ import annotations

import numpy as np

from layout_engine.tables.dressing import bundle_diameter, grommet_for
from layout_engine.wiring.grommets import too_near
from layout_engine.wiring.improving import Improvement, order_of
from layout_engine.wiring.laying import Laying
from layout_engine.wiring.wire import Hole

MOST_PARTED = 12  # holes given up, at most


def part_holes(laying: Laying, improvement: Improvement) -> int:
    """Give up holes that leave too thin a bridge to another one, where their wires may move.

    Returns how many were given up.
    """
    for number in range(MOST_PARTED):
        holes = _holes(laying)
        edges = list(holes)
        pairs = [(edges[n], edges[m]) for n, m in too_near(list(holes.values()))]
        free = sorted((len(laying.on[e]), e) for pair in pairs for e in pair
                      if all(i in laying.ways and i not in laying.via for i in laying.on[e]))
        if not any(_give_up(laying, improvement, edge) for _, edge in free):
            return number
    return MOST_PARTED


def _holes(laying: Laying) -> dict[int, Hole]:
    """The hole of every edge through the plate that is drilled."""
    found = {}
    for edge, what in laying.graph.passes.items():
        if what.kind == "drilled" and laying.count[edge]:
            grommet = grommet_for(bundle_diameter(
                [laying.demands[i].outer for i in sorted(laying.on[edge])]))
            found[edge] = (what.x, what.y, grommet.hole if grommet else 0.0)
    return found


def _give_up(laying: Laying, improvement: Improvement, edge: int) -> bool:
    """Lay the wires through a hole elsewhere; whether all found a way."""
    members = sorted(laying.on[edge])
    before = {index: laying.ways.pop(index) for index in members}
    for index in members:
        laying.unload(index, before[index])
    shut = np.array([edge], dtype=np.intp)
    was = laying.shut(shut)
    improvement.lay(order_of(laying.demands[i] for i in members))
    if all(index in laying.ways for index in members):
        return True
    laying.shut(shut, was)
    for index in members:
        if index in laying.ways:
            laying.unload(index, laying.ways.pop(index))
        laying.put(index, before[index])
    return False

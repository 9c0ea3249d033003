"""How figures of runs and of holes for wires follow: bundle, how full a gap is, ties, grommet."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from layout_engine.tables.dressing import (
    FLAT_MOST,
    GROMMETS,
    MANY,
    PACKED,
    PACKED_SOURCE,
    TIE_FROM_BEND,
    TIE_FROM_TERMINAL,
    TIE_SPACING,
    TIE_SPACING_MOST,
    bundle_diameter,
    packing,
)
from layout_engine.tables.sourced import COMMON_PRACTICE
from layout_engine.wiring.wire import PassThrough, Routing, Run
from layout_engine.working import Given, Working

PER_CENT = 100.0
ROUTE, GEOMETRY = "route", "geometry"
OUTER_SOURCE = "typical of its size: IEC 60228 and tables of makers"


def bundle_working(routing: Routing, wires: Sequence[str]) -> Working:
    """The diameter of a round bundle of these wires, by their ids; mm."""
    outers = _outers(routing, wires)
    given = tuple(_thicknesses(outers))
    if len(outers) == 1:
        return Working("D = d", given, outers[0], "mm", GEOMETRY)
    if len(outers) == 2:
        return Working("D = sum of n d, side by side", given, bundle_diameter(outers), "mm",
                       GEOMETRY)
    known = len(outers) <= len(PACKED)
    factor = Given("k", f"packing of {len(outers)} wires", packing(len(outers)), "1",
                   PACKED_SOURCE if known else
                   f"{MANY:g}: no less than any known packing of up to 100 equal circles")
    return Working("D = k (sum of n d^2)^0.5, at least the two thickest side by side",
                   (*given, factor), bundle_diameter(outers), "mm", GEOMETRY)


def fill_working(routing: Routing, run: Run) -> Working:
    """How much of its room a run takes, per cent; over 100 it does not fit."""
    room = Given("w", "room there, the least along it", run.width, "mm", ROUTE)
    if not run.height:
        bundle = Given("D", "round bundle", run.diameter, "mm", "worked out above")
        return Working("100 D / w", (bundle, room), PER_CENT * run.fill, "%", GEOMETRY, PER_CENT,
                       "what the gap holds")
    outers = _outers(routing, run.wires)
    return Working(
        "100 (sum of n d) / (c h), c = w / (thickest d), rounded down: the wires stand flat",
        (*_thicknesses(outers), room,
         Given("h", "height of a flat bundle, at most", FLAT_MOST.value, "mm", FLAT_MOST.source)),
        PER_CENT * run.fill, "%", GEOMETRY, PER_CENT, COMMON_PRACTICE)


def ties_working(routing: Routing, run: Run) -> Working:
    """How many ties a run gets."""
    count = sum(tie.run == run.id for tie in routing.ties)
    return Working(
        "counted: e from both ends, b from each bend, then no farther apart than s; a tie of a run "
        "beside it serves as well, and where nothing has room there is none",
        (Given("L", "length of the run", run.length, "mm", ROUTE),
         Given("e", "from where the wires part", TIE_FROM_TERMINAL.value, "mm",
               TIE_FROM_TERMINAL.source),
         Given("b", "from a bend", TIE_FROM_BEND.value, "mm", TIE_FROM_BEND.source),
         Given("s", "spacing", TIE_SPACING.value, "mm",
               f"{TIE_SPACING.source}; never over {TIE_SPACING_MOST.value:g} mm: "
               f"{TIE_SPACING_MOST.source}")),
        float(count), "1", COMMON_PRACTICE)  # fmt: skip


def grommet_working(one: PassThrough) -> Working | None:
    """The hole for a grommet; None where the wires pass an edge or a cut-out."""
    chosen = next((g for g in GROMMETS if g.hole == one.hole), None)
    if chosen is None:
        return None
    return Working(
        "the smallest grommet with g >= D", (
            Given("D", "bundle", one.bundle, "mm", "worked out above"),
            Given("g", "bundle that the grommet passes", chosen.bundle, "mm", chosen.source)),
        chosen.hole, "mm", chosen.source)  # fmt: skip


def _outers(routing: Routing, wires: Sequence[str]) -> list[float]:
    known = {wire.id: wire.outer for wire in routing.wires}
    return [known[wire] for wire in wires]


def _thicknesses(outers: Sequence[float]) -> Iterator[Given]:
    """Outer diameters, equal ones together, the thickest first."""
    for outer, count in sorted(Counter(outers).items(), reverse=True):
        words = "a wire" if count == 1 else f"each of n = {count} wires"
        yield Given("d", f"outer diameter of {words}", outer, "mm", OUTER_SOURCE)

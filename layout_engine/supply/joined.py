"""What hangs together: pieces of metal, what feeds what, which terminals are polarised."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from layout_engine.disjoint import Sets
from layout_engine.model.job import Job
from layout_engine.model.part_type import Role, Terminal
from layout_engine.supply.elements import Element
from layout_engine.supply.network import Network

QUIET: frozenset[Role] = frozenset({"signal", "audio", "data"})
FED = ("load", "drive", "converter")
TURNED = ("battery", "converter_out", "drive_out")


@dataclass(frozen=True)
class Feeds:
    """Which pieces belong to one supply.

    Attributes:
        group: group of each piece: pieces that batteries, converters' outputs and bridges join.
        sources: groups that hold a battery or a converter's output.
    """

    group: tuple[int, ...]
    sources: frozenset[int]


def feeds(network: Network) -> Feeds:
    """The supplies of a network: each battery (or pair in series) with its rails."""
    joined: Sets[int] = Sets()
    items = network.elements.items
    sources = []
    for e in items:
        if e.kind not in TURNED:
            continue
        plus, minus = _pieces(network, e)
        joined.join(plus, minus)
        if e.kind == "drive_out":  # its low side hangs on the bridge's own 0 V
            joined.join(minus, int(network.component[items[e.partner].minus]))
        else:
            sources.append(minus)
    count = int(network.component.max(initial=-1)) + 1
    return Feeds(tuple(joined.root(n) for n in range(count)),
                 frozenset(joined.root(n) for n in sources))


def _pieces(network: Network, e: Element) -> tuple[int, int]:
    return int(network.component[e.plus]), int(network.component[e.minus])


def fed_elements(network: Network) -> frozenset[int]:
    """Numbers of the loads and inputs whose plus and minus hang on one supply."""
    supplies = feeds(network)
    found = []
    for n, e in enumerate(network.elements.items):
        plus, minus = (supplies.group[piece] for piece in _pieces(network, e))
        if e.kind in FED and plus == minus and plus in supplies.sources:
            found.append(n)
    return frozenset(found)


def terminals(job: Job) -> dict[str, Terminal]:
    """Every terminal under its end "part.terminal"."""
    return {
        f"{part.id}.{terminal.id}": terminal
        for part in job.parts for terminal in job.type_of(part).terminals
    }  # fmt: skip


def ends_of_pieces(network: Network) -> dict[int, list[str]]:
    """The ends in each piece of metal, in the job's order."""
    found: dict[int, list[str]] = defaultdict(list)
    for name, piece in zip(network.names, network.component.tolist(), strict=True):
        found[piece].append(name)
    return dict(found)


def part_of(end: str) -> str:
    """The part of an end "part.terminal"."""
    return end.partition(".")[0]


def zero_pieces(network: Network) -> set[int]:
    """Pieces at a battery's or a converter's minus: the 0 V returns."""
    return {
        int(network.component[e.minus])
        for e in network.elements.items if e.kind in ("battery", "converter_out")
    }  # fmt: skip


def plus_pieces(network: Network) -> set[int]:
    """Pieces at a battery's plus."""
    return {
        int(network.component[e.plus]) for e in network.elements.items if e.kind == "battery"
    }


def battery_rings(network: Network) -> tuple[tuple[Element, ...], ...]:
    """Batteries in series whose ends meet again in metal: a short of them all, two or more."""
    packs = [network.elements.items[int(n)] for n in network.elements.of("battery")]
    after = {int(network.component[e.minus]): e for e in packs}
    found: list[tuple[Element, ...]] = []
    for start in packs:
        ring = [start]
        while len(ring) <= len(packs):
            following = after.get(int(network.component[ring[-1].plus]))
            if following is None or following in ring:
                break
            ring.append(following)
        closed = network.component[ring[-1].plus] == network.component[start.minus]
        if len(ring) > 1 and closed and not any(start in known for known in found):
            found.append(tuple(ring))
    return tuple(found)


def motors_of_drive(network: Network, out: Element) -> list[Element]:
    """Motors that hang on a bridge's output."""
    pieces = {int(network.component[n]) for n in (out.plus, out.minus)}
    return [
        e for e in network.elements.items
        if e.kind == "motor" and pieces & {int(network.component[n]) for n in (e.plus, e.minus)}
    ]

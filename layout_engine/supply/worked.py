"""How voltages and the currents of sources follow: along a feed, by what is drawn (shares.py)."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from typing import TYPE_CHECKING

import numpy as np

from layout_engine.supply.basis import (
    KIRCHHOFF,
    SOLVED,
    guessed_draw,
    ohms_source,
    pack_sources,
    source_of,
)
from layout_engine.supply.elements import Array, Element
from layout_engine.supply.network import SOURCES, Conductor, Network
from layout_engine.supply.shares import LEAST_TOLD, WHOLE, why_drawn
from layout_engine.supply.state import Pack
from layout_engine.supply.ways import least_way
from layout_engine.working import Given, Working, is_guess

if TYPE_CHECKING:
    from layout_engine.supply.study import Study

LEAST_PIECE = 1e-3  # of a resistance; smaller pieces are told together


@dataclass(frozen=True, slots=True)
class Segment:
    """A conductor on a feed, and the current along the feed's direction, A."""

    conductor: Conductor
    amps: float

    @property
    def drop(self) -> float:
        """Voltage lost in it, V."""
        return self.amps * self.conductor.ohms


@dataclass(frozen=True)
class Feed:
    """The way of the current from a source to an element and back.

    Attributes:
        source: battery or converter output that feeds it.
        out: conductors from the source's plus to the element's plus.
        back: conductors from the element's minus to the source's minus.
    """

    source: Element
    out: tuple[Segment, ...]
    back: tuple[Segment, ...]

    @property
    def drop(self) -> float:
        """Voltage lost on both ways together, V."""
        return sum(s.drop for s in self.out) + sum(s.drop for s in self.back)


def feed_of(study: Study, element: Element, case: str, pack: Pack = "nominal") -> Feed | None:
    """The feed of an element by the ways of least resistance; None where no one source feeds it."""
    network = study.network
    for n in (*network.elements.of("battery"), *network.elements.of("converter_out")):
        source = network.elements.items[n]
        if source.part == element.part:
            continue
        out = least_way(network, source.plus, element.plus)
        back = least_way(network, element.minus, source.minus)
        if out is not None and back is not None:
            row = study.row[case, pack]
            return Feed(source, _segments(study, row, source.plus, out),
                        _segments(study, row, element.minus, back))  # fmt: skip
    return None


def _segments(study: Study, row: int, start: int, numbers: list[int]) -> tuple[Segment, ...]:
    found, here = [], start
    for number in numbers:
        c = study.network.conductors[number]
        amps = float(study.conductor_amps[row, number])
        forward = c.a == here
        found.append(Segment(c, amps if forward else -amps))
        here = c.b if forward else c.a
    return tuple(found)


def volts_working(study: Study, element: Element, case: str, pack: Pack = "nominal") -> Working:
    """Why an element gets its voltage: the source's, less what every segment loses, both ways."""
    row = study.row[case, pack]
    n = study.network.elements.items.index(element)
    volts = float(study.ports_volts[row, n])
    feed = feed_of(study, element, case, pack)
    if feed is None:
        return _apart(study, element, row, volts)
    at_source = volts + feed.drop
    given = _lost(study, (*feed.out, *feed.back))
    number = study.network.elements.items.index(feed.source)
    source = Given("Vs", f"at {feed.source.part}, {case}, {pack} pack", at_source, "V",
                   _kind_words(study, number, row))  # fmt: skip
    return Working("V = Vs - sum(I R), outgoing and return",
                   (source, *given, *guessed_draw(study, row, element.plus)), volts, "V",
                   "Kirchhoff's voltage law")  # fmt: skip


def resistance_given(network: Network, through: Array) -> tuple[Given, ...]:
    """The resistance that a current meets in wires and paths, piece by piece, ohm.

    through: (conductors,) A in each for 1 A of that current; what carries a part of it counts with
    the square of that part (Tellegen).
    """
    every = through**2 * np.array([c.ohms for c in network.conductors])
    told = np.flatnonzero(every > LEAST_PIECE * every.sum()).tolist()
    found = [
        Given(f"R{k}", network.conductors[n].id + ("" if abs(abs(through[n]) - 1) < WHOLE else
              f": {1000 * network.conductors[n].ohms:.4g} mohm x {abs(through[n]):.3g}^2"),
              float(every[n]), "ohm", ohms_source(network, network.conductors[n]))
        for k, n in enumerate(told, 1)
    ]  # fmt: skip
    rest = float(every.sum() - every[told].sum())
    if rest > 0:
        found.append(Given("Ro", "all others, each under a thousandth of that", rest, "ohm",
                           "wires and paths"))  # fmt: skip
    return tuple(found)


def _apart(study: Study, element: Element, row: int, volts: float) -> Working:
    """The voltage of what no one source feeds: its two ends, each against the first battery."""
    ends = [(name, float(study.volts[row, node]))
            for name, node in (("V+", element.plus), ("V-", element.minus))]  # fmt: skip
    given = tuple(
        Given(name, f"at {study.network.names[node]}", at, "V", f"{SOLVED} ({KIRCHHOFF})")
        for (name, at), node in zip(ends, (element.plus, element.minus), strict=True)
        if isfinite(at)
    )
    return Working("V = V+ - V-", given, volts, "V", "nodal analysis")


def _lost(study: Study, segments: tuple[Segment, ...]) -> tuple[Given, ...]:
    """What each segment of a way loses."""
    return tuple(
        Given(f"I{k} R{k}", f"{s.conductor.id}: {s.amps:.4g} A, {1000 * s.conductor.ohms:.3g} mohm",
              s.drop, "V", ohms_source(study.network, s.conductor))
        for k, s in enumerate(segments, 1)
    )  # fmt: skip


def node_working(study: Study, end: str, case: str, pack: Pack = "nominal") -> Working | None:
    """Why a terminal has its voltage: its source's, and what is lost on the way there.

    Args:
        study: the supply; the case and pack must be among those it solves.
        end: "part.terminal".
        case: the case.
        pack: state of the battery.

    Returns:
        None where nothing ties the terminal to a source. Raises KeyError for an unknown end.
    """
    network, row = study.network, study.row[case, pack]
    node = network.number[end]
    found = _reference(study, node)
    volts = float(study.volts[row, node])
    if found is None or not isfinite(volts):
        return None
    number, e, is_plus = found
    start = e.plus if is_plus else e.minus
    way = least_way(network, start, node) or []
    given = [
        Given(
            "V0",
            f"{network.names[start]}, {case}, {pack} pack",
            float(study.volts[row, start]),
            "V",
            _kind_words(study, number, row),
        )
    ]
    given += [*_lost(study, _segments(study, row, start, way)), *guessed_draw(study, row, node)]
    return Working("V = V0 - sum(I R) on the way", tuple(given), volts, "V",
                   "Kirchhoff's voltage law")  # fmt: skip


def _reference(study: Study, node: int) -> tuple[int, Element, bool] | None:
    """The battery, converter or bridge in a node's metal, and whether by its plus."""
    network = study.network
    piece = network.component[node]
    for kind in SOURCES:
        for n in network.elements.of(kind):
            e = network.elements.items[n]
            for is_plus, end in ((False, e.minus), (True, e.plus)):
                if network.component[end] == piece:
                    return int(n), e, is_plus
    return None


def _kind_words(study: Study, number: int, row: int) -> str:
    e = study.network.elements.items[number]
    if e.kind != "battery":
        amps = abs(float(study.element_amps[row, number]))
        kind = study.job.type_of(e.part)
        gives = (source_of(kind, f": gives {e.volts:g} V") if e.kind == "converter_out" else
                 f"{SOLVED}: what the motor wants, of what the driver is fed")  # fmt: skip
        return f"{gives}; {amps:.4g} A over {1000 * e.ohms:.3g} mohm inside"
    emf, amps = float(study.settings.emf[row, number]), -float(study.element_amps[row, number])
    guessed = any(is_guess(source) for source in pack_sources(study.job, (e.part,)))
    return (f"{'guess, ' * guessed}{SOLVED}: pack at rest {emf:.4g} V, {amps:.4g} A over "
            f"{1000 * e.ohms:.3g} mohm inside")  # fmt: skip


def drawn_working(study: Study, element: Element, case: str, pack: Pack = "nominal") -> Working:
    """Why a source gives its current: the sum of what every other element takes at its plus."""
    network, row = study.network, study.row[case, pack]
    piece = network.component[element.plus]
    given: list[Given] = []
    total = 0.0
    for n, e in enumerate(network.elements.items):
        sign = int(network.component[e.plus] == piece) - int(network.component[e.minus] == piece)
        amps = sign * float(study.element_amps[row, n])
        if e is element:
            total = -amps
        elif sign and abs(amps) > LEAST_TOLD:
            given.append(Given(f"I{len(given) + 1}", f"{e.kind.replace('_', ' ')} {e.id}", amps,
                               "A", why_drawn(study, row, n)))  # fmt: skip
    return Working(f"I = sum of what is drawn ({case}, {pack} pack)", tuple(given), total, "A",
                   KIRCHHOFF)  # fmt: skip

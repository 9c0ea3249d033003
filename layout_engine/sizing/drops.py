"""Voltage lost on the whole way to a consumer and back, and its limit. V, A, ohm."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from layout_engine.sizing.faults import source_volts
from layout_engine.sizing.ways import Leg, Source, Ways
from layout_engine.supply.elements import Array
from layout_engine.tables.sourced import Sourced

ABYC_CONTROLS = Sourced(3.0, "%", "ABYC E-11 11.14.2.6 (quoted)", "panels, electronics")
ABYC_OTHERS = Sourced(10.0, "%", "ABYC E-11 11.14.2.6 (quoted)", "lighting and other loads")
FAA_FEED = Sourced(2.0, "%", "FAA-H-8083-31 ch. 9 / AC 43.13-1B par. 11-66", "battery to bus")
# V of a load's circuit, by the nominal voltage of the system: continuous, intermittent.
FAA_DROPS: dict[float, tuple[float, float]] = {14.0: (0.5, 1.0), 28.0: (1.0, 2.0)}
FAA_DROPS_SOURCE = "FAA AC 43.13-1B Table 11-6 (from memory)"
TURNING = ("motor", "motor_driver", "servo")  # kinds held to the motors' limit


@dataclass(frozen=True, slots=True)
class Feed:
    """One consumer's whole feed.

    Attributes:
        part: consumer.
        element: its number.
        way: legs that its supply flows through, out and back; own: a motor's own two wires.
        base: nominal V that the share is of.
        percent: allowed.
        motor: whether it is held to the motors' limit.
    """

    part: str
    element: int
    way: tuple[Leg, ...]
    own: tuple[Leg, ...]
    base: float
    percent: float
    motor: bool

    @property
    def allowed(self) -> float:
        """Volts that may be lost."""
        return self.base * self.percent / 100

    @property
    def legs(self) -> tuple[Leg, ...]:
        """Every leg."""
        return self.way + self.own


def feeds_of(ways: Ways) -> tuple[Feed, ...]:
    """Every consumer's feed; a motor's through its driver, the driver's own feed with it."""
    items, job = ways.network.elements.items, ways.network.job
    percents = job.assumptions.drop_percent
    found, to_input = [], {}
    seen: set[tuple[str, tuple[Leg, ...]]] = set()
    for way in ways.feeds:
        to_input[way.element] = way
        motor = job.type_of(way.part).kind in TURNING or items[way.element].kind == "drive"
        percent = percents.motors if motor else percents.controls
        base = nominal_volts(ways, way.source)
        known = (way.part, way.out + way.back)
        if base > 0 and known not in seen:
            seen.add(known)
            found.append(Feed(way.part, way.element, way.out + way.back, (), base, percent, motor))
    for e, inp, legs in ways.motor_ways:
        fed = to_input.get(inp)
        if fed is not None and (base := nominal_volts(ways, fed.source)) > 0:
            found.append(Feed(e.part, items.index(e), fed.out + fed.back, legs, base,
                              percents.motors, True))
    return tuple(found)


def nominal_volts(ways: Ways, source: Source) -> float:
    """Nominal voltage of a source: batteries' volts, or a converter's output."""
    if ways.is_battery[source]:
        return source_volts(ways, source, "nominal")[0]
    return ways.network.elements.items[source.elements[0]].volts


class Drops:
    """What every feed loses, for currents (rows, conductors) and ohms of each conductor."""

    def __init__(self, ways: Ways) -> None:
        self.feeds = feeds_of(ways)
        self._way = ways.matrix([f.way for f in self.feeds])
        self._own = ways.matrix([f.own for f in self.feeds])
        self.allowed = np.array([f.allowed for f in self.feeds])

    def lost(self, amps: Array, ohms: Array) -> Array:
        """Volts lost, (feeds, rows)."""
        each = (amps * ohms).T
        found: Array = np.abs(self._way @ each) + np.abs(self._own @ each)
        return found


def pieces(feed: Feed, amps: Array, ohms: Array) -> dict[int, float]:
    """What each conductor of a feed loses, V; less than 0 where current flows against the feed.

    Together it is what the feed loses: a conductor that is passed out and back loses nothing of it.
    """
    found: dict[int, float] = {}
    for legs in (feed.way, feed.own):
        each = [(c, float(sign * amps[c] * ohms[c])) for c, sign in legs]
        along = -1.0 if sum(volts for _, volts in each) < 0 else 1.0
        for c, volts in each:
            found[c] = found.get(c, 0.0) + along * volts
    return found

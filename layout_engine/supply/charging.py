"""Charging: what a charger gives each battery, how long that takes, which volts the board then has.

A, V, h.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from layout_engine.model.part_type import Battery
from layout_engine.supply.basis import marked
from layout_engine.supply.battery import charging_time
from layout_engine.supply.cases import pack_volts
from layout_engine.supply.elements import Element
from layout_engine.supply.joined import fed_elements
from layout_engine.supply.ranges import volts_range
from layout_engine.supply.state import Figure
from layout_engine.supply.study import Study
from layout_engine.tables.batteries import CHEMISTRIES
from layout_engine.working import Given, Working, exceeds


@dataclass(frozen=True, slots=True)
class Charging:
    """One battery and what charges it.

    Attributes:
        battery: part.
        chargers: parts whose output is on the battery's metal; empty: none is in the job.
        gives: A of them together, None where not known.
        takes: A that the battery takes at most, None where not known.
        hours: h from empty to full with the board off, at what the chargers give, else at the most
            that the battery takes; hours_on: with the board idle meanwhile.
        volts: V of the full pack, which every module on it then has.
        least: (part, V) the module on the pack that stands least; None: no limit is known.
    """

    battery: str
    chargers: tuple[str, ...]
    gives: float | None
    takes: float | None
    hours: Figure
    hours_on: Figure
    volts: Figure
    least: tuple[str, float] | None

    @property
    def is_too_hard(self) -> bool:
        """Whether the chargers give more than the battery takes."""
        return self.gives is not None and self.takes is not None and exceeds(self.gives, self.takes)

    @property
    def is_too_high(self) -> bool:
        """Whether a module stands less than the full pack has."""
        return self.least is not None and exceeds(self.volts.value or 0.0, self.least[1])


def chargings(study: Study) -> tuple[Charging, ...]:
    """Every battery with what charges it, in the job's order."""
    items = study.network.elements.items
    return tuple(_charging(study, items[int(n)]) for n in study.network.elements.of("battery"))


def _charging(study: Study, e: Element) -> Charging:
    kind = study.job.type_of(e.part)
    battery = kind.battery
    assert battery is not None
    chargers, rated = _chargers(study, e)
    gives = sum(rated) if rated and len(rated) == len(chargers) else None
    amps = battery.max_charge_amps if gives is None else gives
    idle = max(0.0, study.battery_amps("idle").get(e.part, 0.0))
    return Charging(
        e.part, chargers, gives, battery.max_charge_amps,
        marked(kind, _hours(battery, amps, 0.0)), marked(kind, _hours(battery, amps, idle)),
        marked(kind, _full(battery)),
        _least(study, e),
    )  # fmt: skip


def _chargers(study: Study, battery: Element) -> tuple[tuple[str, ...], list[float]]:
    network, parts, rated = study.network, [], []
    for n in network.elements.of("converter_out"):
        out = network.elements.items[n]
        kind = study.job.type_of(out.part)
        if kind.kind != "charger" or (
            network.component[out.plus] != network.component[battery.plus]
        ):
            continue
        parts.append(out.part)
        amps = kind.converters[out.index].max_amps
        if amps is not None:
            rated.append(amps)
    return tuple(parts), rated


def _hours(battery: Battery, amps: float | None, drawn: float) -> Figure:
    return Figure(None, "h") if amps is None else charging_time(battery, amps, drawn)


def _full(battery: Battery) -> Figure:
    volts = pack_volts(battery, "full")
    if battery.full_volts > 0:
        return Figure(volts, "V", Working("full pack, as the type states it", (
            Given("Vf", "full pack", volts, "V", "part type"),
        ), volts, "V", "part type"))  # fmt: skip
    full = CHEMISTRIES[battery.chemistry].full
    return Figure(volts, "V", Working("Vf = n v", (
        Given("n", "cells in series", volts / full.value, "1",
              "part type" if battery.cells else "part type: volts over those of a cell"),
        Given("v", f"full cell, {CHEMISTRIES[battery.chemistry].name}", full.value, "V",
              full.source),
    ), volts, "V", full.source))  # fmt: skip


def _least(study: Study, battery: Element) -> tuple[str, float] | None:
    """The module straight on a battery that stands least."""
    network, found = study.network, None
    piece = network.component[battery.plus]
    for n in sorted(fed_elements(network)):
        e = network.elements.items[n]
        limits = volts_range(study.job.type_of(e.part), e)
        if network.component[e.plus] != piece or limits is None or not np.isfinite(limits[1]):
            continue
        if found is None or limits[1] < found[1]:
            found = e.part, limits[1]
    return found

"""Short circuits: what flows, which fuse ends it, how soon, and what that does to a wire.

A, V, ohm, s, A2s, mm2.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import inf, sqrt

from layout_engine.model.part_type import FuseForm
from layout_engine.sizing.ways import Source, Way, Ways
from layout_engine.supply.basis import FROM_TYPE, ohms_source, pack_sources
from layout_engine.supply.cases import pack_volts
from layout_engine.supply.network import Network, battery_ohms
from layout_engine.supply.state import Pack
from layout_engine.tables.conductors import (
    ADIABATIC_SOURCE,
    SHORT_CIRCUIT,
    adiabatic_k,
    withstands,
)
from layout_engine.tables.fuses import (
    FUSE_FORMS,
    MELTING,
    band_points,
    glass_breaking,
    opening_time,
)
from layout_engine.tables.sourced import COMMON_PRACTICE, Sourced
from layout_engine.working import Given, Working

CLEARED_WITHIN = Sourced(5.0, "s", "IEC 60364-4-41 cl. 411.3.2 (from memory); IEC 60364-4-43",
                         "beyond it the heat no longer stays in the copper")  # fmt: skip
SPREAD = Sourced(2.0, "1", COMMON_PRACTICE, "passes until the arc is out, over melting")
MANY_TIMES = 10.0  # ratings: from there a fuse's own energy counts, not its time
# Melting energy goes with the square of the rating; common practice, no source.
FROM_BLADE: dict[str, tuple[str, float]] = {
    "blade": ("blade", 40.0),
    "blade_high": ("blade_high", 40.0),
    "bolted": ("blade_high", 40.0),
}


@dataclass(frozen=True, slots=True)
class Fitted:
    """A fuse as it is reckoned with: conductor, form, rating, and whether a person chose it."""

    conductor: int
    form: FuseForm
    rating: float
    chosen_by_person: bool


@dataclass(frozen=True, slots=True)
class Fault:
    """A dead short at the far end of a way.

    Attributes:
        way: to it.
        volts, inner: of the source, V and ohm.
        amps: with an empty pack and hot wires: the least, so the slowest.
        fuse: that ends it; None: no fuse lies in the way.
        least, most: until it opens; inf: it need not.
        energy: that passes at most until it is open; inf where it need not open.
        legs: (number of its conductor, ohm) of each piece of the loop; network: theirs.
        sources: where volts and inner come from.
    """

    way: Way
    volts: float
    inner: float
    amps: float
    fuse: Fitted | None
    least: float
    most: float
    energy: float
    legs: tuple[tuple[int, float], ...]
    network: Network
    sources: tuple[str, str] = (FROM_TYPE, FROM_TYPE)

    @property
    def is_cleared(self) -> bool:
        """Whether a fuse ends it within 5 s."""
        return self.fuse is not None and self.most <= CLEARED_WITHIN.value

    def least_area(self, insulation: str) -> float:
        """Copper that survives it, mm2: sqrt(energy) / k."""
        return sqrt(self.energy) / k_of(insulation) if self.energy < inf else inf

    def working(self) -> Working:
        """How the current follows."""
        return Working(
            "Ik = V / (Rb + sum of R), wires hot, out and back", (
                Given("V", "source, pack empty", self.volts, "V", self.sources[0]),
                Given("Rb", "inside the source", self.inner, "ohm", self.sources[1]),
                *loop_given(self.network, self.legs),
            ), self.amps, "A", "Ohm",
        )  # fmt: skip

    def time_working(self) -> Working:
        """How soon the fuse ends it."""
        rating = self.fuse.rating if self.fuse else inf
        form = self.fuse.form if self.fuse else "blade"
        reached, _ = band_points(form, self.amps / rating)
        source = reached.source if reached else FUSE_FORMS[form].bands[0].source
        return Working(
            "t = longest time of the fuse's band at Ik / In; Ik = V / (Rb + sum of R)", (
                Given("V", "source, pack empty", self.volts, "V", self.sources[0]),
                Given("Rb", "inside the source", self.inner, "ohm", self.sources[1]),
                *loop_given(self.network, self.legs),
                Given("Ik", "short at the far end", self.amps, "A", "Ohm"),
                Given("In", "rating of the fuse", rating, "A", "fuse"),
                *(Given("m", "times the rating: the band that holds from there on",
                        band.times_rating, "1", band.source) for band in (reached,) if band),
            ), self.most, "s", source, CLEARED_WITHIN.value, CLEARED_WITHIN.source,
        )  # fmt: skip


def k_of(insulation: str) -> float:
    """Factor k [A s^0.5/mm2] of a wire as hot as its insulation allows when a short begins."""
    return adiabatic_k(*SHORT_CIRCUIT[insulation])


def loop_given(network: Network, legs: Iterable[tuple[int, float]]) -> tuple[Given, ...]:
    """Each piece of a loop, (number of its conductor, ohm), with what its ohms are made of."""
    return tuple(
        Given(f"R{k}", network.conductors[c].id, ohms, "ohm",
              ohms_source(network, network.conductors[c]))
        for k, (c, ohms) in enumerate(legs, 1)
    )  # fmt: skip


def _energy_given(fault: Fault) -> tuple[str, tuple[Given, ...]]:
    """What passes until a fuse is open: its formula and the quantities in it."""
    fuse = fault.fuse
    melting = melting_energy(fuse.form, fuse.rating) if fuse else None
    if fuse is not None and melting is not None and fault.amps >= MANY_TIMES * fuse.rating:
        key = FROM_BLADE[fuse.form]
        return "I^2 t = m Em (In / Ie)^2", (
            Given("m", SPREAD.note, SPREAD.value, "1", SPREAD.source),
            Given("Em", f"melts {key[1]:g} A of its form", MELTING[key].value, "A2s",
                  MELTING[key].source),
            Given("In", "rating of the fuse", fuse.rating, "A", "fuse"),
            Given("Ie", "rating whose sheet was read", key[1], "A", MELTING[key].source),
        )  # fmt: skip
    return "I^2 t = Ik^2 t", (
        Given("Ik", "short at the far end", fault.amps, "A", "Ohm: V / (Rb + sum of R)"),
        Given("t", "until the fuse is open, at most", fault.most, "s",
              fault.time_working().source),
    )  # fmt: skip


def survives(fault: Fault, area: float, insulation: str) -> Working:
    """A wire of an area [mm2] against the energy of a fault: k^2 S^2."""
    k = k_of(insulation)
    formula, energy = _energy_given(fault)
    return Working(
        f"I^2 t <= k^2 S^2; {formula}", (
            *energy,
            Given("k", f"copper with {insulation}", k, "A s^0.5/mm2", ADIABATIC_SOURCE),
            Given("S", "copper", area, "mm2", "wire"),
        ), fault.energy, "A2s", "IEC 60364-4-43 / 5-54, t up to 5 s", withstands(area, k),
        ADIABATIC_SOURCE,
    )  # fmt: skip


def melting_energy(form: str, rating: float) -> float | None:
    """Energy [A2s] that melts a fuse, scaled from the rating whose sheet was read; None: glass."""
    if form not in FROM_BLADE:
        return None
    key = FROM_BLADE[form]
    return MELTING[key].value * (rating / key[1]) ** 2


def let_through(form: str, rating: float, amps: float) -> float:
    """Most energy [A2s] until a fuse is open; inf where it need not open.

    From ten ratings on its own melting energy, doubled; below that current and longest time.
    """
    _, most = opening_time(form, amps / rating)
    if most == inf:
        return inf
    melting = melting_energy(form, rating)
    if melting is not None and amps >= MANY_TIMES * rating:
        return SPREAD.value * melting
    return amps * amps * most


def source_volts(ways: Ways, source: Source, pack: Pack) -> tuple[float, float]:
    """Voltage [V] and inner resistance [ohm] of a battery or a string of them."""
    items, job = ways.network.elements.items, ways.network.job
    volts = ohms = 0.0
    for n in source.elements:
        battery = job.type_of(items[n].part).battery
        if battery is not None:
            volts += pack_volts(battery, pack)
            ohms += battery_ohms(battery)
    return volts, ohms


def fault_at(
    ways: Ways, way: Way, ohms: Mapping[int, float], fuse: Fitted | None, network: Network
) -> Fault:
    """The short at a way's far end; `ohms` of each conductor; network: whose ohms these are."""
    volts, inner = source_volts(ways, way.source, "empty")
    legs = tuple((c, float(ohms[c])) for c, _ in way.legs)
    amps = volts / max(inner + sum(each for _, each in legs), 1e-6)
    sources = pack_sources(ways.network.job, _packs(ways, way.source))
    if fuse is None:
        return Fault(way, volts, inner, amps, None, inf, inf, inf, legs, network, sources)
    least, most = opening_time(fuse.form, amps / fuse.rating)
    energy = let_through(fuse.form, fuse.rating, amps)
    return Fault(way, volts, inner, amps, fuse, least, most, energy, legs, network,
                 sources)  # fmt: skip


def _packs(ways: Ways, source: Source) -> tuple[str, ...]:
    return tuple(ways.network.elements.items[n].part for n in source.elements)


@dataclass(frozen=True, slots=True)
class Prospective:
    """The largest current a fuse may have to break: full pack, a short right behind it.

    amps: A; breaks: A, what its form breaks; source: of that.
    """

    amps: float
    breaks: float
    source: str
    working: Working


def prospective(
    ways: Ways, fuse: Fitted, ohms: Mapping[int, float], near: int, network: Network
) -> Prospective | None:
    """What flows through a fuse into a short right behind it; None where no battery feeds it.

    Args:
        ways: of the network.
        fuse: the fuse.
        ohms: of each conductor.
        near: its node toward the source.
        network: whose ohms these are.
    """
    tree = ways.plus_tree
    if near not in tree.ohms:
        return None
    source = ways.by_plus[tree.root[near]]
    if not ways.is_battery[source]:
        return None
    volts, inner = source_volts(ways, source, "full")
    legs = [(c, ohms[c]) for c, _ in tree.legs_to(near) + source.links]
    legs.append((fuse.conductor, ohms[fuse.conductor]))
    loop = sum(each for _, each in legs)
    alone = volts / (inner + loop)
    beside = _beside(ways, source, ohms, near, ohms[fuse.conductor])
    amps = alone + sum(one.value for one in beside)
    sources = pack_sources(ways.network.job, _packs(ways, source))
    form = FUSE_FORMS[fuse.form]
    breaks = form.breaking.value
    if fuse.form == "glass_5x20":
        breaks = glass_breaking(fuse.rating)
    return Prospective(amps, breaks, form.breaking.source, Working(
        f"Ik = V / (Rb + sum of R){' + sum of Ip' * bool(beside)}, to behind the fuse, no return", (
            *beside, Given("V", "full pack", volts, "V", sources[0]),
            Given("Rb", "inside the pack", inner, "ohm", sources[1]),
            *loop_given(network, legs),
        ), amps, "A", "Ohm", breaks, form.breaking.source,
    ))  # fmt: skip


def _beside(
    ways: Ways, source: Source, ohms: Mapping[int, float], near: int, own: float
) -> list[Given]:
    """What other packs on the same metal add to a short, each as if it were alone, A."""
    found: list[Given] = []
    for other in ways.sources:
        if other is source or not ways.is_battery[other]:
            continue
        tree = ways.tree([other.plus])
        if near in tree.ohms:
            volts, inner = source_volts(ways, other, "full")
            loop = inner + own + sum(ohms[c] for c, _ in tree.legs_to(near) + other.links)
            names = ", ".join(ways.network.job.part(part).title for part in _packs(ways, other))
            found.append(Given(f"Ip{len(found) + 1}",
                               f"from {names} beside it: {volts:.4g} V over {loop:.4g} ohm",
                               volts / loop, "A", "Ohm, each pack alone"))  # fmt: skip
    return found

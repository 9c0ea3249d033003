"""Plus and minus are exchanged.

Wrong: a wire joins a positive terminal to a negative one (batteries in series, and contacts, fuses
and plugs that switch the return, excepted); or a module's plus lies on the 0 V return and its minus
on the supply; or it hangs between two plus ends of batteries that face each other; or a battery's
plus is joined to its own minus by metal alone, or batteries in series are joined in a ring; or the
output of a driver is joined to a supply, plus or minus: it shorts that one way round or the other.

Remedy: exchange the two wires; join only motors to a driver's outputs.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding
from layout_engine.checks.wording import amount, listed
from layout_engine.joining import end_name
from layout_engine.model.job import Connection
from layout_engine.supply.basis import pack_sources
from layout_engine.supply.elements import Element
from layout_engine.supply.joined import FED, battery_rings, part_of, terminals
from layout_engine.supply.study import Study
from layout_engine.supply.worked import resistance_given, volts_working
from layout_engine.tables.batteries import fault_amps
from layout_engine.working import Given, Working

THROUGH = ("fuse_block", "fuse_holder", "main_switch", "stop_button", "relay", "plug")
REVERSED_VOLTS = -0.5


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a wire, a module or a battery."""
    study = facts.study
    if study is None:
        return
    crossed = list(_crossed(facts))
    for wire in crossed:
        yield _wire(facts, wire)
    yield from _shorted(facts, study)
    yield from _driven(facts, study)
    supply = facts.supply
    if supply is None:
        return
    told = {part_of(end) for wire in crossed for end in (wire.from_, wire.to)}
    for part_id, element in _reversed(supply).items():
        if part_id not in told:
            told.add(part_id)
            yield _part(facts, part_id, volts_working(supply, element, "idle"))
    for part_id, packs in _between_pluses(supply).items():
        if part_id not in told:
            yield _facing(facts, part_id, packs)


def _crossed(facts: Facts) -> Iterator[Connection]:
    ends = terminals(facts.job)
    for wire in facts.job.connections:
        roles = {ends[wire.from_].role, ends[wire.to].role}
        kinds = [facts.job.type_of(part_id).kind for part_id, _ in wire.ends]
        if roles != {"positive", "negative"} or any(kind in THROUGH for kind in kinds):
            continue
        apart = wire.ends[0][0] != wire.ends[1][0]
        if kinds == ["battery", "battery"] and apart:
            continue
        yield wire


def _reversed(study: Study) -> dict[str, Element]:
    row = study.row["idle", "nominal"]
    found: dict[str, Element] = {}
    lowest: dict[str, float] = {}
    for n, e in enumerate(study.network.elements.items):
        volts = float(study.element_volts[row, n])
        if e.kind in FED and volts < min(REVERSED_VOLTS, lowest.get(e.part, 0.0)):
            lowest[e.part], found[e.part] = volts, e
    return found


def _between_pluses(study: Study) -> dict[str, tuple[str, ...]]:
    """Modules with both ends on batteries' plus, in no middle of a pair in series."""
    network = study.network
    packs = [network.elements.items[n] for n in network.elements.of("battery")]
    minus = {int(network.component[p.minus]) for p in packs}
    plus = {int(network.component[p.plus]): p.part for p in packs}
    found: dict[str, tuple[str, ...]] = {}
    for e in network.elements.items:
        ends = int(network.component[e.plus]), int(network.component[e.minus])
        facing = ends[0] != ends[1] and all(n in plus for n in ends)
        if e.kind in FED and facing and ends[1] not in minus:
            found[e.part] = (plus[ends[0]], plus[ends[1]])
    return found


def _facing(facts: Facts, part_id: str, packs: tuple[str, ...]) -> Finding:
    names = listed([facts.title(pack) for pack in packs])
    return Finding(
        rule="wrong_polarity", severity="stop", subjects=(part_id, *packs),
        title=f"{facts.title(part_id)} hangs between two plus ends",
        message=f"{names} face each other: their voltages cancel.", value=None, limit=None,
        unit="", source=COMMON_PRACTICE,
        remedy="In series the plus of the one joins the minus of the other; side by side plus "
               "joins plus and minus joins minus.",
    )  # fmt: skip


def _wire(facts: Facts, wire: Connection) -> Finding:
    names = f"{end_name(facts.job, wire.from_)} to {end_name(facts.job, wire.to)}"
    return Finding(
        rule="wrong_polarity",
        severity="stop",
        subjects=(wire.id,),
        of_wires=frozenset({wire.id}),
        title="A wire joins plus to minus",
        message=f"It runs from {names}.",
        value=None,
        limit=None,
        unit="",
        source=COMMON_PRACTICE,
        remedy="Exchange the two wires.",
    )


def _part(facts: Facts, part_id: str, working: Working) -> Finding:
    volts = working.result
    return Finding(
        rule="wrong_polarity", severity="stop", subjects=(part_id,),
        title=f"{facts.title(part_id)} is joined the wrong way round",
        message=f"Its plus stands {amount(-volts, 'V')} under its minus.",
        value=volts, limit=0.0, unit="V", source=COMMON_PRACTICE,
        remedy="Exchange its two supply wires.",
        working=replace(working, limit=0.0, limit_source=COMMON_PRACTICE),
    )  # fmt: skip


def _shorted(facts: Facts, study: Study) -> Iterator[Finding]:
    for n in study.network.elements.of("battery"):
        e = study.network.elements.items[n]
        if study.network.component[e.plus] == study.network.component[e.minus]:
            yield _short(facts, study, e)
    for ring in battery_rings(study.network):
        yield _ring(facts, study, ring)


def _driven(facts: Facts, study: Study) -> Iterator[Finding]:
    """Drivers with an output on a supply's metal."""
    network, items = study.network, study.network.elements.items
    rails: dict[int, str] = {}
    for kind in ("battery", "converter_out"):
        for n in network.elements.of(kind):
            for node in (items[n].plus, items[n].minus):
                rails.setdefault(int(network.component[node]), items[n].part)
    told = set()
    for n in network.elements.of("drive_out"):
        e = items[n]
        kind_of = facts.job.type_of(e.part)
        for node in (e.plus, e.minus):
            end = network.names[node]
            source = rails.get(int(network.component[node]))
            motor = kind_of.terminal(end.partition(".")[2]).role == "motor"
            if source is not None and motor and e.part not in told:
                told.add(e.part)
                yield _on_rail(facts, e.part, end, source)


def _on_rail(facts: Facts, part_id: str, end: str, source: str) -> Finding:
    return Finding(
        rule="wrong_polarity", severity="stop", subjects=(part_id,),
        title=f"An output of {facts.title(part_id)} is joined to a supply",
        message=f"{end_name(facts.job, end)} lies on the metal of {facts.title(source)}: one way "
                "round or the other the driver shorts it.",
        value=None, limit=None, unit="", source=COMMON_PRACTICE,
        remedy="Join only the motor to the outputs of a driver.",
    )  # fmt: skip


def _ring(facts: Facts, study: Study, ring: tuple[Element, ...]) -> Finding:
    batteries = [facts.job.type_of(e.part).battery for e in ring]
    volts = sum(battery.volts for battery in batteries if battery)
    inner = sum(e.ohms for e in ring)
    links = [(e.plus, after.minus) for e, after in zip(ring, (*ring[1:], ring[0]), strict=True)]
    each, answer = study.network.effective_ohms(links)
    ohms, through = float(each.sum()), study.network.flows(answer.sum(axis=1))
    amps = fault_amps(volts, inner, ohms)
    names = [facts.title(e.part) for e in ring]
    sources = pack_sources(facts.job, tuple(e.part for e in ring))
    return Finding(
        rule="wrong_polarity", severity="stop", subjects=tuple(e.part for e in ring),
        title=f"{listed(names)} are shorted in a ring",
        message=f"The plus of each leads to the minus of the next, all round: about "
                f"{amount(amps, 'A')} would flow.",
        value=amps, limit=0.0, unit="A", source="Ohm: I = V / R",
        remedy="Open the ring: in series one plus and one minus stay free for the board.",
        working=Working("I = sum(V) / (sum(Rb) + sum of R)", (
            Given("V", "nominal volts together", volts, "V", sources[0]),
            Given("Rb", "inside the batteries", inner, "ohm", sources[1]),
            *resistance_given(study.network, through),
        ), amps, "A", "Ohm; Tellegen where ways share"),
    )  # fmt: skip


def _short(facts: Facts, study: Study, e: Element) -> Finding:
    battery = facts.job.type_of(e.part).battery
    volts = battery.volts if battery else 0.0
    (ohms,), answer = study.network.effective_ohms([(e.plus, e.minus)])
    through = study.network.flows(answer[:, 0])
    amps = fault_amps(volts, e.ohms, float(ohms))
    sources = pack_sources(facts.job, (e.part,))
    return Finding(
        rule="wrong_polarity", severity="stop", subjects=(e.part,),
        title=f"{facts.title(e.part)} is shorted",
        message=f"Wires join its plus to its minus: about {amount(amps, 'A')} would flow.",
        value=amps, limit=0.0, unit="A", source="Ohm: I = V / R",
        remedy="Take away the wire that joins plus to minus.",
        working=Working("I = V / (Rb + sum of R)", (
            Given("V", "nominal volts", volts, "V", sources[0]),
            Given("Rb", "inside the battery", e.ohms, "ohm", sources[1]),
            *resistance_given(study.network, through),
        ), amps, "A", "Ohm; Tellegen where ways share"),
    )  # fmt: skip

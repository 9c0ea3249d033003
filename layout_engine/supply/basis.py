"""Where a part's values come from, in the working of each figure that rests on them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from layout_engine.model.part_type import PartType
from layout_engine.supply.joined import motors_of_drive
from layout_engine.supply.state import Figure
from layout_engine.working import Given, is_guess

if TYPE_CHECKING:
    from layout_engine.model.job import Job
    from layout_engine.supply.network import Conductor, Network
    from layout_engine.supply.study import Study

FROM_TYPE = "part type"
SOLVED = "solved supply"
KIRCHHOFF = "Kirchhoff's current law"
SHARED = f"{KIRCHHOFF}; superposition where ways share"
SHORT_SOURCE = "what a short is taken as; common practice, no source"
DEFAULT_OHMS = "typical of a sound contact (from memory)"
BY_CHEMISTRY = "guess, order of magnitude by chemistry, cells and Ah"
LEAST_DRAWN = 1e-6  # A; less is not told


def marked(kind: PartType, figure: Figure) -> Figure:
    """A figure whose values from its part type say whether they were measured or guessed.

    "part type" becomes "guess, part type", or "part type, data sheet", by the type's electrical
    basis; what follows a colon stays.
    """
    if figure.working is None:
        return figure
    given = tuple(_marked(kind, one) for one in figure.working.given)
    return replace(figure, working=replace(figure.working, given=given))


def with_given(figure: Figure, given: tuple[Given, ...]) -> Figure:
    """A figure whose working names these quantities too."""
    if figure.working is None or not given:
        return figure
    working = figure.working
    return replace(figure, working=replace(working, given=(*working.given, *given)))


def _marked(kind: PartType, given: Given) -> Given:
    if given.source != FROM_TYPE and not given.source.startswith(f"{FROM_TYPE}:"):
        return given
    return replace(given, source=source_of(kind, given.source.removeprefix(FROM_TYPE)))


def source_of(kind: PartType, rest: str = "") -> str:
    """Where an electrical value of a part type comes from; `rest` follows in the words."""
    basis = kind.basis.electrical
    if basis == "guess":
        return f"guess, {FROM_TYPE}{rest}"
    return f"{FROM_TYPE}, {basis.replace('_', ' ')}{rest}"


def pack_sources(job: Job, parts: tuple[str, ...]) -> tuple[str, str]:
    """Where volts and inner resistance of batteries come from: a guess where one of them is."""
    volts, ohms = FROM_TYPE, FROM_TYPE
    for part_id in parts:
        kind = job.type_of(part_id)
        if kind.battery is None:
            continue
        volts = volts if is_guess(volts) else source_of(kind)
        stated = source_of(kind) if kind.battery.ohms > 0 else BY_CHEMISTRY
        ohms = ohms if is_guess(ohms) else stated
    return volts, ohms


def ohms_source(network: Network, conductor: Conductor) -> str:
    """Where the resistance of a conductor comes from: of a wire with its pieces, in figures."""
    if conductor.part is not None and conductor.path is not None:
        if conductor.path.ohms > 0:
            return source_of(network.job.type_of(conductor.part), ": ohms of the path")
        return DEFAULT_OHMS
    if conductor.id not in network.told:
        wire = network.wires.get(conductor.id)
        network.told[conductor.id] = wire.words if wire is not None else SHORT_SOURCE
    return network.told[conductor.id]


def drawn_source(network: Network, number: int, case: str) -> str:
    """Where the current of an element comes from: the person's case, or a part type.

    That of a driver's or a converter's input follows from what hangs behind it, and is a guess
    where one of those is.
    """
    job, items = network.job, network.elements.items
    e = items[number]
    named = next((c for c in job.cases if c.id == case), None)
    if e.kind in ("load", "motor"):
        if named is not None and e.part in named.amps:
            return "cases"
        return source_of(job.type_of(e.part))
    if e.kind == "drive":
        motors = motors_of_drive(network, items[e.partner])
        behind = [items.index(motor) for motor in motors]
    elif e.kind == "converter":
        metal = network.component[items[e.partner].plus]
        behind = [n for n, x in enumerate(items)
                  if x.kind == "load" and network.component[x.plus] == metal]  # fmt: skip
    else:
        return SOLVED
    if any(is_guess(drawn_source(network, n, case)) for n in behind):
        return f"guess, {FROM_TYPE} of what hangs behind it"
    return f"{SOLVED}: what hangs behind it"


def guessed_draw(study: Study, row: int, node: int) -> tuple[Given, ...]:
    """What modules draw from a node's supply at a guess, as one quantity; none where none do."""
    island = int(study.network.islands[study.network.component[node]])
    if (row, island) not in study.guessed:
        study.guessed[row, island] = _guessed_draw(study, row, island)
    return study.guessed[row, island]


def _guessed_draw(study: Study, row: int, island: int) -> tuple[Given, ...]:
    network, (case, _) = study.network, study.wanted[row]
    total, parts = 0.0, []
    for n, e in enumerate(network.elements.items):
        amps = abs(float(study.element_amps[row, n]))
        here = network.islands[network.component[e.plus]] == island
        if (
            here
            and e.kind in ("load", "drive", "converter", "motor")
            and amps > LEAST_DRAWN
            and (is_guess(drawn_source(network, n, case)))
        ):
            total += amps
            parts.append(study.job.part(e.part).title)
    if not parts:
        return ()
    names = ", ".join(dict.fromkeys(parts))
    return (Given("Ig", f"drawn at a guess, {case}: {names}", total, "A",
                  f"guess, {FROM_TYPE}"),)  # fmt: skip

"""What flows through terminals, paths and switches, against their ratings. A, V."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from layout_engine.sizing.choosing import Choice
from layout_engine.sizing.results import Contact, Switch
from layout_engine.supply.basis import FROM_TYPE, KIRCHHOFF, SHARED
from layout_engine.supply.elements import Array
from layout_engine.supply.joined import terminals
from layout_engine.supply.shares import LEAST_TOLD, SUM, flow_working, why_drawn
from layout_engine.supply.study import Study
from layout_engine.supply.worked import node_working
from layout_engine.working import Given, Working

LEAST_AMPS = 0.01  # under it nothing flows that a contact could mind


def contacts_of(choice: Choice) -> tuple[Contact, ...]:
    """Every wired terminal and every path, with what flows through it for good."""
    return (*_terminals(choice), *_paths(choice))


def long_rows(choice: Choice) -> list[int]:
    """Rows of the cases that go on, where they have a steady state."""
    return [int(row) for row in choice.good_rows]


def case_name(choice: Choice, row: int) -> str:
    """A row's case and pack in words."""
    case, pack = choice.study.wanted[row]
    return f"{case}, {pack} pack"


def _terminals(choice: Choice) -> Iterator[Contact]:
    rows = long_rows(choice)
    if not rows:
        return
    through = node_currents(choice)[rows]
    ends = terminals(choice.job)
    wired = {end for wire in choice.job.connections for end in (wire.from_, wire.to)}
    for n, name in enumerate(choice.study.network.names):
        if name in wired:
            at = int(through[:, n].argmax())
            yield Contact(
                name,
                name.partition(".")[0],
                float(through[at, n]),
                case_name(choice, rows[at]),
                ends[name].max_amps,
                rows[at],
            )


def node_currents(choice: Choice) -> Array:
    """Current through each terminal, (rows, nodes): half of all that meets there."""
    network, study = choice.study.network, choice.study
    found = np.zeros((len(study.wanted), len(network.names)))
    a, b = network.ends
    flows = np.abs(study.conductor_amps) / 2
    np.add.at(found.T, a, flows.T)
    np.add.at(found.T, b, flows.T)
    elements = np.abs(study.element_amps) / 2
    np.add.at(found.T, network.elements.plus, elements.T)
    np.add.at(found.T, network.elements.minus, elements.T)
    return found


def _paths(choice: Choice) -> Iterator[Contact]:
    study = choice.study
    rows = long_rows(choice)
    every = np.flatnonzero(study.solved.converged)
    for n, c in enumerate(study.network.conductors):
        if c.path is None or c.part is None or not rows:
            continue
        flows = np.abs(study.conductor_amps[:, n])
        at = max(rows, key=lambda row, flows=flows: flows[row])  # type: ignore[misc]
        peak = c.path.peak_amps
        most = int(every[int(flows[every].argmax())])
        yield Contact(
            c.id,
            c.part,
            float(flows[at]),
            case_name(choice, at),
            c.path.max_amps,
            at,
            most,
            None if peak is None else (float(flows[most]), peak),
        )


def through_working(choice: Choice, what: str, row: int) -> Working:
    """Why a terminal ("part.terminal") or a path (its id) carries what it does in a row."""
    study = choice.study
    number = study.conductor_row.get(what)
    if number is not None:
        return flow_working(study, row, number, f"{SUM} ({case_name(choice, row)})")
    network = study.network
    given: list[Given] = []
    node = network.number[what]
    meeting = [
        (
            f"wire {c.id}" if c.part is None else f"path {c.id}",
            abs(float(study.conductor_amps[row, n])),
            SHARED,
        )
        for n, c in enumerate(network.conductors)
        if node in (c.a, c.b)
    ]
    meeting += [(f"{e.kind.replace('_', ' ')} {e.id}", abs(float(study.element_amps[row, n])),
                 why_drawn(study, row, n))
                for n, e in enumerate(network.elements.items) for end in (e.plus, e.minus)
                if end == node]  # fmt: skip
    for words, amps, source in meeting:
        if amps > LEAST_TOLD:
            given.append(Given(f"I{len(given) + 1}", words, amps, "A", source))
    total = sum(amps for _, amps, _ in meeting) / 2
    return Working(f"I = half of the sum of all that meets there ({case_name(choice, row)})",
                   tuple(given), total, "A", KIRCHHOFF)  # fmt: skip


def contact_working(choice: Choice, contact: Contact, *, peak: bool = False) -> Working:
    """Why a contact carries what it does for good, or at its peak, with its rating."""
    stands = contact.rating
    if peak and contact.peak is not None:
        stands = contact.peak[1]
    return replace(
        through_working(choice, contact.what, contact.peak_row if peak else contact.row),
        limit=stands,
        limit_source=FROM_TYPE if stands is not None else "",
    )


def switch_working(choice: Choice, switch: Switch) -> Working:
    """Why a switch may have to break what it does, with its rating."""
    return replace(through_working(choice, switch.what, switch.row), limit=switch.breaks,
                   limit_source=FROM_TYPE if switch.breaks is not None else "")  # fmt: skip


def switches_of(choice: Choice) -> tuple[Switch, ...]:
    """Every switching contact through which current flows in some case."""
    return tuple(_switches(choice))


def _switches(choice: Choice) -> Iterator[Switch]:
    study = choice.study
    every = np.flatnonzero(study.solved.converged)
    for n, c in enumerate(study.network.conductors):
        if c.path is None or c.part is None or not c.path.switch or not len(every):
            continue
        flows = np.abs(study.conductor_amps[every, n])
        at = int(flows.argmax())
        if flows[at] >= LEAST_AMPS:
            row = int(every[at])
            yield Switch(c.id, c.part, float(flows[at]), case_name(choice, row), row,
                         c.path.breaks_amps, c.path.max_volts, _full_volts(choice, n))  # fmt: skip


def switch_volts_working(choice: Choice, switch: Switch) -> Working:
    """Why the ends of a switch have the voltage that they have with a full pack, idle."""
    study = choice.study
    c = study.network.conductors[study.conductor_row[switch.what]]
    row = study.row["idle", "full"]
    end = max((c.a, c.b), key=lambda n: abs(float(np.nan_to_num(study.volts[row, n]))))
    return full_working(study, study.network.names[end])


def full_working(study: Study, end: str) -> Working:
    """Why a terminal has the voltage that it has with a full pack, idle."""
    found = node_working(study, end, "idle", "full")
    if found is None:
        return Working("nothing ties it to a source", (), 0.0, "V", KIRCHHOFF)
    return replace(found, result=abs(found.result))


def _full_volts(choice: Choice, n: int) -> float:
    """Highest voltage of a conductor's ends with a full pack, at rest."""
    study = choice.study
    c = study.network.conductors[n]
    rows = study.rows(cases=("idle",), packs=("full",))
    volts = np.abs(study.volts[rows][:, [c.a, c.b]])
    return float(np.nanmax(volts)) if np.isfinite(volts).any() else 0.0

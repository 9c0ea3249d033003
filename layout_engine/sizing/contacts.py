"""What flows through terminals, paths and switches, against their ratings. A, V."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from layout_engine.sizing.choosing import Choice
from layout_engine.sizing.results import Contact, Switch
from layout_engine.supply.elements import Array
from layout_engine.supply.joined import terminals

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
            yield Contact(name, name.partition(".")[0], float(through[at, n]),
                          case_name(choice, rows[at]), ends[name].max_amps)  # fmt: skip


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
        worst = float(flows[every].max(initial=0.0))
        yield Contact(c.id, c.part, float(flows[at]), case_name(choice, at), c.path.max_amps,
                      None if peak is None else (worst, peak))  # fmt: skip


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
            yield Switch(c.id, c.part, float(flows[at]), case_name(choice, int(every[at])),
                         c.path.breaks_amps, c.path.max_volts, _full_volts(choice, n))  # fmt: skip


def _full_volts(choice: Choice, n: int) -> float:
    """Highest voltage of a conductor's ends with a full pack, at rest."""
    study = choice.study
    c = study.network.conductors[n]
    rows = study.rows(cases=("idle",), packs=("full",))
    volts = np.abs(study.volts[rows][:, [c.a, c.b]])
    return float(np.nanmax(volts)) if np.isfinite(volts).any() else 0.0

"""One wire in the supply: its current and voltages in each case, and what it does when it opens."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

from layout_engine.sizing.what_if import what_if_sized
from layout_engine.supply.case_words import case_words
from layout_engine.supply.shares import flow_working
from layout_engine.supply.state import SupplyError
from webapp.forms.supply_asked.faults import told
from webapp.forms.supply_asked.parts import About, Answer, Cell, Column, Grid, Line, volt
from webapp.forms.wires_view import LEAST_SHOWN, figure


@dataclass(frozen=True, slots=True)
class WireFigures:
    """What a wire carries in one case, A, and the voltage at its two ends, V, as texts."""

    start: str
    target: str
    amps: str


def wire_figures(about: About, case: str) -> dict[str, WireFigures]:
    """By connection; empty where the case is not there or has no steady state."""
    study = about.sizing.study
    row = study.row.get((case, "nominal"))
    if row is None or not study.solved.converged[row]:
        return {}
    nodes, found = study.network.number, {}
    for wire in about.job.connections:
        amps = float(study.conductor_amps[row, study.conductor_row[wire.id]])
        a, b = (float(study.volts[row, nodes[end]]) for end in (wire.from_, wire.to))
        found[wire.id] = WireFigures(_volts(a), _volts(b), figure(abs(amps)))
    return found


def _volts(value: float) -> str:
    return f"{volt(value)} V" if isfinite(value) else "floats"


def one_wire(about: About, wire_id: str) -> Answer:
    """A wire's current, voltages and loss in every case, and what happens when it comes off."""
    study = about.sizing.study
    wire = next(c for c in about.job.connections if c.id == wire_id)
    cases = tuple(dict.fromkeys(case for case, _ in study.wanted))
    lines = tuple(line for case in cases if (line := _line(about, wire_id, case)) is not None)
    try:
        words = told(about, what_if_sized(about.sizing, opened=(wire_id,)))
        words[0] = words[0].replace("At once", "If it comes off", 1)
    except SupplyError as error:
        words = [str(error)]
    sized = about.sizing.wires[wire_id]
    words.insert(0, f"{sized.size.name}: {sized.why}.")
    return Answer(
        tuple(words), (Grid(
            "", (Column("Case"), Column("A", True), Column(f"{about.end(wire.from_)}, V", True),
                 Column(f"{about.end(wire.to)}, V", True)), lines),),
    )  # fmt: skip


def _line(about: About, wire_id: str, case: str) -> Line | None:
    found = wire_figures(about, case).get(wire_id)
    if found is None:
        return None
    study = about.sizing.study
    working = flow_working(study, study.row[case, "nominal"], study.conductor_row[wire_id])
    flows = abs(working.result) >= LEAST_SHOWN
    return Line(
        (Cell(case_words(about.job, case)), Cell(found.amps),
         Cell(found.start.removesuffix(" V")), Cell(found.target.removesuffix(" V"))),
        (("Current in it", working),) if flows else (),
    )  # fmt: skip

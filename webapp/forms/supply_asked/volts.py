"""Voltage at every terminal in one case."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite

from layout_engine.model.part import Part
from layout_engine.sizing.contacts import node_currents
from layout_engine.supply.case_words import case_words
from layout_engine.supply.ranges import volts_range
from layout_engine.supply.state import Pack
from layout_engine.supply.study import Study
from layout_engine.supply.worked import node_working
from layout_engine.working import Working, exceeds
from webapp.forms.supply_asked.parts import (
    PACKS,
    About,
    Answer,
    Cell,
    Choice,
    Column,
    Grid,
    Line,
    volt,
)
from webapp.forms.wires_view import figure

FLOATS = "floats"


def case_choices(about: About) -> Choice:
    """The choice of a case."""
    cases = dict.fromkeys(case for case, _ in about.sizing.study.wanted)
    named = tuple((case, case_words(about.job, case)) for case in cases)
    return Choice("case", "Case", (("", named),), chosen_case(about)[0])


def pack_choices(about: About) -> Choice:
    """The choice of the pack's state."""
    return Choice("pack", "Pack", (("", PACKS),), chosen_case(about)[1])


def chosen_case(about: About) -> tuple[str, Pack]:
    """The case and pack that were chosen, else typical and a usual pack."""
    study = about.sizing.study
    case = about.chosen.get("case", "")
    pack: Pack = next((p for p, _ in PACKS if p == about.chosen.get("pack")), "nominal")
    known = {name for name, _ in study.wanted}
    return case if case in known else "typical", pack


def volts(about: About) -> Answer:
    """Voltage of every terminal against the battery's minus, and what flows through it."""
    study, (case, pack) = about.sizing.study, chosen_case(about)
    choices = (case_choices(about), pack_choices(about))
    row = study.row.get((case, pack))
    if row is None or not study.solved.converged[row]:
        return Answer(("This case has no steady state: the feed cannot give what is asked for.",),
                      choices=choices, button="Show")
    through = node_currents(about.sizing.choice)[row]
    lines = tuple(
        line for part in about.job.parts
        for line in _part(about, part, row, through.tolist())
    )
    return Answer(
        (("Counted from the minus of the first battery. A terminal that nothing ties to the supply "
         "floats: a meter shows anything there."),),
        (Grid("", (Column("Terminal"), Column("Volts", True), Column("Through it, A", True),
                   Column("Module's supply")), lines, empty="No terminals."),),
        choices=choices, button="Show",
    )  # fmt: skip


def _part(about: About, part: Part, row: int, through: list[float]) -> Iterator[Line]:
    study, kind = about.sizing.study, about.job.type_of(part)
    wired = {end for wire in about.job.connections for end in (wire.from_, wire.to)}
    supplies = _supplies(study, part.id, row)
    for terminal in kind.terminals:
        end = f"{part.id}.{terminal.id}"
        node = study.network.number[end]
        value = float(study.volts[row, node])
        if end not in wired and not isfinite(value):
            continue
        floats = not isfinite(value)
        yield Line(
            (Cell(about.end(end)),
             Cell(FLOATS if floats else volt(value)), Cell(figure(through[node])),
             supplies.pop(end, Cell(""))),
            ask="" if floats else end,
        )  # fmt: skip


def _supplies(study: Study, part_id: str, row: int) -> dict[str, Cell]:
    """By a module's plus: its supply, and what it wants."""
    found: dict[str, Cell] = {}
    for n, e in enumerate(study.network.elements.items):
        if e.part != part_id or e.kind not in ("load", "drive", "converter"):
            continue
        across = float(study.element_volts[row, n])
        if not isfinite(across):
            continue
        limits = volts_range(study.job.type_of(part_id), e)
        wants = "" if limits is None else _wants(*limits)
        low = limits is not None and exceeds(limits[0], across)
        high = limits is not None and exceeds(across, limits[1])
        found.setdefault(study.network.names[e.plus], Cell(
            f"{volt(across)} V", wants, "warn" if low or high else "",
            "too little" if low else "too much" if high else ""))  # fmt: skip
    return found


def _wants(least: float, most: float) -> str:
    if not isfinite(most):
        return f"wants {least:g} or more"
    return f"wants {least:g} to {most:g}"


def terminal_working(about: About, end: str) -> Working | None:
    """How the voltage of a terminal was worked out; None where it floats or there is none."""
    study, (case, pack) = about.sizing.study, chosen_case(about)
    row = study.row.get((case, pack))
    if end not in study.network.number or row is None or not study.solved.converged[row]:
        return None
    return node_working(study, end, case, pack)

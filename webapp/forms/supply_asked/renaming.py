"""Workings as a person reads them: terminals, wires and cases by their names, not their ids."""

from __future__ import annotations

import re
from dataclasses import replace

from layout_engine.supply.case_words import case_words
from layout_engine.working import Given, Working
from webapp.forms.supply_asked.parts import About, Answer, Grid, Line

_DOTTED = re.compile(r"[a-z][a-z0-9_]*\.[a-z0-9_]+(?:>[a-z0-9_]+)?(?:#\d+)?")


def renamed(about: About, answer: Answer) -> Answer:
    """An answer whose workings name things as the page does."""
    return replace(answer, grids=tuple(_grid(about, grid) for grid in answer.grids))


def _grid(about: About, grid: Grid) -> Grid:
    return replace(grid, lines=tuple(_line(about, line) for line in grid.lines))


def _line(about: About, line: Line) -> Line:
    if not line.workings:
        return line
    return replace(line, workings=tuple((t, working(about, w)) for t, w in line.workings))


def working(about: About, found: Working) -> Working:
    """A working with names in place of ids."""
    return replace(found, given=tuple(
        replace(g, what=_words(about, g.what), source=_words(about, g.source),
                symbol=_symbol(about, g)) for g in found.given
    ))  # fmt: skip


def _symbol(about: About, given: Given) -> str:
    head, _, rest = given.symbol.partition(" ")
    cases = {case.id for case in about.job.cases}
    return f"{head} {case_words(about.job, rest)}" if rest in cases else given.symbol


def _words(about: About, text: str) -> str:
    """Ends, paths, wires before a colon, and "case, pack pack" by their names."""
    head, colon, rest = text.partition(": ")
    if colon and any(wire.id == head for wire in about.job.connections):
        text = f"{about.branch(head)}: {rest}"
    text = _DOTTED.sub(lambda found: _dotted(about, found[0]), text)
    for case in dict.fromkeys(case for case, _ in about.sizing.study.wanted):
        for pack in ("nominal", "full", "empty"):
            said = f"{case}, {pack} pack"
            if text == said or text.endswith(f", {said}"):
                words = "usual" if pack == "nominal" else pack
                return f"{text.removesuffix(said)}{case_words(about.job, case)}, {words} pack"
    return text


def _dotted(about: About, name: str) -> str:
    part_id = name.partition(".")[0]
    if part_id not in about.job.parts_by_id:
        return name
    study = about.sizing.study
    known = name in study.network.number or name in study.conductor_row or any(
        e.id == name for e in study.network.elements.items)  # fmt: skip
    return about.branch(name) if known else name

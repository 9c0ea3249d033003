"""An answer's workings as a person reads them."""

from __future__ import annotations

from dataclasses import replace

from webapp.forms.supply_asked.parts import About, Answer
from webapp.forms.working_names import Names


def renamed(about: About, answer: Answer) -> Answer:
    """An answer whose workings name things as the page does."""
    names = Names(about.job)
    return replace(answer, grids=tuple(
        replace(grid, lines=tuple(
            replace(line, workings=tuple((t, names.working(w)) for t, w in line.workings))
            for line in grid.lines
        )) for grid in answer.grids
    ))  # fmt: skip

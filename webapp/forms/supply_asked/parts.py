"""What an answer about the supply consists of: sentences, tables of figures, their workings."""

from __future__ import annotations

from dataclasses import dataclass

from layout_engine.joining import end_name
from layout_engine.model.job import Job
from layout_engine.sizing.board import Sizing
from layout_engine.supply.state import Figure, Pack
from layout_engine.working import Working
from webapp.forms.wires_view import figure
from webapp.forms.working_names import branch_name

LEAST_SECONDS = 0.01  # less is told in ms
Worked = tuple[tuple[str, Working], ...]
PACKS: tuple[tuple[Pack, str], ...] = (
    ("nominal", "a usual pack"), ("full", "a full pack"), ("empty", "an empty pack"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Heading:
    """What is asked: its name in addresses and its words."""

    name: str
    words: str


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table: its words, and whether figures stand in it."""

    words: str
    is_figure: bool = False


@dataclass(frozen=True, slots=True)
class Cell:
    """What stands in a place: words, smaller ones below, a mark ("stop", "warn") with its words."""

    text: str
    second: str = ""
    mark: str = ""
    mark_words: str = ""


@dataclass(frozen=True, slots=True)
class Line:
    """A row: its cells, the first one names it; how its figures were worked out, here or asked."""

    cells: tuple[Cell, ...]
    workings: Worked = ()
    ask: str = ""  # the terminal whose working is asked for when it is opened


@dataclass(frozen=True, slots=True)
class Grid:
    """A table with its title, a sentence below, and what is said where it has no rows.

    fold: the words that open it, where it is folded away.
    """

    title: str
    columns: tuple[Column, ...]
    lines: tuple[Line, ...]
    below: str = ""
    empty: str = ""
    fold: str = ""


@dataclass(frozen=True, slots=True)
class Choice:
    """A choice of a form: field name, its label, (value, words) by group, what is chosen."""

    name: str
    label: str
    groups: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
    chosen: str


@dataclass(frozen=True, slots=True)
class Answer:
    """The answer to one question about the supply.

    Attributes:
        words: sentences, the most important first.
        grids: tables.
        verdicts: (mark, sentence): "stop", "warn", "note" or "tick".
        caution: of what can hurt somebody; "" where nothing can.
        choices: what can be chosen about it; button: the words that send them.
        rests: what the figures rest on.
    """

    words: tuple[str, ...] = ()
    grids: tuple[Grid, ...] = ()
    verdicts: tuple[tuple[str, str], ...] = ()
    caution: str = ""
    choices: tuple[Choice, ...] = ()
    button: str = ""
    rests: tuple[str, ...] = ()


@dataclass(frozen=True)
class About:
    """What a question is about: the job, its sized supply, and what was chosen in its form."""

    job: Job
    sizing: Sizing
    chosen: dict[str, str]

    def title(self, part_id: str) -> str:
        """The name of a part."""
        return self.job.part(part_id).title if part_id in self.job.parts_by_id else part_id

    def titles(self, parts: tuple[str, ...]) -> str:
        """Names of parts as a list."""
        return ", ".join(self.title(part) for part in parts)

    def branch(self, branch_id: str) -> str:
        """A wire as "wire 7", a path by its part and its printed ends, an element by its part."""
        return branch_name(self.job, branch_id)

    def end(self, end: str) -> str:
        """A terminal by its module and its printed mark."""
        return end_name(self.job, end)


def said(found: Figure, unit: str = "") -> str:
    """A figure with three digits that count; "not known" where it cannot be said."""
    if found.value is None:
        return "not known"
    return f"{figure(found.value)} {unit}".strip()


def volt(value: float) -> str:
    """A voltage to a hundredth: drops of a few tenths are what matters."""
    return f"{value:.2f}" if abs(value) >= 0.005 else "0"


def worked(*figures: tuple[str, Figure]) -> Worked:
    """The workings of figures under their titles, those without one left out."""
    return tuple((title, f.working) for title, f in figures if f.working is not None)


def known(value: float | None, unit: str = "") -> str:
    """A rating, or that it is not known."""
    return "not known" if value is None else f"{figure(value)} {unit}".strip()


def seconds(value: float) -> str:
    """A time in ms, s, min or h with two digits that count; "for good" without end."""
    if value == float("inf"):
        return "for good"
    if 0 < value < LEAST_SECONDS:
        return f"{1000 * value:.2g} ms"
    if value < 120:
        return f"{figure(float(f'{value:.2g}'))} s"
    return f"{value / 60:.0f} min" if value < 7200 else f"{value / 3600:.0f} h"

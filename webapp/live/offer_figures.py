"""How the figures of an offer were worked out, with names in place of ids."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from layout_engine.arranging.respects import Respect
from layout_engine.working import Given, Working
from webapp.forms.working_names import Names

RESPECT_WORDS = {"wire": "Wire", "heat": "Heat", "service": "Service", "tidiness": "Tidiness"}
PER_CENT = 100.0


def with_names(values: Any, names: Names) -> Any:
    """Plain values of `webapp.jobs.telling`, their workings made whole and named."""
    if isinstance(values, dict):
        if values.keys() >= {"formula", "given"}:
            given = tuple(Given(**one) for one in values["given"])
            return names.working(Working(**(values | {"given": given})))
        return {key: with_names(value, names) for key, value in values.items()}
    if isinstance(values, list | tuple):
        return [with_names(value, names) for value in values]
    return values


def respect_workings(respects: Iterable[Respect], names: Names) -> tuple[tuple[str, Working], ...]:
    """Every figure of the respects: its title, and how it was worked out."""
    return tuple((f"{RESPECT_WORDS[respect.name]}: {figure.words}", names.working(figure.working))
                 for respect in respects for figure in respect.figures)


def change_working(before: float, after: float) -> Working:
    """By how much the weighed metres of wire change, per cent of what was there; A mm both."""
    return Working("100 (a - b) / b", (
        Given("a", "weighed metres of wire of the offer", after, "A mm", "terminal to terminal"),
        Given("b", "those of what was there", before, "A mm", "terminal to terminal"),
    ), PER_CENT * (after - before) / before, "%", "arithmetic")  # fmt: skip

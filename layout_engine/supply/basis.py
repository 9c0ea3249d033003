"""Where a part's values come from, in the working of each figure that rests on them."""

from __future__ import annotations

from dataclasses import replace

from layout_engine.model.part_type import PartType
from layout_engine.supply.state import Figure
from layout_engine.working import Given

FROM_TYPE = "part type"


def marked(kind: PartType, figure: Figure) -> Figure:
    """A figure whose values from its part type say whether they were measured or guessed.

    "part type" becomes "guess, part type", or "part type, data sheet", by the type's electrical
    basis; what follows a colon stays.
    """
    if figure.working is None:
        return figure
    given = tuple(_marked(kind, one) for one in figure.working.given)
    return replace(figure, working=replace(figure.working, given=given))


def _marked(kind: PartType, given: Given) -> Given:
    if given.source != FROM_TYPE and not given.source.startswith(f"{FROM_TYPE}:"):
        return given
    basis, rest = kind.basis.electrical, given.source.removeprefix(FROM_TYPE)
    if basis == "guess":
        return replace(given, source=f"guess, {FROM_TYPE}{rest}")
    return replace(given, source=f"{FROM_TYPE}, {basis.replace('_', ' ')}{rest}")

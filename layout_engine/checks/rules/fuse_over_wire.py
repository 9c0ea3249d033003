"""A fuse lets more through than a wire or contact behind it carries.

Wrong: a fuse's rating exceeds what the thinnest wire, terminal or path that it alone guards carries
for good, or what its holder takes; or fuses that share a return together let more through than
that return carries. A fuse guards the wire, not the load.

Remedy: a smaller fuse where the load allows it, else the thicker wire or stronger contact.

Source: IEC 60364-4-43 cl. 433.1 (from memory), In <= Iz; 33 CFR 183.455(c) tolerates 150 % of its
table, which is not followed here.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding
from layout_engine.checks.wires_said import (
    capital,
    fuse_subjects,
    fuse_title,
    fuse_wires,
    wire_title,
)
from layout_engine.checks.wording import amount
from layout_engine.sizing.board import Sizing
from layout_engine.sizing.results import Limit, SizedFuse, SizedWire
from layout_engine.working import Given, Working, exceeds

SOURCE = "IEC 60364-4-43 cl. 433.1 (from memory): In <= Iz"


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a fuse, one a return that several fuses share."""
    if facts.sizing is None:
        return
    for fuse in facts.sizing.fuses.values():
        if fuse.is_over:
            yield _over(facts, fuse)
    for wire in facts.sizing.wires.values():
        let = wire.let
        if let is not None and not wire.fuse and exceeds(let, wire.carries.amps):
            yield _shared(facts, facts.sizing, wire, let)


def _over(facts: Facts, fuse: SizedFuse) -> Finding:
    least, where = _least(facts, fuse)
    rating = fuse.rating or 0.0
    title = fuse_title(facts, fuse)
    subjects, wires = fuse_subjects(facts, fuse), fuse_wires(facts, fuse)
    other = _subject(fuse.weakest)
    if other and other not in subjects:
        subjects = (*subjects, other)
    if fuse.weakest is not None and fuse.weakest.is_wire:
        wires |= {other}
    advice = fuse.advice or "Take a smaller fuse: the load allows it."
    return Finding(
        rule="fuse_over_wire", severity="stop", subjects=subjects, of_wires=wires,
        title=f"{title} is too large for what it guards",
        message=f"{rating:g} A; {where} carries {amount(least, 'A')}.",
        value=rating, limit=least, unit="A", source=SOURCE, remedy=advice,
        rests_on_guess=facts.guessed_values(fuse.part),
        working=_working(fuse, rating, least),
    )  # fmt: skip


def _least(facts: Facts, fuse: SizedFuse) -> tuple[float, str]:
    weakest = fuse.weakest
    if weakest is None or (fuse.holder is not None and fuse.holder < weakest.amps):
        return fuse.holder or 0.0, "its holder"
    if weakest.is_wire:
        return weakest.amps, wire_title(facts, weakest.what)
    part, _, terminal = weakest.what.partition(".")
    return weakest.amps, f"{terminal} of {facts.title(part)}"


def _subject(weakest: Limit | None) -> str:
    if weakest is None:
        return ""
    return weakest.what if weakest.is_wire else weakest.what.partition(".")[0]


def _working(fuse: SizedFuse, rating: float, least: float) -> Working:
    weakest = fuse.weakest
    fitted = Given("In", "rating of the fuse", rating, "A", "fuse")
    if weakest is None or weakest.amps > least:
        holder = Given("Ih", "its holder takes", least, "A", "part type")
        return Working("In <= Ih", (fitted, holder), rating, "A", SOURCE, least, "part type")
    inner = weakest.working
    return Working(f"In <= Iz; {inner.formula}", (fitted, *inner.given), rating, "A",
                   f"{SOURCE}; {inner.source}", least, inner.source)  # fmt: skip


def _shared(facts: Facts, sizing: Sizing, wire: SizedWire, let: float) -> Finding:
    carries = wire.carries
    return Finding(
        rule="fuse_over_wire", severity="stop", subjects=(wire.id,), of_wires=frozenset({wire.id}),
        title=f"{capital(wire_title(facts, wire.id))} is too thin for the fuses it serves",
        message=f"Together they let {amount(let, 'A')} through; {wire.size.name} carries "
                f"{amount(carries.amps, 'A')}.",
        value=let, limit=carries.amps, unit="A", source=SOURCE,
        remedy="Take a thicker wire, or smaller fuses.",
        working=Working(f"sum of In <= Iz; {carries.working.formula}",
                        (*sizing.let_given(wire), *carries.working.given), let, "A",
                        f"{SOURCE}; {carries.working.source}", carries.amps,
                        carries.working.source),
    )  # fmt: skip

"""A wire does not go into a terminal.

Wrong: a wire has more copper than a terminal at one of its ends takes.

Remedy: a thinner wire where its current allows it, a pin-shaped crimp, or a terminal strip where it
is joined to a thinner one.

Source: the part type.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding
from layout_engine.checks.wires_said import wire_guessed, wire_title


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a wire."""
    if facts.sizing is None:
        return
    for wire in facts.sizing.wires.values():
        end = wire.too_thick_for
        if end is None or end.max_mm2 is None:
            continue
        yield Finding(
            rule="wire_too_thick_for_terminal", severity="stop", subjects=(wire.id,),
            of_wires=frozenset({wire.id}),
            title=f"A terminal does not take {wire_title(facts, wire.id)}",
            message=f"{wire.size.name} has {wire.size.area:.3g} mm2; terminal {end.mark or end.id} "
                    f"takes {end.max_mm2:g} mm2 at most.",
            value=wire.size.area, limit=end.max_mm2, unit="mm2", source="part type",
            remedy="Take a thinner wire if its current allows it, or go through a terminal strip "
                   "that takes both.",
            rests_on_guess=wire_guessed(facts, wire.id),
            working=wire.area_working(end.max_mm2),
        )  # fmt: skip

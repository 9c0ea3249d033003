"""Loaded wires that lie tied together get too hot.

Wrong: alone a wire would carry its current, but not together with the loaded wires of its lead or
tie. Circuits count, a pair is one; one under 30 % of what it carries is left out. Only where it is
known which wires lie together: in one ready-made lead, or by their routes.

Remedy: the next size, or run the heavy circuits apart.

Source: IEC 60364-5-52 Table B.52.17 item 1 (1 to 8 circuits from memory).
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding
from layout_engine.checks.wires_said import capital, wire_guessed, wire_title
from layout_engine.checks.wording import amount
from layout_engine.tables.ampacity import BUNCHED
from layout_engine.working import Working, exceeds


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a wire."""
    if facts.sizing is None:
        return
    for wire in facts.sizing.wires.values():
        amps, carries = wire.amps.result, wire.carries
        if not exceeds(amps, carries.amps) or exceeds(amps, wire.alone):
            continue
        yield Finding(
            rule="bundle_hot", severity="stop", subjects=(wire.id,), of_wires=frozenset({wire.id}),
            title=f"{capital(wire_title(facts, wire.id))} gets too hot in its bundle",
            message=f"{amount(amps, 'A')} with {wire.circuits} loaded circuits together; "
                    f"{wire.size.name} carries {amount(carries.amps, 'A')} there, "
                    f"{amount(wire.alone, 'A')} alone.",
            value=amps, limit=carries.amps, unit="A", source=BUNCHED,
            remedy="Take the next size, or run the heavy circuits apart.",
            rests_on_guess=wire_guessed(facts, wire.id),
            working=Working(f"Ib <= Iz; {wire.amps.formula}; {carries.working.formula}",
                            (*wire.amps.given, *carries.working.given), amps, "A",
                            carries.working.source, carries.amps, BUNCHED),
        )  # fmt: skip

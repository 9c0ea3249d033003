"""A wire is too thin.

Wrong: in a case that goes on it carries more than its size stands, alone, in the air inside, with
its weakest contact as hot as that may be; or a terminal does not hold a wire as thin as this.

Remedy: the next size that carries it, a terminal that takes that size, or less load.

Source: 33 CFR 183.425 Table 5 from 18 AWG on, the heat balance of a wire below it; ambient factor
as in IEC 60364-5-52 Table B.52.14; terminals by the part type.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding
from layout_engine.checks.wires_said import capital, wire_guessed, wire_title
from layout_engine.checks.wording import amount
from layout_engine.sizing.results import SizedWire
from layout_engine.supply.case_words import case_and_pack
from layout_engine.tables.ampacity import CFR_TABLE_5
from layout_engine.working import Working, exceeds


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a wire."""
    if facts.sizing is None:
        return
    for wire in facts.sizing.wires.values():
        if exceeds(wire.amps.result, wire.alone):
            yield _overloaded(facts, wire)
        elif wire.too_thin_for is not None:
            yield _loose(facts, wire)


def _overloaded(facts: Facts, wire: SizedWire) -> Finding:
    amps, carries = wire.amps.result, wire.alone_working
    return Finding(
        rule="wire_thin", severity="stop", subjects=(wire.id,), of_wires=frozenset({wire.id}),
        title=f"{capital(wire_title(facts, wire.id))} is too thin",
        message=f"{amount(amps, 'A')} ({case_and_pack(facts.job, wire.case)}); {wire.size.name} "
                f"carries {amount(wire.alone, 'A')} for good.",
        value=amps, limit=wire.alone, unit="A", source=CFR_TABLE_5,
        remedy="Take a thicker wire; where the terminals do not take one, two of them or another "
               "module.",
        rests_on_guess=wire_guessed(facts, wire.id),
        working=Working(f"Ib <= Iz; {wire.amps.formula}; {carries.formula}",
                        (*wire.amps.given, *carries.given), amps, "A",
                        carries.source, wire.alone, CFR_TABLE_5),
    )  # fmt: skip


def _loose(facts: Facts, wire: SizedWire) -> Finding:
    end = wire.too_thin_for
    assert end is not None
    assert end.min_mm2 is not None
    return Finding(
        rule="wire_thin", severity="stop", subjects=(wire.id,), of_wires=frozenset({wire.id}),
        title=f"A terminal does not hold {wire_title(facts, wire.id)}",
        message=f"{wire.size.name} has {wire.size.area:.3g} mm2; terminal {end.mark or end.id} "
                f"holds {end.min_mm2:g} mm2 or more.",
        value=wire.size.area, limit=end.min_mm2, unit="mm2", source="part type",
        remedy="Take a thicker wire, or a ferrule that the terminal's maker allows.",
        working=wire.area_working(end.min_mm2),
    )  # fmt: skip

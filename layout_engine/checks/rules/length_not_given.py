"""Nobody can tell how long a wire is.

Wrong: both ends of a wire sit elsewhere in the body, so that it runs where there is no board, and
no length is given with it or with another wire of its lead.

Remedy: measure it in the machine and give its length.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding
from layout_engine.checks.wires_said import capital, wire_title


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a wire."""
    measured = {c.cable for c in facts.job.connections if c.cable and c.length is not None}
    for wire in facts.job.connections:
        away = [facts.job.part(part_id).away is not None for part_id, _ in wire.ends]
        if not all(away) or wire.length is not None or wire.cable in measured:
            continue
        yield Finding(
            rule="length_not_given", severity="warn", subjects=(wire.id,),
            of_wires=frozenset({wire.id}),
            title=f"The length of {wire_title(facts, wire.id)} is not known",
            message=f"{capital(wire_title(facts, wire.id))} does not run over the board. Its size "
                    "and its volts lost rest on a guess.",
            value=None, limit=None, unit="", source=COMMON_PRACTICE,
            remedy="Measure it in the machine and give its length.",
        )  # fmt: skip

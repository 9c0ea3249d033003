"""The plate conducts.

Wrong: aluminium, steel or an aluminium-faced board under modules whose undersides carry bare
joints; the faced board looks like plastic.

Remedy: take a plastic, plywood or glass-epoxy plate.

Source: common knowledge, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding
from layout_engine.checks.wires_said import capital
from layout_engine.tables.materials import material_name


def find(facts: Facts) -> Iterator[Finding]:
    """At most one finding, about the plate."""
    if not facts.conducting_plate:
        return
    material = capital(material_name(facts.job.plate.material))
    yield Finding(
        rule="conductive_plate", severity="stop", subjects=("plate",), of_plate=1,
        title="The plate conducts",
        message=f"{material} under open modules shorts their joints.",
        value=None, limit=None, unit="", source=COMMON_PRACTICE,
        remedy="Take a plastic, plywood or glass-epoxy plate.",
    )

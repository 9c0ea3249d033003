"""A module lies in the tray.

Wrong: it has no place on the plate and is not elsewhere in the body.

Remedy: place it, let it be arranged, or say that it sits elsewhere.

Source: the job itself.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a part in the tray."""
    for part in facts.job.tray:
        yield Finding(
            rule="not_placed", severity="stop", subjects=(part.id,),
            title=f"{part.title} is not placed",
            message="It still lies in the tray.", value=None, limit=None, unit="",
            source="the job", remedy="Place it, arrange the tray, or say that it sits elsewhere.",
            rests_on_guess=facts.job.type_of(part).is_guessed,
        )

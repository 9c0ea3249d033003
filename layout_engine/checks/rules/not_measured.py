"""A module is not measured yet.

Wrong: its outline and holes are still a guess.

Remedy: measure it and hold its paper silhouette against it; until then do not drill its holes.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding, Place
from layout_engine.geometry.shapes import centre


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a part that belongs on the plate."""
    for part in facts.job.parts:
        if part.away is not None or not facts.job.type_of(part).is_guessed:
            continue
        standing = facts.scene.standing.get(part.id)
        place = Place(*centre(standing.outline), standing.face) if standing else None
        yield Finding(
            rule="not_measured", severity="warn", subjects=(part.id,),
            title=f"{part.title} is not measured yet",
            message="Its outline and holes are a guess. The drilling template says so.",
            value=None, limit=None, unit="", source=COMMON_PRACTICE,
            remedy="Measure it, and hold its paper silhouette against the real thing.",
            rests_on_guess=True, place=place,
        )

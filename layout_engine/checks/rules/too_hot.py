"""The air inside is warmer than a module stands.

Wrong: with everything that goes on running, the air inside the closed body gets warmer than a
module's type allows. The figure is the mean: under the roof it is hotter; vents and fans are left
out, for their effect is not known.

Remedy: openings low and high, a fan, a larger or metal body, less loss inside, or the module lower
and not over a hot one.

Source: rise of the air VDE 0660 part 500 / IEC TR 60890; limit: the part type (50 C common
practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding
from layout_engine.checks.wording import number
from layout_engine.tables.heat import TOUCH_1_MIN, VDE_500
from layout_engine.working import Working, exceeds


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a part."""
    heat = facts.heat
    air = heat.air.result
    for part in facts.job.parts:
        stated = facts.job.type_of(part).heat
        if stated is None or not exceeds(air, stated.max_air):
            continue
        own = heat.parts[part.id]
        warm = ""
        if own.surface is not None:
            low, high = own.surface
            warm = f" Its outside gets to {low:.0f} to {high:.0f} C"
            warm += ", too hot to hold." if high > TOUCH_1_MIN.value else "."
        guessed = facts.job.type_of(part).basis.heat == "guess"
        yield Finding(
            rule="too_hot", severity="warn", subjects=(part.id,),
            title=f"It gets too hot inside for {part.title}",
            message=f"The air gets to {number(air)} C, {number(air - stated.max_air)} K over the "
                    f"{number(stated.max_air)} C that it stands.{warm}",
            value=air, limit=stated.max_air, unit="C", source=VDE_500,
            remedy="Give the body openings low and high or a fan, or move losses out of it.",
            rests_on_guess=guessed,
            working=Working(f"{heat.air.formula}; {heat.rise.formula}",
                            (*heat.air.given, *heat.rise.given), air, "C",
                            f"{heat.air.source}; {heat.rise.source}", stated.max_air,
                            "part type"),
        )  # fmt: skip

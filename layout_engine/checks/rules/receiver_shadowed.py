"""The aerial stands in the shadow of metal.

Wrong: more than a quarter of 360 horizontal rays from the antenna, at its height in the body, meet
metal (shields of other parts, a conducting plate, a conducting skin beside its opening).

Remedy: move the receiver to the edge, or up over the metal.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding, Place
from layout_engine.checks.wording import number
from layout_engine.geometry.metal import RAYS, shadowed_share
from layout_engine.tables.radio import SHADOW_LIMIT
from layout_engine.working import Given, Working


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a part with an antenna."""
    for standing in facts.standing:
        if standing.type.antenna is None:
            continue
        at = facts.antenna(standing)
        share = shadowed_share(facts.cavity, facts.metal, at, but=standing.id,
                               skin=facts.conducting_skin)
        if share > SHADOW_LIMIT.value:
            others = set(facts.metal.owners) - {standing.id}
            percent, limit = 100 * share, 100 * SHADOW_LIMIT.value
            yield Finding(
                rule="receiver_shadowed", severity="warn", subjects=(standing.id,),
                title=f"{standing.title}: the aerial stands in the shadow of metal",
                message=f"Metal lies in {number(percent)} % of the directions round it; "
                        f"{number(limit)} % at most is wished.",
                value=percent, limit=limit, unit="%", source=SHADOW_LIMIT.source,
                remedy="Move the receiver towards the edge, or up over the metal.",
                rests_on_guess=facts.guessed(standing.id, *others),
                place=Place(at[0], at[1], standing.face),
                working=Working(
                    "s = rays that meet metal / rays", (
                        Given("n", "horizontal rays", float(RAYS), "1", "one a degree"),
                        Given("m", "rays that meet metal", share * RAYS, "1", "ray casting"),
                    ), percent, "%", "plane geometry", limit, SHADOW_LIMIT.source),
            )

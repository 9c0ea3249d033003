"""The aerial stands lower than metal.

Wrong: the antenna's height in the body is under the highest metal top on the board.

Remedy: move the receiver up, or the metal down.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding, Place
from layout_engine.checks.wording import mm
from layout_engine.geometry.frames import EPS_MM
from layout_engine.working import Given, Working


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a part with an antenna."""
    for standing in facts.standing:
        if standing.type.antenna is None:
            continue
        highest = facts.metal.highest(standing.id)
        if highest is None:
            continue
        top, owner = highest
        x, y, w = facts.antenna(standing)
        z = facts.frame.to_body(x, y, w)[2]
        if z < top - EPS_MM:
            yield Finding(
                rule="receiver_low", severity="warn", subjects=(standing.id,),
                title=f"{standing.title}: the aerial stands lower than metal",
                message=f"Aerial {mm(z)} over the floor, {facts.title(owner)} reaches "
                        f"{mm(top)}.",
                value=z, limit=top, unit="mm", source=COMMON_PRACTICE,
                remedy="Move the receiver up, or the metal down.",
                rests_on_guess=facts.guessed(standing.id, owner),
                place=Place(x, y, standing.face),
                working=Working(
                    "z = base + height on the board", (
                        Given("b", "plate over the floor", facts.frame.base, "mm", "plate"),
                        Given("h", "aerial over that", z - facts.frame.base, "mm", "placement"),
                    ), z, "mm", "sum", top, "highest metal top"),
            )

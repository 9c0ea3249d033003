"""The battery cannot be unplugged.

Wrong: no plug parts the battery from the board: neither a wire at its terminals is an in-line plug
pair nor does it lead to a plug. Working on the board then means working on live wires.

Remedy: a plug in the battery lead, of the kind that cannot be put together the wrong way round.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a battery that is joined to something."""
    job = facts.job
    for part in job.parts:
        battery = job.type_of(part).battery
        if battery is None:
            continue
        own = {f"{part.id}.{battery.plus}", f"{part.id}.{battery.minus}"}
        wires = [w for w in job.connections if own & {w.from_, w.to}]
        others = {other for w in wires for other, _ in w.ends if other != part.id}
        plugged = any(w.unplug for w in wires) or any(
            job.type_of(other).kind == "plug" for other in others
        )
        if wires and not plugged:
            yield Finding(
                rule="no_unplug", severity="warn", subjects=(part.id,),
                title=f"{part.title} cannot be unplugged",
                message="Nothing parts it from the board but a spanner on live terminals.",
                value=None, limit=None, unit="", source=COMMON_PRACTICE,
                remedy="Put a plug pair into the battery lead.",
            )  # fmt: skip

"""No stop button can be reached from outside.

Wrong: motors turn wheels, and no stop button sits in the body's skin (elsewhere in the body, off
the plate) with its wires joined.

Remedy: a stop button in the skin, in the drivers' enable line.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding
from layout_engine.supply.running import wheel_motors


def find(facts: Facts) -> Iterator[Finding]:
    """At most one finding, about the stop buttons or, without any, the wheels' motors."""
    job = facts.job
    wired = {part_id for wire in job.connections for part_id, _ in wire.ends}
    turning = [part_id for part_id in wheel_motors(job) if part_id in wired]
    buttons = [p for p in job.parts if job.type_of(p).kind == "stop_button"]
    if not turning or any(p.away is not None and p.id in wired for p in buttons):
        return
    yield Finding(
        rule="no_stop_outside", severity="warn",
        subjects=tuple(p.id for p in buttons) or tuple(turning),
        title="No stop button can be reached from outside",
        message="Who stands beside the machine cannot stop it.", value=None, limit=None, unit="",
        source=COMMON_PRACTICE,
        remedy="Put a stop button into the skin, in the enable line of the drivers.",
    )

"""The machine can drive while it charges.

Wrong: a charge socket or charger is joined to the board for good, and nothing keeps the drives off
meanwhile: no contact of the socket in a signal line, no relay that the charger works, no shared
plug.

Remedy: charge through the battery's own plug, so that the board is off it; or a socket with a
contact in the enable line.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding
from layout_engine.model.job import Job
from layout_engine.model.part import Part

CHARGING = ("charge_socket", "charger")


def find(facts: Facts) -> Iterator[Finding]:
    """At most one finding, about everything that charges."""
    job = facts.job
    wired = {part_id for wire in job.connections for part_id, _ in wire.ends}
    chargers = [p for p in job.parts if job.type_of(p).kind in CHARGING and p.id in wired]
    drives = [p for p in job.parts if job.type_of(p).drives and p.id in wired]
    if not chargers or not drives or any(_interlocked(job, p) for p in chargers):
        return
    yield Finding(
        rule="charge_drive_interlock", severity="warn", subjects=tuple(p.id for p in chargers),
        title="The machine can drive off while it charges",
        message=f"{chargers[0].title} is joined for good, and nothing keeps "
                f"{drives[0].title} off meanwhile.",
        value=None, limit=None, unit="", source=COMMON_PRACTICE,
        remedy="Charge through the battery's plug, or take a socket with a contact and put that "
               "into the enable line.",
    )  # fmt: skip


def _interlocked(job: Job, charger: Part) -> bool:
    """Whether a contact of the charger, or a relay that it works, is wired."""
    ends = {end for wire in job.connections for end in (wire.from_, wire.to)}
    contacts = [charger]
    for wire in job.connections:
        parts = [part_id for part_id, _ in wire.ends]
        if charger.id in parts:
            contacts += [job.part(p) for p in parts if job.type_of(p).kind == "relay"]
    return any(
        path.switch and {f"{part.id}.{path.from_}", f"{part.id}.{path.to}"} <= ends
        for part in contacts for path in job.type_of(part).paths
    )

"""What a person calls a terminal: the mark printed on the module, or its id where none is."""

from __future__ import annotations

from collections import Counter

from layout_engine.model.job import Connection, Job
from layout_engine.model.part_type import PartType


def printed_name(kind: PartType, terminal_id: str) -> str:
    """The printed mark; with the id behind it where the module bears that mark twice; else the id.

    "B+", "GND (out minus)", "in". Raises KeyError where the type has no such terminal.
    """
    mark = kind.terminal(terminal_id).mark
    spoken = terminal_id.replace("_", " ")
    if not mark:
        return spoken
    repeated = Counter(terminal.mark for terminal in kind.terminals)[mark] > 1
    return f"{mark} ({spoken})" if repeated else mark


def split_end(end: str) -> tuple[str, str]:
    """Part id and terminal id of an end "part.terminal"."""
    part_id, _, terminal_id = end.partition(".")
    return part_id, terminal_id


def end_name(job: Job, end: str) -> str:
    """An end with its module: "Drive controller B+". Raises KeyError for an end not in the job."""
    part_id, terminal_id = split_end(end)
    return f"{job.part(part_id).title} {printed_name(job.type_of(part_id), terminal_id)}"


def wire_words(job: Job, connection: Connection) -> str:
    """A connection by its two ends: "Fuse block 1 to Drive controller B+"."""
    return f"{end_name(job, connection.from_)} to {end_name(job, connection.to)}"

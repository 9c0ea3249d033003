"""Ticks in the record of the work: what is cut, drilled, fitted; kept with the document."""

from __future__ import annotations

from collections.abc import Collection

from layout_engine.edits import Document, Edited, edited
from layout_engine.model.job import Job

CUT = "cut."  # a wire that is cut and fitted: this and the connection's id


def ticked(job: Job, prefix: str) -> frozenset[str]:
    """What is ticked off under a prefix, the prefix taken away."""
    return frozenset(
        entry.step.removeprefix(prefix) for entry in job.record
        if entry.step.startswith(prefix) and entry.value is True
    )


def set_ticks(job: Job, prefix: str, names: Collection[str], words: str, when: str = "") -> Edited:
    """The job with exactly these names ticked off under a prefix.

    What was ticked before keeps its time; other entries of the record stay as they are.

    Raises:
        DocumentError: the changed document would not be one.
    """
    def change(document: Document) -> None:
        old = {entry.get("step", ""): entry for entry in document.get("record", [])}
        others = [e for e in document.get("record", []) if not _ticks(e, prefix)]
        new = [
            old.get(prefix + name) if _ticks(old.get(prefix + name), prefix)
            else {"step": prefix + name, "value": True, **({"when": when} if when else {})}
            for name in sorted(names)
        ]
        document["record"] = [*others, *new]

    return edited(job, words, change)


def _ticks(entry: Document | None, prefix: str) -> bool:
    return (entry is not None and str(entry.get("step", "")).startswith(prefix)
            and entry.get("value") is True)

"""Ticks in the record of the work: what is cut, drilled, fitted; kept with the document."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from layout_engine.edits import Document, Edited, edited
from layout_engine.model.job import CUT, Job, RecordEntry

__all__ = ["CUT", "set_ticks", "ticked", "ticks"]


def ticked(job: Job, prefix: str) -> frozenset[str]:
    """What is ticked off under a prefix, the prefix taken away."""
    return frozenset(ticks(job, prefix))


def ticks(job: Job, prefix: str) -> dict[str, RecordEntry]:
    """The entries of what is ticked off under a prefix, by name without it."""
    return {
        entry.step.removeprefix(prefix): entry for entry in job.record
        if entry.step.startswith(prefix) and entry.value is True
    }


def set_ticks(job: Job, prefix: str, names: Collection[str], words: str, when: str = "",
              notes: Mapping[str, str] | None = None) -> Edited:
    """The job with exactly these names ticked off under a prefix.

    notes: by name, what is kept with a tick. What was ticked before keeps its time and its note;
    other entries of the record stay as they are.

    Raises:
        DocumentError: the changed document would not be one.
    """
    def change(document: Document) -> None:
        old = {entry.get("step", ""): entry for entry in document.get("record", [])}
        others = [e for e in document.get("record", []) if not _ticks(e, prefix)]
        new = [
            old.get(prefix + name) if _ticks(old.get(prefix + name), prefix)
            else {"step": prefix + name, "value": True,
                  **{key: text for key, text in (("note", (notes or {}).get(name)), ("when", when))
                     if text}}
            for name in sorted(names)
        ]
        document["record"] = [*others, *new]

    return edited(job, words, change)


def _ticks(entry: Document | None, prefix: str) -> bool:
    return (entry is not None and str(entry.get("step", "")).startswith(prefix)
            and entry.get("value") is True)

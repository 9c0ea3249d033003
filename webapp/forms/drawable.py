"""What of a half-typed part type can already be drawn."""

from __future__ import annotations

from typing import Any

from layout_engine import DocumentError
from layout_engine.model.document import load_record
from layout_engine.model.part_type import PartType

UNTYPED = {"name": "module", "kind": "other", "height": 0}


def drawable(record: dict[str, Any]) -> PartType | None:
    """The part type of everything in `record` that is right by itself; None without an outline."""
    kept: dict[str, Any] = {**UNTYPED, "outline": record.get("outline")}
    if _loaded(kept) is None:
        return None
    for key, value in record.items():
        entries = value if isinstance(value, list) and key != "outline" else None
        if entries is not None:
            value = [entry for entry in entries if _loaded({**kept, key: [entry]}) is not None]
        if _loaded({**kept, key: value}) is not None:
            kept[key] = value
    return _loaded(kept)


def outline_faults(record: dict[str, Any]) -> tuple[str, ...]:
    """What an outline that was read must be and is not; empty: none was read, or it is right."""
    if record.get("outline") is None:
        return ()
    try:
        load_record(PartType, {**UNTYPED, "outline": record["outline"]}, "$")
    except DocumentError as error:
        return tuple(fault.allowed for fault in error.errors)
    return ()


def _loaded(record: dict[str, Any]) -> PartType | None:
    try:
        loaded: PartType = load_record(PartType, record, "$")
    except DocumentError:
        return None
    return loaded

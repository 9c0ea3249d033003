"""The shelf as a page shows it: entries in words, and which of them a search finds."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from layout_engine.model.document import load_record
from layout_engine.model.part_type import PartType
from webapp.forms.part_type_form import BASIS_WORDS, KIND_WORDS
from webapp.forms.values import show_number

BASIS = dict(BASIS_WORDS)


@dataclass(frozen=True, slots=True)
class ShelfEntry:
    """A part type in words: its sizes, and what they rest on."""

    id: str
    name: str
    kind: str
    kind_words: str
    size: str
    holes: str
    basis: str
    is_guess: bool
    type: PartType


def size_words(kind: PartType) -> str:
    """Sizes in mm: "104 × 82, 36 high, stands 6 above the plate"."""
    xs, ys = [p[0] for p in kind.outline], [p[1] for p in kind.outline]
    width, depth = (show_number(round(max(v) - min(v), 1)) for v in (xs, ys))
    high = show_number(kind.height)
    stands = f", stands {show_number(kind.standoff)} above the plate" if kind.standoff else ""
    return f"{width} × {depth}, {high} high{stands}"


def holes_words(kind: PartType) -> str:
    """How it is held, in words: "4 holes M3", "cable ties", "tape"."""
    if kind.fixings:
        threads = sorted({fixing.thread for fixing in kind.fixings})
        count = len(kind.fixings)
        return f"{count} hole{'s' if count > 1 else ''} {' and '.join(threads)}"
    if kind.through:
        return "sits in a cut-out"
    return {"screws": "no fixing holes", "tape": "tape", "tie": "cable ties"}[kind.fixing]


def basis_words(kind: PartType) -> str:
    """What its size and holes rest on: "size is a guess", "size measured"."""
    word = BASIS[kind.basis.footprint]
    return {"guess": "size is a guess", "measured": "size measured"}.get(
        word, f"size from the {word}")


def entry(type_id: str, kind: PartType) -> ShelfEntry:
    """A part type as an entry of a list."""
    return ShelfEntry(
        type_id, kind.name, kind.kind, KIND_WORDS[kind.kind], size_words(kind),
        holes_words(kind), basis_words(kind), kind.is_guessed, kind,
    )


def entries(shelf: Mapping[str, dict[str, Any]]) -> tuple[ShelfEntry, ...]:
    """Every type of the shelf, by kind and name."""
    found = [_read(type_id, json.dumps(record)) for type_id, record in shelf.items()]
    return tuple(sorted(found, key=lambda e: (e.kind_words, e.name)))


@lru_cache(maxsize=1024)
def _read(type_id: str, record: str) -> ShelfEntry:
    """The entry of a type in its JSON text; reading one anew takes longer than showing it."""
    return entry(type_id, load_record(PartType, json.loads(record), type_id))


def found_by(shown: ShelfEntry, words: str, kind: str) -> bool:
    """Whether each searched word stands in the name, the kind, or what it is held by."""
    if kind and shown.kind != kind:
        return False
    text = f"{shown.name} {shown.kind_words} {shown.holes}".casefold()
    return all(word in text for word in words.casefold().split())

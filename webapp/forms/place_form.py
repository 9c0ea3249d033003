"""The fields of where the plate stands; the pages Inside and Plate both have them."""

from __future__ import annotations

from typing import Any

from layout_engine.model.plate import Plate
from webapp.forms.fields import Field, Reading, Typed, length_field
from webapp.forms.lengths import Inches, shown

STANDS = Field("stands", "how", "choice", choices=(("upright", "Upright"), ("flat", "Lying flat")))
BASE = length_field("base", "above the floor")
OFFSET = length_field("offset", "behind the middle")
SHIFT = length_field("shift", "right of the middle")
FIELDS = (STANDS, BASE, OFFSET, SHIFT)


def place_texts(plate: Plate, inches: Inches) -> dict[str, str]:
    """Where a plate stands as the texts of its fields."""
    return {
        "stands": plate.stands,
        **{name: shown(value, inch=name in inches) for name, value in place_lengths(plate).items()},
    }


def place_lengths(plate: Plate) -> dict[str, float | None]:
    """The lengths, mm, by the names of their fields."""
    return {"base": plate.base, "offset": plate.offset, "shift": plate.shift}


def read_place(typed: Typed, reading: Reading, at: str = "") -> dict[str, Any]:
    """The place as plain values; an empty field is 0."""
    record: dict[str, Any] = {}
    for entry in FIELDS:
        text = typed.texts.get(entry.name, "")
        if entry.input == "length" and not text.strip():
            text = "0"
        reading.put(record, entry, text, entry.name, at)
    return record

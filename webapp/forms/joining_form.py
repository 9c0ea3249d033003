"""The form of one connection: its ends, what it is made of, its length, the lead it is part of."""

from __future__ import annotations

import re
from typing import Any

from layout_engine.model.job import Connection
from layout_engine.wiring.marking import COLOUR_WORDS
from webapp.forms.fields import Field, Reading, Typed, length_field, show
from webapp.forms.lengths import Inches, shown, with_units
from webapp.forms.values import NotReadableError, as_written

Record = dict[str, Any]
INSULATION_WORDS = (
    ("pvc70", "PVC, 70 °C"), ("pvc90", "PVC, 90 °C"), ("pvc105", "PVC, 105 °C"),
    ("xlpe", "cross-linked polyethylene"), ("silicone", "silicone"), ("ptfe", "PTFE"),
)
FREE = ("", "not fixed")
LABEL = Field("label", "name", "text")
SIZE = Field("size", "size", "text", "wire.size", hint='"4 mm2" or "12 AWG"; empty: open')
INSULATION = Field("insulation", "insulation", "choice", "wire.insulation",
                   choices=(FREE, *INSULATION_WORDS))
COLOUR = Field("colour", "colour", "choice", "wire.colour", choices=(FREE, *COLOUR_WORDS.items()))
FIXED = Field("fixed", "the size is fixed: it is judged, not changed", "flag", "wire.fixed")
LENGTH = length_field("length", "length", hint="empty: by its way on the board")
CABLE = Field("cable", "lead", "text", hint="wires of one ready-made lead have the same name here")
UNPLUG = Field("unplug", "has an in-line plug", "flag")
WEIGHT = Field("weight", "counts as", "number", unit="A",
               hint="heavy wires are kept short; empty: by the currents")
FIELDS = (LABEL, SIZE, INSULATION, COLOUR, LENGTH, CABLE, WEIGHT)
FLAGS = (FIXED, UNPLUG)
LEAD_NAME = Field("lead_name", "name of the lead", "text")
LEAD_LENGTH = length_field("lead_length", "its length")
_SIZE = re.compile(r"\s*(\d+(?:[.,]\d+)?)\s*(mm2|mm²|mm\^2|awg|)\s*\Z", re.IGNORECASE)


def typed_connection(wire: Connection, inches: Inches) -> Typed:
    """A connection as the texts of its form."""
    record = wire.model_dump(by_alias=True, exclude_unset=True)
    made = record.get("wire") or {}
    texts = {"from": wire.from_, "to": wire.to, "label": wire.label, "cable": wire.cable,
             "length": shown(wire.length, inch=LENGTH.name in inches),
             "weight": show(WEIGHT, wire.weight), "unplug": show(UNPLUG, wire.unplug)}
    for entry in (SIZE, INSULATION, COLOUR, FIXED):
        texts[entry.name] = show(entry, made.get(entry.name))
    return Typed(texts)


def read_connection(typed: Typed, wire: Connection, inches: Inches, sizes: str
                    ) -> tuple[Record, Reading]:
    """Every key of a connection as the form says it, None for what is empty; faults by field.

    sizes: "awg" or "mm2", what a size without a unit is in.
    """
    exact = with_units(typed, (LENGTH,), inches, {LENGTH.name: wire.length})
    reading = Reading()
    record: Record = {}
    reading.places.update({".from": "from", ".to": "to"})
    for entry in (*FIELDS, *FLAGS):
        text = exact.texts.get(entry.name, "")
        if entry is SIZE and text.strip():
            text = _read_size(text, sizes, reading)
        reading.put(record, entry, text, entry.name, "")
    whole: Record = {key: record.get(key) or None
                     for key in ("label", "wire", "cable", "unplug")}
    whole |= {key: record.get(key) for key in ("length", "weight")}
    return whole | {key: typed.texts.get(key, "") for key in ("from", "to")}, reading


def _read_size(text: str, sizes: str, reading: Reading) -> str:
    """A wire size as the document writes it: "1.5 mm2", "16 AWG"."""
    found = _SIZE.match(text)
    if found is None:
        reading.faults[SIZE.name] = 'size: a wire size such as "1.5 mm2" or "16 AWG"'
        return ""
    unit = found[2].lower() or sizes
    number = found[1].replace(",", ".")
    return f"{number} AWG" if unit == "awg" else f"{number} mm2"


def changes(wire: Connection, record: Record) -> Record:
    """Only what a form changes of a connection."""
    before = wire.model_dump(by_alias=True, exclude_unset=True)
    return {key: value for key, value in record.items()
            if _said(before.get(key)) != _said(value)}


def _said(value: Any) -> Any:
    """A value of the document, None where it says nothing."""
    if isinstance(value, dict):
        value = {key: inner for key, inner in value.items() if inner}
    return value if value or (value == 0 and value is not False) else None


def read_lead(typed: Typed, inches: Inches) -> tuple[str, float | None, Reading]:
    """Name and length of a lead to be made of several wires."""
    exact = with_units(typed, (LEAD_LENGTH,), inches)
    reading = Reading()
    record: Record = {}
    for entry in (LEAD_NAME, LEAD_LENGTH):
        reading.put(record, entry, exact.texts.get(entry.name, ""), entry.name, "")
    if not record.get("lead_name") and not reading.faults:
        reading.faults[LEAD_NAME.name] = "name of the lead: a name for it"
    return str(record.get("lead_name", "")), record.get("lead_length"), reading


def made_words(wire: Connection) -> str:
    """What a wire is made of, in words: "4 mm², red, silicone, fixed"; empty where it is open."""
    made = wire.wire
    if made is None:
        return ""
    size = as_written(made.size or "")
    said = (size, COLOUR_WORDS.get(made.colour or "", ""),
            dict(INSULATION_WORDS).get(made.insulation or "", ""), "fixed" if made.fixed else "")
    return ", ".join(word for word in said if word)


def read_end(text: str, ends: frozenset[str], label: str) -> str:
    """An end "part.terminal" that is in the job.

    Raises:
        NotReadableError: none was chosen, or it is not in the job.
    """
    if not text:
        raise NotReadableError(f"{label}: choose a terminal")
    if text not in ends:
        raise NotReadableError(f"{label}: a terminal of this job")
    return text

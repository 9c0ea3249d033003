"""What a form consists of, and how its texts become plain document values.

A form is typed texts under field names: `height`, or `fixings-2-x` for a row of a table. Reading
it gives the values, the faults by field name, and where in the document each field went, so that
a fault that the engine finds later can be put beside its field.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Literal

from layout_engine.errors import Fault
from layout_engine.model.fields import MAX_COORDINATE_MM
from webapp.forms.values import (
    NotReadableError,
    Plain,
    Reader,
    read_length,
    read_number,
    read_outline,
    read_text,
    read_towards,
    read_turns,
    rectangle,
    show_any,
    show_outline,
    show_turns,
)

Input = Literal[
    "length", "number", "text", "notes", "choice", "flag", "outline", "towards", "turns"
]
READERS: dict[Input, Reader] = {
    "length": read_length, "number": read_number, "text": read_text, "notes": read_text,
    "choice": read_text,
    "outline": read_outline, "towards": read_towards, "turns": read_turns,
}
_ROW = re.compile(r"([a-z_]+)-(\d{1,6})-([a-z_0-9]+)\Z")


@dataclass(frozen=True, slots=True)
class Field:
    """One field: `path` is its place in the record ("heat.watts.full", "height.0")."""

    name: str
    label: str
    input: Input
    path: str = ""
    unit: str = ""
    hint: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    start: str = ""  # what stands in the field of a new row

    @property
    def place(self) -> str:
        """Where its value goes in the record."""
        return self.path or self.name


def length_field(name: str, label: str, path: str = "", *, hint: str = "", start: str = ""
                 ) -> Field:
    """A field for a length; what is typed without a unit is mm."""
    return Field(name, label, "length", path, "mm", hint, start=start)


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of one kind; `one` is what a row is called."""

    name: str
    title: str
    one: str
    fields: tuple[Field, ...]
    hint: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """One row as typed."""

    number: int
    texts: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Typed:
    """A form as typed: texts by field name, rows by table name."""

    texts: Mapping[str, str] = field(default_factory=dict)
    rows: Mapping[str, tuple[Row, ...]] = field(default_factory=dict)


@dataclass(slots=True)
class Reading:
    """The outcome of reading: faults by field name, and field names by document place."""

    faults: dict[str, str] = field(default_factory=dict)
    places: dict[str, str] = field(default_factory=dict)

    def put(self, record: dict[str, Any], entry: Field, text: str, name: str, at: str) -> None:
        """Read one text into `record`; `name` is the field's full name, `at` the record's place."""
        self.places[f"{at}.{entry.place}"] = name
        if entry.input == "flag":
            if text:
                _set(record, entry.place, True)
            return
        if not text.strip():
            return
        try:
            _set(record, entry.place, READERS[entry.input](text))
        except NotReadableError as words:
            self.faults[name] = f"{entry.label}: {words}"

    def take(self, faults: Iterable[Fault], root: str) -> list[Fault]:
        """Put the engine's faults beside their fields; those that have no field come back."""
        homeless = []
        for fault in faults:
            name = self._field_of(_dotted(fault.path.removeprefix(root)))
            if name is None or not fault.path.startswith(root):
                homeless.append(fault)
            else:
                missing = fault.allowed == "required"
                self.faults.setdefault(name, "needed" if missing else f"allowed: {fault.allowed}")
        return homeless

    def _field_of(self, place: str) -> str | None:
        while place:
            if place in self.places:
                return self.places[place]
            inner = [n for p, n in self.places.items() if p.startswith(place + ".")]
            if inner:
                return inner[0]
            place = place.rpartition(".")[0]
        return None


def _dotted(path: str) -> str:
    return re.sub(r"\[(\d+)\]", r".\1", path)


def _set(record: dict[str, Any], place: str, value: Plain) -> None:
    *outer, last = place.split(".")
    for key in outer:
        record = record.setdefault(key, {})
    record[last] = value


def get(record: Plain, place: str) -> Plain:
    """The value at a dotted place of plain values, None where there is none."""
    for key in place.split("."):
        if isinstance(record, dict):
            record = record.get(key)
        elif isinstance(record, list | tuple) and key.isdigit() and int(key) < len(record):
            record = record[int(key)]
        else:
            return None
    return record


def show(entry: Field, value: Plain) -> str:
    """A document value as it stands in the field."""
    if value is None:
        return ""
    if entry.input == "flag":
        return "yes" if value else ""
    if entry.input == "outline":
        return show_outline(value)
    if entry.input == "turns":
        return show_turns(value)
    return show_any(value)


def read_rectangle(texts: Mapping[str, str], sides: Sequence[Field], reading: Reading,
                   record: dict[str, Any], needed: str = "needed") -> None:
    """Read the two sides of a rectangle into the record's outline; `needed` tells of an empty one.

    The engine's faults about the outline go beside the first side.
    """
    reading.places[".outline"] = sides[0].name
    lengths = []
    for entry in sides:
        try:
            lengths.append(_side(texts.get(entry.name, ""), needed))
        except NotReadableError as words:
            reading.faults[entry.name] = f"{entry.label}: {words}"
    if len(lengths) == len(sides):
        record["outline"] = rectangle(*lengths)


def _side(text: str, needed: str) -> float:
    if not text.strip():
        raise NotReadableError(needed)
    length = read_length(text)
    if not 0 < length <= MAX_COORDINATE_MM:
        raise NotReadableError(f"over 0, up to {MAX_COORDINATE_MM:g} mm")
    return length


def typed_form(form: Mapping[str, Any], tables: Sequence[Table]) -> Typed:
    """The posted texts, sorted into single fields and rows (in the order of the rows' numbers)."""
    texts: dict[str, str] = {}
    rows: dict[str, dict[int, dict[str, str]]] = {table.name: {} for table in tables}
    for name, value in form.items():
        if not isinstance(value, str):
            continue
        match = _ROW.match(name)
        if match and match[1] in rows:
            rows[match[1]].setdefault(int(match[2]), {})[match[3]] = value
        else:
            texts[name] = value
    return Typed(texts, {
        name: tuple(Row(number, found[number]) for number in sorted(found))
        for name, found in rows.items()
    })


def next_number(rows: Sequence[Row]) -> int:
    """The number of a row that comes after these."""
    return max((row.number for row in rows), default=-1) + 1


def new_row(table: Table, rows: Sequence[Row]) -> Row:
    """An empty row after the others."""
    return Row(next_number(rows), {entry.name: entry.start for entry in table.fields})


def with_rows(typed: Typed, form: Mapping[str, str], tables: Sequence[Table]) -> Typed:
    """The form with one row more in the table that `more` names, or without that which `drop`
    names, "table-number".
    """
    rows = dict(typed.rows)
    for table in tables:
        if form.get("more") == table.name:
            found = rows.get(table.name, ())
            rows[table.name] = (*found, new_row(table, found))
    name, _, number = form.get("drop", "").partition("-")
    if name in rows:
        rows[name] = tuple(row for row in rows[name] if str(row.number) != number)
    return replace(typed, rows=rows)


def is_untouched(table: Table, row: Row) -> bool:
    """Whether a row still holds nothing but what a new row holds."""
    return all(row.texts.get(f.name, "").strip() in ("", f.start) for f in table.fields)


def rows_of(table: Table, records: Sequence[Plain]) -> tuple[Row, ...]:
    """Document records as rows of a form."""
    return tuple(
        Row(number, {entry.name: show(entry, get(record, entry.place)) for entry in table.fields})
        for number, record in enumerate(records)
    )


def touched_rows(table: Table, typed: Typed) -> tuple[Row, ...]:
    """The rows of a table that hold something, in their order."""
    return tuple(row for row in typed.rows.get(table.name, ()) if not is_untouched(table, row))


def read_rows(table: Table, typed: Typed, reading: Reading, at: str) -> list[dict[str, Any]]:
    """The touched rows of a table as plain records."""
    records: list[dict[str, Any]] = []
    for row in touched_rows(table, typed):
        record: dict[str, Any] = {}
        for entry in table.fields:
            name = f"{table.name}-{row.number}-{entry.name}"
            place = f"{at}.{table.name}.{len(records)}"
            reading.put(record, entry, row.texts.get(entry.name, ""), name, place)
        records.append(record)
    return records

"""Length fields that are shown in mm or in inches, each as the person likes it.

A form carries `unit-NAME` beside a length `NAME`. The document holds mm; a cookie remembers which
fields are shown in inches.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from types import MappingProxyType

from layout_engine.units import Unit, format_number
from webapp.forms.fields import Field, Row, Typed

COOKIE = "inch_fields"
MOST_NAMES = 100
_NAME = re.compile(r"[a-z_]{1,30}(?:-[a-z_0-9]{1,20})?\Z")
_NAMES_A_UNIT = re.compile(r"[a-z\"'′″’”]", re.IGNORECASE)
_LENGTH = re.compile(
    r"\s*[-+−]?[\d.,/\s¼-¾⅐-⅞-]*\d?[\d¼-¾⅐-⅞]\s*"
    r"(?P<unit>mm|cm|m|inches|inch|in|foot|feet|ft|[\"'′″’”])", re.IGNORECASE,
)
METRIC = ("mm", "cm", "m")
_ROW_NUMBER = re.compile(r"-\d+-")
Inches = frozenset[str]
Known = Mapping[str, float | None]  # lengths of the document, mm, by the name of their field
NOTHING: Known = MappingProxyType({})


def kind_of(name: str) -> str:
    """The name under which a field's unit is kept: all rows of a table share one."""
    return _ROW_NUMBER.sub("-", name)


def inches_of_cookie(value: str) -> Inches:
    """The names of the fields shown in inches."""
    names = [name for name in value.split(".")[:MOST_NAMES] if _NAME.match(name)]
    return frozenset(names)


def cookie_of_inches(inches: Inches) -> str:
    """The names as the cookie keeps them."""
    return ".".join(sorted(inches)[:MOST_NAMES])


def inches_of_form(form: Mapping[str, str], before: Inches) -> Inches:
    """Which fields are shown in inches after this form was sent.

    A unit that was typed decides by itself; a unit's button sends `unit-NAME` with the other unit.
    """
    chosen = set(before)
    for name, text in form.items():
        if name.startswith("unit-"):
            of, inch = kind_of(name.removeprefix("unit-")), text == "in"
        elif match := _LENGTH.match(text):
            of, inch = kind_of(name), match["unit"].lower() not in METRIC
        else:
            continue
        if _NAME.match(of):
            (chosen.add if inch else chosen.discard)(of)
    return frozenset(chosen)


def named(text: str, *, inch: bool) -> str:
    """A length with its unit where the field's unit is inches and none was typed."""
    return f"{text} in" if inch and text.strip() and not _NAMES_A_UNIT.search(text) else text


def shown(value: float | None, *, inch: bool) -> str:
    """A length of the document as it stands in the field."""
    unit: Unit = "in" if inch else "mm"
    return "" if value is None else format_number(value, unit)


def with_units(typed: Typed, fields: Iterable[Field], inches: Inches, known: Known = NOTHING
               ) -> Typed:
    """The form with the unit written behind each length that is in inches.

    A text that still says what the document's length in `known` was shown as stands for exactly
    that length: looking at a job in other units, or saving it unchanged, alters nothing.
    """
    texts = {
        entry.name: _exact(typed.texts[entry.name], entry.name, entry.name, inches, known)
        for entry in fields if entry.input == "length" and entry.name in typed.texts
    }
    rows = {
        table: tuple(
            Row(row.number, {
                name: _exact(text, f"{table}-{row.number}-{name}", f"{table}-{name}", inches, known)
                for name, text in row.texts.items()
            })
            for row in found
        )
        for table, found in typed.rows.items()
    }
    return Typed({**typed.texts, **texts}, rows)


def _exact(text: str, name: str, kind: str, inches: Inches, known: Known) -> str:
    inch = kind in inches
    length = known.get(name)
    if length is not None and text == shown(length, inch=inch):
        return f"{length:.9f} mm"
    return named(text, inch=inch)

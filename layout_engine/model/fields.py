"""Field types of the document: numbers, texts, ids, outlines, each with its limits in words."""

from __future__ import annotations

import math
import re
import unicodedata
from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, StrictBool
from pydantic_core import PydanticCustomError

from layout_engine.geometry.outlines import outline_fault
from layout_engine.once import cached_property

MAX_COORDINATE_MM = 5000.0
MAX_NAME = 200
MAX_NOTES = 10_000
MAX_POINTS = 2000
BIDI_CONTROLS = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
ID_PATTERN = re.compile(r"[a-z][a-z0-9_]{0,39}\Z")


# How many entries a list may have, so that whatever is read can be checked in seconds.
SOME = Field(max_length=100)
MANY = Field(max_length=200)
VERY_MANY = Field(max_length=2000)
MAX_TYPE_POINTS = 4000  # corners of all outlines of one part type together


class Record(BaseModel):
    """A frozen part of the document; unknown keys are refused."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", populate_by_name=False, validate_default=False,
        ignored_types=(cached_property,),
    )


def refuse(allowed: str) -> PydanticCustomError:
    """The error of one wrong value: `allowed` says in words what may stand there."""
    return PydanticCustomError("not_allowed", "{allowed}", {"allowed": allowed})


def _number(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise refuse("a number")
    try:
        number = float(value)
    except OverflowError:
        raise refuse("a finite number") from None
    if not math.isfinite(number):
        raise refuse("a finite number")
    return number + 0.0 if number else 0.0


def _between(low: float, high: float, words: str) -> AfterValidator:
    def check(number: float) -> float:
        if not low <= number <= high:
            raise refuse(words)
        return number

    return AfterValidator(check)


def object_or_null(kind: Any) -> BeforeValidator:
    """Takes null for an object of this kind, where it means that nothing in it was said."""
    return BeforeValidator(
        lambda value: {} if value is None else value, json_schema_input_type=kind | None
    )


# Where a list of fixed form may be left out: the default of lists is [], that of objects null.
EMPTY_IS_NULL = BeforeValidator(lambda value: None if value in ([], ()) else value)


def _above_zero(number: float) -> float:
    if number <= 0:
        raise refuse("a number over 0")
    return number


def _text(value: Any, longest: int, breaks: str) -> str:
    if not isinstance(value, str):
        raise refuse("a text")
    if any(unicodedata.category(c) == "Cs" for c in value):
        raise refuse("a text without lone surrogates")
    text = unicodedata.normalize("NFC", value.replace("\r\n", "\n") if breaks else value)
    if len(text) > longest:
        raise refuse(f"at most {longest} characters")
    if any(_unprintable(c) for c in text if c not in breaks):
        raise refuse("printable characters" + (" and line breaks" if breaks else " on one line"))
    return text


def _unprintable(char: str) -> bool:
    if unicodedata.category(char) in {"Cc", "Cs", "Zl", "Zp"} or char in BIDI_CONTROLS:
        return True
    return ord(char) & 0xFFFE == 0xFFFE or 0xFDD0 <= ord(char) <= 0xFDEF


def _name(value: Any) -> str:
    text = _text(value, MAX_NAME, "")
    if not text.strip():
        raise refuse(f"a name of 1 to {MAX_NAME} characters")
    return text


def _ident(value: Any) -> str:
    if not isinstance(value, str) or not ID_PATTERN.match(value):
        raise refuse("an id: a small letter, then up to 39 small letters, digits or _")
    return value


def _array(value: Any) -> Any:
    if not isinstance(value, list | tuple):
        raise refuse("a list")
    return value


def _outline(points: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
    if not 3 <= len(points) <= MAX_POINTS:
        raise refuse(f"a polygon of 3 to {MAX_POINTS} points [x, y]")
    fault = outline_fault(points)
    if fault:
        raise refuse(fault)
    return points


def _rising(pair: tuple[float, float]) -> tuple[float, float]:
    if pair[0] > pair[1]:
        raise refuse("[from, to] with from not over to")
    return pair


LEAST_EFFICIENCY = 0.01  # what draws over a hundred times what it gives is a slip of the pen


def _efficiency(number: float) -> float:
    if number != 0 and not LEAST_EFFICIENCY <= number <= 1:
        raise refuse(f"0 (not known), or a number from {LEAST_EFFICIENCY:g} to 1")
    return number


Number = Annotated[float, BeforeValidator(_number)]
Coordinate = Annotated[
    Number, _between(-MAX_COORDINATE_MM, MAX_COORDINATE_MM, "a number from -5000 to 5000 mm")
]
Length = Annotated[Number, _between(0, MAX_COORDINATE_MM, "0 to 5000 mm")]
Size = Annotated[
    Number, AfterValidator(_above_zero), _between(0, MAX_COORDINATE_MM, "over 0, up to 5000 mm")
]
Amount = Annotated[Number, _between(0, 1e9, "a number from 0 to 1 000 000 000")]
Above = Annotated[Number, AfterValidator(_above_zero)]
ABSOLUTE_ZERO = -273.15  # degC, by definition of the scale (SI brochure, 9th edition)
Celsius = Annotated[
    Number, _between(ABSOLUTE_ZERO, math.inf, "a temperature not below -273.15 degC")
]
Turn = Annotated[Number, _between(-360, 360, "a number from -360 to 360 degrees")]
Share = Annotated[Number, _between(0, 1, "a number from 0 to 1")]
Efficiency = Annotated[Number, AfterValidator(_efficiency)]
Text = Annotated[str, BeforeValidator(lambda v: _text(v, MAX_NAME, ""))]
Name = Annotated[str, BeforeValidator(_name)]
Notes = Annotated[str, BeforeValidator(lambda v: _text(v, MAX_NOTES, "\n\t"))]
Ident = Annotated[str, BeforeValidator(_ident)]
Flag = StrictBool
Point = Annotated[tuple[Coordinate, Coordinate], BeforeValidator(_array)]
Outline = Annotated[
    tuple[Point, ...], AfterValidator(_outline), BeforeValidator(_array)
]
Range = Annotated[tuple[Coordinate, Coordinate], AfterValidator(_rising), BeforeValidator(_array)]
AmountRange = Annotated[tuple[Amount, Amount], AfterValidator(_rising), BeforeValidator(_array)]

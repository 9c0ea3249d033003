"""Lengths as people write them, and back: millimetres are what the engine computes with.

Source of the factors: international yard and pound agreement of 1959 (1 yd = 0.9144 m exactly,
hence 1 in = 25.4 mm exactly, 1 ft = 304.8 mm exactly).
"""

from __future__ import annotations

import re
import unicodedata
from fractions import Fraction
from typing import Literal

Unit = Literal["mm", "cm", "m", "in", "ft"]

MM: dict[Unit, Fraction] = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": Fraction(254, 10),
    "ft": Fraction(3048, 10),
}
LONGEST_TEXT = 60
FINEST_INCH = 64  # rules and drills are marked in 64ths of an inch; common practice, no source
EXACT_MM = 1e-6  # a length this near to a 64th of an inch is written as that fraction
ALLOWED = (
    'a length such as 219, "219 mm", "21.9 cm", "8 5/8 in", "8.625 in" or "1 ft 2 in"'
)
_NAMES: dict[str, Unit] = {
    "mm": "mm", "cm": "cm", "m": "m",
    "in": "in", "inch": "in", "inches": "in", '"': "in",
    "ft": "ft", "foot": "ft", "feet": "ft", "'": "ft",
}
_MARKS = str.maketrans({
    "\u2033": '"', "\u201d": '"', "\u201c": '"', "\u2032": "'", "\u2019": "'", "\u2018": "'",
    "\u2212": "-", "\u2010": "-", "\u2011": "-", "\u2044": "/", "\u00a0": " ", "\u202f": " ",
    "\u2009": " ",
})
_TERM = re.compile(
    r"""\s*(?:
        (?P<whole>\d+)(?:\s+|\s*-\s*)(?P<over>\d+)\s*/\s*(?P<under>\d+)
      | (?P<top>\d+)\s*/\s*(?P<bottom>\d+)
      | (?P<decimal>\d+(?:[.,]\d*)?|[.,]\d+)
    )\s*(?P<unit>mm|cm|m|inches|inch|in|"|foot|feet|ft|')?\.?\s*""",
    re.VERBOSE | re.IGNORECASE | re.ASCII,
)


def parse_length(text: str, unit: Unit = "mm") -> float:
    """A length in mm from text as people write it.

    Args:
        text: "219", "219 mm", "21.9 cm", "21,9 cm", "8 5/8 in", '8-5/8"', "8.625 in",
            "1 ft 2 in", with a sign in front if need be.
        unit: what a number without a unit is in.

    Raises:
        ValueError: the text is no length; the message says what is allowed.
    """
    if len(text) > LONGEST_TEXT:
        raise ValueError(ALLOWED)
    plain = _plain(text)
    sign = -1 if plain.startswith("-") else 1
    terms = _terms(plain[1:] if plain[:1] in ("+", "-") else plain)
    if len(terms) == 1:
        number, given = terms[0]
        return float(sign * number * MM[given or unit])
    (feet, first), (inches, second) = terms
    if first != "ft" or second not in ("in", None):
        raise ValueError(ALLOWED)
    if inches >= 12 or feet.denominator != 1:
        raise ValueError(f"{ALLOWED}; after whole feet, less than 12 inches")
    return float(sign * (feet * MM["ft"] + inches * MM["in"]))


def _plain(text: str) -> str:
    """The text with one spelling of quotes, minus and spaces, and with "1/2" for a half sign."""
    spaced = "".join(
        f" {unicodedata.normalize('NFKC', char)}" if unicodedata.category(char) == "No" else char
        for char in text
    )
    return spaced.translate(_MARKS).replace("''", '"').strip()


def _terms(text: str) -> list[tuple[Fraction, Unit | None]]:
    """One or two (number, unit)."""
    found: list[tuple[Fraction, Unit | None]] = []
    place = 0
    while place < len(text):
        match = _TERM.match(text, place)
        if match is None or len(found) == 2:
            raise ValueError(ALLOWED)
        name = match["unit"]
        found.append((_number(match), _NAMES[name.lower()] if name else None))
        place = match.end()
    if not found:
        raise ValueError(ALLOWED)
    return found


def _number(match: re.Match[str]) -> Fraction:
    if match["decimal"]:
        return Fraction(match["decimal"].replace(",", ".").rstrip("."))
    under = int(match["under"] or match["bottom"])
    if under == 0:
        raise ValueError(f"{ALLOWED}; a fraction cannot be over 0")
    return Fraction(match["whole"] or 0) + Fraction(int(match["over"] or match["top"]), under)


def format_length(mm: float, unit: Unit = "mm") -> str:
    """A length with its unit, to a thousandth of a mm; inches as a 64th where it is one.

    "219.075 mm", "21.908 cm", "8 5/8 in", "8.6614 in".
    """
    return f"{format_number(mm, unit)} {unit}"


def format_number(mm: float, unit: Unit = "mm") -> str:
    """The same without the unit: the figure in `unit` of a length in mm."""
    if unit in ("in", "ft"):
        fraction = _sixty_fourths(mm) if unit == "in" else None
        return fraction or _decimals(mm / float(MM[unit]), 4)
    return _decimals(mm / float(MM[unit]), {"mm": 3, "cm": 4, "m": 6}[unit])


def _decimals(value: float, places: int) -> str:
    text = f"{value:.{places}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


def _sixty_fourths(mm: float) -> str | None:
    parts = round(abs(mm) / 25.4 * FINEST_INCH)
    if abs(parts * 25.4 / FINEST_INCH - abs(mm)) > EXACT_MM:
        return None
    whole, rest = divmod(Fraction(parts, FINEST_INCH), 1)
    sign = "-" if mm < 0 and parts else ""
    if not rest:
        return f"{sign}{whole}"
    fraction = f"{rest.numerator}/{rest.denominator}"
    return f"{sign}{whole} {fraction}" if whole else f"{sign}{fraction}"

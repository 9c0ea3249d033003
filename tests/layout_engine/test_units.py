"""Lengths as people write them.

Exact factors: international yard and pound agreement of 1959, 1 in = 25.4 mm, 1 ft = 304.8 mm.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from layout_engine.units import format_length, format_number, parse_length

INCH = Fraction(254, 10)


@pytest.mark.parametrize(("text", "mm"), [
    ("219", 219),
    ("219 mm", 219),
    ("219mm", 219),
    ("21.9 cm", 219),
    ("21,9 cm", 219),
    ("0.219 m", 219),
    (".5", Fraction(1, 2)),
    ("8 5/8 in", Fraction(69, 8) * INCH),
    ('8-5/8"', Fraction(69, 8) * INCH),
    ("8 - 5/8 inches", Fraction(69, 8) * INCH),
    ("8.625 in", Fraction(69, 8) * INCH),
    ("8,625 in", Fraction(69, 8) * INCH),
    ("8\u215d in", Fraction(69, 8) * INCH),
    ("8 5\u20448\u2033", Fraction(69, 8) * INCH),
    ("5/8 in.", Fraction(5, 8) * INCH),
    ("1 ft 2 in", 14 * INCH),
    ("1' 2 1/2\"", Fraction(29, 2) * INCH),
    ("1'2''", 14 * INCH),
    ("6 ft", 72 * INCH),
    ("-3/4 in", -Fraction(3, 4) * INCH),
    ("\u221212", -12),
    ("+4", 4),
    ("219\u00a0mm", 219),
    ("8 5/8", Fraction(69, 8)),
])
def test_a_length_is_understood_exactly(text: str, mm: Fraction | int) -> None:
    assert parse_length(text) == float(mm)


def test_an_inch_is_25_4_mm_to_the_last_bit() -> None:
    assert parse_length("1 in") == 25.4
    assert parse_length("1 ft") == 304.8
    assert parse_length("8 5/8 in") == 219.075


def test_a_number_alone_is_in_the_unit_asked_for() -> None:
    assert parse_length("8 5/8", "in") == 219.075
    assert parse_length("219 mm", "in") == 219


@pytest.mark.parametrize("text", [
    "", " ", "wide", "12 parsec", "1,234.5", "1.2.3", "1/0 in", "5 ft 13 in", "1.5 ft 2 in",
    "2 in 1 ft", "1 ft 2 in 3", "1 cm 2 mm", "nan", "inf", "1e3", "--4", "4-", "\u0663",
    "1 ft -2 in", "9" * 61, "12 mm mm",
])
def test_what_is_no_length_is_answered_with_what_is_allowed(text: str) -> None:
    with pytest.raises(ValueError, match="a length such as 219"):
        parse_length(text)


@pytest.mark.parametrize(("mm", "unit", "text"), [
    (219.075, "in", "8 5/8 in"),
    (219.075, "mm", "219.075 mm"),
    (219, "mm", "219 mm"),
    (220, "in", "8.6614 in"),
    (25.4, "in", "1 in"),
    (-12.7, "in", "-1/2 in"),
    (0, "in", "0 in"),
    (-0.0001, "mm", "0 mm"),
    (1200, "m", "1.2 m"),
    (219.08, "cm", "21.908 cm"),
    (304.8, "ft", "1 ft"),
])
def test_a_length_is_written_with_its_unit(mm: float, unit: str, text: str) -> None:
    assert format_length(mm, unit) == text  # type: ignore[arg-type]


@pytest.mark.parametrize("sixty_fourths", range(1, 700, 7))
def test_what_was_typed_in_inches_comes_back_as_typed(sixty_fourths: int) -> None:
    mm = float(sixty_fourths * INCH / 64)
    shown = format_number(mm, "in")
    assert parse_length(shown, "in") == pytest.approx(mm, abs=1e-9)
    assert "." not in shown

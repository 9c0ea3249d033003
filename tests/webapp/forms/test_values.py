"""Typed texts become lengths, numbers and outlines, or say what may stand there."""

from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.forms.values import (
    NotReadableError,
    Reader,
    read_length,
    read_number,
    read_outline,
    read_pair,
    read_towards,
    read_turns,
    show_number,
    show_outline,
    show_turns,
)

# 1 in = 25.4 mm exactly: international yard and pound agreement, 1959
INCH_MM = 25.4


@pytest.mark.parametrize(("text", "mm"), [
    ("12.5", 12.5), ("-8", -8.0), ("\u22128", -8.0), ("1/2 in", INCH_MM / 2),
    ("1 3/8 in", 11 * INCH_MM / 8), ("2.1 cm", 21.0),
])
def test_lengths(text: str, mm: float) -> None:
    assert read_length(text) == pytest.approx(mm)


@pytest.mark.parametrize("text", ["", "wide", "1e999", "nan", "inf", "0x10", "1 2", "--3"])
def test_what_is_no_number(text: str) -> None:
    with pytest.raises(NotReadableError, match="number"):
        read_number(text)


@pytest.mark.parametrize("text", ["wide", "12 parsecs", "nan", "9" * 400, "1/0 in"])
def test_what_is_no_length_is_answered_with_examples(text: str) -> None:
    with pytest.raises(NotReadableError, match="a length such as"):
        read_length(text)


@pytest.mark.parametrize(("text", "points"), [
    ("40 x 25", [[0, 0], [40, 0], [40, 25], [0, 25]]),
    ("40x25 at 5, -3", [[5, -3], [45, -3], [45, 22], [5, 22]]),
    ("40 × 25 at 0,0", [[0, 0], [40, 0], [40, 25], [0, 25]]),
    ("0,0; 40,0; 40,25", [[0, 0], [40, 0], [40, 25]]),
    ("0 0\n40 0\n40 25", [[0, 0], [40, 0], [40, 25]]),
    ("1 in x 1/2 in", [[0, 0], [25.4, 0], [25.4, 12.7], [0, 12.7]]),
])
def test_outlines(text: str, points: list[list[float]]) -> None:
    assert read_outline(text) == [pytest.approx(point) for point in points]


def test_a_round_outline_has_its_corners_on_the_circle() -> None:
    points = read_outline("round 44 at 30, 20")
    assert all((x - 30) ** 2 + (y - 20) ** 2 == pytest.approx(22**2, abs=0.05) for x, y in points)


def test_a_round_outline_alone_touches_the_axes() -> None:
    points = read_outline("round 10")
    assert min(x for x, _ in points) == pytest.approx(0)
    assert min(y for _, y in points) == pytest.approx(0)


@pytest.mark.parametrize("text", ["40", "40 x", "x", "a; b; c", "round", "40 x 25 at 5", "1;2;3"])
def test_what_is_no_outline_is_answered_with_examples(text: str) -> None:
    with pytest.raises(NotReadableError, match="an outline such as"):
        read_outline(text)


@pytest.mark.parametrize("reader", [read_pair, read_towards, read_turns, read_outline])
def test_nonsense_is_never_anything_but_not_readable(reader: Reader) -> None:
    for text in ("", ";", ",", "top top", "nan, nan", "\u0000", "9e9e9", "((((", "1,2,x"):
        with pytest.raises(NotReadableError):
            reader(text)


@given(st.text(max_size=40))
def test_any_text_is_read_or_refused(text: str) -> None:
    for reader in (read_number, read_length, read_outline, read_pair, read_towards, read_turns):
        with suppress(NotReadableError):
            reader(text)


coordinates = st.integers(-50_000, 50_000).map(lambda n: n / 100)


@given(st.lists(st.tuples(coordinates, coordinates), min_size=3, max_size=8))
def test_an_outline_reads_back_what_is_shown(points: list[tuple[float, float]]) -> None:
    again = read_outline(show_outline(points))
    if " x " in show_outline(points):
        assert sorted(map(tuple, again)) == sorted(
            (pytest.approx(x), pytest.approx(y)) for x, y in points)
    else:
        assert again == [pytest.approx(point) for point in points]


@given(st.floats(-5000, 5000, allow_nan=False))
def test_a_number_reads_back_what_is_shown_to_a_millionth(value: float) -> None:
    assert read_number(show_number(value)) == pytest.approx(value, abs=1e-6)


def test_ways_to_look_and_turns() -> None:
    assert read_towards(" Top ") == "top"
    assert read_towards("-90") == -90
    assert read_turns("any") == "any"
    assert read_turns("0, 90") == [0, 90]
    assert read_turns(show_turns([0, 180])) == [0, 180]

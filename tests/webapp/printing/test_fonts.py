"""Lettering: which typeface prints what, how wide, and in which order."""

from __future__ import annotations

import unicodedata

import pytest
from fontTools.ttLib import TTFont
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.webapp.printing.reading import read
from webapp.printing import fonts
from webapp.printing.canvas import Sheets
from webapp.printing.reading_order import visual_order
from webapp.resources import folder

ENGLISH = "Main switch, 12 V / 5 A"
SIGNS = "Ω µ ± ° × ≤ ≥ ⌀ → é ł Š"


def printed(text: str, size: float = 4.0) -> str:
    sheets = Sheets("words")
    with sheets.page(300, 40):
        sheets.lettering(10, 20, text, size)
    return read(sheets.finish())[0].words.strip()


TEXTS = [ENGLISH, SIGNS, "<b>not bold</b>", "100 % & more", "Привет", "ΑΒΓ"]


@pytest.mark.parametrize("text", TEXTS)
def test_lettering_reads_back_as_it_was_written(text: str) -> None:
    assert " ".join(printed(text).split()) == text


@pytest.mark.parametrize(("char", "shown"), [
    ("\U0001f980", "[U+1F980]"), ("\u4e2d", "[U+4E2D]"), ("\U000e0001", "[U+E0001]")])
def test_what_no_typeface_has_prints_as_its_code_point(char: str, shown: str) -> None:
    assert printed(f"a{char}b") == f"a{shown}b"


@given(st.text(st.characters(exclude_categories=("Cs", "Cc", "Cn", "Co")), max_size=30))
@settings(max_examples=150, deadline=None)
def test_every_character_set_is_in_the_typeface_that_sets_it(text: str) -> None:
    has = {font.fontName: font.face.charToGlyph for font in fonts.chain("medium")}
    for name, chars in fonts.runs(text, "medium"):
        assert all(ord(char) in has[name] for char in chars)


def test_widths_are_those_of_the_typeface_itself() -> None:
    """Against the advance widths that another library reads from the file."""
    file = TTFont(folder("static") / "fonts" / "BarlowSemiCondensed-Regular.ttf")
    cmap, advances = file.getBestCmap(), file["hmtx"].metrics
    units = file["head"].unitsPerEm
    expected = sum(advances[cmap[ord(char)]][0] for char in ENGLISH) / units * 10
    assert fonts.width_mm(ENGLISH, 10) == pytest.approx(expected, rel=1e-3)


def test_digits_stand_in_columns() -> None:
    assert len({round(fonts.width_mm(digit, 10), 6) for digit in "0123456789"}) == 1


@given(st.text("abc def-ghi, W", max_size=80), st.floats(8, 60))
@settings(max_examples=100, deadline=None)
def test_wrapped_lines_fit_and_lose_no_letter(text: str, room: float) -> None:
    lines = fonts.wrap(text, 2.5, room)
    assert "".join("".join(lines).split()) == "".join(text.split())
    assert all(fonts.width_mm(line, 2.5) <= room + 1e-9 for line in lines)


def test_shortened_text_fits_and_says_that_it_is_shortened() -> None:
    short = fonts.shortened("A name that is far too long", 3.1, 20)
    assert short.endswith("...")
    assert fonts.width_mm(short, 3.1) <= 20
    assert fonts.shortened("Short", 3.1, 20) == "Short"


HEBREW = "\u05e9\u05dc\u05d5\u05dd"


@pytest.mark.parametrize(("text", "shown"), [
    pytest.param("car " + HEBREW, "car " + HEBREW[::-1], id="UAX 9 left-to-right line"),
    pytest.param(HEBREW + " car", "car " + HEBREW[::-1], id="UAX 9 right-to-left line"),
    pytest.param(HEBREW + " 12.5", "12.5 " + HEBREW[::-1], id="UAX 9 figures keep their order"),
    pytest.param("a " + HEBREW + " 12 b", "a 12 " + HEBREW[::-1] + " b",
                 id="UAX 9 figures after right-to-left"),
    pytest.param(HEBREW + "(x)", "(x)" + HEBREW[::-1], id="UAX 9 L4 brackets"),
    pytest.param("plain (x) [1]", "plain (x) [1]", id="nothing to turn"),
])
def test_right_to_left_names_are_set_as_their_readers_expect(text: str, shown: str) -> None:
    assert visual_order(text) == shown


@given(st.text(st.sampled_from("ab 1(.)" + HEBREW + "\u0627\u05b0"), max_size=24))
@settings(max_examples=200)
def test_reading_order_keeps_every_character(text: str) -> None:
    def plain(of: str) -> list[str]:
        return sorted(of.replace(")", "(")) if unicodedata.normalize("NFC", of) else []

    assert plain(visual_order(text)) == plain(text)

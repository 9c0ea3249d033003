"""Files of others are the ones that the table names, and do what they are kept for."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

from tests.house.files import ROOT, name, text, under
from tests.tools.hash_vendored import TABLE, sha384, vendored_files
from tests.tools.make_fonts import SIGNS

ROW = re.compile(r"^\| `(static/[^`]+)` \| ([^|]+) \| ([^|]+) \| (\S{64}) \|$", re.MULTILINE)
ROWS = {file: rest for file, *rest in ROW.findall(text(TABLE))}
# Published with the package, and recomputed here: the hash for its `integrity` attribute.
HTMX = "Qp9rdC8H7EqOoX+nR0P3RPG2Noji+qdwJlGpfzwQJsfOpp3sGwIdSP9xO3+UlEhn"
PAPER = [p for p in under("static/fonts", ".ttf") if p.stem.startswith("Barlow")]


def test_the_table_names_every_file_and_no_other() -> None:
    assert sorted(ROWS) == sorted(name(path) for path in vendored_files())


@pytest.mark.parametrize("path", vendored_files(), ids=name)
def test_file_is_the_one_that_was_taken(path: Path) -> None:
    assert sha384(path) == ROWS[name(path)][2]


def test_htmx_is_the_published_file() -> None:
    assert sha384(ROOT / "static/vendor/htmx-4.0.1.min.js") == HTMX


@pytest.mark.parametrize("file", sorted(ROWS))
def test_licence_stands_beside(file: str) -> None:
    (licence,) = re.findall(r"`([^`]+)`", ROWS[file][1])
    assert (ROOT / file).with_name(licence).stat().st_size > 300


@pytest.mark.parametrize("path", PAPER, ids=name)
def test_digits_on_paper_have_one_width(path: Path) -> None:
    font = TTFont(path)
    widths = {font["hmtx"][font.getBestCmap()[ord(digit)]][0] for digit in "0123456789"}
    assert len(widths) == 1
    assert font["OS/2"].fsType == 0, "may be embedded"


def test_signs_that_the_text_face_lacks_are_in_the_marks() -> None:
    marks = TTFont(ROOT / "static/fonts/PlatewrightMarks.woff2")
    assert {chr(code) for code in marks.getBestCmap()} >= set(SIGNS)
    names = {record.toUnicode() for record in marks["name"].names if record.nameID in {1, 4, 6}}
    assert names == {"Platewright Marks", "PlatewrightMarks"}


def test_every_face_of_the_style_sheet_is_there_and_used() -> None:
    sheet = text(ROOT / "static/css/fonts.css")
    named = set(re.findall(r"\.\./fonts/([\w-]+\.woff2)", sheet))
    assert named == {path.name for path in under("static/fonts", ".woff2")}

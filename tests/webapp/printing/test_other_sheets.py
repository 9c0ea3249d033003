"""Cardboard outline and silhouettes, measured in the PDF."""

from __future__ import annotations

import re

import pytest

from layout_engine import load_document
from layout_engine.sheets.silhouettes import silhouette_sheets
from layout_engine.tables.paper import PAPERS
from tests import samples
from tests.webapp.pages.forms import demo
from tests.webapp.printing.boards import add, document, job, large_document, lighthouse_document
from tests.webapp.printing.reading import Page, Stroke, read
from webapp.printing.outline import outline_pdf, outline_plan
from webapp.printing.silhouettes import silhouettes_pdf
from webapp.printing.standing import Standing

STANDING = Standing(3, "24 Nov 2026, 14:05", ("A stop.",), ("A guess",))


def edges(page: Page, width: float) -> list[Stroke]:
    return [s for s in page.strokes if len(s.points) > 3 and abs(s.width - width) < 5e-3
            and s.stroked and not s.is_circle]


def test_the_outline_is_the_plate_at_true_size() -> None:
    (page,) = read(outline_pdf(job(lighthouse_document()), PAPERS["a4"], STANDING))
    (edge,) = edges(page, 0.7)
    assert edge.diameter == pytest.approx(170, abs=1e-3)
    assert edge.box[3] - edge.box[1] == pytest.approx(200, abs=1e-3)
    mounts = sorted((round(c.centre[0] - edge.box[0], 3), round(c.centre[1] - edge.box[1], 3),
                     round(c.diameter, 3)) for c in page.circles)
    assert mounts == [(8, 8, 4.5), (8, 192, 4.5), (162, 8, 4.5), (162, 192, 4.5)]
    across, up = page.bars()
    assert across == pytest.approx([100], abs=1e-3)
    assert up == pytest.approx([100], abs=1e-3)


def test_the_outline_says_how_high_the_modules_stand() -> None:
    (page,) = read(outline_pdf(job(lighthouse_document()), PAPERS["a4"], STANDING))
    words = " ".join(page.words.split())
    assert "Modules stand up to 28 mm on the front and 28 mm on the back" in words
    assert "cut away from yourself" in words


def test_the_outline_counts_what_stands_out_behind_a_module() -> None:
    """A module 20 high on spacers of 6, with a fan that stands out 35 behind."""
    board = samples.two_module_board()
    board["types"]["box"]["behind"] = [{"outline": samples.rectangle(30, 30), "height": 35}]
    pages = read(outline_pdf(load_document(board), PAPERS["a3"], STANDING))
    words = " ".join(" ".join(page.words.split()) for page in pages)
    assert "Modules stand up to 26 mm on the front and 35 mm on the back" in words


@pytest.mark.parametrize("name", ["rolling_lighthouse", "parade_tortoise", "puppet_wagon"])
def test_the_names_of_the_fixings_stand_clear_of_the_page_map(name: str) -> None:
    named = 0
    for page in read(outline_pdf(load_document(demo(name)), PAPERS["a4"], STANDING)):
        hatched = [s.box for s in page.strokes if 5 < s.box[2] - s.box[0] < 25
                   and 5 < s.box[3] - s.box[1] < 25 and not s.is_circle]
        labels = [box for words, box in page.texts if re.search(r"(corner|middle) \d", words)]
        named += len(labels)
        for left, bottom, right, top in labels:
            assert not [b for b in hatched if left < b[2] and b[0] < right
                        and bottom < b[3] and b[1] < top]
    assert named >= len(demo(name)["plate"]["mounts"])


def test_trying_the_bare_plate_is_not_forbidden_by_stops() -> None:
    (page,) = read(outline_pdf(job(lighthouse_document()), PAPERS["a4"], STANDING))
    assert "NOT FOR BUILDING" not in page.words


@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_a_large_outline_is_tiled(paper: str) -> None:
    board = job(large_document())
    pages = read(outline_pdf(board, PAPERS[paper], STANDING))
    assert len(pages) == outline_plan(board, PAPERS[paper]).sheets
    assert all(any(abs(n - 100) < 1e-3 for n in page.bars()[0]) for page in pages)


def test_silhouettes_have_the_size_of_the_modules_and_their_holes() -> None:
    board = job(lighthouse_document())
    pages = read(silhouettes_pdf(board, PAPERS["a4"], STANDING))
    assert len(pages) == silhouette_sheets(board, PAPERS["a4"]).count
    found = sorted(sorted((round(s.diameter, 2), round(s.box[3] - s.box[1], 2)))
                   for page in pages for s in edges(page, 0.35))
    wanted = sorted(sorted(board.type_of(part).outline[2]) for part in board.parts)
    assert found == wanted
    fixings = sum(len(board.type_of(part).fixings) for part in board.parts)
    threads = [c for page in pages for c in page.circles if c.diameter < 4.01]
    assert len(threads) == fixings


def test_silhouettes_carry_names_heights_and_printed_marks() -> None:
    doc = document(200, 200)
    add(doc, "driver", "Dual driver", (10, 10), (60, 40), [(5, 5)], basis="guess", terminals=[
        {"id": "bplus", "mark": "B+", "x": 8, "y": 20, "leaves": 180, "role": "positive"}])
    (page,) = read(silhouettes_pdf(job(doc), PAPERS["a4"], STANDING))
    words = " ".join(page.words.split())
    assert "Dual driver ?, 20 high on 8 spacers" in words
    assert "B+" in words
    assert "Cut along the outer lines" in words


def test_a_turned_silhouette_keeps_its_pattern() -> None:
    doc = document(200, 200)
    add(doc, "tall", "Tall", (10, 10), (30, 120), [(5, 7), (25, 111)])
    (page,) = read(silhouettes_pdf(job(doc), PAPERS["a4"], STANDING))
    (edge,) = edges(page, 0.35)
    assert edge.diameter == pytest.approx(120, abs=1e-3)
    right, bottom = edge.box[2], edge.box[1]
    holes = sorted((round(right - c.centre[0], 2), round(c.centre[1] - bottom, 2))
                   for c in page.circles)
    # a quarter turn counter-clockwise: part y runs to the left, part x upwards
    assert holes == [(7, 5), (111, 25)]


def test_a_module_larger_than_the_paper_is_tiled_to_scale() -> None:
    doc = document(600, 400)
    add(doc, "wide", "Wide", (0, 0), (320, 240), [(5, 5), (315, 235)])
    pages = read(silhouettes_pdf(job(doc), PAPERS["a4"], STANDING))
    assert len(pages) == 2
    assert all(edges(page, 0.35)[0].diameter == pytest.approx(320, abs=1e-3) for page in pages)


def test_a_job_without_modules_prints_a_sheet_that_says_so() -> None:
    (page,) = read(silhouettes_pdf(job(document(100, 100)), PAPERS["letter"], STANDING))
    assert "No modules yet" in page.words

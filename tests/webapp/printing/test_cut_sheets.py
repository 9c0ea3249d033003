"""The cut list on paper, read back: every wire once, boxes to tick, totals, reels in order."""

from __future__ import annotations

import re

import pytest

from layout_engine import Job, load_document
from layout_engine.sheets.cut_list import CutList, cut_list
from layout_engine.tables.paper import PAPERS
from layout_engine.wiring import plan_routes
from tests.layout_engine.wiring.boards import at, block, board, terminal, wire
from tests.webapp.pages.forms import demo
from tests.webapp.printing.reading import Page, read
from webapp.printing.cut_sheets import cut_list_pdf, cut_list_sheets
from webapp.printing.standing import Standing

STANDING = Standing(7, "28 Nov 2026, 10:00")
BOX_MM = 4.0


@pytest.fixture(scope="module")
def lighthouse() -> tuple[Job, CutList]:
    job = load_document(demo("rolling_lighthouse"))
    return job, cut_list(plan_routes(job))


def words(pages: list[Page]) -> str:
    return " ".join(re.sub(r"\s+", " ", page.words) for page in pages)


def written(pages: list[Page]) -> str:
    """All lettering in the order in which it was set, without spaces.

    The library gives a hyphen at the end of a line as the control character 2.
    """
    text = "".join(text for page in pages for text, _ in page.texts)
    return text.replace(" ", "").replace("\x02", "-")


def boxes(pages: list[Page]) -> int:
    """Squares of 4 mm."""
    found = 0
    for page in pages:
        for stroke in page.strokes:
            left, bottom, right, top = stroke.box
            if stroke.stroked and len(stroke.points) >= 4 and all(
                    abs(side - BOX_MM) < 0.01 for side in (right - left, top - bottom)):
                found += 1
    return found


@pytest.mark.parametrize("paper", ["a4", "letter", "a3"])
def test_every_wire_has_two_boxes_its_length_and_both_markers(
        lighthouse: tuple[Job, CutList], paper: str) -> None:
    job, listed = lighthouse
    pages = list(read(cut_list_pdf(job, listed, PAPERS[paper], STANDING)))
    assert len(pages) == cut_list_sheets(job, listed, PAPERS[paper], STANDING)
    size = PAPERS[paper]
    assert all(abs(page.width - size.width.value) < 0.1 for page in pages)
    assert boxes(pages) == 2 * len(listed.rows)
    text = written(pages)
    for row in listed.rows:
        for end in row.ends:
            assert f"marker{end.marker}".replace(" ", "") in text, end
        if row.length is not None:
            assert f"{row.length:g}mm" in text


def test_nothing_is_written_off_the_paper_or_into_the_title_block(
        lighthouse: tuple[Job, CutList]) -> None:
    job, listed = lighthouse
    for page in read(cut_list_pdf(job, listed, PAPERS["letter"], STANDING)):
        for text, (left, bottom, right, top) in page.texts:
            assert left >= 5 and right <= page.width - 5, text  # noqa: PT018
            assert bottom >= 5 and top <= page.height - 5, text  # noqa: PT018
        low = min(b for t, (_, b, _, _) in page.texts if t.startswith("marker"))
        assert low > 10 + 14  # margin and title block


def test_reels_come_in_the_order_of_making_with_their_metres(
        lighthouse: tuple[Job, CutList]) -> None:
    job, listed = lighthouse
    pages = list(read(cut_list_pdf(job, listed, PAPERS["a4"], STANDING)))
    marked = [f"marker {row.ends[0].marker}".replace(" ", "") for row in listed.rows]
    places = [written(pages).index(marker) for marker in marked]
    assert places == sorted(places)
    text = words(pages)
    for reel in listed.totals:
        assert f"{reel.metres:.2f}" in text
    whole = sum(row.length or 0.0 for row in listed.rows) / 1000
    told = re.search(rf"{len(listed.rows)}, (\d+\.\d\d) m", text)
    assert told is not None
    assert float(told[1]) == pytest.approx(whole, abs=0.006)


def shared_terminal() -> tuple[Job, CutList]:
    """Two wires under one screw that takes two."""
    types = {"left": block(terminal("t", 40, 15, 0, max_wires=2)),
             "right": block(terminal("u", 0, 8, 180), terminal("v", 0, 22, 180))}
    parts = [at("a", "left", 30, 60), at("b", "right", 130, 60)]
    job = load_document(board(types, parts, [wire("w", "a.t", "b.u"), wire("x", "a.t", "b.v")]))
    return job, cut_list(plan_routes(job))


def test_two_wires_under_one_clamp_are_said_at_both() -> None:
    text = words(list(read(cut_list_pdf(*shared_terminal(), PAPERS["a4"], STANDING))))
    assert text.count("2 wires under one clamp, which takes 2") == 2


def test_what_is_made_already_is_ticked() -> None:
    job, listed = shared_terminal()

    def strokes(done: set[str]) -> int:
        (page,) = read(cut_list_pdf(job, listed, PAPERS["a4"], STANDING, done))
        return sum(len(s.points) == 2 and s.box[2] - s.box[0] < 2.5 and s.box[3] - s.box[1] > 0.5
                   for s in page.strokes)

    assert strokes({"w"}) - strokes(set()) == 4  # a tick of two strokes in both boxes


def test_a_board_that_must_not_be_built_says_so_on_every_sheet(lighthouse: tuple[Job, CutList]
                                                              ) -> None:
    job, listed = lighthouse
    stopped = Standing(7, "28 Nov 2026, 10:00", ("Fuse too large.",))
    for page in read(cut_list_pdf(job, listed, PAPERS["a4"], stopped)):
        assert "NOT FOR BUILDING" in page.words


def test_the_same_list_makes_the_same_bytes() -> None:
    job, listed = shared_terminal()
    made = [cut_list_pdf(job, listed, PAPERS["a4"], STANDING) for _ in range(2)]
    assert made[0] == made[1]


def test_a_reel_that_goes_on_is_named_again_on_the_next_sheet(lighthouse: tuple[Job, CutList]
                                                             ) -> None:
    job, listed = lighthouse
    pages = list(read(cut_list_pdf(job, listed, PAPERS["a4"], STANDING)))
    assert len(pages) > 1
    assert any("continued" in page.words for page in pages[1:])
    assert "continued" not in pages[0].words


def test_sheets_behind_the_list_show_every_run_that_it_names() -> None:
    job = load_document(demo("rolling_lighthouse"))
    routing = plan_routes(job)
    listed = cut_list(routing)
    pages = list(read(cut_list_pdf(job, listed, PAPERS["a4"], STANDING, (), routing)))
    assert len(pages) == cut_list_sheets(job, listed, PAPERS["a4"], STANDING, routing)
    fronts, backs = pages[-2:]
    assert "Runs on the front" in fronts.words
    assert "Runs on the back, seen from behind" in backs.words
    drawn = re.findall(r"R\d+", words([fronts, backs]))
    named = {run for row in listed.rows for run in row.named}
    assert sorted(drawn) == sorted(named)
    # A number that is nowhere would be looked for.
    assert sorted(int(run[1:]) for run in named) == [n + 1 for n in range(len(named))]
    # The converter stands left of the middle seen from the front, so right of it from behind.
    (at,) = (box for text, box in backs.texts if text.startswith("5 V"))
    assert at[0] > backs.width / 2

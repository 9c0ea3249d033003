"""Characters of an offer on the Layout page, chosen before and after; a few modules, a few mm."""

from __future__ import annotations

import re
from collections.abc import Callable
from math import dist
from typing import Any

import httpx
import pytest
from playwright.sync_api import Page, expect

from tests import samples
from tests.browser.conftest import OpenPage
from tests.browser.layout_desk import Desk

NewJob = Callable[[dict[str, Any]], str]
ENDS_MS = 90_000


@pytest.fixture
def arranging(page: Page, http: httpx.Client, new_job: NewJob) -> Desk:
    """Ten modules placed by hand, the form for arranging open."""
    board = Desk(page, http, new_job(samples.ten_module_board())).open("front")
    page.get_by_role("button", name="Arrange").click()
    page.get_by_text("quick, 3 s").click()
    return board


def test_an_offer_tells_four_respects_and_another_character_is_tried(arranging: Desk) -> None:
    page = arranging.page
    page.get_by_text("tidiest", exact=True).click()
    page.get_by_role("button", name="Start").press("Enter")
    answer = page.get_by_role("button", name=re.compile("^(Take the offer|Back to the layout)$"))
    expect(answer).to_be_focused(timeout=ENDS_MS)  # the other one where nothing better was found
    table = page.get_by_role("region", name="The two compared")
    for respect in ("Wire", "Heat", "Service", "Tidiness", "Room for wires"):
        expect(table.get_by_role("rowheader", name=respect, exact=True)).to_be_visible()
    pressed = page.get_by_role("button", name="Tidiest", pressed=True)
    expect(pressed).to_be_visible()
    page.get_by_role("button", name="Easiest to service").click()
    expect(page.get_by_role("button", name="Easiest to service", pressed=True)).to_be_visible(
        timeout=ENDS_MS)
    page.locator("summary", has_text="Details").click()
    expect(page.get_by_text("Least cost, proven")).to_be_visible()
    assert arranging.revision() == 1  # nothing is changed until one is taken


def test_only_chosen_modules_move_and_no_farther_than_asked(
        page: Page, http: httpx.Client, new_job: NewJob) -> None:
    """A heavy wire draws both boxes together; only the left one may follow it."""
    board = Desk(page, http, new_job(samples.wired_board())).open("front")
    before = {part: board.placement(part) or {} for part in ("left", "right")}
    page.get_by_role("button", name="Arrange").click()
    page.get_by_text("quick, 3 s").click()
    page.get_by_text("only the chosen modules").click()
    page.get_by_role("checkbox", name="Left box").check()
    page.locator("summary", has_text="More: a little only").click()
    page.get_by_text("move everything at most").click()
    page.get_by_label("move everything at most, mm").fill("6")
    page.get_by_role("button", name="Start").click()
    take = page.get_by_role("button", name="Take the offer")
    expect(take).to_be_visible(timeout=ENDS_MS)
    expect(page.get_by_text("1 of 2 modules moves: Left box.")).to_be_visible()
    take.click()
    board.saved()
    after = board.placement("left") or {}
    assert 0 < dist((before["left"]["x"], before["left"]["y"]), (after["x"], after["y"])) <= 6
    assert board.placement("right") == before["right"]


def test_a_length_that_is_none_is_said_at_once(arranging: Desk) -> None:
    page = arranging.page
    page.locator("summary", has_text="More: a little only").click()
    page.get_by_text("move everything at most").click()
    page.get_by_label("move everything at most, mm").fill("little")
    page.get_by_role("button", name="Start").click()
    words = "Move at most: \u201clittle\u201d is no length over 0.01, up to 5000 mm."
    expect(page.get_by_text(words)).to_be_visible()
    field = page.get_by_label("move everything at most, mm")
    expect(field).to_be_focused()
    expect(field).to_have_attribute("aria-invalid", "true")
    expect(field).to_have_accessible_description(words)


BELOW = """() => {
  const bottoms = [...document.querySelectorAll("svg.board .lettering-scale")]
    .map((figure) => figure.getBoundingClientRect().bottom);
  const under = [...document.querySelectorAll(".lay-zoom,.lay-sheet .title-block")]
    .map((piece) => piece.getBoundingClientRect())
    .filter((box) => box.top > document.querySelector("svg.board").getBoundingClientRect().top);
  return Math.min(...under.map((box) => box.top)) - Math.max(...bottoms);
}"""


@pytest.mark.parametrize("screen", ["desk", "phone"])
def test_figures_below_the_plate_are_clear_of_what_stands_there(
        screen: str, open_page: OpenPage, http: httpx.Client, new_job: NewJob) -> None:
    """The form makes the board small, while lettering keeps its size."""
    size = {"width": 1440, "height": 900} if screen == "desk" else {"width": 390, "height": 844}
    page = open_page(viewport=size, has_touch=screen == "phone", is_mobile=screen == "phone")
    Desk(page, http, new_job(samples.ten_module_board())).open("front")
    if screen == "phone":
        assert page.evaluate(BELOW) >= 0
    page.get_by_role("button", name="Arrange").click()
    expect(page.get_by_role("button", name="Start")).to_be_visible()
    assert page.evaluate(BELOW) >= 0


def test_on_a_phone_what_one_chooses_among_stands_below_its_question(
        open_page: OpenPage, http: httpx.Client, new_job: NewJob) -> None:
    """The first choice stood beside the question, the others below it."""
    page = open_page(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    Desk(page, http, new_job(samples.ten_module_board())).open("front")
    page.get_by_role("button", name="Arrange").click()
    for question in page.locator(".lay-choice:visible:has(legend)").all():
        lefts = question.locator("legend,.check").evaluate_all(
            "pieces => pieces.map((piece) => piece.getBoundingClientRect().left)")
        assert lefts[1] == pytest.approx(lefts[0], abs=1)


def test_on_a_desk_choices_of_two_lines_begin_below_each_other(arranging: Desk) -> None:
    page = arranging.page
    page.get_by_text("only the chosen modules").click()
    boxes = page.locator("[data-arrange-some] .check").evaluate_all(
        "all => all.map((one) => one.getBoundingClientRect()).map((box) => [box.left, box.top])")
    lines = {top: min(left for left, at in boxes if at == top) for _, top in boxes}
    assert len(lines) > 1
    assert max(lines.values()) - min(lines.values()) < 1

"""Where it fits, on the Layout page in the browser: painted, followed, taken, put back."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import httpx
import pytest
from playwright.sync_api import Page, expect

from tests import samples
from tests.browser.barriers import assert_no_barriers
from tests.browser.conftest import OpenPage
from tests.browser.layout_desk import Desk

Json = dict[str, Any]
NewJob = Callable[[Json], str]
GROUND = ".fits-ground path"


@pytest.fixture
def board(page: Page, http: httpx.Client, new_job: NewJob) -> Desk:
    return Desk(page, http, new_job(samples.wired_board())).open()


def ground(board: Desk) -> str:
    """The path of the ground, once it is there."""
    expect(board.page.locator(".lay-fits[aria-busy]")).to_have_count(0)
    return board.page.locator(GROUND).get_attribute("d") or ""


def test_by_keyboard_it_is_painted_costed_and_the_best_spot_taken_as_one_edit(board: Desk) -> None:
    page = board.page
    board.module("left").focus()
    page.locator("[data-fits-on]").focus()
    page.keyboard.press("Space")
    expect(page.locator(GROUND)).to_have_count(1)
    expect(page.locator(".fits-edge")).to_have_count(1)
    expect(page.locator("[data-fits-words]")).to_contain_text("anywhere on the toned ground")
    page.keyboard.press("Tab")
    page.keyboard.press("Space")
    expect(page.locator(".fits-lines text").first).to_have_text(re.compile(r"^\+"))
    page.keyboard.press("Tab")
    words = page.evaluate("document.activeElement.getAttribute('aria-label')")
    assert re.match("Put Left box there: .* less than where it stands", words)
    before = board.placement("left")
    page.keyboard.press("Enter")
    board.saved()
    after = board.placement("left")
    assert after is not None
    assert after != before
    assert [f for f in board.findings() if f["severity"] == "stop"] == []
    expect(page.locator("[data-chosen-title]")).to_have_text("Left box")
    expect(board.module("left")).to_be_focused()
    expect(page.locator(GROUND)).to_have_count(1)
    page.get_by_role("button", name="Undo").click()
    board.known += 1
    expect(page.locator(f'[data-desk][data-revision="{board.known}"]')).to_have_count(1)
    assert board.placement("left") == before


def test_while_it_is_dragged_nothing_is_asked_anew(board: Desk) -> None:
    page = board.page
    questions: list[str] = []
    page.on("request", lambda request: questions.append(request.url)
            if "/layout/fits" in request.url else None)
    board.module("left").focus()
    page.check("[data-fits-on]")
    painted = ground(board)
    board.drag((60, 140), (60, 220), drop=False)
    assert ground(board) == painted
    assert len(questions) == 1
    cross = page.locator(".fits-middle").get_attribute("transform") or ""
    assert cross.startswith("translate(65 22")
    page.mouse.up()
    board.saved()
    expect(page.locator(GROUND)).to_have_count(1)
    assert ground(board) == painted  # it hangs on the others, not on where the module itself is


def test_it_follows_the_turn_and_goes_with_the_choice(board: Desk) -> None:
    page = board.page
    board.module("left").focus()
    page.check("[data-fits-on]")
    first = ground(board)
    board.module("left").focus()
    page.keyboard.press("r")
    board.saved()
    expect(page.locator("[data-fits-words]")).to_contain_text("turned 90")
    assert ground(board) != first
    page.mouse.click(*board.screen(130, 285))
    expect(page.locator(GROUND)).to_have_count(0)
    board.module("right").focus()
    expect(page.locator(GROUND)).to_have_count(1)
    page.uncheck("[data-fits-on]")
    expect(page.locator(GROUND)).to_have_count(0)


def test_from_the_tray_into_the_hand_and_to_its_best_spot(
        page: Page, http: httpx.Client, new_job: NewJob) -> None:
    document = samples.wired_board()
    document["parts"][0]["placement"] = None
    board = Desk(page, http, new_job(document)).open()
    page.locator("[data-place=left]").click()
    page.check("[data-fits-on]")
    page.check("[data-fits-costs]")
    page.locator("[data-spot]").first.click()
    board.saved()
    assert board.placement("left") is not None
    assert [f for f in board.findings() if f["severity"] == "stop"] == []


def test_the_back_is_painted_as_it_is_seen(page: Page, http: httpx.Client, new_job: NewJob) -> None:
    document = samples.wired_board()
    document["parts"][0]["placement"] = {"face": "back", "x": 100, "y": 60, "turn": 0}
    board = Desk(page, http, new_job(document)).open("back")
    board.module("left").focus()
    page.check("[data-fits-on]")
    expect(page.locator(".fits-ground")).to_have_attribute("transform", re.compile("scale"))
    expect(page.locator("[data-fits-words]")).to_contain_text("on the back")


def test_why_not_is_said_in_words(page: Page, http: httpx.Client, new_job: NewJob) -> None:
    document = samples.wired_board()
    document["types"]["box"]["height"] = 2000
    board = Desk(page, http, new_job(document)).open()
    board.module("left").focus()
    page.check("[data-fits-on]")
    expect(page.locator("[data-fits-words]")).to_contain_text("too high everywhere under the wall")


def test_on_a_phone_nothing_is_cut_off_and_nothing_is_a_barrier(
        open_page: OpenPage, http: httpx.Client, new_job: NewJob) -> None:
    page = open_page(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    board = Desk(page, http, new_job(samples.wired_board())).open()
    page.touchscreen.tap(*board.screen(60, 140))
    page.check("[data-fits-on]")
    page.check("[data-fits-costs]")
    expect(page.locator("[data-spot]").first).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert_no_barriers(page)

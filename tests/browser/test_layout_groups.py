"""Groups on the Layout page in the browser: made, moved, turned, put away together."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import httpx
import pytest
from playwright.sync_api import Page, expect

from tests import samples
from tests.browser.layout_desk import Desk

NewJob = Callable[[dict[str, Any]], str]


@pytest.fixture
def board(page: Page, http: httpx.Client, new_job: NewJob) -> Desk:
    """The two modules of the sample as one group."""
    document = {**samples.two_module_board(), "groups": [["left", "right"]]}
    return Desk(page, http, new_job(document)).open()


def test_a_module_on_the_other_face_is_named_where_it_may_be_grouped(
        page: Page, http: httpx.Client, new_job: NewJob) -> None:
    board = Desk(page, http, new_job(samples.both_faces_board())).open()
    board.module("left").focus()
    expect(board.page.get_by_label("move with")).to_contain_text("Behind")


def test_a_group_moves_together(board: Desk) -> None:
    board.drag((60, 140), (60, 200))
    left, right = board.placement("left"), board.placement("right")
    assert left is not None
    assert right is not None
    assert (left["y"], right["y"]) == (180.0, 180.0)
    assert board.revision() == 2


def test_a_group_is_made_moved_by_keys_and_undone(page: Page, http: httpx.Client, new_job: NewJob
                                                  ) -> None:
    board = Desk(page, http, new_job(samples.two_module_board())).open()
    board.module("left").click()
    expect(board.page.locator(".lay-above")).to_contain_text("cut at")
    cut = board.page.locator(".lay-above .count").inner_text()
    board.page.get_by_label("move with").select_option(label="Right box")
    board.saved()
    expect(board.page.get_by_text("Moves together with Right box.")).to_be_visible()
    expect(board.page.locator("g.module.is-mate")).to_have_attribute("data-key", "right")
    board.module("left").focus()
    before = board.placement("right")
    for key in ("Enter", "ArrowUp", "Shift+ArrowUp", "Enter"):
        board.page.keyboard.press(key)
    board.saved()
    after = board.placement("right")
    assert before is not None
    assert after is not None
    assert after["y"] == before["y"] + 11
    expect(board.page.locator(".lay-above .count")).not_to_have_text(cut)
    board.page.get_by_role("button", name="Move on its own").click()
    board.saved()
    board.module("left").focus()
    for key in ("Enter", "ArrowDown", "Enter"):
        board.page.keyboard.press(key)
    board.saved()
    assert board.placement("right") == after


def test_a_group_turns_goes_over_and_lies_down_together(board: Desk) -> None:
    """Common middle at 120, 142.5; boxes of 70 x 45 mm, 110 mm from middle to middle."""
    board.module("left").focus()
    board.page.keyboard.press("r")
    board.saved()
    turned = board.placement("left"), board.placement("right")
    assert turned == ({"face": "front", "x": 142.5, "y": 52.5, "turn": 90.0},
                      {"face": "front", "x": 142.5, "y": 162.5, "turn": 90.0})
    for key in ("Enter", "Shift+ArrowRight", "r", "Enter"):  # in the hand: 10 mm aside, then turned
        board.page.keyboard.press(key)
        if key == "r":
            expect(board.page.get_by_label("turned, degrees")).to_have_value("180")
    board.saved()
    held = board.placement("left"), board.placement("right")
    assert held == ({"face": "front", "x": 220.0, "y": 165.0, "turn": 180.0},
                    {"face": "front", "x": 110.0, "y": 165.0, "turn": 180.0})
    board.page.get_by_label("x from the corner, mm").fill("100")
    board.page.keyboard.press("Enter")
    board.saved()
    typed = board.placement("left"), board.placement("right")
    assert [place and place["x"] for place in typed] == [170.0, 60.0]
    board.module("left").focus()
    board.page.keyboard.press("f")
    board.saved()
    over = board.placement("left"), board.placement("right")
    assert [place and place["face"] for place in over] == ["back", "back"]
    board.module("left").focus()
    board.page.keyboard.press("Delete")
    board.saved()
    assert (board.placement("left"), board.placement("right")) == (None, None)

"""The Layout page in the browser: what is saved, undone, accepted, arranged; nothing gets lost."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import httpx
import pytest
from playwright.sync_api import Page, expect

from tests import samples
from tests.browser.conftest import OpenPage
from tests.browser.layout_desk import Desk
from tests.browser.watching import Watch

NewJob = Callable[[dict[str, Any]], str]


@pytest.fixture
def desk(page: Page, http: httpx.Client, new_job: NewJob) -> Callable[..., Desk]:
    def make(document: dict[str, Any], view: str = "front") -> Desk:
        return Desk(page, http, new_job(document)).open(view)

    return make


def test_undo_after_a_reload(desk: Callable[..., Desk]) -> None:
    board = desk(samples.two_module_board())
    board.drag((60, 140), (60, 200))
    board.open()
    board.drawn_at("left", 30, 180)
    board.page.get_by_role("button", name="Undo: move Left box").click()
    board.drawn_at("left", 30, 120)
    assert board.placement("left") == {"face": "front", "x": 30.0, "y": 120.0, "turn": 0.0}
    board.page.get_by_role("button", name="Redo: move Left box").click()
    board.drawn_at("left", 30, 180)


def test_a_remedy_is_taken_with_one_press_and_a_place_is_shown(desk: Callable[..., Desk]) -> None:
    board = desk(samples.touching_board())
    card = board.page.locator(".finding.is-stop").first
    card.get_by_role("button", name="Show place").click()
    expect(board.page.locator("g.overlay .place-ring")).to_have_count(1)
    move = card.get_by_role("button", name=re.compile("^Move "))
    move.first.click()
    board.saved()
    expect(board.page.locator(".finding.is-stop")).to_have_count(0)
    assert [f for f in board.findings() if f["rule"] == "overlap"] == []


def test_a_warning_is_accepted_with_a_reason(desk: Callable[..., Desk]) -> None:
    document = samples.two_module_board()
    document["types"]["box"]["basis"]["footprint"] = "guess"
    document["parts"] = document["parts"][:1]
    board = desk(document)
    card = board.page.locator('[data-finding="not_measured"]')
    card.get_by_text("Accept, with a reason").click()
    card.get_by_label("Why it may stay like this").fill("Measured twice in the shop")
    card.get_by_role("button", name="Accept it").click()
    expect(board.page.locator(".finding.is-accepted")).to_contain_text("Measured twice in the shop")
    (accepted,) = board.document()["accepted"]
    assert accepted["reason"] == "Measured twice in the shop"


def test_two_people_at_once_lose_nothing(desk: Callable[..., Desk], watch: Watch) -> None:
    watch.allow("412")
    board = desk(samples.two_module_board())
    head = board.http.get(f"/api/projects/{board.job}")
    document = head.json()["document"]
    document["parts"][1]["placement"]["y"] = 20
    put = board.http.put(f"/api/projects/{board.job}", json=document, headers={"If-Match": '"1"'})
    assert put.status_code == 200
    board.page.mouse.move(*board.screen(60, 140))
    board.page.mouse.down()
    board.page.mouse.move(*board.screen(60, 200), steps=5)
    board.page.mouse.up()
    expect(board.page.locator("[data-message]")).to_contain_text("changed elsewhere meanwhile")
    expect(board.page.locator("[data-saved]")).to_have_text("Not saved yet")
    board.page.get_by_role("button", name="Put mine on top").click()
    board.known += 1  # the other one's
    board.saved()
    left, right = board.placement("left"), board.placement("right")
    assert left is not None
    assert right is not None
    assert (left["y"], right["y"]) == (180.0, 20.0)


def test_what_another_window_changed_is_there_when_this_one_is_looked_at(
        desk: Callable[..., Desk]) -> None:
    board = desk(samples.two_module_board())
    document = board.document()
    document["parts"][1]["placement"]["y"] = 20
    put = board.http.put(f"/api/projects/{board.job}", json=document, headers={"If-Match": '"1"'})
    assert put.status_code == 200
    board.page.evaluate("dispatchEvent(new Event('focus'))")
    board.saved()
    board.drawn_at("right", document["parts"][1]["placement"]["x"], 20)


def test_without_a_connection_changes_wait(desk: Callable[..., Desk], watch: Watch) -> None:
    watch.allow("net::ERR_INTERNET_DISCONNECTED")
    watch.allow("net::ERR_FAILED")
    board = desk(samples.two_module_board())
    board.page.route("**/layout/place", lambda route: route.abort())
    board.page.mouse.move(*board.screen(60, 140))
    board.page.mouse.down()
    board.page.mouse.move(*board.screen(60, 200), steps=5)
    board.page.mouse.up()
    expect(board.page.locator(".link-line")).to_have_text("Not connected. Your changes wait here.")
    expect(board.page.locator("[data-saved]")).to_have_text("Not saved yet")
    expect(board.module("left")).to_have_class(re.compile("is-waiting"))
    assert board.revision() == 1
    board.page.unroute("**/layout/place")
    board.saved()
    expect(board.page.locator(".link-line")).to_have_count(0)
    assert board.placement("left") == {"face": "front", "x": 30.0, "y": 180.0, "turn": 0.0}


def test_a_save_whose_answer_got_lost_is_not_made_twice(
        desk: Callable[..., Desk], watch: Watch) -> None:
    watch.allow("net::ERR_FAILED")
    watch.allow("412")
    board = desk(samples.two_module_board())
    lost: list[int] = []

    def lose_first_answer(route: Any) -> None:
        if lost:
            route.continue_()
            return
        lost.append(route.fetch().status)
        route.abort()

    board.page.route("**/layout/place", lose_first_answer)
    board.drag((60, 140), (60, 200))
    assert lost == [200]
    assert board.revision() == 2
    assert board.placement("left") == {"face": "front", "x": 30.0, "y": 180.0, "turn": 0.0}


def test_the_table_does_all_without_the_drawing(open_page: OpenPage, http: httpx.Client,
                                                new_job: NewJob) -> None:
    job = new_job(samples.two_module_board())
    page = open_page(java_script_enabled=False)
    page.goto(f"/jobs/{job}/layout")
    expect(page.locator('g.module[data-key="left"]')).to_be_visible()  # it waits for no script
    page.locator("#table > summary").click()
    page.get_by_label("y of Left box").fill("3 in")
    page.get_by_label("turned of Left box").fill("90")
    page.get_by_label("face of Right box").select_option("back")
    page.get_by_role("button", name="Put them there").click()
    parts = {p["id"]: p for p in http.get(f"/api/projects/{job}").json()["document"]["parts"]}
    # turned by 90 the origin lies at the right edge: 30 + 45; 3 in = 76.2 mm exactly
    assert parts["left"]["placement"] == {"face": "front", "x": 75.0, "y": 76.2, "turn": 90.0}
    assert parts["right"]["placement"] == {"face": "back", "x": 210.0, "y": 120.0, "turn": 0.0}


def test_arranged_and_taken(desk: Callable[..., Desk]) -> None:
    board = desk(samples.ten_module_tray())
    board.page.get_by_role("button", name="Arrange").click()
    board.page.get_by_text("quick, 3 s").click()
    board.page.get_by_role("button", name="Start").click()
    take = board.page.get_by_role("button", name="Take the offer")
    expect(take).to_be_visible(timeout=60_000)
    assert board.revision() == 1  # an offer changes nothing
    take.click()
    board.saved()
    expect(board.page.locator("[data-tray]")).to_have_count(0)
    assert all(p.get("placement") for p in board.document()["parts"])
    assert [f for f in board.findings() if f["severity"] == "stop"] == []
    board.page.get_by_role("button", name="Undo: take the arrangement").click()
    expect(board.page.locator("[data-tray]")).to_have_count(10)


def test_an_offer_is_left(desk: Callable[..., Desk]) -> None:
    board = desk(samples.ten_module_tray())
    board.page.get_by_role("button", name="Arrange").click()
    board.page.get_by_text("quick, 3 s").click()
    board.page.get_by_role("button", name="Start").click()
    leave = board.page.get_by_role("button", name="Leave it")
    expect(leave).to_be_visible(timeout=60_000)
    leave.click()
    expect(leave).to_have_count(0)
    assert board.revision() == 1
    board.open()
    expect(board.page.get_by_role("button", name="Take the offer")).to_have_count(0)

"""Wires in the browser: figures that open, ticks that stay, undo, a lost link, phone and dark."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import httpx
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from layout_engine import dump_document
from tests.browser.conftest import OpenPage
from tests.layout_engine.wiring.test_conflicts import walled
from tests.webapp.pages.forms import demo, document_of

NewJob = Callable[[dict[str, Any]], str]
PHONE = {"width": 390, "height": 844}
WAGON = demo("puppet_wagon")


def made(http: httpx.Client, job: str) -> set[str]:
    """The wires that the stored document says are made."""
    record = document_of(http, job).get("record", [])
    return {entry["step"] for entry in record if entry["value"] is True}


def assert_no_barriers(page: Page) -> None:
    found = Axe().run(page).response["violations"]
    assert not found, [(v["id"], [n["target"] for n in v["nodes"]][:3]) for v in found]


def test_ticks_stay_after_a_reload_and_undo_takes_the_last_one_back(
        page: Page, http: httpx.Client, new_job: NewJob) -> None:
    job = new_job(WAGON)
    page.goto(f"/jobs/{job}/wires")
    page.locator("#cut-w1").focus()
    page.keyboard.press("Space")
    expect(page.get_by_role("button", name="Undo: wire 1 is made")).to_be_visible()
    expect(page.locator("#cut-w1")).to_be_focused()
    page.locator("#cut-w2").check()
    page.locator("#cut-w3").check()  # while the one before is on its way
    expect(page.get_by_role("button", name="Undo: wire 3 is made")).to_be_visible()
    assert made(http, job) == {"cut.w1", "cut.w2", "cut.w3"}
    page.reload()
    for wire in ("w1", "w2", "w3"):
        expect(page.locator(f"#cut-{wire}")).to_be_checked()
    expect(page.locator("#cut-w4")).not_to_be_checked()
    page.get_by_role("button", name="Undo: wire 3 is made").click()
    expect(page.locator("#cut-w3")).not_to_be_checked()
    assert made(http, job) == {"cut.w1", "cut.w2"}
    other = f"/jobs/{job}/wires/w4/tick"
    http.post(other, data={"done": "yes"})  # on another phone
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")  # looked at again
    expect(page.locator("#cut-w4")).to_be_checked()
    http.post(other, data={"done": "no"})
    page.locator("#cut-w5").check()
    expect(page.get_by_role("button", name="Undo: wire 5 is made")).to_be_visible()
    expect(page.locator("#cut-w4")).not_to_be_checked()
    assert made(http, job) == {"cut.w1", "cut.w2", "cut.w5"}


def expect_no_link(watch: Any) -> None:
    """Allow what the browser says of files that it cannot have."""
    watch.allow("ERR_INTERNET_DISCONNECTED")
    watch.allow("Failed to fetch")  # of the boards, where they come into sight
    watch.allow("fetching the script")  # of the worker that keeps the page


def test_a_tick_without_a_link_waits_and_is_kept_later(
        page: Page, http: httpx.Client, new_job: NewJob, watch: Any) -> None:
    expect_no_link(watch)
    job = new_job(WAGON)
    page.goto(f"/jobs/{job}/wires")
    expect(page.locator("[data-kept-words]")).to_contain_text("the page opens without a link too")
    page.context.set_offline(True)
    page.locator("#cut-w5").check()
    expect(page.get_by_role("status")).to_have_text("Not connected. Your ticks wait here.")
    expect(page.locator("#cut-w5")).to_be_checked()
    assert made(http, job) == set()
    page.context.set_offline(False)
    expect(page.get_by_role("status")).to_have_text("Kept.")
    assert made(http, job) == {"cut.w5"}
    page.context.set_offline(True)
    page.locator("#cut-w6").check()
    expect(page.get_by_role("status")).to_have_text("Not connected. Your ticks wait here.")
    page.goto("about:blank")  # the telephone throws the page away
    page.context.set_offline(False)
    page.goto(f"/jobs/{job}/wires")
    expect(page.get_by_role("button", name="Undo: wire 6 is made")).to_be_visible()
    expect(page.locator("#cut-w6")).to_be_checked()
    assert made(http, job) == {"cut.w5", "cut.w6"}


def test_the_list_opens_without_a_link_and_is_ticked_until_there_is_one(
        page: Page, http: httpx.Client, new_job: NewJob, watch: Any) -> None:
    expect_no_link(watch)
    job = new_job(WAGON)
    page.goto(f"/jobs/{job}/wires")
    words = page.locator("[data-kept-words]")
    expect(words).to_contain_text("the page opens without a link too")
    page.locator("#cut-w1").check()
    expect(page.get_by_role("status")).to_have_text("Kept.")
    expect(words).to_contain_text("the page opens without a link too")
    page.goto("about:blank")
    page.context.set_offline(True)
    page.goto(f"/jobs/{job}/wires")
    expect(page.get_by_role("status")).to_contain_text("Not connected. This is the list as of")
    expect(page.get_by_role("heading", name="Cut list")).to_contain_text("1 of")  # as ticked last
    expect(page.locator("#cut-w1")).to_be_checked()
    page.locator("#cut-w2").check()
    expect(page.get_by_role("status")).to_have_text("Not connected. Your ticks wait here.")
    page.reload()
    expect(page.locator("#cut-w2")).to_be_checked()
    page.context.set_offline(False)
    expect(page.get_by_role("heading", name="Cut list")).to_contain_text("2 of")
    assert made(http, job) == {"cut.w1", "cut.w2"}


def test_a_figure_opens_by_key_below_its_wire_and_closes_again(
        page: Page, new_job: NewJob) -> None:
    job = new_job(WAGON)
    page.goto(f"/jobs/{job}/wires")
    figure = page.locator("#open-w7-size")
    figure.focus()
    page.keyboard.press("Enter")
    expect(page.locator("#worked")).to_contain_text("Size of wire 7: how it was worked out")
    expect(figure).to_have_attribute("aria-expanded", "true")
    expect(figure).to_be_focused()
    assert_no_barriers(page)
    page.get_by_role("link", name="Close").click()
    expect(page.locator("#worked")).to_have_count(0)
    expect(figure).to_be_focused()
    page.locator("#fuse-1 summary").click()  # in a page that was brought in by then
    expect(page.locator("#fuse-1-in table").first).to_be_visible()
    page.locator("#worked-w7").click()
    expect(page.locator("#worked h3")).to_have_text(
        "Length and ends of wire 7: how it was worked out")
    expect(page.locator(".wir-cut:has(#worked-w7) #worked")).to_be_visible()


def test_one_wire_is_traced_from_its_row_by_pointer_and_key(
        page: Page, new_job: NewJob) -> None:
    job = new_job(demo("parade_tortoise"))
    page.goto(f"/jobs/{job}/wires")
    page.locator("#trace-w7").focus()
    page.keyboard.press("Enter")
    traced = page.locator(".wir-board .traced")
    expect(traced).to_have_attribute("data-wire", "w7")
    expect(traced.locator("circle")).to_have_count(2)
    expect(page.locator(".wir-traced")).to_contain_text("Wire 7, red: from Fuse block 1")
    expect(page.locator("#runs")).to_be_focused()
    page.get_by_role("link", name="All alike").click()
    expect(traced).to_have_count(0)
    page.get_by_role("link", name="Show the way of wire 11 on the board").click()
    expect(traced.first).to_have_attribute("data-wire", "w11")


def test_a_wire_without_a_way_is_shown_on_the_boards_and_on_layout(
        page: Page, new_job: NewJob) -> None:
    job = new_job(dump_document(walled(gap=3.5, over=5.0)))
    page.goto(f"/jobs/{job}/wires")
    page.get_by_role("link", name="Show the places on the board").click()
    expect(page.locator("#runs .conflicts g.mark")).to_be_in_viewport()
    page.goto(f"/jobs/{job}/layout#finding-no_corridor.w.high_front")
    expect(page.locator(".finding.is-chosen")).to_contain_text("The wire from a to b finds no way")
    expect(page.locator("[data-runs-list]")).to_contain_text("Wire 1 finds no way")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_phone_shows_all_without_sideways_scrolling(
        open_page: OpenPage, http: httpx.Client, new_job: NewJob, scheme: str) -> None:
    page = open_page(viewport=PHONE, has_touch=True, is_mobile=True, color_scheme=scheme)
    job = new_job(WAGON)
    page.goto(f"/jobs/{job}/wires")
    expect(page.locator("#wire-w1")).to_be_hidden()  # long sections start folded
    page.get_by_role("link", name="Every wire").tap()
    expect(page.locator("#wire-w1")).to_be_visible()
    page.get_by_role("link", name="Supply").tap()
    expect(page.get_by_text("At the mix of cases the battery lasts")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    small = page.evaluate("""() => [...document.querySelectorAll("main :is(button,.button,.wir-open,.wir-tick,summary)")]
      .filter((e) => e.offsetParent && e.getBoundingClientRect().height < 43.5).map((e) => e.textContent)""")  # noqa: E501
    assert small == []
    assert_no_barriers(page)
    page.locator("label", has=page.locator("#cut-w1")).tap()
    expect(page.get_by_role("status")).to_have_text("Kept.")
    assert made(http, job) == {"cut.w1"}


def test_without_script_figures_open_and_ticks_are_kept(
        open_page: OpenPage, http: httpx.Client, new_job: NewJob) -> None:
    page = open_page(java_script_enabled=False)
    job = new_job(WAGON)
    page.goto(f"/jobs/{job}/wires")
    page.locator("#open-w7-amps").click()
    expect(page.locator("#worked")).to_be_visible()
    page.locator("#cut-w2").check()
    page.get_by_role("button", name="Keep the ticks").click()
    expect(page.locator("#cut-w2")).to_be_checked()
    assert made(http, job) == {"cut.w2"}

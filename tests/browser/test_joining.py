"""What joins what in the browser: two choices, two clicks, two keys; suggestions, leads, phone."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import httpx
import pytest
from playwright.sync_api import Page, expect

from tests.browser.barriers import assert_no_barriers
from tests.browser.conftest import OpenPage
from tests.webapp.pages.forms import demo, document_of

NewJob = Callable[[dict[str, Any]], str]
PHONE = {"width": 390, "height": 844}
LIGHTHOUSE = demo("rolling_lighthouse")
BARE = {**LIGHTHOUSE, "connections": []}


def wires(http: httpx.Client, job: str) -> list[tuple[str, str]]:
    return [(c["from"], c["to"]) for c in document_of(http, job)["connections"]]


def test_two_choices_join_and_undo_takes_it_back(
        page: Page, http: httpx.Client, new_job: NewJob) -> None:
    job = new_job(BARE)
    page.goto(f"/jobs/{job}/joining")
    page.locator("#from").focus()
    page.locator("#from").select_option("battery.plus")
    suits = page.locator("#to optgroup").first
    expect(suits).to_have_attribute("label", "suit Battery +")
    expect(page.locator("#from")).to_be_focused()
    page.locator("#to").select_option("main_fuse.in")
    page.get_by_role("button", name="Join", exact=True).click()
    expect(page.locator("[data-wire]")).to_have_count(1)
    assert wires(http, job) == [("battery.plus", "main_fuse.in")]
    page.get_by_role("button", name="Undo: join Battery + to Main fuse IN").click()
    expect(page.locator("[data-wire]")).to_have_count(0)
    assert wires(http, job) == []


def test_two_clicks_on_the_board_do_the_same(
        page: Page, http: httpx.Client, new_job: NewJob) -> None:
    job = new_job(BARE)
    page.goto(f"/jobs/{job}/joining?show=front")
    page.locator('.join-spot[data-end="fuses.out1"]').click()
    expect(page.locator(".join-spot.is-start")).to_have_attribute("data-end", "fuses.out1")
    expect(page.get_by_role("status")).to_contain_text("starts at Fuse block 1")
    page.locator('.join-spot[data-end="drive.bplus"]').click()
    expect(page.locator('.join-spot[data-end="drive.bplus"]')).to_have_attribute(
        "aria-label", "Drive controller B+, joined to Fuse block 1")
    expect(page.locator(".join-spot.is-start")).to_have_count(0)
    page.get_by_role("link", name="Battery +, nothing joined").click()
    page.get_by_role("link", name="Main fuse IN, nothing joined").click()
    expect(page.get_by_text("2 wires")).to_be_visible()
    assert wires(http, job) == [("fuses.out1", "drive.bplus"), ("battery.plus", "main_fuse.in")]


def test_two_keys_on_the_board_do_the_same(
        page: Page, http: httpx.Client, new_job: NewJob) -> None:
    """By Tab into the drawing, by arrows from terminal to terminal, Enter takes one."""
    job = new_job(BARE)
    page.goto(f"/jobs/{job}/joining?show=front")
    expect(page.locator(".join-spot[tabindex='0']")).to_have_count(1)
    page.locator(".join-spot[tabindex='0']").focus()
    ends = []
    for key in ("ArrowDown", "ArrowRight", "ArrowUp"):
        before = page.evaluate("document.activeElement.dataset.end")
        page.keyboard.press(key)
        ends.append(page.evaluate("document.activeElement.dataset.end"))
        assert ends[-1] != before
    page.keyboard.press("Enter")
    start = ends[-1]
    expect(page.locator(".join-spot.is-start")).to_be_focused()
    page.keyboard.press("Escape")
    expect(page.locator(".join-spot.is-start")).to_have_count(0)
    page.locator(f'.join-spot[data-end="{start}"]').focus()
    page.keyboard.press(" ")
    expect(page.locator(".join-spot.is-start")).to_be_focused()
    page.keyboard.press("ArrowDown")
    target = page.evaluate("document.activeElement.dataset.end")
    page.keyboard.press("Enter")
    expect(page.get_by_text("1 wire", exact=True)).to_be_visible()
    assert wires(http, job) == [(start, target)]


def test_suggestions_one_then_all_then_everything_is_joined(
        page: Page, http: httpx.Client, new_job: NewJob) -> None:
    job = new_job(BARE)
    page.goto(f"/jobs/{job}/joining")
    page.get_by_role("button", name="Take Main fuse OUT to Main switch 1").click()
    expect(page.locator("[data-wire]")).to_have_count(1)
    page.get_by_role("button", name="Take all 50").click()
    expect(page.locator("[data-wire]")).to_have_count(51)
    expect(page.get_by_text("Nothing more to suggest.")).to_be_visible()
    expect(page.get_by_text("Every terminal is joined")).to_be_visible()
    assert len(wires(http, job)) == 51
    page.keyboard.press("Control+z")
    expect(page.locator("[data-wire]")).to_have_count(1)
    expect(page).to_have_url(re.compile(rf"/jobs/{job}/joining$"))


def test_a_wire_is_edited_beside_the_table(
        page: Page, http: httpx.Client, new_job: NewJob, watch: Any) -> None:
    watch.allow("status of 422")
    job = new_job(LIGHTHOUSE)
    page.goto(f"/jobs/{job}/joining")
    page.locator("#edit-w7").click()
    expect(page.get_by_role("heading", name="Wire w7")).to_be_focused()
    page.get_by_label("size", exact=True).fill("thick")
    page.get_by_label("length", exact=True).fill("7 1/2 in")
    page.keyboard.press("Enter")
    expect(page.get_by_label("size", exact=True)).to_be_focused()
    expect(page.locator("#size-wrong")).to_contain_text('a wire size such as "1.5 mm2"')
    expect(page.get_by_label("length", exact=True)).to_have_value("7 1/2 in")
    assert_no_barriers(page)
    page.get_by_label("size", exact=True).fill("4")
    page.locator("#wire-save").click()
    expect(page.locator("#panel")).to_have_count(0)
    expect(page.locator("#edit-w7")).to_be_focused()
    wire = next(c for c in document_of(http, job)["connections"] if c["id"] == "w7")
    assert (wire["wire"], wire["length"]) == ({"size": "4 mm2"}, 190.5)
    page.locator("#edit-w8").click()
    page.get_by_role("button", name="Remove this wire").click()
    expect(page.locator("[data-wire]")).to_have_count(50)
    assert "w8" not in {c["id"] for c in document_of(http, job)["connections"]}


def test_ticked_wires_become_a_lead_and_one_is_removed(
        page: Page, http: httpx.Client, new_job: NewJob) -> None:
    job = new_job(LIGHTHOUSE)
    page.goto(f"/jobs/{job}/joining?find=conv5")
    page.get_by_label("Find").fill("5 v converter sound and")
    expect(page.locator("[data-wire]")).to_have_count(2)
    page.locator("#pick-w25").check()
    page.locator("#pick-w26").check()
    page.get_by_label("name of the lead").fill("controller lead")
    page.get_by_label("its length", exact=True).fill("150")
    page.get_by_role("button", name="Make one ready-made lead").click()
    expect(page.locator("[data-wire] >> text=controller lead")).to_have_count(2)
    page.locator("#remove-w25").focus()
    page.keyboard.press("Enter")
    expect(page.locator("[data-wire]")).to_have_count(1)
    expect(page.locator("#remove-w26")).to_be_focused()  # the next one
    expect(page.get_by_role("status")).to_have_text(
        "Done: remove 5 V converter 5V (out plus) to Sound and light controller 5V")
    found = {c["id"]: c for c in document_of(http, job)["connections"]}
    assert (found["w26"]["cable"], found["w26"]["length"]) == ("controller lead", 150)
    assert "w25" not in found


def test_a_change_in_another_window_overwrites_nothing(
        page: Page, http: httpx.Client, new_job: NewJob, watch: Any) -> None:
    watch.allow("status of 412")
    job = new_job(BARE)
    page.goto(f"/jobs/{job}/joining")
    other = {"revision": "1", "from": "battery.minus", "to": "zero.in"}
    assert http.post(f"/jobs/{job}/joining/add", data=other).status_code in (200, 303)
    page.get_by_role("button", name="Take Main fuse OUT to Main switch 1").click()
    expect(page.get_by_role("heading", name="The job was changed meanwhile")).to_be_visible()
    assert wires(http, job) == [("battery.minus", "zero.in")]


def test_a_lost_link_is_said_and_the_same_press_works_when_it_is_back(
        page: Page, http: httpx.Client, new_job: NewJob, watch: Any) -> None:
    watch.allow("ERR_INTERNET_DISCONNECTED")
    job = new_job(BARE)
    page.goto(f"/jobs/{job}/joining")
    page.context.set_offline(True)
    take = page.get_by_role("button", name="Take Main fuse OUT to Main switch 1")
    take.click()
    expect(page.get_by_role("status")).to_contain_text("Not connected.")
    assert wires(http, job) == []
    page.context.set_offline(False)
    take.click()
    expect(page.locator("[data-wire]")).to_have_count(1)
    assert wires(http, job) == [("main_fuse.out", "main_switch.in")]


@pytest.mark.parametrize("query", ["", "?wire=w7", "?show=front&wire=w7", "?show=back"])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_phone_shows_all_without_sideways_scrolling(
        open_page: OpenPage, new_job: NewJob, query: str, scheme: str) -> None:
    page = open_page(viewport=PHONE, has_touch=True, is_mobile=True, color_scheme=scheme)
    job = new_job({**LIGHTHOUSE, "connections": LIGHTHOUSE["connections"][:30]})
    page.goto(f"/jobs/{job}/joining{query}")
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    small = page.evaluate("""() => [...document.querySelectorAll("main :is(button,select,.button)")]
      .filter((e) => e.offsetParent && !e.closest(".spoken") && !e.matches(".spoken,.unit-switch"))
      .filter((e) => e.getBoundingClientRect().height < 43.5).map((e) => e.textContent)""")
    assert small == []
    assert_no_barriers(page)


@pytest.mark.parametrize("query", ["", "?wire=w7", "?show=front&from=battery.plus"])
def test_no_barriers_at_the_desk(page: Page, new_job: NewJob, query: str) -> None:
    job = new_job({**LIGHTHOUSE, "connections": LIGHTHOUSE["connections"][:30]})
    page.goto(f"/jobs/{job}/joining{query}")
    assert_no_barriers(page)


def test_without_script_everything_still_works(
        open_page: OpenPage, http: httpx.Client, new_job: NewJob) -> None:
    job = new_job(BARE)
    page = open_page(java_script_enabled=False)
    page.goto(f"/jobs/{job}/joining?show=front")
    page.locator('.join-spot[data-end="fuses.out1"]').click()
    page.locator('.join-spot[data-end="drive.bplus"]').click()
    expect(page.locator("#from")).to_have_value("fuses.out1")
    expect(page.locator("#to")).to_have_value("drive.bplus")
    page.get_by_role("button", name="Join", exact=True).click()
    assert wires(http, job) == [("fuses.out1", "drive.bplus")]
    page.goto(f"/jobs/{job}/joining")
    page.get_by_label("Find").fill("nothing")
    page.get_by_role("button", name="Show", exact=True).click()
    expect(page.get_by_text("No wire is called so.")).to_be_visible()

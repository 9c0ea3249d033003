"""Questions about the supply in the browser: opened, worked out in place, kept, on a phone."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import httpx
import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.barriers import assert_no_barriers
from tests.browser.conftest import OpenPage
from tests.webapp.pages.forms import demo, document_of
from webapp.forms.supply_asked import QUESTIONS

NewJob = Callable[[dict[str, Any]], str]
PHONE = {"width": 390, "height": 844}
LIGHTHOUSE = demo("rolling_lighthouse")
TORTOISE = demo("parade_tortoise")


def opened(page: Page, name: str) -> Locator:
    """The answer to a question, once it is there."""
    page.locator(f"#ask-{name} > summary").click()
    answer = page.locator(f"#ask-{name}-in")
    expect(answer.locator("table, form").first).to_be_visible()
    return answer


def test_a_question_is_worked_out_when_it_is_opened(page: Page, new_job: NewJob) -> None:
    job = new_job(LIGHTHOUSE)
    page.goto(f"/jobs/{job}/wires")
    expect(page.locator("#ask-drives-in table")).to_have_count(0)
    answer = opened(page, "drives")
    expect(answer).to_contain_text("Left drive motor")
    row = answer.locator(".ask-how").first
    how = answer.locator(".ask-worked").first
    expect(how).to_be_hidden()
    row.locator("summary").focus()
    page.keyboard.press("Enter")
    expect(how).to_be_visible()
    expect(how).to_contain_text("I = I0 + F D / (2 N G e Ke)")
    page.keyboard.press("Enter")
    expect(how).to_be_hidden()


def test_a_terminals_voltage_opens_to_the_way_from_its_source(
        page: Page, new_job: NewJob) -> None:
    page.goto(f"/jobs/{new_job(LIGHTHOUSE)}/wires")
    answer = opened(page, "volts")
    answer.get_by_label("Case").select_option("stall_all")
    answer.get_by_label("Pack").select_option("empty")
    answer.get_by_role("button", name="Show").click()
    # only in the new answer; what is chosen and focused is so before it is there
    expect(answer.locator("option[value=stall_all][selected]")).to_have_count(1)
    expect(answer.get_by_role("button", name="Show")).to_be_focused()
    name = answer.locator("summary", has_text="Fuse block IN")
    name.click()
    expect(answer.locator(".ask-worked:visible")).to_contain_text("V = V0 - sum(I R) on the way")
    expect(answer.locator(".ask-worked:visible")).to_contain_text("empty pack")


def test_what_if_is_chosen_and_told(page: Page, new_job: NewJob) -> None:
    page.goto(f"/jobs/{new_job(LIGHTHOUSE)}/wires")
    answer = opened(page, "whatif")
    answer.get_by_label("What breaks").select_option("zero:conv5.in_plus")
    answer.get_by_role("button", name="Show what happens").click()
    expect(answer).to_contain_text("The fuse opens before any wire is too hot.")
    expect(answer).to_contain_text("Never try a short")
    assert_no_barriers(page)
    answer.get_by_label("What breaks").select_option("open:fuses.feed>out5")
    answer.get_by_role("button", name="Show what happens").click()
    expect(answer).to_contain_text("At once: Lamp dead.")


def test_what_it_rests_on_is_saved_and_undone(
        page: Page, http: httpx.Client, new_job: NewJob, watch: Any) -> None:
    watch.allow("422")
    job = new_job(TORTOISE)
    page.goto(f"/jobs/{job}/wires")
    form = opened(page, "assumed")
    form.get_by_label("it weighs, loaded").fill("heavy")
    form.get_by_role("button", name="Save what it rests on").click()
    expect(page.locator("#mass_kg-wrong")).to_contain_text("a number such as")
    page.get_by_label("it weighs, loaded").fill("61")
    page.get_by_role("button", name="Save what it rests on").click()
    expect(page.get_by_role("button", name="Undo: it weighs, loaded 61")).to_be_visible()
    assert document_of(http, job)["machine"]["mass_kg"] == 61
    expect(opened(page, "drives")).to_contain_text("61 kg")
    page.get_by_role("button", name="Undo: it weighs, loaded 61").click()
    expect(page.locator("#mass_kg")).to_have_value(f"{TORTOISE['machine']['mass_kg']:g}")


def test_the_boards_come_when_they_are_scrolled_near(page: Page, new_job: NewJob) -> None:
    page.goto(f"/jobs/{new_job(TORTOISE)}/wires")
    expect(page.locator(".wir-board")).to_have_count(0)
    page.get_by_role("link", name="Where they run").click()
    expect(page.locator(".wir-board").first).to_be_visible()


def test_a_question_that_was_opened_comes_back_after_a_tick(page: Page, new_job: NewJob) -> None:
    page.goto(f"/jobs/{new_job(TORTOISE)}/wires")
    expect(opened(page, "pushed")).to_contain_text("Pushed at")
    page.locator("#cut-w1").check()
    expect(page.get_by_role("button", name="Undo: wire 1 is made")).to_be_visible()
    expect(page.locator("#ask-pushed-in")).to_contain_text("Pushed at")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_phone_shows_every_answer_without_sideways_scrolling(
        open_page: OpenPage, new_job: NewJob, scheme: str) -> None:
    page = open_page(viewport=PHONE, has_touch=True, is_mobile=True, color_scheme=scheme)
    page.goto(f"/jobs/{new_job(TORTOISE)}/wires")
    for name in (*QUESTIONS, "assumed"):
        opened(page, name)
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"], name
        page.locator(f"#ask-{name} > summary").click()
    for name in ("ratings", "whatif", "heat", "assumed"):
        page.locator(f"#ask-{name} > summary").click()
    small = page.evaluate("""() => [...document.querySelectorAll(".ask :is(button:not(.spoken),.button,summary,select)")]
      .filter((e) => e.offsetParent && e.getBoundingClientRect().height < 43.5)
      .map((e) => e.textContent.trim().slice(0, 40))""")  # noqa: E501
    assert small == []
    assert_no_barriers(page)


def test_a_wire_on_what_joins_what_is_told_in_the_supply(page: Page, new_job: NewJob) -> None:
    page.goto(f"/jobs/{new_job(TORTOISE)}/joining?wire=w7")
    page.locator("#wire-supply > summary").click()
    expect(page.locator("#wire-supply-in")).to_contain_text("If it comes off: Leg drive")
    page.get_by_label("Volts, amps").select_option("typical")
    expect(page.locator(".join-volts").first).to_be_visible()
    assert_no_barriers(page)
    page.get_by_role("link", name="What if it comes off").click()
    expect(page.locator("#ask-whatif-in")).to_contain_text("Leg drive controller dead")

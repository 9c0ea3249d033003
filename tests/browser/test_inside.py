"""The page Inside in a real browser: drawings follow the fields, changes are kept, faults told."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.barriers import ON_SCREENS, assert_no_barriers, assert_nothing_sticks_out
from tests.browser.conftest import OpenPage
from tests.webapp.pages.forms import demo

NewJob = Callable[[dict[str, Any]], str]


@pytest.fixture
def job(new_job: NewJob) -> str:
    return new_job(demo("rolling_lighthouse"))


@pytest.fixture
def inside(page: Page, job: str) -> Page:
    page.goto(f"/jobs/{job}/inside")
    return page


def dimension(page: Page, key: str) -> Locator:
    """A dimension drawn for a field."""
    return page.locator(f'.dimension[data-key="{key}"]').first


def state(page: Page) -> Locator:
    """What the form says about saving."""
    return page.locator("[data-state]")


def test_the_drawing_follows_what_is_typed_before_it_is_saved(inside: Page) -> None:
    field = inside.get_by_label("inside height", exact=True)
    field.fill("950")
    expect(dimension(inside, "body_height")).to_contain_text("950")
    expect(field).to_be_focused()
    expect(inside.locator("#history")).not_to_contain_text("Undo: inside height")


def test_eight_and_five_eighths_inches_are_understood_and_kept(inside: Page) -> None:
    inside.get_by_label("inside at the top", exact=True).fill("8 5/8 in")
    inside.get_by_label("inside at the top", exact=True).press("Tab")
    expect(state(inside)).to_have_text("saved")
    expect(dimension(inside, "top_diameter")).to_contain_text("219.1")
    expect(inside.get_by_label("inside at the top", exact=True)).to_have_value("8 5/8")
    expect(inside.locator("#field-top_diameter .unit-switch")).to_have_text("in")
    expect(inside.locator("#history")).to_contain_text("Undo: inside at the top 8 5/8 in")
    inside.reload()
    expect(inside.get_by_label("inside at the top", exact=True)).to_have_value("8 5/8")


def test_a_straight_body_becomes_a_tapered_one(inside: Page) -> None:
    shape = inside.locator("#shape")
    shape.select_option("round")
    expect(state(inside)).to_have_text("saved")
    expect(inside.locator("#top_diameter")).to_be_hidden()
    shape.select_option("tapered")
    expect(inside.locator("#history")).to_contain_text("Undo: shape round, tapered")
    expect(inside.locator("#top_diameter")).to_be_visible()
    inside.get_by_label("inside at the top", exact=True).fill("300")
    inside.get_by_label("inside at the top", exact=True).press("Tab")
    expect(inside.locator("#history")).to_contain_text("Undo: inside at the top 300")
    expect(shape).to_have_value("tapered")


def test_long_words_of_what_is_wrong_break_and_move_no_field(inside: Page) -> None:
    field = inside.get_by_label("inside height", exact=True)
    before = field.bounding_box()
    field.fill("15 3/4 inn")
    assert field.evaluate("e => e.scrollWidth <= e.clientWidth")
    field.press("Tab")
    fault = inside.locator("#body_height-wrong")
    expect(fault).to_contain_text("1 ft 2 in")
    assert fault.evaluate("e => e.scrollWidth <= e.clientWidth")
    after = field.bounding_box()
    assert before
    assert after
    assert (after["x"], after["width"]) == (before["x"], before["width"])


def test_a_unit_is_changed_by_its_button(inside: Page) -> None:
    inside.get_by_role("button", name="inside height is in mm; show inches").click()
    expect(inside.get_by_label("inside height", exact=True)).to_have_value("35.4331")
    inside.get_by_role("button", name="inside height is in inches; show mm").click()
    expect(inside.get_by_label("inside height", exact=True)).to_have_value("900")


def test_focusing_a_field_lights_its_dimension_and_only_that_one(inside: Page) -> None:
    for key in ("diameter", "offset"):
        inside.locator(f"#{key}").focus()
        lit = inside.locator(".is-lit")
        expect(lit.first).to_be_visible()
        assert {one.get_attribute("data-key") for one in lit.all()} == {key}


def test_a_wrong_value_is_told_beside_its_field_and_stays_as_typed(inside: Page) -> None:
    field = inside.get_by_label("inside at the floor", exact=True)
    field.fill("wide")
    field.press("Tab")
    fault = inside.locator("#diameter-wrong")
    expect(fault).to_contain_text("a length such as")
    expect(field).to_have_value("wide")
    expect(field).to_have_attribute("aria-describedby", re.compile("diameter-wrong"))
    expect(state(inside)).to_have_text("not saved yet")
    field.fill("378")
    field.press("Tab")
    expect(fault).to_have_count(0)
    expect(state(inside)).to_have_text("saved")


@pytest.fixture(autouse=True)
def _refusals_are_meant(watch: Any) -> None:
    watch.allow("status of 422")


def test_choosing_another_shape_asks_for_its_sizes_and_undo_brings_all_back(inside: Page) -> None:
    inside.get_by_label("shape", exact=True).first.select_option("box")
    expect(inside.get_by_label("inside, left to right", exact=True)).to_be_visible()
    expect(inside.get_by_label("inside at the floor", exact=True)).to_be_hidden()
    expect(state(inside)).to_have_text("saved")
    expect(dimension(inside, "body_width")).to_be_visible()
    inside.get_by_role("button", name="Undo").click()
    expect(inside.get_by_label("inside at the floor", exact=True)).to_have_value("380")


def test_who_chooses_before_the_script_is_there_is_still_asked_the_right_sizes(
    page: Page, new_job: NewJob
) -> None:
    document = demo("puppet_wagon")
    document["body"]["opening"] = {"in": "back", "shape": "round", "diameter": 230}
    script, held = re.compile(r"/pages/inside\.js"), []
    page.route(script, lambda route: held.append(route))
    with page.expect_request(script):
        page.goto(f"/jobs/{new_job(document)}/inside", wait_until="commit")
    section = page.locator("section", has=page.get_by_role("heading", name="Opening", exact=True))
    section.get_by_label("shape", exact=True).select_option("rectangle")
    expect(section.get_by_label("width", exact=True)).to_be_hidden()
    for route in held:
        route.continue_()
    expect(section.get_by_label("width", exact=True)).to_be_visible()
    expect(section.get_by_label("diameter", exact=True)).to_be_hidden()
    expect(state(page)).to_have_text("saved")


def test_two_quick_changes_are_both_kept(inside: Page) -> None:
    inside.get_by_label("inside at the floor", exact=True).fill("376")
    inside.get_by_label("inside at the top", exact=True).fill("336")
    inside.get_by_label("inside height", exact=True).fill("880")
    inside.get_by_label("vents, together").focus()
    expect(state(inside)).to_have_text("saved")
    inside.reload()
    for name, value in (("floor", "376"), ("top", "336")):
        expect(inside.get_by_label(f"inside at the {name}", exact=True)).to_have_value(value)
    expect(inside.get_by_label("inside height", exact=True)).to_have_value("880")


def test_something_in_the_way_is_added_and_drawn(inside: Page) -> None:
    inside.get_by_role("button", name="Add a thing in the way").click()
    row = inside.locator("[data-row]").nth(2)
    row.get_by_label("what").fill("rail")
    for label, value in (("x from", "100"), ("y from", "-20"), ("height from", "0")):
        row.get_by_label(label, exact=True).fill(value)
    for place, value in enumerate(("110", "20", "500")):
        row.get_by_label("to", exact=True).nth(place).fill(value)
    row.get_by_label("what").focus()
    expect(inside.locator('.obstruction[data-key="obstructions-2"]').first).to_be_attached()
    expect(state(inside)).to_have_text("saved")


def test_somebody_else_was_quicker_and_nothing_is_lost(
    inside: Page, job: str, http: Any, watch: Any
) -> None:
    watch.allow("status of 412")
    head = http.get(f"/api/projects/{job}").json()
    document = {**head["document"], "name": "Renamed meanwhile"}
    answer = http.put(f"/api/projects/{job}", json=document, headers={"If-Match": '"1"'})
    assert answer.status_code == 200
    inside.get_by_label("inside at the floor", exact=True).fill("377")
    inside.get_by_label("inside at the floor", exact=True).press("Tab")
    expect(inside.locator("main")).to_contain_text("inside at the floor 377")
    assert http.get(f"/api/projects/{job}").json()["document"]["name"] == "Renamed meanwhile"


@ON_SCREENS
def test_axe_finds_nothing_and_nothing_sticks_out(
    open_page: OpenPage, job: str, options: dict[str, Any]
) -> None:
    page = open_page(**options)
    page.goto(f"/jobs/{job}/inside")
    page.get_by_text("What to measure").click()
    assert_no_barriers(page)
    assert_nothing_sticks_out(page)


def test_everything_works_without_scripts(open_page: OpenPage, job: str) -> None:
    page = open_page(java_script_enabled=False)
    page.goto(f"/jobs/{job}/inside")
    page.get_by_label("inside at the floor", exact=True).fill("14 3/4 in")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#history")).to_contain_text("Undo: inside at the floor 14 3/4 in")
    page.get_by_role("button", name="Add a thing in the way").click()
    expect(page.locator("[data-row]")).to_have_count(3)


def test_lettering_of_the_drawings_does_not_overlap(inside: Page) -> None:
    """Every two figures of one drawing keep clear of each other."""
    touching = inside.evaluate("""() => {
      const found = [];
      for (const svg of document.querySelectorAll(".inside-views svg")) {
        const texts = [...svg.querySelectorAll("text")].filter((t) => t.textContent);
        const boxes = texts.map((t) => [t.textContent, t.getBoundingClientRect()]);
        boxes.forEach(([a, p], i) => boxes.slice(i + 1).forEach(([b, q]) => {
          const x = Math.min(p.right, q.right) - Math.max(p.left, q.left);
          const y = Math.min(p.bottom, q.bottom) - Math.max(p.top, q.top);
          if (x > 1 && y > 3) found.push(`${a} / ${b}`);
        }));
      }
      return found;
    }""")
    assert touching == []


def test_undo_is_one_whole_word_on_a_phone(open_page: OpenPage, job: str) -> None:
    page = open_page(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    page.goto(f"/jobs/{job}/inside")
    page.get_by_label("inside height", exact=True).fill("910")
    page.get_by_label("inside height", exact=True).press("Tab")
    expect(page.get_by_role("button", name="Undo: inside height 910")).to_be_visible()
    words = page.locator(".history-words")
    assert words.evaluate("e => e.scrollWidth <= e.clientWidth")
    assert words.evaluate("e => e.querySelector('.history-what').offsetWidth <= 1")

"""Modules in the browser: taking, measuring, wishing; by keys, on a phone, without script."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import httpx
import pytest
from playwright.sync_api import Page, expect

from tests.browser.barriers import assert_no_barriers
from tests.browser.conftest import OpenPage
from webapp.resources import folder
from webapp.seed import read_shelf

NewJob = Callable[[dict[str, Any]], str]
SHELF = read_shelf(folder("seed_data"))
PHONE = {"width": 390, "height": 844}
EMPTY = {
    "format": "platewright/1", "name": "Bell cart",
    "body": {"diameter": 300, "height": 500, "opening": {"diameter": 280}, "reach_from": "top"},
    "plate": {"outline": [[0, 0], [200, 0], [200, 150], [0, 150]], "thickness": 4,
              "material": "acrylic", "stands": "flat", "base": 60},
    "types": {}, "parts": [],
}
ONE_DRIVER = {
    **EMPTY, "types": {"driver": SHELF["motor_driver_dual_25a"]},
    "parts": [{"id": "wheels", "type": "driver", "label": "Wheels"},
              {"id": "legs", "type": "driver", "label": "Legs"}],
}


def document(http: httpx.Client, job: str) -> dict[str, Any]:
    answer = http.get(f"/api/projects/{job}")
    assert answer.status_code == 200
    return dict(answer.json()["document"])


def test_the_shelf_narrows_while_typing_and_a_type_goes_into_the_tray(
        page: Page, http: httpx.Client, new_job: NewJob) -> None:
    job = new_job(EMPTY)
    page.goto(f"/jobs/{job}/modules")
    expect(page.get_by_text("No modules yet.")).to_be_visible()
    page.get_by_label("Find").fill("driver dual")
    expect(page.locator(".card")).to_have_count(1)
    page.locator(".card").get_by_label("its name in this job").fill("Wheels")
    page.keyboard.press("Enter")
    expect(page.locator(".modules-list li")).to_have_count(1)
    expect(page.get_by_role("link", name="Wheels", exact=True)).to_be_visible()
    (part,) = document(http, job)["parts"]
    assert part["label"] == "Wheels"
    assert "placement" not in part


def test_measuring_a_module_with_keys_only(
        page: Page, http: httpx.Client, new_job: NewJob) -> None:
    job = new_job(EMPTY)
    page.goto(f"/jobs/{job}/modules/measure")
    page.get_by_label("name", exact=True).focus()
    page.keyboard.type("Bell ringer")
    for label, text in (("width", "60"), ("depth", "1 1/2 in"), ("height", "14")):
        page.locator("#measure").get_by_label(label, exact=True).first.focus()
        page.keyboard.type(text)
    drawing = page.locator("#module-drawing")
    expect(drawing.locator('[data-key="width"]')).to_contain_text("60")
    expect(drawing.locator('[data-key="depth"]')).to_contain_text("38.1")
    holes = page.locator("#rows-fixings")
    holes.locator("[data-row] input").first.focus()
    page.keyboard.type("5")
    page.keyboard.press("Tab")
    page.keyboard.type("6")
    holes.get_by_role("button", name="Add a fixing hole").focus()
    page.keyboard.press("Enter")
    expect(holes.locator("[data-row]")).to_have_count(2)
    expect(holes.locator("[data-row]").nth(1).locator("input").first).to_be_focused()
    page.keyboard.type("55")
    page.keyboard.press("Tab")
    page.keyboard.type("32")
    page.keyboard.press("Enter")
    expect(page.get_by_role("link", name="Bell ringer", exact=True)).to_be_visible()
    (kind,) = document(http, job)["types"].values()
    assert [(f["x"], f["y"]) for f in kind["fixings"]] == [(5, 6), (55, 32)]
    assert kind["outline"][2] == [60, 38.1]


def test_only_the_dimension_of_the_field_in_hand_is_lit(page: Page, new_job: NewJob) -> None:
    page.goto(f"/jobs/{new_job(ONE_DRIVER)}/modules/types/driver")
    page.locator("#height").focus()
    lit = page.locator("#module-drawing .is-lit")
    expect(lit).to_have_count(1)
    expect(lit).to_have_attribute("data-key", "height")
    page.locator("#width").focus()
    expect(lit).to_have_attribute("data-key", "width")


def test_rows_can_be_removed_and_the_drawing_follows(
        page: Page, http: httpx.Client, new_job: NewJob) -> None:
    job = new_job(ONE_DRIVER)
    page.goto(f"/jobs/{job}/modules/types/driver")
    holes = page.locator("#rows-fixings")
    expect(holes.locator("[data-row]")).to_have_count(4)
    circles = page.locator("#module-drawing circle")
    before = circles.count()
    holes.get_by_role("button", name="Remove fixing hole 2").click()
    expect(holes.locator("[data-row]")).to_have_count(3)
    expect(holes.locator("[data-count]")).to_have_text("3")
    expect(circles).to_have_count(before - 1)
    page.get_by_role("button", name="Save", exact=True).last.click()
    expect(page).to_have_url(re.compile(rf"/jobs/{job}/modules$"))
    assert len(document(http, job)["types"]["driver"]["fixings"]) == 3


def test_a_wrong_field_is_told_beside_it_and_everything_typed_is_kept(
        page: Page, http: httpx.Client, new_job: NewJob, watch: Any) -> None:
    watch.allow("status of 422")
    job = new_job(ONE_DRIVER)
    page.goto(f"/jobs/{job}/modules/types/driver")
    page.locator("#standoff").fill("a little")
    page.locator("#mass").fill("-3")
    page.get_by_role("button", name="Save", exact=True).last.click()
    expect(page.get_by_role("alert")).to_be_focused()
    expect(page.get_by_role("alert")).to_contain_text("Not saved.")
    wrong = page.locator("#standoff")
    expect(wrong).to_have_attribute("aria-invalid", "true")
    expect(wrong).to_have_value("a little")
    expect(page.locator("#standoff-fault")).to_contain_text("a length such as")
    assert_no_barriers(page)
    assert document(http, job)["types"]["driver"]["standoff"] == 6


def test_measuring_says_so_on_the_list(page: Page, new_job: NewJob) -> None:
    page.goto(f"/jobs/{new_job(ONE_DRIVER)}/modules")
    expect(page.locator(".modules-list .is-guess")).to_have_count(2)
    page.get_by_role("link", name="the type of Wheels").click()
    page.get_by_label("size and holes").select_option("measured")
    expect(page.locator('[data-basis-of="basis_footprint"]').first).to_have_text("measured")
    page.get_by_role("button", name="Save", exact=True).last.click()
    expect(page.locator(".modules-list .is-guess")).to_have_count(0)
    expect(page.get_by_text("size measured")).to_have_count(2)


def test_wishes_and_elsewhere(page: Page, http: httpx.Client, new_job: NewJob) -> None:
    job = new_job(ONE_DRIVER)
    page.goto(f"/jobs/{job}/modules/parts/wheels")
    expect(page.get_by_label("lead from there")).to_be_hidden()
    page.get_by_label("where it is").select_option("away")
    page.get_by_label("where the lead leaves the plate").select_option("point")
    page.locator("#exit_at").fill("20, 0")
    page.get_by_label("lead from there").fill("12 in")
    page.get_by_label("New wish").select_option("near")
    page.get_by_role("button", name="Add a wish").click()
    page.get_by_label("module", exact=True).select_option("legs")
    page.get_by_label("at most").fill("35")
    page.get_by_label("require it").check()
    page.get_by_role("button", name="Save", exact=True).last.click()
    expect(page.get_by_text("elsewhere, lead 304.8 mm")).to_be_visible()
    part = next(p for p in document(http, job)["parts"] if p["id"] == "wheels")
    assert part["away"] == {"exit": [20, 0], "lead": 304.8}
    assert part["wishes"] == [
        {"rule": "near", "part": "legs", "within": 35, "must": True, "factor": 5}]


def test_remove_and_undo(page: Page, http: httpx.Client, new_job: NewJob) -> None:
    job = new_job(ONE_DRIVER)
    page.goto(f"/jobs/{job}/modules/parts/legs")
    page.get_by_role("button", name="Remove from the job").click()
    expect(page.locator(".modules-list li")).to_have_count(1)
    page.reload()
    page.get_by_role("button", name="Undo: remove Legs").click()
    expect(page.locator(".modules-list li")).to_have_count(2)
    assert document(http, job)["parts"] == ONE_DRIVER["parts"]


@pytest.mark.parametrize("path", ["", "/measure", "/types/driver", "/parts/wheels"])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_phone_shows_all_without_sideways_scrolling(
        open_page: OpenPage, new_job: NewJob, path: str, scheme: str) -> None:
    page = open_page(viewport=PHONE, has_touch=True, color_scheme=scheme)
    page.goto(f"/jobs/{new_job(ONE_DRIVER)}/modules{path}")
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    small = page.evaluate("""() => [...document.querySelectorAll("main button, main .button")]
      .filter((e) => e.offsetParent && !e.closest(".spoken") && !e.matches(".spoken"))
      .filter((e) => e.getBoundingClientRect().height < 43.5).map((e) => e.textContent)""")
    assert small == []
    assert_no_barriers(page)


@pytest.mark.parametrize("path", ["", "/measure", "/types/driver", "/parts/wheels"])
def test_no_barriers_at_the_desk(page: Page, new_job: NewJob, path: str) -> None:
    page.goto(f"/jobs/{new_job(ONE_DRIVER)}/modules{path}")
    assert_no_barriers(page)


def test_without_script_everything_still_works(
        open_page: OpenPage, http: httpx.Client, new_job: NewJob) -> None:
    job = new_job(EMPTY)
    page = open_page(java_script_enabled=False)
    page.goto(f"/jobs/{job}/modules/measure")
    for field, text in (("name", "Bell"), ("width", "30"), ("depth", "20"), ("height", "9")):
        page.locator(f"#{field}").fill(text)
    page.get_by_role("button", name="Add a fixing hole").click()
    expect(page.locator("#rows-fixings [data-row]")).to_have_count(2)
    expect(page.locator("#name")).to_have_value("Bell")
    page.locator("#fixings-1-x").fill("4")
    page.locator("#fixings-1-y").fill("4")
    page.get_by_role("button", name="Remove fixing hole 1").click()
    expect(page.locator("#rows-fixings [data-row]")).to_have_count(1)
    page.get_by_role("button", name="Put it into the tray").click()
    (kind,) = document(http, job)["types"].values()
    assert [(f["x"], f["y"]) for f in kind["fixings"]] == [(4, 4)]

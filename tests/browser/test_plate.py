"""The page Plate in a real browser: offers taken, size typed and dragged, corners filled."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.barriers import ON_SCREENS, assert_no_barriers, assert_nothing_sticks_out
from tests.browser.conftest import OpenPage
from tests.webapp.pages.forms import demo, document_of

NewJob = Callable[[dict[str, Any]], str]


@pytest.fixture
def job(new_job: NewJob) -> str:
    return new_job(demo("rolling_lighthouse"))


@pytest.fixture
def plate(page: Page, job: str) -> Page:
    page.goto(f"/jobs/{job}/plate")
    return page


@pytest.fixture(autouse=True)
def _refusals_are_meant(watch: Any) -> None:
    watch.allow("status of 422")


def state(page: Page) -> Locator:
    return page.locator("[data-state]")


def test_the_offered_plate_is_taken_with_one_press_and_undone(
    plate: Page, job: str, http: Any
) -> None:
    plate.get_by_role("button", name="Use 272 × 346").first.click()
    expect(plate.locator("#offers")).to_contain_text("272 × 346: in use")
    expect(plate.get_by_label("width", exact=True)).to_have_value("272")
    assert document_of(http, job)["plate"]["outline"][2] == [272, 346]
    plate.get_by_role("button", name="Undo: use the plate 272 x 346").click()
    expect(plate.get_by_label("width", exact=True)).to_have_value("260")


def test_what_was_typed_before_an_offer_is_taken_is_kept(plate: Page, job: str, http: Any) -> None:
    plate.get_by_label("thickness", exact=True).fill("5")
    plate.get_by_role("button", name="Use 272 × 346").first.click()
    expect(plate.locator("#offers")).to_contain_text("in use")
    assert document_of(http, job)["plate"]["thickness"] == 5


def test_higher_modules_change_the_offer_while_typing_and_save_nothing(plate: Page) -> None:
    plate.get_by_label("modules in front, up to", exact=True).fill("190")
    expect(plate.get_by_role("button", name="Use 272 × 346")).to_have_count(0)
    plate.get_by_label("modules in front, up to", exact=True).press("Tab")
    expect(plate.locator("#history")).not_to_contain_text("Undo:")


def test_the_edge_is_dragged(plate: Page, job: str, http: Any) -> None:
    handle = plate.locator(".handle-x rect, .handle-x path").first
    box = handle.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    scale = plate.evaluate(
        "document.querySelector('.plate-main g.sheet').getScreenCTM().a")
    plate.mouse.move(x, y)
    plate.mouse.down()
    plate.mouse.move(x - 15 * scale, y + 4)
    plate.mouse.move(x - 30 * scale, y + 9)
    expect(plate.get_by_label("width", exact=True)).to_have_value("230")
    plate.mouse.up()
    expect(state(plate)).to_have_text("saved")
    assert document_of(http, job)["plate"]["outline"][2] == [230, 330]
    expect(plate.locator("#history")).to_contain_text("Undo: width 230")


def test_escape_lets_a_dragged_edge_go_back(plate: Page, job: str, http: Any) -> None:
    box = plate.locator(".handle-y path").first.bounding_box()
    assert box is not None
    x, y = box["x"] + 5, box["y"] + 5
    plate.mouse.move(x, y)
    plate.mouse.down()
    plate.mouse.move(x, y + 60)
    plate.keyboard.press("Escape")
    plate.mouse.up()
    expect(plate.get_by_label("height", exact=True)).to_have_value("330")
    assert document_of(http, job)["plate"]["outline"][2] == [260, 330]


def test_a_wrong_outline_is_told_beside_its_field(plate: Page) -> None:
    plate.get_by_label("outline", exact=True).first.select_option("points")
    corners = plate.get_by_label("corners", exact=True)
    expect(corners).to_be_visible()
    corners.fill("0, 0; 10, 10; 10, 0; 0, 10")
    corners.press("Tab")
    expect(plate.locator("#outline-wrong")).to_contain_text("cross")
    corners.fill("0, 0; 260, 0; 260, 200; 200, 330; 0, 330")
    corners.press("Tab")
    expect(state(plate)).to_have_text("saved")
    expect(plate.locator("#outline-wrong")).to_have_count(0)


def test_mounting_points_fill_the_corners_of_an_empty_plate(
    page: Page, new_job: NewJob, http: Any
) -> None:
    document = demo("rolling_lighthouse")
    del document["plate"]["mounts"]
    job = new_job(document)
    page.goto(f"/jobs/{job}/plate")
    page.get_by_label("from both edges", exact=True).fill("15")
    page.get_by_role("button", name="Put four in the corners").click()
    expect(page.locator('.mount[data-key="mounts-3"]')).to_be_attached()
    expect(page.locator("#rows-mounts [data-row]")).to_have_count(4)
    expect(page.locator("#history")).to_contain_text("Undo: change: Mounting points")
    places = [(m["x"], m["y"]) for m in document_of(http, job)["plate"]["mounts"]]
    assert places == [(15, 15), (245, 15), (245, 315), (15, 315)]


def test_a_cut_out_is_added_typed_and_lit(plate: Page) -> None:
    plate.get_by_role("button", name="Add a cut-out").click()
    entry = plate.locator('[name="holes-0-outline"]')
    entry.fill("round 30 at 200, 60")
    expect(plate.locator('.cut-out[data-key="holes-0"]')).to_have_class("cut-out is-lit")
    entry.press("Tab")
    expect(state(plate)).to_have_text("saved")


def test_a_plate_too_big_is_said_while_it_is_typed(plate: Page) -> None:
    plate.get_by_label("width", exact=True).fill("390")
    expect(plate.locator("#plate-findings")).to_contain_text("The plate does not fit at its place")


@ON_SCREENS
def test_axe_finds_nothing_and_nothing_sticks_out(
    open_page: OpenPage, job: str, options: dict[str, Any]
) -> None:
    page = open_page(**options)
    page.goto(f"/jobs/{job}/plate")
    page.locator("#offers summary").first.click()
    assert_no_barriers(page)
    assert_nothing_sticks_out(page)


def test_margin_and_radius_keep_their_figures_on_a_large_plate(page: Page, new_job: NewJob) -> None:
    page.goto(f"/jobs/{new_job(demo('parade_tortoise'))}/plate")
    expect(page.locator(".edge-margin").get_by_text("5 free")).to_be_visible()
    expect(page.locator(".radius").get_by_text("R 6")).to_be_visible()

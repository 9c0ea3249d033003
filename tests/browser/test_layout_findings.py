"""Findings about wires come after those about places, and the page says until when."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import httpx
import pytest
from playwright.sync_api import Page, Route, expect

from tests.browser.conftest import OpenPage
from tests.browser.layout_desk import Desk
from tests.layout_engine.supply.circuits import battery, circuit, load

NewJob = Callable[[dict[str, Any]], str]
STILL = "[data-still]"
SETTLED = "[data-piece=findings] [data-known=settled]"


def board(amps: float) -> dict[str, Any]:
    """A pack and a lamp on the plate; wires of 0.5 mm2 that are too thin for 20 A and more.

    What is known of a content is known of each job that has it: each test has its own amps.
    """
    document = circuit({"pack": battery(12, 0.02), "lamp": load(amps, (8, 16))},
                       ["pack.plus lamp.plus", "lamp.minus pack.minus"])  # fmt: skip
    for wire in document["connections"]:
        del wire["length"]
        wire["wire"] = {"size": "0.5 mm2", "fixed": True}
    for part, y in zip(document["parts"], (40, 120), strict=True):
        part["placement"] = {"face": "front", "x": 40, "y": y, "turn": 0}
    return document


def opened(page: Page, http: httpx.Client, job: str) -> Desk:
    return Desk(page, http, job).open()


def rules(http: httpx.Client, job: str) -> list[str]:
    found = http.get(f"/api/projects/{job}/findings").json()["findings"]
    return sorted(".".join((f["rule"], *f["subjects"])) for f in found
                  if f["rule"] not in ("not_placed", "not_measured"))  # fmt: skip


def cards(page: Page) -> list[str]:
    keys = page.locator("[data-finding]").evaluate_all(
        "all => all.map((card) => card.dataset.finding)")
    return sorted(key for key in keys if key not in ("not_placed", "not_measured"))


def test_findings_about_wires_follow_and_are_those_that_programs_get(
        open_page: OpenPage, http: httpx.Client, new_job: NewJob) -> None:
    job = new_job(board(20))
    desk = opened(open_page(), http, job)
    expect(desk.page.locator(SETTLED)).to_have_count(1)
    expect(desk.page.locator(STILL)).to_have_count(0)
    assert cards(desk.page) == rules(http, job)
    desk.module("lamp").focus()
    for key in (" ", "Shift+ArrowRight", " "):
        desk.page.keyboard.press(key)
    desk.saved()
    expect(desk.page.locator(SETTLED)).to_have_count(1)
    expect(desk.page.locator(STILL)).to_have_count(0)
    assert cards(desk.page) == rules(http, job)


def test_what_is_still_worked_out_is_said(open_page: OpenPage, http: httpx.Client,
                                          new_job: NewJob) -> None:
    """The answer about wires is held back here, as by a slow machine."""
    job = new_job(board(21))
    page = open_page()
    waiting: list[Route] = []

    def hold(route: Route) -> None:
        if waiting:
            route.continue_()
        else:
            waiting.append(route)

    page.route("**/layout/findings?*", hold)
    with page.expect_request("**/layout/findings?*"):
        desk = opened(page, http, job)
    expect(page.locator(STILL)).to_contain_text("is being worked out")
    waiting[0].continue_()
    expect(page.locator(SETTLED)).to_have_count(1)
    expect(page.locator(STILL)).to_have_count(0)
    assert cards(desk.page) == rules(http, job)


@pytest.mark.parametrize("path", ["joining", "modules"])
def test_other_pages_mark_what_is_found_later(open_page: OpenPage, new_job: NewJob,
                                              path: str) -> None:
    """A stop that only the supply shows: a wire too thin for its current."""
    job = new_job(board(22 if path == "joining" else 23))
    page = open_page()
    page.goto(f"/jobs/{job}/{path}")
    expect(page.locator("[data-judge]")).to_have_count(0)
    expect(page.locator("#stops-bar")).to_be_visible()

"""The main job from nothing to paper: few enough deeds, and a template that can be drilled by."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path
from typing import Any

import httpx
import pytest
from playwright.sync_api import Page, expect

from tests import samples
from tests.browser.watching import Watch
from tests.browser.whole_job import JOB, NAMES, Counted, whole_job
from tests.webapp.printing.reading import is_template, plate_holes, read

NewJob = Callable[[dict[str, Any]], str]
DEEDS = 60  # at most, clicks and fields
POSITION_MM = 0.02
INCH_MM = 25.4  # international inch, 1959


def test_from_an_empty_job_to_a_template_that_can_be_drilled_by(
    page: Page, http: httpx.Client, tmp_path: Path
) -> None:
    user = Counted(page)
    pages = read(whole_job(user, tmp_path).read_bytes())
    assert len(user.deeds) <= DEEDS, user.deeds

    (made,) = (p for p in http.get("/api/projects").json()["projects"] if p["name"] == JOB)
    document = http.get(f"/api/projects/{made['id']}").json()["document"]
    body = document["body"]
    assert (body["diameter"], body["height"]) == (420, pytest.approx(22 * INCH_MM))
    assert [part["label"] for part in document["parts"]] == list(NAMES)
    found = http.get(f"/api/projects/{made['id']}/findings").json()["findings"]
    assert [f for f in found if f["severity"] == "stop"] == []

    words = " ".join(" ".join(sheet.words for sheet in pages).split())
    assert [name for name in NAMES if name not in words] == []
    assert "NOT FOR BUILDING" not in words
    assert "10 modules not measured" in words

    table = http.get(f"/api/projects/{made['id']}/drilling.csv").text
    holes = [
        (float(row["x_mm"]), float(row["y_mm"]), float(row["diameter_mm"]))
        for row in csv.DictReader(table.splitlines())
    ]
    drawn = [hole for sheet in pages if is_template(sheet) for hole in plate_holes(sheet, "front")]
    assert len(holes) == fixings(document)
    for x, y, diameter in holes:
        near = min(drawn, key=lambda hole: max(abs(hole[0] - x), abs(hole[1] - y)))
        assert max(abs(near[0] - x), abs(near[1] - y)) < POSITION_MM
        assert near[2] == pytest.approx(diameter, abs=POSITION_MM)


def fixings(document: dict[str, Any]) -> int:
    """How many holes the board needs: one for each fixing of a screwed module and each mount."""
    kinds = [document["types"][part["type"]] for part in document["parts"]]
    screwed = [kind for kind in kinds if kind.get("fixing", "screws") == "screws"]
    return sum(len(kind["fixings"]) for kind in screwed) + len(document["plate"]["mounts"])


def test_what_was_typed_last_is_there_on_the_next_page(
    page: Page, http: httpx.Client, new_job: NewJob
) -> None:
    """No waiting between the last key and the link: the page that opens holds the new size."""
    job = new_job(samples.ten_module_board())
    page.goto(f"/jobs/{job}/inside")
    user = Counted(page)
    page.get_by_label("above the floor", exact=True).first.fill("71")
    user.tab("Plate")
    expect(page.get_by_label("above the floor", exact=True).first).to_have_value("71")
    page.get_by_label("thickness", exact=True).fill("4.5")
    user.tab("Layout")
    expect(page.locator(".title-block")).to_contain_text("4.5")
    assert http.get(f"/api/projects/{job}").json()["document"]["plate"]["base"] == 71


def test_a_wrong_size_holds_the_page_once(page: Page, new_job: NewJob, watch: Watch) -> None:
    """The first press on a link shows what could not be saved, the second leaves."""
    watch.allow("status of 422")
    page.goto(f"/jobs/{new_job(samples.ten_module_board())}/inside")
    high = page.get_by_label("inside height", exact=True)
    high.fill("tall")
    page.locator("nav.tabs").get_by_role("link", name="Plate").click()
    expect(high).to_be_focused()
    expect(high).to_have_value("tall")
    expect(page.locator("#body_height-wrong")).to_be_visible()
    Counted(page).tab("Plate")


def test_corners_filled_by_one_press_are_rows_that_the_next_save_keeps(
    page: Page, http: httpx.Client, new_job: NewJob
) -> None:
    document = samples.ten_module_board()
    document["plate"].pop("mounts", None)
    job = new_job(document)
    page.goto(f"/jobs/{job}/plate")
    page.get_by_role("button", name="Put four in the corners").click()
    expect(page.locator("#rows-mounts [data-row]")).to_have_count(4)
    page.get_by_label("thickness", exact=True).fill("6")
    page.get_by_label("thickness", exact=True).press("Tab")
    expect(page.locator("[data-state]")).to_have_text("saved")
    kept = http.get(f"/api/projects/{job}").json()["document"]["plate"]
    assert (kept["thickness"], len(kept["mounts"])) == (6, 4)

"""Papers in the browser: what rests on the wires' routes comes in by itself, also on a phone."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import expect

from tests.browser.barriers import ON_SCREENS, assert_no_barriers, assert_nothing_sticks_out
from tests.browser.conftest import OpenPage
from tests.layout_engine.wiring.boards import facing_pair

NewJob = Callable[[dict[str, Any]], str]


@pytest.mark.usefixtures("http")
@ON_SCREENS
def test_counts_and_holes_come_when_the_wires_are_laid(
        open_page: OpenPage, new_job: NewJob, options: dict[str, Any]) -> None:
    page = open_page(**options)
    document = facing_pair(edge_margin=4.5 + len(options) / 100)  # nobody has asked of it before
    page.goto(f"/jobs/{new_job(document)}/papers")
    row = page.get_by_role("row", name="Cut list with boxes to tick")
    expect(row.get_by_role("cell").first).to_have_text("1")
    expect(page.locator("main [data-judge]")).to_have_count(0)
    expect(page.get_by_text("Ties for wires: ")).to_be_visible()
    expect(page.locator("#pap-holes")).to_contain_text("for a cable tie")
    assert_nothing_sticks_out(page)
    assert_no_barriers(page)

"""What holds for every page: nothing sticks out, nothing is refused, everything can be read."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page

from tests import samples
from tests.browser.barriers import assert_no_barriers
from tests.browser.conftest import OpenPage
from webapp.views import TABS

PAGES = ["jobs", *(tab.name for tab in TABS)]
WIDTHS = {"desk": (1440, 900), "tablet": (820, 1100), "phone": (390, 844)}
OVERFLOW = """() => {
  const wide = document.documentElement.scrollWidth - document.documentElement.clientWidth;
  const found = [...document.querySelectorAll("body *")]
    .filter((e) => e.getBoundingClientRect().right > innerWidth + 1)
    .filter((e) => !e.closest(".table-scroll,svg,.tabs"))
    .map((e) => `${e.tagName}.${e.className}`);
  const low = document.documentElement.scrollHeight - innerHeight;
  const framed = document.querySelector(".page.three,.page.two") && innerWidth >= 1104;
  if (framed && low > 0) found.push(`${low} px too high: columns scroll alone`);
  return wide > 0 || found.length ? found.slice(0, 5).concat(`${wide} px too wide`) : [];
}"""
# Lettering of drawings is the smallest allowed: 10.5 px.
SMALL = """() => [...document.querySelectorAll("body *")]
  .filter((e) => [...e.childNodes].some((n) => n.nodeType === 3 && n.data.trim()))
  .filter((e) => !(e instanceof SVGElement) && e.getClientRects().length)
  .filter((e) => parseFloat(getComputedStyle(e).fontSize) < 10.5)
  .map((e) => `${e.tagName} ${e.textContent.trim().slice(0, 30)}`)"""
# Success criterion 2.5.8 of WCAG 2.2: 24 by 24; links in running text are excepted.
TOO_SMALL_TO_HIT = """() => [...document.querySelectorAll("button,select,input,summary,a")]
  .filter((e) => e.getClientRects().length && !e.closest("svg,p,td") && e.type !== "hidden")
  .filter((e) => !e.closest("label"))
  .filter((e) => !e.classList.contains("skip") && !e.classList.contains("spoken"))
  .map((e) => [e, e.getBoundingClientRect()])
  .filter(([e, r]) => r.width > 1 && (r.width < 24 || r.height < 24))
  .map(([e, r]) => [e.tagName, e.name || e.textContent.trim(), r.width, r.height].join(" "))"""
NewJob = Callable[[dict[str, Any]], str]


def address(name: str, project: str) -> str:
    return "/" if name == "jobs" else f"/jobs/{project}/{name}"


def visit(page: Page, name: str, project: str) -> None:
    answer = page.goto(address(name, project), wait_until="load")
    assert answer is not None
    assert answer.status == 200
    page.wait_for_load_state("networkidle")


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", PAGES)
def test_nothing_sticks_out(name: str, width: str, open_page: OpenPage, new_job: NewJob) -> None:
    size = dict(zip(("width", "height"), WIDTHS[width], strict=True))
    page = open_page(viewport=size, has_touch=width != "desk", is_mobile=width == "phone")
    visit(page, name, new_job(samples.ten_module_board()))
    assert page.evaluate(OVERFLOW) == []
    assert page.evaluate(SMALL) == []
    assert page.evaluate(TOO_SMALL_TO_HIT) == []
    assert page.locator("h1").count() == 1


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("name", PAGES)
def test_no_barrier_that_a_tool_can_find(
    name: str, theme: str, open_page: OpenPage, new_job: NewJob
) -> None:
    page = open_page(color_scheme=theme, reduced_motion="reduce")
    visit(page, name, new_job(samples.touching_board()))
    assert_no_barriers(page)


@pytest.mark.parametrize("name", PAGES)
def test_every_page_works_by_keyboard_from_the_top(name: str, page: Page, new_job: NewJob) -> None:
    """Each Tab goes on to something else that is seen, and the whole way round ends."""
    visit(page, name, new_job(samples.two_module_board()))
    met: list[str] = []
    for _ in range(400):
        page.keyboard.press("Tab")
        here = page.evaluate(
            """() => { const e = document.activeElement;
            if (!e || e === document.body) return "";
            window.met ??= new Map(); if (!window.met.has(e)) window.met.set(e, window.met.size);
            const s = getComputedStyle(e), ring = e.querySelector(".focus-ring");
            const shown = s.outlineStyle !== "none" || ring || e.closest(".switch,.check,label");
            const words = shown ? "" : `no ring: ${e.outerHTML.slice(0, 80)}`;
            return `${window.met.get(e)} ${words}`; }"""
        )
        if here == "" or here in met:
            break
        met.append(here)
    assert len(met) >= 3
    assert [place for place in met if "no ring" in place] == []


def test_a_foreign_page_may_not_be_framed_or_scripted(page: Page) -> None:
    answer = page.goto("/")
    assert answer is not None
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "frame-ancestors 'none'" in policy

"""The Layout page of one job, worked on as a person would."""

from __future__ import annotations

import re
from typing import Any

import httpx
from playwright.sync_api import Locator, Page, expect

TO_SCREEN = """([x, y]) => {
  const desk = document.querySelector("[data-desk]");
  const sheet = desk.querySelector("svg.board g.sheet");
  const drawn = desk.dataset.view === "back" ? Number(desk.dataset.width) - x : x;
  const at = new DOMPoint(drawn, y).matrixTransform(sheet.getScreenCTM());
  return [at.x, at.y];
}"""
SAVED = "Saved"


class Desk:
    """The page, the server behind it, and the newest revision that the person knows of."""

    def __init__(self, page: Page, http: httpx.Client, job: str) -> None:
        self.page, self.http, self.job = page, http, job

    def open(self, view: str = "front") -> Desk:
        self.page.goto(f"/jobs/{self.job}/layout?view={view}")
        self.page.wait_for_selector("[data-desk][data-ready=true][data-linked=true]")
        self.known = self.revision()
        return self

    def module(self, part: str) -> Locator:
        return self.page.locator(f'g.module[data-key="{part}"]')

    def drawn_at(self, part: str, x: float, y: float) -> None:
        """The module's origin is drawn here, mm in the view."""
        pattern = re.compile(rf"translate\({x:g}(\.0)? {y:g}(\.0)?\)")
        expect(self.module(part)).to_have_attribute("transform", pattern)

    def screen(self, x: float, y: float) -> tuple[float, float]:
        found = self.page.evaluate(TO_SCREEN, [x, y])
        return found[0], found[1]

    def drag(self, start: tuple[float, float], end: tuple[float, float], *,
             drop: bool = True) -> None:
        halfway = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
        self.page.mouse.move(*self.screen(*start))
        self.page.mouse.down()
        self.page.mouse.move(*self.screen(*halfway), steps=4)
        self.page.mouse.move(*self.screen(*end), steps=4)
        if drop:
            self.page.mouse.up()
            self.saved()

    def finger(self, start: tuple[float, float], end: tuple[float, float]) -> None:
        """The same with a finger."""
        touch = self.page.context.new_cdp_session(self.page)
        for kind, share in (("touchStart", 0.0), ("touchMove", 0.3), ("touchMove", 0.7),
                            ("touchMove", 1.0)):
            x, y = self.screen(start[0] + (end[0] - start[0]) * share,
                               start[1] + (end[1] - start[1]) * share)
            points = [{"x": x, "y": y}]
            touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
        touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
        self.saved()

    def saved(self) -> None:
        """One more revision is there and shown."""
        self.known += 1
        expect(self.page.locator(f'[data-desk][data-revision="{self.known}"]')).to_have_count(1)
        expect(self.page.locator("[data-saved]")).to_have_text(SAVED)
        expect(self.page.locator("g.module.is-waiting")).to_have_count(0)

    def said(self, words: str | re.Pattern[str]) -> None:
        expect(self.page.locator("[data-status]")).to_have_text(words)

    def document(self) -> dict[str, Any]:
        return dict(self.http.get(f"/api/projects/{self.job}").json()["document"])

    def placement(self, part: str) -> dict[str, Any] | None:
        (found,) = (p for p in self.document()["parts"] if p["id"] == part)
        place = found.get("placement")
        return dict(place) if place else None

    def revision(self) -> int:
        return int(self.http.get(f"/api/projects/{self.job}").json()["revision"])

    def findings(self) -> list[dict[str, Any]]:
        return list(self.http.get(f"/api/projects/{self.job}/findings").json()["findings"])

"""How fast the app is where people meet it: `python -m tests.benchmarks.browser`.

Starts the app on new data, drives it with Chromium and prints each measured figure beside the one
to reach. Times are wall times: other work on the machine makes them longer, so its load is said.
"""

from __future__ import annotations

import json
import os
import statistics
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from math import inf
from pathlib import Path
from typing import Any

import httpx
from playwright.sync_api import Browser, Page, sync_playwright

from layout_engine import dump_document
from tests import chromium
from tests.benchmarks.checking import forty_parts
from tests.benchmarks.memory import resident_mb, settle
from tests.browser.whole_job import Counted, whole_job
from tests.running import RunningApp, start
from webapp.views import TABS

VISITS, CHANGES, MOVES = 5, 10, 120
FRAME_MS = 1000 / 60
DRAG_PROBE = (Path(__file__).parent / "drag_probe.js").read_text("utf-8")
LOADED = """() => {
  const nav = performance.getEntriesByType("navigation")[0];
  const others = performance.getEntriesByType("resource").filter((e) => !/woff2?$/.test(e.name));
  const bytes = [nav, ...others].reduce((sum, e) => sum + e.transferSize, 0);
  return [performance.getEntriesByName("first-paint")[0]?.startTime ?? null, bytes];
}"""


@dataclass(frozen=True, slots=True)
class Figure:
    """One measured figure and the one to reach; infinite: it is told alone."""

    what: str
    measured: float
    unit: str
    under: float

    @property
    def line(self) -> str:
        line = f"{self.what:46} {self.measured:9.1f} {self.unit:3}"
        if self.under == inf:
            return line
        mark = "" if self.measured < self.under else "   over"
        return f"{line}   to reach: under {self.under:g} {self.unit}{mark}"


@contextmanager
def new_page(browser: Browser, app: RunningApp) -> Iterator[Page]:
    """A page with nothing in its cache."""
    context = browser.new_context(base_url=app.address, viewport={"width": 1440, "height": 900})
    context.set_default_timeout(60_000)
    yield context.new_page()
    context.close()


def demo_pages(browser: Browser, app: RunningApp, http: httpx.Client) -> Iterator[Figure]:
    """First paint of the pages of the lead demo, sixteen modules and their wires, once judged."""
    found = http.get("/api/projects").json()["projects"]
    job = next(one["id"] for one in found if "lighthouse" in one["name"])
    http.get(f"/api/projects/{job}/findings").raise_for_status()
    with new_page(browser, app) as page:
        for tab in TABS:
            paints = [visited(page, f"/jobs/{job}/{tab.name}")[0] for _ in range(VISITS + 1)]
            yield Figure(f"lighthouse, {tab.name}: first paint", statistics.median(paints[1:]),
                         "ms", 150)


def pages(browser: Browser, app: RunningApp, http: httpx.Client, job: str) -> Iterator[Figure]:
    """First paint and bytes of a first visit, which has nothing cached, and paints of later ones.

    The job has forty modules. A page of it is visited later as it was left, and again, from the
    page Jobs, after each of some changes: then the server has nothing of it ready.
    """
    for name in ("jobs", *(tab.name for tab in TABS)):
        address = "/" if name == "jobs" else f"/jobs/{job}/{name}"
        with new_page(browser, app) as page:
            paint, size = visited(page, address)
            yield Figure(f"{name}: first paint, first visit", paint, "ms", inf)
            yield Figure(f"{name}: transferred without fonts", size / 1000, "kB", 150)
            again = [visited(page, address)[0] for _ in range(VISITS)]
            yield Figure(f"{name}: first paint", statistics.median(again), "ms", 150)
            if name == "jobs":
                continue
            changed = []
            for number in range(VISITS):
                visited(page, "/")  # an open page of the job would follow the change meanwhile
                move(http, job, number)
                changed.append(visited(page, address)[0])
        yield Figure(f"{name}: first paint, job changed", statistics.median(changed), "ms", 150)


def visited(page: Page, address: str) -> tuple[float, float]:
    """Go to a page: ms until the first paint, bytes without fonts."""
    page.goto(address, wait_until="load")
    while True:  # asked again from here: the page's policy lets it evaluate nothing by itself
        paint, size = page.evaluate(LOADED)
        if paint is not None:
            return paint, size
        page.wait_for_timeout(20)


def move(http: httpx.Client, job: str, number: int) -> None:
    """Move the first module by a millimetre, to and fro."""
    document = http.get(f"/api/projects/{job}").json()["document"]
    document["parts"][0]["placement"]["x"] += 1 if number % 2 else -1
    saved(http, job, document)


def drag(browser: Browser, app: RunningApp, job: str) -> Iterator[Figure]:
    """From a pointer move to the frame that shows its verdict, and to that which shows the move."""
    with new_page(browser, app) as page:
        page.add_init_script(DRAG_PROBE)
        page.goto(f"/jobs/{job}/layout")
        page.wait_for_selector("[data-desk][data-ready=true][data-linked=true]")
        box = page.locator("g.module").first.bounding_box()
        assert box is not None
        page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
        page.mouse.down()
        for step in range(MOVES):
            page.mouse.move(box["x"] + 60 + 2 * (step % 60), box["y"] + 40 + step % 30)
            page.wait_for_timeout(25)
        page.keyboard.press("Escape")
        page.mouse.up()
        shown = page.evaluate("window.probe")
    verdict, moved = (statistics.median(shown[name]) for name in ("verdict", "moved"))
    yield Figure(f"drag: move to painted verdict, {len(shown['verdict'])} moves, p50", verdict,
                 "ms", 28)
    yield Figure("drag: verdict after the painted move, p50", verdict - moved, "ms", FRAME_MS)


def changes(http: httpx.Client, job: str) -> Iterator[Figure]:
    """Saving, undoing and redoing on the board of forty modules."""
    document = http.get(f"/api/projects/{job}").json()["document"]
    spent: dict[str, list[float]] = {"save": [], "undo": [], "redo": []}
    for number in range(CHANGES):
        document["parts"][0]["placement"]["x"] += 1 + number % 2
        spent["save"].append(saved(http, job, document))
        for way in ("undo", "redo"):
            spent[way].append(stepped(http, job, way))
    for name, times in spent.items():
        yield Figure(f"{name}, 40 modules", statistics.median(times), "ms", 50)


def revision(http: httpx.Client, job: str) -> int:
    """The newest revision of a job."""
    return int(http.get(f"/api/projects/{job}").json()["revision"])


def saved(http: httpx.Client, job: str, document: dict[str, Any]) -> float:
    """Save a whole document; ms until it is acknowledged."""
    body, at = json.dumps(document), revision(http, job)
    head = {"If-Match": f'"{at}"', "Content-Type": "application/json"}
    begun = time.perf_counter()
    http.put(f"/api/projects/{job}", content=body, headers=head).raise_for_status()
    return 1000 * (time.perf_counter() - begun)


def stepped(http: httpx.Client, job: str, way: str) -> float:
    """Undo or redo; ms until it is acknowledged."""
    form = {"revision": str(revision(http, job)), "page": "layout"}
    begun = time.perf_counter()
    answer = http.post(f"/jobs/{job}/{way}", data=form)
    spent = 1000 * (time.perf_counter() - begun)
    assert answer.status_code == 303, answer.text
    return spent


def first_and_next_start(folder: Path) -> Iterator[Figure]:
    """From the command to the address, on new data and on data that is there."""
    for words in ("first start, with demos and shelf", "later start"):
        begun = time.perf_counter()
        app = start(folder / "starts")
        ready = time.perf_counter() - begun
        httpx.get(app.address, timeout=60).raise_for_status()
        answered = time.perf_counter() - begun
        app.stop()
        yield Figure(words, ready, "s", 2)
        yield Figure(f"{words}: Jobs page answered", answered, "s", 2)


def whole(browser: Browser, app: RunningApp, folder: Path) -> Iterator[Figure]:
    """The main job from nothing to the template."""
    with new_page(browser, app) as page:
        user = Counted(page)
        begun = time.perf_counter()
        whole_job(user, folder)
        yield Figure("whole job of ten modules, machine time", time.perf_counter() - begun, "s", 90)
        yield Figure("whole job of ten modules, deeds", len(user.deeds), "", 61)


def figures(folder: Path) -> Iterator[Figure]:
    """Everything, one after the other."""
    yield from first_and_next_start(folder)
    app = start(folder / "data")
    try:
        with httpx.Client(base_url=app.address, timeout=60) as http, sync_playwright() as driver:
            http.get("/").raise_for_status()
            sent = http.post("/api/projects", json=dump_document(forty_parts()))
            job = sent.raise_for_status().json()["id"]
            settle(app.process.pid)  # also where the search had to be compiled
            yield Figure("memory, idle", resident_mb(app.process.pid), "MB", 250)
            browser = driver.chromium.launch(
                executable_path=chromium.required(), args=list(chromium.FLAGS)
            )
            yield from demo_pages(browser, app, http)
            yield from pages(browser, app, http, job)
            yield from drag(browser, app, job)
            yield from changes(http, job)
            yield from whole(browser, app, folder)
            browser.close()
    finally:
        app.stop()


def main() -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as folder:
        for figure in figures(Path(folder)):
            print(figure.line, flush=True)
    if hasattr(os, "getloadavg"):
        print(f"load of the machine: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")


if __name__ == "__main__":
    main()

"""Pages in a real Chromium that fail the test on anything the browser complains about."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, Playwright, expect, sync_playwright

from tests import chromium
from tests.browser.watching import Watch
from tests.running import RunningApp

DESK = {"width": 1440, "height": 900}
HERE = Path(__file__).parent
PATIENCE_MS = 30_000  # on a busy machine; what is waited for usually comes within a second
# A virtual machine that stands still for a minute lets every wait run out at once. A test that
# fails by waiting, and by nothing else, is done once more; the summary names it.
ONCE_MORE = pytest.mark.flaky(reruns=1, only_rerun=r"(?i)timeout \d+ms")
expect.set_options(timeout=PATIENCE_MS)
OpenPage = Callable[..., Page]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """All browser tests go to one test process: two Chromiums share two cores badly.

    What they wait for in vain is waited for once more.
    """
    for item in items:
        if item.path.is_relative_to(HERE):
            item.add_marker(pytest.mark.browser)
            item.add_marker(pytest.mark.xdist_group("browser"))
            item.add_marker(ONCE_MORE)


@pytest.fixture(scope="session")
def playwright_driver() -> Iterator[Playwright]:
    with sync_playwright() as driver:
        yield driver


@pytest.fixture(scope="session")
def browser(playwright_driver: Playwright) -> Iterator[Browser]:
    """Chromium, once for each test process."""
    opened = playwright_driver.chromium.launch(
        executable_path=chromium.required(), args=list(chromium.FLAGS)
    )
    yield opened
    opened.close()


@pytest.fixture
def watch() -> Watch:
    """What the browser complained about; `watch.allow("status of 422")` for what is meant."""
    return Watch()


@pytest.fixture
def open_page(browser: Browser, server: RunningApp, watch: Watch) -> Iterator[OpenPage]:
    """Opens watched pages, each like a browser of its own: `open_page(viewport=..., **options)`.

    Options are those of Playwright's new_context: color_scheme, has_touch, reduced_motion ...
    """
    contexts = []

    def open_one(**options: Any) -> Page:
        options.setdefault("viewport", DESK)
        if options.get("java_script_enabled") is False:
            watch.allow(".js csp")  # a script that the page names in advance is not fetched then
        context = browser.new_context(base_url=server.address, **options)
        context.set_default_timeout(PATIENCE_MS)
        contexts.append(context)
        page = context.new_page()
        watch.follow(page)
        return page

    before = server.log.stat().st_size
    yield open_one
    for context in contexts:
        context.close()
    written = server.log.read_text(encoding="utf-8", errors="replace")[before:]
    if "Traceback" in written:
        watch.complaints.append(f"The app failed:\n{written[-3000:]}")
    watch.settle()


@pytest.fixture
def page(open_page: OpenPage) -> Page:
    """One watched page at 1440 x 900, not yet at any address."""
    return open_page()

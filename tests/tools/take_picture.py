"""Take the README's picture of the layout page anew: python -m tests.tools.take_picture"""

from __future__ import annotations

import tempfile
from pathlib import Path

import httpx
from playwright.sync_api import sync_playwright

from tests import chromium
from tests.running import ROOT, start

PICTURE = ROOT / "static" / "pictures" / "layout.png"
JOB = "Rolling lighthouse"


def main() -> None:
    """Start the app on new data and photograph the arranged demo job."""
    with tempfile.TemporaryDirectory() as folder:
        app = start(Path(folder) / "data")
        projects = httpx.get(f"{app.address}/api/projects", timeout=60).json()["projects"]
        project = next(item["id"] for item in projects if item["name"] == JOB)
        with sync_playwright() as driver:
            browser = driver.chromium.launch(
                executable_path=chromium.required(), args=list(chromium.FLAGS)
            )
            page = browser.new_page(viewport={"width": 1440, "height": 900})
            page.goto(f"{app.address}/jobs/{project}/layout")
            page.wait_for_load_state("networkidle")
            page.wait_for_selector("[data-runs-list]:not([aria-busy]) [data-wire]", timeout=60_000)
            page.wait_for_load_state("networkidle")
            page.screenshot(path=PICTURE)
            browser.close()
        app.stop()


if __name__ == "__main__":
    main()

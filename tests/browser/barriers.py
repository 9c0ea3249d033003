"""What no page may have, on any screen: barriers that a tool can find, and what sticks out."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

ON_SCREENS = pytest.mark.parametrize("options", [
    {}, {"viewport": {"width": 390, "height": 844}, "has_touch": True}, {"color_scheme": "dark"},
], ids=["desk", "phone", "dark"])


def assert_no_barriers(page: Page) -> None:
    """The rules of axe-core, as the page stands."""
    found = Axe().run(page).response["violations"]
    assert [(v["id"], [n["html"][:120] for n in v["nodes"][:3]]) for v in found] == []


def assert_nothing_sticks_out(page: Page) -> None:
    """The page is no wider than the window."""
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0

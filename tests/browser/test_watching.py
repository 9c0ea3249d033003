"""The watch over pages bites: each thing it listens for is a complaint."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser

from tests.browser.watching import Watch

ADDRESS = "http://watched.test/"
POLICY = {"Content-Security-Policy": "default-src 'none'", "Content-Type": "text/html"}


@pytest.mark.parametrize(
    ("body", "headers", "status", "words"),
    [
        ("<script>console.error('lamp')</script>", {}, 200, "console: lamp"),
        ("<script>throw new Error('fuse')</script>", {}, 200, "script: fuse"),
        ("<p style='color:red'>", POLICY, 200, "policy style-src-attr broken"),
        ("<script>1</script>", POLICY, 200, "policy script-src-elem broken"),
        ("<img src='http://nowhere.test/a.png'>", {}, 200, "request: GET http://nowhere.test"),
        ("broken", {}, 500, "answer 500"),
        ("", {}, 404, "status of 404"),
    ],
)
def test_a_page_that_is_not_clean_fails_its_test(
    browser: Browser, body: str, headers: dict[str, str], status: int, words: str
) -> None:
    told = watched(browser, body, headers, status)
    assert any(words in complaint for complaint in told.complaints), told.complaints
    with pytest.raises(AssertionError, match="The browser complained"):
        told.settle()


def test_a_clean_page_passes(browser: Browser) -> None:
    watched(browser, "<p>clean", {}, 200).settle()


def test_what_is_meant_is_allowed(browser: Browser) -> None:
    told = watched(browser, "<script>console.error('lamp')</script>", {}, 200)
    told.allow("console: lamp")
    told.settle()


def watched(browser: Browser, body: str, headers: dict[str, str], status: int) -> Watch:
    watch = Watch()
    page = browser.new_page()
    page.route("**/nowhere.test/**", lambda route: route.abort("connectionrefused"))
    page.route(
        f"{ADDRESS}**",
        lambda route: route.fulfill(
            body=f"<!doctype html><link rel=icon href='data:,'>{body}",
            status=status,
            headers={"Content-Type": "text/html", **headers},
        ),
    )
    watch.follow(page)
    page.goto(ADDRESS)
    page.wait_for_timeout(100)
    page.close()
    return watch

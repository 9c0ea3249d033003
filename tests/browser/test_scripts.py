"""The units of the browser scripts, tested in the browser that runs them.

Each tests/scripts/<script>.test.js imports "./check.js" and the script under "/static/...". The
files are answered from the tree, under the policy that the app sends; no server runs for them.
"""

from __future__ import annotations

import mimetypes
import re
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Route

from webapp.resources import folder

SCRIPTS = Path(__file__).resolve().parents[1] / "scripts"
ORIGIN = "http://scripts.test"
NAMES = re.compile(r"""^test\(\s*(["'`])(.+?)\1""", re.MULTILINE)
POLICY = "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'"
Results = Callable[[Path], dict[str, str]]
FILES = sorted(SCRIPTS.rglob("*.test.js"))
TESTS = [
    pytest.param(path, name, id=f"{path.relative_to(SCRIPTS).as_posix()}: {name}")
    for path in FILES
    for _quote, name in NAMES.findall(path.read_text(encoding="utf-8"))
]


def _answer(route: Route) -> None:
    path = route.request.url.removeprefix(ORIGIN).partition("?")[0]
    if path.startswith("/page/"):
        script = path.removeprefix("/page/")
        head = {"Content-Security-Policy": POLICY, "Content-Type": "text/html; charset=utf-8"}
        tag = f'<script type="module" src="/{script}"></script>'
        route.fulfill(body=f"<!doctype html><title>{script}</title><body>{tag}", headers=head)
        return
    is_static = path.startswith("/static/")
    file = folder("static") / path.removeprefix("/static/") if is_static else SCRIPTS / path[1:]
    if not file.is_file():
        route.fulfill(status=404, body=f"no file {file.name}")
        return
    kind = mimetypes.guess_type(file.name)[0] or "application/octet-stream"
    route.fulfill(body=file.read_bytes(), content_type=kind)


@pytest.fixture(scope="session")
def results(browser: Browser) -> Results:
    @cache
    def run(path: Path) -> dict[str, str]:
        page = browser.new_page()
        complaints: list[str] = []
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on("console", lambda m: complaints.append(m.text) if m.type == "error" else None)
        page.route(f"{ORIGIN}/**", _answer)
        page.goto(f"{ORIGIN}/page/{path.relative_to(SCRIPTS).as_posix()}")
        found = page.evaluate("async () => (await import('/check.js')).run()")
        page.close()
        assert not complaints, f"{path.name}: {complaints}"
        return dict(found)

    return run


@pytest.mark.parametrize(("path", "name"), TESTS)
def test_script(path: Path, name: str, results: Results) -> None:
    outcome = results(path)
    assert name in outcome, f"{name!r} did not run; these did: {sorted(outcome)}"
    assert outcome[name] == "", outcome[name]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_every_named_test_ran(path: Path, results: Results) -> None:
    named = [name for _quote, name in NAMES.findall(path.read_text(encoding="utf-8"))]
    assert sorted(named) == sorted(results(path))
    assert named

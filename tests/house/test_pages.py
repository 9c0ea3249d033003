"""One name for a page, its template, script, style sheet and test; templates without tricks."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.house.files import ROOT, name, text, tree, under
from webapp.views import TABS

TEMPLATES = under("templates", ".html", ".svg")
SCRIPTS = [path for path in under("static", ".js") if "vendor" not in path.parts]
SHEETS = under("static", ".css")
PAGES = ["jobs", *(tab.name for tab in TABS)]
TRICKS = {
    "unescaped text": r"\|\s*safe\b|autoescape\s+false|Markup",
    "handler in an attribute": r"<[^>]*\son\w+\s*=",
    "style in an attribute": r"<[^>]*\sstyle\s*=",
    "style element": r"<style\b",
    "script in the page": r"<script(?![^>]*\bsrc=)",
    "feature that needs eval": r"hx-on|hx-vals=.js:|\bhx-trigger=[^>]*\[",
    "path written out": r"""\b(?:href|src|action|hx-\w+|data-url)\s*=\s*["'](?:/|https?:)""",
}
STATIC = re.compile(r"""static\(\s*["']([^"']+)["']\s*\)""")
IMPORT = re.compile(r"""(?:\bfrom\s+|\bimport\s*\(?\s*)["']([^"']+)["']""")
SHEET_URL = re.compile(r"url\(\s*[\"']?([^)\"'#]+)[\"']?\s*\)")
SHEET_IMPORT = re.compile(r'^@import "([^"]+)";$', re.MULTILINE)


@pytest.mark.parametrize("path", TEMPLATES, ids=name)
@pytest.mark.parametrize("trick", TRICKS)
def test_template_uses_no(trick: str, path: Path) -> None:
    assert not [m.group() for m in re.finditer(TRICKS[trick], text(path), re.IGNORECASE)]


@pytest.mark.parametrize(("trick", "line"), [
    ("unescaped text", "{{ name | safe }}"),
    ("handler in an attribute", '<a onclick="x()">'),
    ("style in an attribute", '<p class="a" style="color:red">'),
    ("style element", "<style>"),
    ("script in the page", "<script>"),
    ("feature that needs eval", '<a hx-on:click="x">'),
    ("path written out", '<a href="/jobs">'),
])  # fmt: skip
def test_the_search_finds(trick: str, line: str) -> None:
    assert re.search(TRICKS[trick], line, re.IGNORECASE)


def test_every_static_file_that_a_template_names_is_there() -> None:
    named = [(name(path), file) for path in TEMPLATES for file in STATIC.findall(text(path))]
    assert named
    assert not [pair for pair in named if not (ROOT / "static" / pair[1]).is_file()]


@pytest.mark.parametrize("path", SCRIPTS, ids=name)
def test_every_import_of_a_script_is_there(path: Path) -> None:
    named = IMPORT.findall(text(path))
    assert not [file for file in named if not file.startswith(".")], "imports are relative"
    assert not [file for file in named if not (path.parent / file).resolve().is_file()]


@pytest.mark.parametrize("path", SHEETS, ids=name)
def test_every_file_of_a_style_sheet_is_there(path: Path) -> None:
    named = SHEET_URL.findall(text(path)) + SHEET_IMPORT.findall(text(path))
    assert not [file for file in named if not (path.parent / file).resolve().is_file()]


def test_every_page_script_and_sheet_is_used() -> None:
    named = {file for path in TEMPLATES for file in STATIC.findall(text(path))}
    for path in SCRIPTS:
        base = path.parent
        found = {(base / file).resolve() for file in IMPORT.findall(text(path))}
        named |= {p.relative_to(ROOT / "static").as_posix() for p in found}
    for path in SHEETS:
        found = {(path.parent / file).resolve() for file in SHEET_IMPORT.findall(text(path))}
        named |= {p.relative_to(ROOT / "static").as_posix() for p in found}
    named |= {f"pages/{path.stem}.css" for path in TEMPLATES if path.parent.name == "pages"}
    ours = [path for path in [*SCRIPTS, *SHEETS] if path.parent.name in {"pages", "parts", "lib"}]
    unused = {path.relative_to(ROOT / "static").as_posix() for path in ours} - named
    assert not unused


def test_every_template_is_used() -> None:
    everything = "\n".join(text(p) for p in [*under("webapp", ".py"), *TEMPLATES])
    names = [path.relative_to(ROOT / "templates").as_posix() for path in TEMPLATES]
    assert not [file for file in names if file not in everything]


@pytest.mark.parametrize("page", PAGES)
def test_page_has_its_module_template_sheet_and_tests(page: str) -> None:
    assert (ROOT / "webapp" / "pages" / f"{page}.py").is_file()
    assert (ROOT / "templates" / "pages" / f"{page}.html").is_file()
    assert (ROOT / "static" / "pages" / f"{page}.css").is_file()
    tests = {p.name for p in tree() if p.is_relative_to(ROOT / "tests") and p.suffix == ".py"}
    assert any(re.fullmatch(rf"test_{page}(_\w+)?\.py", test) for test in tests)


def test_sheets_lie_one_folder_deep_so_that_what_they_import_keeps_its_addresses() -> None:
    assert {len(path.relative_to(ROOT / "static").parts) for path in SHEETS} == {2}


@pytest.mark.parametrize("path", [p for p in SCRIPTS if p.parent.name == "lib"], ids=name)
def test_free_functions_of_scripts_have_units(path: Path) -> None:
    assert (ROOT / "tests" / "scripts" / f"{path.stem}.test.js").is_file()


@pytest.mark.parametrize("path", [p for p in SHEETS if p.name != "tokens.css"], ids=name)
def test_colours_stand_in_one_place(path: Path) -> None:
    plain = re.sub(r"/\*.*?\*/", "", text(path), flags=re.DOTALL)
    assert not re.findall(r"#[0-9a-f]{3,8}\b(?=\s*[;,)}!]|\s)|\brgba?\(|\bhsla?\(", plain, re.I)

"""Sizes and docstrings that no tool looks at."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.house.files import PACKAGES, name, text, under

FUNCTION_LINES = 60
FILE_LINES = 500
CODE = [path for package in PACKAGES for path in under(package, ".py")]
SCRIPTS = [path for path in under("static", ".js") if "vendor" not in path.parts]
HTML_MADE_BY_HAND = ("Markup(", "format_html", "markupsafe")


def functions(path: Path) -> Iterator[tuple[str, int]]:
    """Name and length of each function, its docstring left out."""
    for node in ast.walk(ast.parse(text(path))):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            body = node.body[1:] if ast.get_docstring(node) and len(node.body) > 1 else node.body
            end = node.end_lineno or node.lineno
            yield node.name, end - body[0].lineno + 1


@pytest.mark.parametrize("path", CODE, ids=name)
def test_functions_can_be_read_at_once(path: Path) -> None:
    long = [f"{title}: {lines}" for title, lines in functions(path) if lines > FUNCTION_LINES]
    assert not long


@pytest.mark.parametrize("path", [*CODE, *SCRIPTS, *under("tests", ".py")], ids=name)
def test_files_are_about_one_thing(path: Path) -> None:
    assert len(text(path).splitlines()) <= FILE_LINES


@pytest.mark.parametrize("path", CODE, ids=name)
def test_every_module_says_what_it_is_for(path: Path) -> None:
    words = ast.get_docstring(ast.parse(text(path)))
    assert words, "a docstring at its top"
    assert len(words.split()) >= 3, words


@pytest.mark.parametrize("path", under("webapp", ".py"), ids=name)
def test_no_html_is_joined_in_code(path: Path) -> None:
    assert not [word for word in HTML_MADE_BY_HAND if word in text(path)]


@pytest.mark.parametrize("path", SCRIPTS, ids=name)
def test_scripts_make_no_html_and_run_no_text(path: Path) -> None:
    risky = ("eval(", "new Function", "document.write", "javascript:", "localStorage")
    assert not [word for word in risky if word in text(path)]

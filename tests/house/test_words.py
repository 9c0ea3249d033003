"""Words that must not stand in the tree: leftovers, places of one machine, other people's hosts."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.house.files import ROOT, name, text, tree

# Each is written in pieces, so that this file does not hold it.
LEFTOVERS = [r"\bTO" + r"DO\b", r"\bFIX" + r"ME\b", r"\bXX" + r"X\b", r"\bHA" + r"CK\b"]
PLACES = [
    r"/wo" + r"rk/", r"/op" + r"t/", r"/ho" + r"me/(?!somebody)\w", r"/Us" + r"ers/\w",
    r"C:\\Us" + r"ers",
]  # fmt: skip
HOSTS = [
    r"py" + r"pi\.org", r"python" + r"hosted", r"registry\.np" + r"mjs", r"deb\.deb" + r"ian",
    r"jsde" + r"livr", r"unp" + r"kg\.com", r"googleap" + r"is",
]  # fmt: skip
WORKERS = [
    r"\bcl" + r"aude\b", r"\bgp" + r"t\b", r"\bai age" + r"nt", r"\bLL" + r"M\b",
    r"transc" + r"ript",
]  # fmt: skip
FORBIDDEN = re.compile("|".join([*LEFTOVERS, *PLACES, *HOSTS, *WORKERS]))
ANY_CASE = re.compile("|".join(WORKERS), re.IGNORECASE)
TEXT = {
    ".py", ".md", ".html", ".css", ".js", ".json", ".csv", ".toml", ".svg", ".mako", ".txt",
    ".lock", "", ".ini",
}  # fmt: skip
OTHERS = {"static/fonts/DejaVu-LICENSE.txt", "static/fonts/Barlow-OFL.txt"}
FILES = [
    path
    for path in tree()
    if path.suffix in TEXT and name(path) not in OTHERS and "vendor" not in path.parts
]


def test_there_are_files_to_look_at() -> None:
    assert len(FILES) > 100


@pytest.mark.parametrize("path", FILES, ids=name)
def test_no_word_that_must_not_stand_here(path: Path) -> None:
    found = [
        f"line {number}: {line.strip()[:100]}"
        for number, line in enumerate(text(path).splitlines(), 1)
        if FORBIDDEN.search(line) or ANY_CASE.search(line)
    ]
    assert not found


def test_the_top_level_holds_only_what_was_agreed() -> None:
    allowed = {
        "README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "requirements.lock",
        ".gitignore", "webapp", "layout_engine", "static", "templates", "tests", "seed_data", ".ci",
    }  # fmt: skip
    assert {path.relative_to(ROOT).parts[0] for path in tree()} <= allowed

"""The files of the tree that house rules look at."""

from __future__ import annotations

import subprocess
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("layout_engine", "webapp")
_MADE = {
    ".git", ".venv", "venv", "build", "dist", "__pycache__", "test-artifacts", ".hypothesis",
    ".pytest_cache", ".mypy_cache", ".ruff_cache", ".import_linter_cache", "node_modules",
}  # fmt: skip


@cache
def tree() -> tuple[Path, ...]:
    """Every file that belongs to the project: those git knows, else all but what is made."""
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT, capture_output=True, check=False,
    )  # fmt: skip
    if listed.returncode == 0 and listed.stdout:
        names = listed.stdout.decode().split("\0")
        found = [ROOT / name for name in names if name]
    else:
        found = [p for p in ROOT.rglob("*") if not _MADE.intersection(p.relative_to(ROOT).parts)]
    return tuple(sorted(path for path in found if path.is_file()))


def under(folder: str, *suffixes: str) -> list[Path]:
    """The files under a folder, of these endings."""
    return [
        path
        for path in tree()
        if path.is_relative_to(ROOT / folder) and (not suffixes or path.suffix in suffixes)
    ]


def name(path: Path) -> str:
    """The path as the tree has it."""
    return path.relative_to(ROOT).as_posix()


def text(path: Path) -> str:
    """The content."""
    return path.read_text(encoding="utf-8")

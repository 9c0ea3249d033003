"""Where Chromium is on this machine, and how tests start it."""

from __future__ import annotations

import os
import shutil
import sys
from pathlib import Path

VARIABLE = "PLATEWRIGHT_CHROMIUM"
_COMMANDS = (
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
    "msedge",
)
_MAC = (
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
)
_WINDOWS = (
    r"Chromium\Application\chrome.exe",
    r"Google\Chrome\Application\chrome.exe",
    r"Microsoft\Edge\Application\msedge.exe",
)
# A browser under test must be quiet: no first-run pages, no updates, no traffic of its own.
FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--disable-dev-shm-usage", "--font-render-hinting=none",
)  # fmt: skip
MISSING = (
    "No Chromium was found. Install it (Debian, Ubuntu: `sudo apt-get install chromium`; others: "
    f"any Chromium or Chrome), or set {VARIABLE} to the path of its program."
)


class ChromiumMissing(RuntimeError):
    """No Chromium on this machine; the message says what to do."""


def find() -> Path | None:
    """The program, or None. What the environment variable names must exist.

    Raises:
        ChromiumMissing: the variable names no file.
    """
    named = os.environ.get(VARIABLE)
    if named:
        if not Path(named).is_file():
            raise ChromiumMissing(f"{VARIABLE} is {named!r}, but no file is there.")
        return Path(named)
    found = next((Path(path) for name in _COMMANDS if (path := shutil.which(name))), None)
    return found or next((place for place in _usual_places() if place.is_file()), None)


def _usual_places() -> list[Path]:
    if sys.platform == "darwin":
        return [Path(place) for place in _MAC]
    if sys.platform == "win32":
        roots = (os.environ.get(n) for n in ("PROGRAMFILES", "PROGRAMFILES(X86)", "LOCALAPPDATA"))
        return [Path(root) / tail for root in roots if root for tail in _WINDOWS]
    return [Path("/snap/bin/chromium")]


def required() -> Path:
    """The program.

    Raises:
        ChromiumMissing: there is none.
    """
    program = find()
    if program is None:
        raise ChromiumMissing(MISSING)
    return program

"""The README's own lines, run as a new user runs them."""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import time
from pathlib import Path

import httpx
import pytest

from tests.house.files import ROOT, name, text, tree

README = text(ROOT / "README.md")
BLOCK = r"<!-- {} -->\n```\n(.+)\n```"
ADDRESS = re.compile(r"http://127\.0\.0\.1:\d+")
INSTALL_SECONDS = 900


def line(title: str) -> str:
    found = re.findall(BLOCK.format(title), README)
    assert len(found) == 1, f"one single line after <!-- {title} -->"
    return str(found[0])


def test_the_first_paragraph_states_the_job() -> None:
    paragraph = README.split("\n\n")[1]
    assert "drilling template" in paragraph
    assert len(paragraph.split()) < 100


def test_every_link_leads_to_a_file() -> None:
    links = re.findall(r"\]\(([^)#:]+)\)", README)
    assert links
    assert not [link for link in links if not (ROOT / link).is_file()]


def test_the_test_line_is_what_ci_takes() -> None:
    taken = subprocess.run(
        ["awk", "/^<!-- tests -->$/ { seen = 1 } seen && /^python3 / { print; exit }", "README.md"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert taken.stdout.strip() == line("tests")
    assert "<!-- tests -->" in text(ROOT / ".ci" / "run")


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="the line for Windows is another one")
def test_the_start_line_brings_the_app_up(tmp_path: Path) -> None:
    """In a copy of the tree: the packages are installed anew, so the built wheel is tried too."""
    copy = tmp_path / "platewright"
    for path in tree():
        target = copy / name(path)
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(path, target)
    command = f"{line('start')} --port 0 --no-browser --data '{tmp_path / 'data'}'"
    log = tmp_path / "log"
    with log.open("w") as written:
        process = subprocess.Popen(
            ["sh", "-c", command], cwd=copy, stdin=subprocess.DEVNULL, stdout=written,
            stderr=subprocess.STDOUT, start_new_session=True,
        )  # fmt: skip
    try:
        address = wait_for_address(process, log)
        with httpx.Client(base_url=address, timeout=60) as person:
            assert person.get("/").status_code == 200
            demos = person.get("/api/projects").json()["projects"]
            assert len(demos) >= 3, "demo jobs are there"
            assert person.get("/static/css/base.css").status_code == 200
        os.killpg(process.pid, signal.SIGINT)
        process.wait(30)
    finally:
        if process.poll() is None:
            os.killpg(process.pid, signal.SIGKILL)
            process.wait()
    assert "Traceback" not in log.read_text()


def wait_for_address(process: subprocess.Popen[bytes], log: Path) -> str:
    end = time.monotonic() + INSTALL_SECONDS
    while time.monotonic() < end:
        found = ADDRESS.search(log.read_text())
        if found:
            return found.group()
        assert process.poll() is None, log.read_text()[-4000:]
        time.sleep(0.2)
    raise AssertionError(f"no address in {INSTALL_SECONDS} s\n{log.read_text()[-4000:]}")

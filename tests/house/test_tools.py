"""What tools hold: style, types, borders between packages."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from tests.house.files import ROOT

SCRIPTS = Path(sys.executable).parent
CHECKS = {
    "ruff": [sys.executable, "-m", "ruff", "check", "--no-fix", "."],
    "mypy": [sys.executable, "-m", "mypy"],
    "import contracts": [str(SCRIPTS / "lint-imports")],
    "packages agree": [sys.executable, "-m", "pip", "check"],
}


@pytest.mark.parametrize("command", CHECKS.values(), ids=CHECKS)
def test_tool_has_nothing_to_say(command: list[str]) -> None:
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, f"{done.stdout}\n{done.stderr}"

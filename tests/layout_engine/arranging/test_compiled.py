"""Compiled code is kept: the first process compiles, the next one loads, and both can tell."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from tests.running import ROOT

SCRIPT = """
from layout_engine.arranging.compiled import compiled, has_compiled

@compiled
def twice(number):
    return number + number

print(has_compiled(), twice(21), has_compiled())
"""


def test_only_the_first_process_compiles(tmp_path: Path) -> None:
    script = tmp_path / "script.py"
    script.write_text(SCRIPT, "utf-8")
    settings = os.environ | {"NUMBA_CACHE_DIR": str(tmp_path / "kept"), "PYTHONPATH": str(ROOT)}

    def told() -> str:
        return subprocess.run([sys.executable, str(script)], env=settings, check=True, text=True,
                              capture_output=True, cwd=tmp_path).stdout.strip()

    assert told() == "False 42 True"
    assert told() == "False 42 False"

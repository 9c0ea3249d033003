"""Set up what the tests need and run them: `python -m tests [arguments of pytest]`.

Chromium is looked for, and installed by the system's own means where that is allowed. Without it
nothing is run: a test that is silently left out would say that all is well.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys

from tests import chromium

WORKERS = ["-n", "2", "--dist", "loadgroup"]


def _as_root() -> list[str] | None:
    """What to put before a command so that it runs as root; None: not possible here."""
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        return []
    sudo = shutil.which("sudo")
    if (
        sudo
        and subprocess.run([sudo, "-n", "true"], capture_output=True, check=False).returncode == 0
    ):
        return [sudo, "-n"]
    return None


def _install() -> None:
    """Install Chromium by the system's packages, where that is possible without asking."""
    root = _as_root()
    if not shutil.which("apt-get") or root is None:
        return
    print("Chromium is not there; installing it with apt-get.", flush=True)
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    for command in (
        ["update", "-q"],
        ["install", "-q", "-y", "--no-install-recommends", "chromium"],
    ):
        subprocess.run(
            [*root, "env", "DEBIAN_FRONTEND=noninteractive", "apt-get", *command],
            env=quiet, stdin=subprocess.DEVNULL, check=False,
        )  # fmt: skip


def _browser() -> None:
    if chromium.find() is None:
        _install()
    chromium.required()


def main(arguments: list[str]) -> int:
    """Run the tests; the exit code is pytest's, or 2 when something needed is missing."""
    try:
        _browser()
    except chromium.ChromiumMissing as missing:
        print(missing, file=sys.stderr)
        return 2
    own = [] if any(a.startswith(("-n", "--numprocesses", "-p")) for a in arguments) else WORKERS
    return subprocess.run(
        [sys.executable, "-m", "pytest", *own, *arguments], check=False
    ).returncode


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

"""The real app in a process of its own, as a person starts it."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
_ADDRESS = re.compile(r"http://127\.0\.0\.1:\d+")
_START_SECONDS = 60.0
_STOP_SECONDS = 15.0


@dataclass
class RunningApp:
    """A started app: where it answers, where it keeps its data, what it wrote."""

    address: str
    data: Path
    log: Path
    process: subprocess.Popen[str]

    def stop(self) -> int:
        """Ask the app to end as the terminal does (SIGINT; SIGTERM where there is none)."""
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGINT if os.name != "nt" else signal.SIGTERM)
        try:
            code = self.process.wait(_STOP_SECONDS)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
            words = f"The app did not stop in {_STOP_SECONDS} s.\n{self.tail()}"
            raise AssertionError(words) from None
        return code

    def kill(self) -> None:
        """End the app at once, as a machine that loses power does to a process."""
        self.process.kill()
        self.process.wait()

    def tail(self, characters: int = 4000) -> str:
        """The end of what the app wrote."""
        return self.log.read_text(encoding="utf-8", errors="replace")[-characters:]


def start(data: Path, *options: str) -> RunningApp:
    """Start the app on a free port with its data in `data`, and wait for its address.

    Raises:
        AssertionError: it ended or named no address in time; with what it wrote.
    """
    data.mkdir(parents=True, exist_ok=True)
    log = data.with_name(f"{data.name}.log")
    command = [sys.executable, "-m", "webapp", "--port", "0", "--no-browser", "--data", str(data)]
    with log.open("a", encoding="utf-8") as errors:
        process = subprocess.Popen(
            [*command, *options], cwd=ROOT, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
            stderr=errors, text=True, encoding="utf-8",
        )  # fmt: skip
    found: list[str] = []
    ready = threading.Event()
    threading.Thread(target=_read, args=(process, log, found, ready), daemon=True).start()
    ready.wait(_START_SECONDS)
    app = RunningApp(found[0] if found else "", data, log, process)
    if not found:
        app.kill()
        raise AssertionError(f"The app named no address.\n{app.tail()}")
    return app


def _read(
    process: subprocess.Popen[str], log: Path, found: list[str], ready: threading.Event
) -> None:
    """Keep reading, so that the app never waits for a full pipe."""
    assert process.stdout is not None
    with process.stdout as lines, log.open("a", encoding="utf-8") as kept:
        for line in lines:
            kept.write(line)
            kept.flush()
            if not found and (match := _ADDRESS.search(line)):
                found.append(match.group())
                ready.set()
    ready.set()


def wait_until(holds: Callable[[], object], seconds: float = 10.0) -> None:
    """Wait until a function answers true.

    Raises:
        AssertionError: it did not in time.
    """
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if holds():
            return
        time.sleep(0.02)
    raise AssertionError(f"{holds} did not come true in {seconds} s.")

"""Memory of a process and of those it started."""

from __future__ import annotations

import time
from math import nan
from pathlib import Path

PROC = Path("/proc")
IDLE_TICKS = 10  # what a process that waits may take: a tick is usually 10 ms


def resident_mb(pid: int) -> float:
    """Resident memory with all descendants, MB; pages shared between them count once.

    Linux only, by proportional set sizes (proc(5)); elsewhere not a number.
    """
    if not (PROC / str(pid) / "smaps_rollup").exists():
        return nan
    return sum(_share_kb(one) for one in (pid, *_descendants(pid))) / 1024


def settle(pid: int, still_s: float = 4.0, most_s: float = 180.0) -> None:
    """Wait until a process and those it started have worked no more for a while (Linux only)."""
    end, worked, since = time.monotonic() + most_s, -1, 0.0
    while time.monotonic() < end:
        now = sum(_ticks(one) for one in (pid, *_descendants(pid)))
        if abs(now - worked) > IDLE_TICKS:
            worked, since = now, time.monotonic()
        elif time.monotonic() - since > still_s:
            return
        time.sleep(0.25)


def _ticks(pid: int) -> int:
    """Processor time of a process, in ticks; 0 once it has ended."""
    try:
        behind_name = (PROC / str(pid) / "stat").read_text().rpartition(")")[2].split()
    except FileNotFoundError:
        return 0
    return int(behind_name[11]) + int(behind_name[12])  # utime, stime: proc(5)


def _descendants(pid: int) -> list[int]:
    found = []
    for listing in (PROC / str(pid) / "task").glob("*/children"):
        for child in map(int, listing.read_text().split()):
            found += [child, *_descendants(child)]
    return found


def _share_kb(pid: int) -> int:
    for line in (PROC / str(pid) / "smaps_rollup").read_text().splitlines():
        if line.startswith("Pss:"):
            return int(line.split()[1])
    return 0

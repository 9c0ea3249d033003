"""Memory of a process and of those it started."""

from __future__ import annotations

from math import nan
from pathlib import Path

PROC = Path("/proc")


def resident_mb(pid: int) -> float:
    """Resident memory with all descendants, MB; pages shared between them count once.

    Linux only, by proportional set sizes (proc(5)); elsewhere not a number.
    """
    if not (PROC / str(pid) / "smaps_rollup").exists():
        return nan
    return sum(_share_kb(one) for one in (pid, *_descendants(pid))) / 1024


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

"""References: the best of ten seeds at 60 s for each job of the family, kept in a file.

Each stands with the date, the revision of the search and the bytes of the job it is of, so that a
reference of another job is never compared with.
"""

from __future__ import annotations

import json
import subprocess
from datetime import UTC, datetime
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any

from layout_engine import Job, document_bytes
from tests.benchmarks.arranging.measuring import run

FILE = Path(__file__).parents[1] / "reference.json"
SEEDS, SECONDS = 10, 60.0


def digest(job: Job) -> str:
    """A short name for exactly this job."""
    return sha256(document_bytes(job)).hexdigest()[:16]


def stored() -> dict[str, Any]:
    """All references, by name of the job."""
    found: dict[str, Any] = json.loads(FILE.read_text("utf-8")) if FILE.exists() else {}
    return found


def reference_of(name: str, job: Job) -> dict[str, Any] | None:
    """The reference of a job; None: none yet, or of a job that was made otherwise."""
    found: dict[str, Any] | None = stored().get(name)
    return found if found and found["job"] == digest(job) else None


@cache
def revision() -> str:
    """The revision of the source when it was first asked; "" where there is none."""
    told = subprocess.run(["git", "rev-parse", "--short", "HEAD"], capture_output=True, text=True,
                          check=False, cwd=FILE.parent)
    return told.stdout.strip()


def computed(name: str, job: Job, seeds: int, seconds: float) -> dict[str, Any]:
    """Compute and keep a reference; a better one of the same job that is there stays."""
    revision()  # of the source that runs, not of a later one
    ends = [run(job, seconds, seed) for seed in range(1, seeds + 1)]
    costs = [end.cost for end in ends if end.allowed]
    known = reference_of(name, job)
    if not costs or (known and known["cost"] <= min(costs)):
        return known or {}
    new = {"cost": round(min(costs), 3), "seeds": seeds, "seconds": seconds, "job": digest(job),
           "date": datetime.now(UTC).date().isoformat(), "revision": revision()}
    FILE.write_text(json.dumps(stored() | {name: new}, indent=1, sort_keys=True) + "\n", "utf-8")
    return new

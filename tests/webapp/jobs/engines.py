"""Stand-ins for the optimiser, each with one habit; they run in the worker process."""
# ruff: noqa: ARG001 - they take what the optimiser takes

from __future__ import annotations

import os
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from layout_engine import Job
from layout_engine.edits import rename_job
from webapp.jobs.worker import Engine

KEPT = "PLATEWRIGHT_TEST_KEPT"  # names the file that stands for compiled code


@dataclass(frozen=True)
class Progress:
    fraction: float
    cost: float
    wire_cost: float
    wish_cost: float
    job: Job | None


@dataclass(frozen=True)
class Arrangement:
    job: Job
    cost: float = 10.0
    wire_cost: float = 7.0
    wish_cost: float = 3.0
    bound: float | None = 5.0
    capped: bool = False
    reason: str = ""
    details: None = None


OnProgress = Callable[[Any], bool]


def _steps(job: Job, seconds: float, on_progress: OnProgress) -> Arrangement:
    """Twenty steps that each name the job after the step."""
    best = job
    for step in range(1, 21):
        time.sleep(seconds / 20)
        best = rename_job(job, f"{job.name} step {step}").job
        if not on_progress(Progress(step / 20, 100.0 - step, 90.0 - step, 10.0, best)):
            break
    return Arrangement(best)


def polite() -> Engine:
    def arrange(job: Job, *, seconds: float, seed: int, on_progress: OnProgress) -> Arrangement:
        return _steps(job, seconds, on_progress)

    return Engine(arrange)


def deaf() -> Engine:
    """Tells one best so far, then works on without ever looking up."""
    def arrange(job: Job, *, seconds: float, seed: int, on_progress: OnProgress) -> Arrangement:
        best = rename_job(job, "best so far").job
        on_progress(Progress(0.5, 50.0, 40.0, 10.0, best))
        time.sleep(60)
        return Arrangement(job)

    return Engine(arrange)


def dying() -> Engine:
    """Dies over a job named "kill"; serves all others."""
    def arrange(job: Job, *, seconds: float, seed: int, on_progress: OnProgress) -> Arrangement:
        if job.name == "kill":
            os.kill(os.getpid(), 9)
        if job.name == "raise":
            raise ZeroDivisionError("in the dark")
        return _steps(job, seconds, on_progress)

    return Engine(arrange)


def compiling() -> Engine:
    """As the search on new data: the first process compiles, those after it load."""
    kept = Path(os.environ[KEPT])
    was_there = kept.exists()
    kept.write_text("code", "utf-8")
    return Engine(polite().arrange, compiled=not was_there)


def never_kept() -> Engine:
    """As the search where its code cannot be kept, though it was said that it is."""
    with Path(os.environ[KEPT]).open("a", encoding="utf-8") as starts:
        starts.write("start\n")
    return Engine(polite().arrange, compiled=True)


def slow_to_start() -> Engine:
    """As the search where it is compiled first: not ready until the code is there."""
    while not Path(os.environ[KEPT]).exists():
        time.sleep(0.01)
    return polite()

"""Arrange jobs as the web process sees them: a short queue, one warm worker, answers on offer.

A pool of a library was not taken because its workers have no channel of their own for progress
and for "stop, but keep the best": one pipe a worker gives both, and a kill cannot tear what
another worker shares.
"""

from __future__ import annotations

import math
import multiprocessing
import os
import secrets
import threading
import time
from collections import OrderedDict, deque
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from multiprocessing.connection import Connection
from multiprocessing.context import SpawnContext
from multiprocessing.process import BaseProcess
from typing import Any, Literal

from starlette.requests import Request

from layout_engine import Job, document_bytes, load_document
from webapp.jobs import partner, worker
from webapp.jobs.worker import COMPILED, READY, STOP, Ask, Failure, Order, Progress, Result

State = Literal["waiting", "running", "done", "failed", "stopped"]
ACTIVE: frozenset[State] = frozenset({"waiting", "running"})
REMEMBERED = 100  # ended jobs that can still be asked for
WARM_AFTER_S = 2.0  # the first page should not have to share the machine with the worker's start
STOP_WITHIN_S = 0.15
OVERTIME = 1.1  # a job that takes longer than this times its seconds ...
OVERTIME_S = 10.0  # ... and this is ended
WARMING_S = 300.0  # a first start may have to compile the search
CORES_FOR_TWO = 2
LOOK_S = 0.25  # between looks whether a worker that has nothing to do is warm


class QueueFull(Exception):
    """So many jobs wait that no more are taken; try again later."""


class AlreadyArranging(Exception):
    """The project has a job already; `job` is its id."""

    def __init__(self, job: str) -> None:
        super().__init__(job)
        self.job = job


@dataclass(frozen=True, slots=True)
class ArrangeJob:
    """One job as of now.

    Attributes:
        progress: 0 to 1. cost, wire_cost, wish_cost, document: of the best so far, or None.
        bound: no arrangement costs less. capped: the clock cut it.
        words: why it failed, or why parts were left in the tray.
        ask: what was asked for; character: what an offer is to be best in.
        details: plain values, as `webapp.jobs.telling` has them.
        project, revision: what it was started from, or None.
        is_prepared: whether the search that works on it is loaded, and compiled before that.
        is_answered: whether its offer was taken or left.
    """

    id: str
    state: State
    progress: float = 0.0
    cost: float | None = None
    wire_cost: float | None = None
    wish_cost: float | None = None
    bound: float | None = None
    capped: bool = False
    document: bytes | None = None
    words: str = ""
    ask: Ask = "arrange"
    character: str = "shortest"
    details: dict[str, Any] | None = None
    project: str | None = None
    revision: int | None = None
    is_prepared: bool = True
    is_answered: bool = False

    @property
    def is_active(self) -> bool:
        """Whether it waits or runs."""
        return self.state in ACTIVE

    def offer(self) -> Job | None:
        """The best arrangement so far as a job."""
        return None if self.document is None else load_document(self.document)


class ArrangeJobs:
    """Starts, shows and stops arrange jobs; safe to use from several threads."""

    def __init__(self, *, queue: int = 10,
                 engine: Callable[[], worker.Engine] = worker.engine) -> None:
        self._queue_length = queue
        self._engine = engine
        self._jobs: OrderedDict[str, ArrangeJob] = OrderedDict()
        self._orders: deque[tuple[str, Order]] = deque()
        self._changed = threading.Condition()
        self._stopping: dict[str, float] = {}
        self._closing = False
        self._thread = threading.Thread(target=self._run, name="arrange", daemon=True)
        self._worker: _Worker | None = None
        self._has_replaced = False  # once: code that cannot be kept is compiled by every worker

    def start(self) -> None:
        """Start the worker in the background; it is warm a moment later."""
        self._thread.start()

    def close(self) -> None:
        """End the worker and whatever it works on."""
        with self._changed:
            self._closing = True
            self._changed.notify_all()
        if self._worker is not None:
            self._worker.kill()
        if self._thread.is_alive():
            self._thread.join(1.0)

    def submit(self, job: Job, *, seconds: float, seed: int = 0, ask: Ask = "arrange",
               wishes: Mapping[str, Any] | None = None, project: str | None = None,
               revision: int | None = None) -> ArrangeJob:
        """Put an arrange job into the queue; `ask` and `wishes` as `Order` has them.

        Raises:
            QueueFull: as many wait as may.
            AlreadyArranging: the project has one already.
        """
        order = Order(document_bytes(job), seconds, seed, ask, dict(wishes or {}))
        with self._changed:
            for other in self._jobs.values():
                if project is not None and other.project == project and other.is_active:
                    raise AlreadyArranging(other.id)
            if len(self._orders) >= self._queue_length:
                raise QueueFull
            made = ArrangeJob(
                secrets.token_hex(8), "waiting", ask=ask, project=project,
                character=order.wishes.get("character", "shortest"), revision=revision,
            )
            self._jobs[made.id] = made
            self._forget_old()
            self._orders.append((made.id, order))
            self._changed.notify_all()
        return made

    def _forget_old(self) -> None:
        ended = [job.id for job in self._jobs.values() if not job.is_active]
        for job_id in ended[:max(0, len(ended) - REMEMBERED)]:
            del self._jobs[job_id]

    def get(self, job_id: str) -> ArrangeJob | None:
        """The job as of now; None when it is not known (any more)."""
        with self._changed:
            return self._jobs.get(job_id)

    def of_project(self, project: str) -> ArrangeJob | None:
        """The newest job of a project that was asked for since the start of the server."""
        with self._changed:
            mine = (job for job in reversed(self._jobs.values()) if job.project == project)
            return next(mine, None)

    def stop(self, job_id: str) -> ArrangeJob | None:
        """Stop a job, keeping the best so far; waits until it has stopped (at most 0.5 s)."""
        with self._changed:
            job = self._jobs.get(job_id)
            if job is None or not job.is_active:
                return job
            if job.state == "waiting":
                self._orders = deque(o for o in self._orders if o[0] != job_id)
                self._set(job_id, state="stopped")
                return self._jobs[job_id]
            self._stopping.setdefault(job_id, time.monotonic())
            self._changed.notify_all()
            self._changed.wait_for(lambda: not self._jobs[job_id].is_active, 0.5)
            return self._jobs[job_id]

    def answer(self, job_id: str) -> None:
        """Note that the offer of a job was taken or left."""
        with self._changed:
            if job_id in self._jobs:
                self._set(job_id, is_answered=True)

    def _set(self, job_id: str, **values: object) -> None:
        with self._changed:
            self._jobs[job_id] = replace(self._jobs[job_id], **values)  # type: ignore[arg-type]
            self._changed.notify_all()

    def _run(self) -> None:
        with self._changed:
            self._changed.wait_for(lambda: self._closing or bool(self._orders), WARM_AFTER_S)
            if self._closing:
                return
        self._worker = _Worker(self._engine)
        while True:
            self._settle(self._worker)
            with self._changed:
                self._changed.wait_for(lambda: self._closing or bool(self._orders))
                if self._closing:
                    break
                job_id, order = self._orders.popleft()
                self._set(job_id, state="running")
            self._work(job_id, order)
        self._worker.kill()

    def _settle(self, idle: _Worker) -> None:
        """Wait until a worker that has nothing to do is warm, or until there is an order.

        One that had to compile the search is replaced by one that loads it: the compiler's memory
        goes with the first. Nobody waits for that longer than for any worker's start.
        """
        while not idle.is_warm and idle.is_alive:
            with self._changed:
                if self._changed.wait_for(lambda: self._closing or bool(self._orders), LOOK_S):
                    return
            idle.listen()
        if idle.has_compiled and not self._has_replaced:
            self._has_replaced = True
            idle.kill()
            self._worker = _Worker(self._engine)
            self._settle(self._worker)

    def _work(self, job_id: str, order: Order) -> None:
        active = self._worker = self._ready_worker()
        self._set(job_id, is_prepared=active.is_warm)
        try:
            end = self._unprepared(job_id, active) or self._watch(job_id, order, active)
        except (EOFError, OSError):
            active.kill()  # it may still be dying: the next job must not be given to it
            end = Failure("The worker process died.")
        stopped = self._stopping.pop(job_id, None) is not None
        if isinstance(end, Result):
            self._set(
                job_id, state="stopped" if stopped else "done", cost=end.cost,
                wire_cost=end.wire_cost, wish_cost=end.wish_cost, bound=end.bound,
                capped=end.capped, document=end.document, words=end.words, details=end.details,
                **({} if stopped else {"progress": 1.0}),
            )
        elif stopped:
            self._set(job_id, state="stopped")
        else:
            self._set(job_id, state="failed", words=end.words)

    def _ready_worker(self) -> _Worker:
        if self._worker is not None and self._worker.is_alive:
            return self._worker
        return _Worker(self._engine)

    def _unprepared(self, job_id: str, active: _Worker) -> Failure | None:
        """Why the worker is not warm; None once it is. Who is stopped meanwhile leaves it to it."""
        deadline = time.monotonic() + WARMING_S
        while not active.is_warm:
            if job_id in self._stopping:
                return Failure("It was stopped before it began.")
            if time.monotonic() > deadline:
                active.kill()
                return Failure("The optimiser took too long to get ready.")
            if active.pipe.poll(0.02) and active.is_warmed_by(active.pipe.recv()):
                self._set(job_id, is_prepared=True)
        return None

    def _watch(self, job_id: str, order: Order, active: _Worker) -> Result | Failure:
        """Follow one job to its end; kills the worker when it neither stops nor ends in time."""
        active.pipe.send(order)
        deadline = time.monotonic() + order.seconds * OVERTIME + OVERTIME_S
        told = False
        while True:
            asked = self._stopping.get(job_id)
            if asked is not None and not told:
                active.pipe.send(STOP)
                told = True
            now = time.monotonic()
            if now > deadline or (asked is not None and now > asked + STOP_WITHIN_S):
                active.kill()
                return Failure("It took much longer than asked and was ended.")
            if not active.pipe.poll(0.02):
                continue
            message = active.pipe.recv()
            if isinstance(message, Result | Failure):
                return message
            if isinstance(message, Progress):
                self._note(job_id, message)

    def _note(self, job_id: str, said: Progress) -> None:
        known = self.get(job_id)
        if known is None:
            return
        document = said.document if said.document is not None else known.document
        self._set(
            job_id, progress=max(known.progress, min(1.0, said.fraction)), document=document,
            cost=_finite(said.cost), wire_cost=_finite(said.wire_cost),
            wish_cost=_finite(said.wish_cost),
        )


def jobs_of(request: Request) -> ArrangeJobs:
    """The arrange jobs of the application that a request was sent to."""
    jobs: ArrangeJobs = request.app.state.jobs
    return jobs


def _finite(value: float | None) -> float | None:
    return value if value is not None and math.isfinite(value) else None


def _partner_of(context: SpawnContext) -> Connection | None:
    """The end of a pipe to a new partner process, where there is a core for it.

    The process ends when the last holder of that end does: the worker that is given it.
    """
    mine = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    if (mine or 1) < CORES_FOR_TWO:
        return None
    near, far = context.Pipe()
    process = context.Process(target=partner.main, args=(far,), name="arrange-second", daemon=True)
    process.start()
    far.close()
    return near


class _Worker:
    """A worker process and our end of its pipe."""

    def __init__(self, engine: Callable[[], worker.Engine]) -> None:
        context = multiprocessing.get_context("spawn")
        ours, theirs = context.Pipe()
        second = _partner_of(context) if engine is worker.engine else None
        self.pipe: Connection = ours
        self.is_warm = False
        self.has_compiled = False
        self._process: BaseProcess = context.Process(
            target=worker.main, args=(theirs, engine, second), name="arrange", daemon=True
        )
        self._process.start()
        theirs.close()
        if second:
            second.close()

    def listen(self) -> None:
        """Hear whether it is warm, where it has nothing else to tell."""
        try:
            if self.pipe.poll():
                self.is_warmed_by(self.pipe.recv())
        except (EOFError, OSError):
            self.kill()

    def is_warmed_by(self, message: object) -> bool:
        """Take note of a message; whether it said that it is warm."""
        said = message in (READY, COMPILED)
        self.is_warm = self.is_warm or said
        self.has_compiled = self.has_compiled or message == COMPILED
        return said

    @property
    def is_alive(self) -> bool:
        """Whether it can take an order."""
        return self._process.is_alive()

    @property
    def pid(self) -> int | None:
        """Its process id."""
        return self._process.pid

    def kill(self) -> None:
        """End it now."""
        self._process.kill()
        self._process.join(1.0)

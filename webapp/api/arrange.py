"""Arrange jobs for programs: start, look, stop."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from layout_engine import DocumentError, Fault, Job, load_document
from layout_engine.arranging import CHARACTERS
from layout_engine.arranging.staying import LEAST_WAY_MM
from layout_engine.model.fields import MAX_COORDINATE_MM
from layout_engine.model.reading import shown
from webapp.api.answers import JobId, ProjectId, json_answer, json_body, object_of, raw_answer
from webapp.api.description import (
    ARRANGE_BODY,
    ASKS,
    DEFAULT_S,
    JOB,
    LONGEST_S,
    PLAN,
    PLAN_BODY,
    STARTED,
    problems,
)
from webapp.errors import RETRY_SECONDS, Refused
from webapp.jobs.service import AlreadyArranging, ArrangeJob, QueueFull, jobs_of
from webapp.jobs.worker import LARGEST_SEED, Ask
from webapp.stores.projects import NotFound
from webapp.views import StoreDep

router = APIRouter(prefix="/api", tags=["arranging"])
PLAN_KEYS = frozenset(PLAN)


@dataclass(frozen=True, slots=True)
class Plan:
    """What a request asks for; `wishes` as the worker's `Order` has them."""

    seconds: float = DEFAULT_S
    seed: int = 0
    ask: Ask = "arrange"
    wishes: Mapping[str, Any] = field(default_factory=dict)


def read_plan(value: dict[str, Any], job: Job | None) -> Plan:
    """What a request asks for; raises DocumentError with every fault.

    `job`: the job to arrange, None where it could not be read.
    """
    seconds, seed = value.get("seconds", DEFAULT_S), value.get("seed", 0)
    faults = []
    if not _is_number(seconds) or not 0 < seconds <= LONGEST_S:
        faults.append(Fault("$.seconds", shown(seconds), f"over 0, up to {LONGEST_S:g} s"))
    if not _is_number(seed) or not 0 <= seed <= LARGEST_SEED or seed != int(seed):
        faults.append(Fault("$.seed", shown(seed), f"a whole number from 0 to {LARGEST_SEED}"))
    ask = value.get("ask", "arrange")
    if ask not in ASKS:
        faults.append(Fault("$.ask", shown(ask), f"one of {', '.join(ASKS)}"))
    wishes = {key: value[key] for key in ("character", "only", "at_most_mm")
              if value.get(key) is not None}
    faults += [fault for key, wish in wishes.items() for fault in READERS[key](wish, job)]
    if wishes and ask != "arrange":
        faults.append(Fault("$.ask", shown(ask), "arrange, where character, only or at_most_mm "
                                                 "are given"))
    if faults:
        raise DocumentError(faults)
    if "only" in wishes:
        wishes["only"] = frozenset(wishes["only"])
    return Plan(float(seconds), int(seed), ask, wishes)


def _character_faults(value: Any, _: Job | None) -> list[Fault]:
    known = isinstance(value, str) and value in CHARACTERS
    return [] if known else [
        Fault("$.character", shown(value), f"one of {', '.join(CHARACTERS)}")]


def _only_faults(value: Any, job: Job | None) -> list[Fault]:
    if not isinstance(value, list) or not value:
        return [Fault("$.only", shown(value), "a list of ids of parts, at least one")]
    if job is None:
        return []
    return [Fault(f"$.only[{n}]", shown(one), "the id of a part of the job")
            for n, one in enumerate(value)
            if not isinstance(one, str) or one not in job.parts_by_id]


def _way_faults(value: Any, _: Job | None) -> list[Fault]:
    good = _is_number(value) and LEAST_WAY_MM < value <= MAX_COORDINATE_MM
    allowed = f"over {LEAST_WAY_MM:g}, up to {MAX_COORDINATE_MM:g} mm"
    return [] if good else [Fault("$.at_most_mm", shown(value), allowed)]


READERS: dict[str, Callable[[Any, Job | None], list[Fault]]] = {
    "character": _character_faults, "only": _only_faults, "at_most_mm": _way_faults,
}


def _is_number(value: Any) -> bool:
    is_real = isinstance(value, int | float) and not isinstance(value, bool)
    return is_real and (isinstance(value, int) or math.isfinite(value))


def _read_order(body: bytes) -> tuple[Job, Plan]:
    value = object_of(body, PLAN_KEYS | {"document"})
    faults: list[Fault] = []
    job, plan = None, Plan()
    try:
        job = _read_document(value.get("document"))
    except DocumentError as error:
        faults += error.errors
    try:
        plan = read_plan(value, job)
    except DocumentError as error:
        faults += error.errors
    if faults or job is None:
        raise DocumentError(faults)
    return job, plan


def _read_document(value: Any) -> Job:
    if not isinstance(value, dict):
        raise DocumentError([Fault("$.document", shown(value), "a project document")])
    try:
        return load_document(value)
    except DocumentError as error:
        raise DocumentError([
            Fault(f"$.document{f.path.removeprefix('$')}", f.value, f.allowed)
            for f in error.errors
        ]) from None


@router.post("/arrange", status_code=202,
             responses=STARTED | problems(400, 413, 415, 422, 429), openapi_extra=ARRANGE_BODY)
async def arrange_document(request: Request) -> Response:
    """Start arranging a document; the answer names the job to ask for."""
    body = await json_body(request)
    job, plan = await run_in_threadpool(_read_order, body)
    return _started(request, job, plan)


@router.post("/projects/{project_id}/arrange", status_code=202,
             responses=STARTED | problems(400, 404, 409, 413, 415, 422, 429),
             openapi_extra=PLAN_BODY)
async def arrange_project(request: Request, project_id: ProjectId, store: StoreDep) -> Response:
    """Start arranging the newest revision of a project; the result is an offer, never stored."""
    opened = store.open(project_id)
    body = await json_body(request) if await request.body() else b""
    plan = read_plan(object_of(body, PLAN_KEYS), opened.job)
    return _started(request, opened.job, plan, opened.id, opened.revision)


def _started(request: Request, job: Job, plan: Plan, project: str | None = None,
             revision: int | None = None) -> Response:
    try:
        made = jobs_of(request).submit(
            job, seconds=plan.seconds, seed=plan.seed, ask=plan.ask, wishes=plan.wishes,
            project=project, revision=revision,
        )
    except QueueFull:
        raise Refused(429, "Too many jobs are waiting. Try again later.",
                      headers={"Retry-After": RETRY_SECONDS}) from None
    except AlreadyArranging as running:
        raise Refused(409, f"The project is being arranged already, by job {running.job}.") \
            from None
    location = str(request.app.url_path_for("read_job", job_id=made.id))
    return json_answer({"job": made.id}, 202, Location=location)


@router.get("/jobs/{job_id}", responses=JOB | problems(404, 422))
def read_job(request: Request, job_id: JobId) -> Response:
    """How far a job is, and the best arrangement so far."""
    return _shown(jobs_of(request).get(job_id), job_id)


@router.delete("/jobs/{job_id}", responses=JOB | problems(404, 422))
def stop_job(request: Request, job_id: JobId) -> Response:
    """Stop a job and keep the best arrangement so far."""
    return _shown(jobs_of(request).stop(job_id), job_id)


def _shown(job: ArrangeJob | None, job_id: str) -> Response:
    if job is None:
        raise NotFound(f"There is no arrange job {job_id!r}.")
    head = json.dumps({
        "state": job.state, "progress": job.progress, "cost": job.cost,
        "wire_cost": job.wire_cost, "wish_cost": job.wish_cost, "bound": job.bound,
        "capped": job.capped, "message": job.words, "ask": job.ask, "details": job.details,
    }, allow_nan=False)
    document = job.document or b"null"
    return raw_answer(head[:-1].encode() + b', "document": ' + document + b"}")

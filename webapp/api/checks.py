"""Findings for programs."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from layout_engine import Finding, Job, check, load_document
from webapp.api.answers import ProjectId, etag, json_answer, json_body
from webapp.api.description import DOCUMENT_BODY, FINDINGS, problems
from webapp.stores.routes import sized_routes_of_job
from webapp.views import StoreDep

router = APIRouter(prefix="/api", tags=["findings"])
AT_ONCE = 2  # checks of documents that may take long; the others wait, and pages have threads left


@router.post("/check", responses=FINDINGS | problems(400, 413, 415, 422),
             openapi_extra=DOCUMENT_BODY)
async def check_document(request: Request) -> Response:
    """Every finding about a document, without storing it."""
    body = await json_body(request)
    async with request.app.state.checks_at_once:
        findings = await run_in_threadpool(lambda: _findings(load_document(body)))
    return json_answer({"findings": [finding.as_json() for finding in findings]})


def _findings(job: Job) -> list[Finding]:
    return check(job, routes=sized_routes_of_job(job) if job.connections else None)


@router.get("/projects/{project_id}/findings", responses=FINDINGS | problems(404, 422))
def project_findings(project_id: ProjectId, store: StoreDep) -> Response:
    """Every finding about the newest revision of a project."""
    opened = store.open(project_id)
    findings = [finding.as_json() for finding in opened.findings]
    return json_answer({"findings": findings}, ETag=etag(opened.revision))

"""Every error as a planned answer: a page for people, problem details (RFC 9457) for programs."""

from __future__ import annotations

import json
import logging
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from http import HTTPStatus
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from sqlalchemy.exc import OperationalError
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from layout_engine import DocumentError, Fault, document_bytes
from webapp.drawings.board import thumbnail
from webapp.drawings.primitives import Drawing
from webapp.stores.projects import LostUpdate, NotFound, NothingTo
from webapp.views import UNEXPECTED, JobBar, job_bar, render

PROBLEM = "application/problem+json"
RETRY_SECONDS = "5"
MOST_SHOWN = 200  # characters of a value that is told back
HEADINGS = {  # of a page that tells a person; programs get the phrases of HTTP
    400: "This cannot be read", 403: "Not from another site", 404: "Nothing here",
    405: "Not taken here", 409: "Not now", 412: "Changed meanwhile", 413: "Too large",
    421: "Not under this name", 422: "This cannot be", 500: "Platewright failed", 503: "Not now",
}
log = logging.getLogger("platewright")


class Refused(Exception):
    """A request that is answered with a problem: status, what is wrong, and its faults."""

    def __init__(self, status: int, detail: str, faults: tuple[Fault, ...] = (),
                 headers: Mapping[str, str] | None = None) -> None:
        super().__init__(detail)
        self.status = status
        self.detail = detail
        self.faults = faults
        self.headers = dict(headers or {})


@dataclass(frozen=True, slots=True)
class ErrorPage:
    """What went wrong, in words, with the faults and a way on."""

    status: int
    title: str
    detail: str
    faults: tuple[Fault, ...]
    job_bar: JobBar | None = None
    page: str = "error"


@dataclass(frozen=True, slots=True)
class LostUpdatePage:
    """Both versions of a job that was changed meanwhile."""

    job_bar: JobBar
    theirs_words: str
    theirs_changed: datetime
    theirs_picture: Drawing
    mine_words: str
    mine_picture: Drawing
    mine_document: str
    project_id: str
    revision: int
    page: str = "error"


def problem(status: int, detail: str, faults: tuple[Fault, ...] = (),
            headers: Mapping[str, str] | None = None) -> Response:
    """Problem details with every fault's path, value and what is allowed."""
    body = {
        "type": "about:blank",
        "title": HTTPStatus(status).phrase,
        "status": status,
        "detail": detail,
        "errors": [{"path": f.path, "value": f.value, "allowed": f.allowed} for f in faults],
    }
    text = json.dumps(body, ensure_ascii=True, allow_nan=False)
    return Response(text, status, dict(headers or {}), PROBLEM)


def is_for_programs(path: str) -> bool:
    """Whether a path is one of the calls for programs."""
    return path.startswith("/api/")


def answer(request: Request, refused: Refused) -> Response:
    """The refusal as problem details or as a page."""
    if is_for_programs(request.url.path):
        return problem(refused.status, refused.detail, refused.faults, refused.headers)
    title = HEADINGS.get(refused.status) or HTTPStatus(refused.status).phrase
    page = ErrorPage(refused.status, title, refused.detail, refused.faults)
    response = render(request, "pages/error.html", page, refused.status)
    response.headers.update(refused.headers)
    return response


def refusal_of(error: Exception) -> Refused:
    """Any known error as a refusal."""
    if isinstance(error, Refused):
        return error
    if isinstance(error, NotFound):
        return Refused(404, str(error))
    if isinstance(error, NothingTo):
        return Refused(409, str(error))
    if isinstance(error, LostUpdate):
        return Refused(412, _lost_words(error), headers={"ETag": f'"{error.theirs.revision}"'})
    if isinstance(error, DocumentError):
        return Refused(400 if error.malformed else 422, _document_words(error),
                       tuple(error.errors))
    if isinstance(error, OperationalError):
        log.error("the database did not answer: %s", error.orig)
        return Refused(503, "The data is in use by another program. Nothing was changed.",
                       headers={"Retry-After": RETRY_SECONDS})
    if isinstance(error, RequestValidationError):
        return Refused(422, "The request is not valid.", _request_faults(error))
    if isinstance(error, HTTPException):
        return Refused(error.status_code, _http_words(error), headers=error.headers)
    return Refused(500, UNEXPECTED)


def _lost_words(error: LostUpdate) -> str:
    theirs = error.theirs
    if error.mine is not None and document_bytes(error.mine) == theirs.document_bytes:
        return f"Revision {theirs.revision} is your version already. Nothing was changed."
    return (f"The job was changed meanwhile; its newest revision is {theirs.revision} "
            f"({theirs.words}). Nothing was overwritten.")


def _document_words(error: DocumentError) -> str:
    if error.malformed:
        return "The body is not JSON."
    count = len(error.errors)
    return f"The document has {count} fault{'' if count == 1 else 's'}."


def _http_words(error: HTTPException) -> str:
    words = {404: "There is nothing at this address.", 405: "This address does not take that."}
    return words.get(error.status_code, str(error.detail))


def _request_faults(error: RequestValidationError) -> tuple[Fault, ...]:
    return tuple(
        Fault(".".join(str(step) for step in found["loc"]), _sent(found), _wanted(found))
        for found in error.errors()
    )


def _wanted(found: Mapping[str, Any]) -> str:
    """What is allowed in a query or path, in words."""
    expected = found.get("ctx", {}).get("expected")
    if found["type"] == "literal_error" and isinstance(expected, str):
        return expected.replace("'", "")
    return "required" if found["type"] == "missing" else str(found["msg"])


def _sent(found: Mapping[str, object]) -> str | None:
    """What was sent, where it is text and the field was there at all."""
    value = found.get("input")
    return value[:MOST_SHOWN] if isinstance(value, str) else None


async def _planned(request: Request, error: Exception) -> Response:
    return answer(request, refusal_of(error))


async def _lost(request: Request, error: Exception) -> Response:
    if not isinstance(error, LostUpdate) or is_for_programs(request.url.path) or error.mine is None:
        return await _planned(request, error)
    theirs = error.theirs
    page = LostUpdatePage(
        job_bar(theirs), theirs.words, theirs.changed, thumbnail(theirs.job), error.words,
        thumbnail(error.mine), document_bytes(error.mine).decode(), theirs.id, theirs.revision,
    )
    return render(request, "pages/lost_update.html", page, 412)


async def _gone(_request: Request, _error: Exception) -> Response:
    """Nobody waits for the answer: the page was left while it still sent something."""
    return Response(status_code=400)


def install(app: FastAPI) -> None:
    """Give the application a planned answer for every error."""
    for kind in (Refused, NotFound, NothingTo, DocumentError, RequestValidationError,
                 HTTPException, OperationalError):
        app.add_exception_handler(kind, _planned)
    app.add_exception_handler(LostUpdate, _lost)
    app.add_exception_handler(ClientDisconnect, _gone)


class LastResort:
    """ASGI: whatever nobody expected is written to the log, and answered without its details."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        started = False

        async def watched(message: Message) -> None:
            nonlocal started
            started = started or message["type"] == "http.response.start"
            await send(message)

        try:
            await self.app(scope, receive, watched)
        except Exception:  # the one place that must catch all
            log.exception("unexpected error")
            if scope["type"] != "http" or started:
                return
            await _last_answer(scope)(scope, receive, send)


def _last_answer(scope: Scope) -> Response:
    try:
        return answer(Request(scope), Refused(500, UNEXPECTED))
    except Exception:  # the page itself may be what is broken
        log.exception("the error page failed too")
        return Response(f"{UNEXPECTED}\n", 500, media_type="text/plain; charset=utf-8")

"""JSON answers and the pieces of requests that the calls share."""

from __future__ import annotations

import json
import re
from typing import Annotated, Any

from fastapi import Path, Request
from starlette.responses import Response

from layout_engine import DocumentError, Fault
from layout_engine.model.reading import json_path, plain_values, shown
from webapp.errors import Refused

ProjectId = Annotated[str, Path(description="a project's id: 6 to 20 small letters and digits")]
JobId = Annotated[str, Path(description="an arrange job's id")]
_TAG = re.compile(r'(W/)?"([^"]*)"|([0-9]+)')
JSON_TYPE = re.compile(r"application/([a-z0-9.+-]+\+)?json\s*(;.*)?\Z", re.IGNORECASE)


def etag(revision: int) -> str:
    """The entity tag of a revision."""
    return f'"{revision}"'


def json_answer(value: Any, status: int = 200, **headers: str) -> Response:
    """A JSON answer; a header `e_tag` is sent as `E-Tag`."""
    text = json.dumps(value, ensure_ascii=False, allow_nan=False)
    return raw_answer(text.encode(), status, **headers)


def raw_answer(body: bytes, status: int = 200, **headers: str) -> Response:
    """An answer whose JSON bytes are ready."""
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    return Response(body, status, named, "application/json")


async def json_body(request: Request) -> bytes:
    """The body of a request that must be JSON, or that does not say what it is.

    Raises:
        Refused: 415 for another media type.
    """
    said = request.headers.get("content-type")
    if said is not None and not JSON_TYPE.match(said):
        raise Refused(415, "The body must be sent as application/json.")
    return await request.body()


def object_of(body: bytes, allowed: frozenset[str]) -> dict[str, Any]:
    """The JSON object in a body, with no other keys than `allowed`; an empty body is an empty one.

    Raises:
        DocumentError: with every fault.
    """
    value = plain_values(body) if body.strip() else {}
    if not isinstance(value, dict):
        raise DocumentError([Fault("$", shown(value), "a JSON object")])
    words = f"no such key; {', '.join(sorted(allowed))}"
    faults = [Fault(json_path([key]), shown(value[key]), words)
              for key in value if key not in allowed]
    if faults:
        raise DocumentError(faults)
    return value


def wanted_revision(request: Request, newest: int) -> int:
    """The revision that If-Match names: the newest, where it is among several.

    Raises:
        Refused: 428 when there is none, or `*`, which would overwrite anything; 412 when no tag in
            it can be a revision (a weak tag never matches: RFC 9110, 13.1.1).
    """
    said = request.headers.get("if-match", "").strip()
    if said in ("", "*"):
        raise Refused(428, 'Name the revision that you changed: If-Match: "<revision>".')
    named = [
        int(number) for weak, quoted, plain in _TAG.findall(said)
        if not weak and (number := quoted or plain).isascii() and number.isdecimal()
        and len(number) < 10
    ]
    if not named:
        raise Refused(412, f"If-Match names no revision: {said[:60]!r}")
    return newest if newest in named else named[0]

"""What /api/openapi.json says: the calls, their bodies and every answer with its schema."""

from __future__ import annotations

from typing import Any, get_args

from fastapi import APIRouter, FastAPI, Request
from starlette.responses import JSONResponse, Response

from layout_engine import Job
from layout_engine.arranging import CHARACTERS
from layout_engine.arranging.staying import LEAST_WAY_MM
from layout_engine.model.fields import MAX_COORDINATE_MM
from webapp.jobs.worker import LARGEST_SEED, Ask

router = APIRouter()
REFERENCE = "#/components/schemas/"
Schema = dict[str, Any]
Responses = dict[int | str, Schema]
PROBLEM_WORDS = {
    400: "The body is not JSON.",
    404: "There is no such thing.",
    409: "It cannot be done in the present state.",
    412: "Changed meanwhile: nothing was overwritten.",
    413: "The body is too large.",
    415: "The body is not application/json.",
    421: "The Host is not a local name.",
    403: "Sent by another web page.",
    422: "Not valid; `errors` lists every fault.",
    428: "If-Match with a revision is required.",
    429: "The queue is full; see Retry-After.",
}


def _refer(name: str) -> Schema:
    return {"$ref": REFERENCE + name}


def _object(required: list[str] | None = None, **properties: Schema) -> Schema:
    return {
        "type": "object", "properties": properties, "required": required or list(properties),
    }


def _answer(words: str, schema: Schema, **headers: str) -> Schema:
    described: Schema = {"description": words, "content": {"application/json": {"schema": schema}}}
    if headers:
        described["headers"] = {
            name.replace("_", "-"): {"description": said, "schema": {"type": "string"}}
            for name, said in headers.items()
        }
    return described


def answer_of(words: str, schema: Schema) -> Responses:
    """The answer of a call about a project: JSON of a schema, with the revision as its tag."""
    return {200: _answer(words, schema, ETag="the revision, quoted")}


def problems(*statuses: int) -> Responses:
    """Problem details of these statuses, and of those that every call may give."""
    content = {"application/problem+json": {"schema": _refer("Problem")}}
    told: Responses = {}
    told.update({
        status: {"description": PROBLEM_WORDS[status], "content": content}
        for status in sorted({403, 421, *statuses})
    })
    return told


ASKS: tuple[Ask, ...] = get_args(Ask)
LONGEST_S = 300.0  # the contract's longest arrangement, and the usual one
DEFAULT_S = 10.0
TEXT = {"type": "string"}
NUMBER = {"type": "number"}
NUMBER_OR_NONE = {"type": ["number", "null"]}
REVISION = {"type": "integer", "minimum": 1}
SAVED_SCHEMA = _object(id=TEXT, revision=REVISION)
TAG = "the revision, quoted"
SAVED: Responses = {200: _answer("The newest revision.", SAVED_SCHEMA, ETag=TAG)}
CREATED: Responses = {
    201: _answer("Stored.", SAVED_SCHEMA, ETag=TAG, Location="where the project is")
}
PROJECTS: Responses = {200: _answer("The projects.", _object(projects={
    "type": "array",
    "items": _object(id=TEXT, name=TEXT, revision=REVISION,
                     changed={"type": "string", "format": "date-time"}),
}))}
PROJECTS.update(problems())
PROJECT: Responses = {200: _answer(
    "The project.", _object(id=TEXT, revision=REVISION, document=_refer("Job")), ETag=TAG
)}
DOCUMENT: Responses = {200: _answer("The document.", _refer("Job"), ETag=TAG)}
FINDINGS: Responses = {200: _answer("The findings.", _object(
    findings={"type": "array", "items": _refer("Finding")}
))}
SUPPLY: Responses = {200: _answer("The solved case.", _object(
    case=TEXT,
    nodes={"type": "object", "additionalProperties": NUMBER_OR_NONE,
           "description": "V of each part.terminal against the battery's minus; null: it floats"},
    branches={"type": "array", "items": _object(
        ["id", "amps", "loss", "kind", "from", "to", "volts"],
        id=TEXT, amps=NUMBER, loss=NUMBER, kind=TEXT, to=TEXT, volts=NUMBER_OR_NONE,
    )},
    run_time_min=NUMBER_OR_NONE, battery_watts=NUMBER,
    remarks={"type": "array", "items": TEXT},
), ETag=TAG)}
STARTED: Responses = {
    202: _answer("Started.", _object(job=TEXT), Location="where to ask for the job")
}
JOB: Responses = {200: _answer("The job as of now.", _object(
    state={"enum": ["waiting", "running", "done", "failed", "stopped"]},
    progress={"type": "number", "minimum": 0, "maximum": 1},
    cost=NUMBER_OR_NONE, wire_cost=NUMBER_OR_NONE, wish_cost=NUMBER_OR_NONE,
    bound=NUMBER_OR_NONE, capped={"type": "boolean"}, message=TEXT, ask={"enum": list(ASKS)},
    details={"type": ["object", "null"], "description":
             "of an arrangement: character, starts, bound, dearest connections, the four respects, "
             "how crowded with wires; "
             "holds: what each must and lock costs; plate: the smallest one that was found to do. "
             "Every figure with its working"},
    document={"anyOf": [_refer("Job"), {"type": "null"}]},
))}
PLAN: Schema = {
    "seconds": {"type": "number", "exclusiveMinimum": 0, "maximum": LONGEST_S,
                "default": DEFAULT_S},
    "seed": {"type": "integer", "minimum": 0, "maximum": LARGEST_SEED, "default": 0},
    "ask": {"enum": list(ASKS), "default": "arrange", "description":
            "an arrangement; what each must and lock of the layout costs; the smallest plate"},
    "character": {"enum": list(CHARACTERS), "default": "shortest",
                  "description": "what the arrangement is to be best in"},
    "only": {"type": "array", "items": TEXT, "minItems": 1,
             "description": "ids of the parts that may move; all others stay"},
    "at_most_mm": {"type": "number", "exclusiveMinimum": LEAST_WAY_MM, "maximum": MAX_COORDINATE_MM,
                   "description":
                   "what stands on the plate keeps face and turn and moves at most so far"},
}


def _body(schema: Schema, *, required: bool = True) -> Schema:
    content = {"application/json": {"schema": schema}}
    return {"requestBody": {"required": required, "content": content}}


DOCUMENT_BODY = _body(_refer("Job"))
ARRANGE_BODY = _body(
    _object(["document"], document=_refer("Job"), **PLAN) | {"additionalProperties": False}
)
PLAN_BODY = _body(
    {"type": "object", "properties": PLAN, "additionalProperties": False}, required=False
)
IF_MATCH = {"parameters": [{
    "name": "If-Match", "in": "header", "required": True,
    "description": "the revision that was changed, quoted", "schema": TEXT,
}]}
FINDING = _object(
    rule=TEXT, severity={"enum": ["stop", "warn", "note"]},
    subjects={"type": "array", "items": TEXT}, message=TEXT, value=NUMBER_OR_NONE,
    parts={"type": "array", "items": TEXT, "description": "the subjects that name parts"},
    wires={"type": "array", "items": TEXT, "description": "the subjects that name connections"},
    limit=NUMBER_OR_NONE, unit=TEXT, source=TEXT, remedy=TEXT,
    rests_on_guess={"type": "boolean"}, title=TEXT,
    place={"type": ["object", "null"]}, moves={"type": "array", "items": {"type": "object"}},
    accepted={"type": ["string", "null"]},
)
PROBLEM = _object(
    type=TEXT, title=TEXT, status={"type": "integer"}, detail=TEXT,
    errors={"type": "array", "items": _object(path=TEXT, value={}, allowed=TEXT)},
)


def describe(app: FastAPI) -> Schema:
    """The whole description, made once."""
    if app.openapi_schema is None:
        from fastapi.openapi.utils import get_openapi

        made = get_openapi(title="Platewright", version=app.version, routes=app.routes)
        pages = [path for path in made["paths"] if not path.startswith("/api/")]
        for page in pages:
            del made["paths"][page]
        job = Job.model_json_schema(ref_template=REFERENCE + "{model}")
        schemas = made.setdefault("components", {}).setdefault("schemas", {})
        schemas.update(job.pop("$defs", {}))
        schemas.update({"Job": job, "Finding": FINDING, "Problem": PROBLEM})
        for name in ("HTTPValidationError", "ValidationError"):
            schemas.pop(name, None)
        for path, calls in made["paths"].items():
            for call in calls.values():
                _complete(call, path)
        app.openapi_schema = made
    return app.openapi_schema


def _complete(call: Schema, path: str) -> None:
    """Give a call the answers that it shares with all others, where it does not say them."""
    shared = problems(404, 422) if "{" in path else problems(422)
    wrong = "HTTPValidationError" in str(call["responses"].get("422", ""))
    for status, said in shared.items():
        if str(status) not in call["responses"] or (wrong and status == 422):
            call["responses"][str(status)] = said


@router.get("/api/openapi.json", include_in_schema=False)
def openapi(request: Request) -> Response:
    """The description of every call, in OpenAPI 3.1."""
    return JSONResponse(describe(request.app))

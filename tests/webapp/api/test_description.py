"""The calls do what /api/openapi.json says, whatever a program makes of it.

Requests are made by Schemathesis from the description alone; it knows nothing of the code.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Iterator
from typing import Any

import pytest
import schemathesis
from fastapi import FastAPI
from hypothesis import HealthCheck, given, settings
from jsonschema_rs import validator_for
from schemathesis.generation import GenerationMode
from schemathesis.specs.openapi.checks import positive_data_acceptance
from starlette.testclient import TestClient
from starlette.types import ASGIApp, Receive, Scope, Send

from layout_engine import document_bytes, load_document
from tests import samples
from webapp.jobs.service import ArrangeJobs

CONTRACT = {
    ("/api/projects", "post"): {"201", "400", "413", "415", "422"},
    ("/api/projects", "get"): {"200"},
    ("/api/projects/{project_id}", "get"): {"200", "404"},
    ("/api/projects/{project_id}", "put"): {"200", "400", "404", "412", "413", "422", "428"},
    ("/api/projects/{project_id}", "delete"): {"204", "404"},
    ("/api/projects/{project_id}/restore", "post"): {"200", "404"},
    ("/api/check", "post"): {"200", "400", "413", "422"},
    ("/api/projects/{project_id}/findings", "get"): {"200", "404"},
    ("/api/arrange", "post"): {"202", "400", "413", "422", "429"},
    ("/api/projects/{project_id}/arrange", "post"): {"202", "404", "409", "429"},
    ("/api/jobs/{job_id}", "get"): {"200", "404"},
    ("/api/jobs/{job_id}", "delete"): {"200", "404"},
    ("/api/projects/{project_id}/document.json", "get"): {"200", "404"},
    ("/api/projects/{project_id}/supply", "get"): {"200", "404", "422"},
}
# A well-formed document can still not be a job, and a change needs the right revision.
EXAMPLES = 12
LEFT_OUT = [positive_data_acceptance]

Described = dict[str, Any]


@pytest.fixture
def described(client: TestClient) -> Described:
    found: Described = client.get("/api/openapi.json").json()
    return found


def test_every_call_of_the_contract_is_described_with_its_answers(described: Described) -> None:
    for (path, method), statuses in CONTRACT.items():
        assert statuses | {"403", "421"} <= set(described["paths"][path][method]["responses"])
    assert all(path.startswith("/api/") for path in described["paths"])


def test_every_reference_leads_somewhere(described: Described) -> None:
    text = json.dumps(described)
    names = {piece.split('"')[0] for piece in text.split('"#/components/schemas/')[1:]}
    assert names <= set(described["components"]["schemas"])
    assert "Job" in names


@pytest.mark.parametrize("sample", [samples.empty_plate, samples.two_module_board])
def test_the_described_document_takes_sample_jobs_and_refuses_others(
    described: Described, sample: Callable[[], Described]
) -> None:
    schema = {"$ref": "#/components/schemas/Job", "components": described["components"]}
    validator = validator_for(schema)
    document = json.loads(document_bytes(load_document(sample())))
    assert validator.is_valid(document)
    assert not validator.is_valid(document | {"nonsense": 1})
    assert not validator.is_valid({**document, "plate": {}})


def _by_local_name(app: FastAPI) -> ASGIApp:
    """The app as it is asked by its local name; its start and end are left out."""
    async def asked(scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            for stage in ("startup", "shutdown"):
                await receive()
                await send({"type": f"lifespan.{stage}.complete"})
            return
        others = [pair for pair in scope["headers"] if pair[0] != b"host"]
        await app(scope | {"headers": [*others, (b"host", b"127.0.0.1")]}, receive, send)

    return asked


@pytest.fixture
def operations(local_app: FastAPI) -> Iterator[list[schemathesis.APIOperation]]:
    jobs = local_app.state.jobs
    local_app.state.jobs = ArrangeJobs(queue=10)  # not started: jobs wait
    app = _by_local_name(local_app)
    schema = schemathesis.openapi.from_asgi("/api/openapi.json", app)
    yield [result.ok() for result in schema.get_all_operations()]
    local_app.state.jobs = jobs


@pytest.mark.parametrize("mode", [GenerationMode.POSITIVE, GenerationMode.NEGATIVE])
def test_calls_made_from_the_description_get_described_answers(
    operations: list[schemathesis.APIOperation], mode: GenerationMode
) -> None:
    tried: Counter[str] = Counter()
    for operation in operations:
        if mode is GenerationMode.NEGATIVE and not operation.body:
            continue  # nothing in it can be wrong but an id, which the other mode makes up

        @given(case=operation.as_strategy(generation_mode=mode))
        @settings(max_examples=EXAMPLES, deadline=None, derandomize=True, database=None,
                  suppress_health_check=list(HealthCheck))
        def attempt(case: schemathesis.Case) -> None:
            tried[case.operation.label] += 1
            case.call_and_validate(excluded_checks=LEFT_OUT)

        attempt()
    expected = CONTRACT if mode is GenerationMode.POSITIVE else {
        key for key in CONTRACT if key[1] in ("put", "post") and "restore" not in key[0]
    }
    assert len(tried) >= len(expected)
    assert min(tried.values()) >= 1

"""Bodies that no sane program sends: every one gets a planned answer, and none is stored."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from starlette.testclient import TestClient

from tests import samples
from tests.running import RunningApp

MIB = 1024 * 1024
WHOLE = json.dumps(samples.two_module_board())


def _with(key: str, text: str) -> bytes:
    """A whole document in which a top-level key's text is replaced."""
    document = samples.two_module_board()
    document[key] = "@@"
    return json.dumps(document).replace('"@@"', text).encode("utf-8", "surrogatepass")


def _thickness(text: str) -> bytes:
    document = samples.two_module_board()
    document["plate"]["thickness"] = "@@"
    return json.dumps(document).replace('"@@"', text).encode()


NOT_JSON = {
    "nothing": b"",
    "blanks": b"  \n ",
    "half a document": WHOLE[: len(WHOLE) // 2].encode(),
    "two documents": (WHOLE + WHOLE).encode(),
    "a word": b"plate",
    "not UTF-8": b'{"name": "\xff\xfe"}',
    "UTF-16": WHOLE.encode("utf-16"),
    "a NUL": b"\x00",
    "a NUL inside a text": _with("name", '"a\x00b"'),
    "a comment": b"// plate\n" + WHOLE.encode(),
    "single quotes": b"{'format': 1}",
    "a surrogate in UTF-8": _with("name", '"\ud800"'),
    "a trailing comma": b'{"format": "platewright/1",}',
}
WRONG = {
    "NaN": _thickness("NaN"),
    "Infinity": _thickness("Infinity"),
    "-Infinity": _thickness("-Infinity"),
    "1e999": _thickness("1e999"),
    "-1e999": _thickness("-1e999"),
    "1e308": _thickness("1e308"),
    "true for a number": _thickness("true"),
    "a text for a number": _thickness('"3"'),
    "5 000 digits": _thickness("9" * 5000),
    "100 000 digits": _thickness("9" * 100_000),
    "a lone surrogate": _with("name", '"\\ud800"'),
    "an escaped NUL": _with("name", '"a\\u0000b"'),
    "a name of right-to-left marks": _with("name", '"\\u202egnp.exe"'),
    "100 000 brackets": b"[" * 100_000,
    "100 000 closed brackets": b"[" * 100_000 + b"]" * 100_000,
    "100 000 objects": b'{"a":' * 100_000 + b"1" + b"}" * 100_000,
    "brackets in a key": _with("notes", "[" * 60 + "]" * 60),
    "a list": b"[]",
    "a number": b"1",
    "null": b"null",
    "a text": b'"platewright/1"',
    "an empty object": b"{}",
    "another format": _with("format", '"platewright/2"'),
    "301 parts": _with("parts", json.dumps([{"id": f"p{n}", "type": "x"} for n in range(301)])),
    "a name of 201 letters": _with("name", json.dumps("n" * 201)),
    "a key with quotes": b'{"a\\"]<script>": 1}',
    "a key that is a surrogate": b'{"\\ud800": 1}',
    "a crossing outline": _with("plate", json.dumps({
        "outline": [[0, 0], [100, 100], [100, 0], [0, 100]], "thickness": 3,
        "material": "acrylic", "stands": "upright"})),
    "an outline without area": _with("plate", json.dumps({
        "outline": [[0, 0], [100, 0], [50, 0]], "thickness": 3, "material": "acrylic",
        "stands": "upright"})),
    "a key given twice": b'{"name": "first",' + WHOLE.encode()[1:],
    "an outline of 2001 points": _with("plate", json.dumps({
        "outline": [[n, n * n % 7] for n in range(2001)], "thickness": 3, "material": "acrylic",
        "stands": "upright"})),
}
ODD_BUT_RIGHT = {
    "a byte order mark": b"\xef\xbb\xbf" + WHOLE.encode(),
    "-0.0": _thickness("3.0"),
    "an emoji name": _with("name", '"\U0001f9f0 box"'),
}
PLACES = ("/api/projects", "/api/check", "/api/arrange")


def _projects(client: TestClient) -> Any:
    return client.get("/api/projects").json()


@pytest.mark.parametrize("path", PLACES)
@pytest.mark.parametrize("body", NOT_JSON.values(), ids=NOT_JSON.keys())
def test_what_is_no_json_is_400(client: TestClient, path: str, body: bytes) -> None:
    before = _projects(client)
    answer = client.post(path, content=body)
    empty_order = path == "/api/arrange" and not body.strip()
    assert answer.status_code == (422 if empty_order else 400)
    assert answer.headers["content-type"] == "application/problem+json"
    assert _projects(client) == before


@pytest.mark.parametrize("path", PLACES)
@pytest.mark.parametrize("body", WRONG.values(), ids=WRONG.keys())
def test_what_is_no_document_is_422_with_its_faults(
    client: TestClient, path: str, body: bytes
) -> None:
    before = _projects(client)
    whole = b'{"document": ' + body + b"}" if path == "/api/arrange" else body
    answer = client.post(path, content=whole)
    unclosed = path == "/api/arrange" and body.startswith(b"[" * 1000)
    assert answer.status_code == 422 or (unclosed and answer.status_code == 400)
    assert answer.json()["errors"]
    json.dumps(answer.json(), allow_nan=False)
    assert "Traceback" not in answer.text
    assert "/webapp/" not in answer.text
    assert _projects(client) == before


@pytest.mark.parametrize("body", ODD_BUT_RIGHT.values(), ids=ODD_BUT_RIGHT.keys())
def test_what_is_odd_but_right_is_stored(client: TestClient, body: bytes) -> None:
    made = client.post("/api/projects", content=body)
    assert made.status_code == 201
    kept = client.get(made.headers["location"]).json()["document"]
    again = client.post("/api/projects", json=kept)
    assert client.get(again.headers["location"]).json()["document"] == kept


@pytest.mark.parametrize("body", (NOT_JSON | WRONG).values(), ids=(NOT_JSON | WRONG).keys())
def test_a_change_with_such_a_body_changes_nothing(client: TestClient, body: bytes) -> None:
    made = client.post("/api/projects", content=WHOLE).json()["id"]
    answer = client.put(f"/api/projects/{made}", content=body, headers={"if-match": '"1"'})
    assert answer.status_code in (400, 422)
    assert client.get(f"/api/projects/{made}").json()["revision"] == 1


@pytest.mark.parametrize("path", [*PLACES, "/jobs", "/jobs/nothing/undo"])
def test_a_body_over_the_limit_is_413(client: TestClient, path: str) -> None:
    answer = client.post(path, content=b" " * (2 * MIB + 1))
    assert answer.status_code == 413


def test_a_body_at_the_limit_is_read(client: TestClient) -> None:
    body = WHOLE.encode().ljust(2 * MIB)
    assert client.post("/api/check", content=body).status_code == 200


def test_a_length_that_lies_is_no_way_in(client: TestClient) -> None:
    answer = client.post("/api/check", content=b"{}", headers={"content-length": "9" * 30})
    assert answer.status_code == 413


def _pieces(size: int) -> Iterator[bytes]:
    for _ in range(size // MIB):
        yield b" " * MIB


@pytest.mark.parametrize("in_pieces", [False, True], ids=["with its length", "in pieces"])
def test_fifty_megabytes_are_refused_without_being_kept(
    server: RunningApp, http: httpx.Client, in_pieces: bool
) -> None:
    def memory_kb() -> int:
        status = Path(f"/proc/{server.process.pid}/status").read_text()
        return int(status.split("VmHWM:")[1].split()[0])

    http.get("/api/projects")
    before = memory_kb()
    body: Any = _pieces(50 * MIB) if in_pieces else b" " * (50 * MIB)
    answer = http.post("/api/check", content=body, headers={"content-type": "application/json"})
    assert answer.status_code == 413
    assert answer.headers["content-type"] == "application/problem+json"
    assert memory_kb() - before < 20 * 1024
    assert http.get("/api/projects").status_code == 200

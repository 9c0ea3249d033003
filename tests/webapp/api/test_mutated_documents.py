"""Documents and forms with something wrong put in at random, by a seed: planned answers only."""

from __future__ import annotations

import json
from collections.abc import Iterator
from random import Random
from typing import Any

import pytest
from starlette.testclient import TestClient

from layout_engine import DocumentError, load_document
from tests import samples

ODD: tuple[Any, ...] = (
    None, True, False, 0, -1, 1e308, -1e308, 1e-308, 10**400, 5000.0001, float("nan"),
    float("inf"), "", " ", "3 mm", '8 5/8 in', "1e3", "\ud800", "a\x00b", "\u202e", "x" * 5000,
    "[]", [], [[]], [None], {}, {"": {}}, {"\ud800": 1}, {"a": [{"b": [{}]}]}, [[0, 0]] * 3,
    [[0, 0], [100, 100], [100, 0], [0, 100]], [[0, 0], [1, 0], [2, 0]], [0] * 3000,
    [[[[[[[[[[[[[[[[[[[[[[[[[[]]]]]]]]]]]]]]]]]]]]]]]]]],
)
PLACES = ("parts", "plate", "body", "types", "connections", "cases", "assumptions", "machine")


def spots(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The path of every value in a document."""
    inner = value.items() if isinstance(value, dict) else (
        enumerate(value) if isinstance(value, list) else ())
    for key, one in inner:
        yield (*path, key)
        yield from spots(one, (*path, key))


def holder_of(document: Any, path: tuple[Any, ...]) -> Any:
    """What holds the value at a path."""
    for key in path[:-1]:
        document = document[key]
    return document


def mutated(seed: int) -> dict[str, Any]:
    """A document with one to three things changed."""
    rng = Random(seed)
    document: dict[str, Any] = json.loads(json.dumps(samples.two_module_board()))
    for _ in range(rng.randint(1, 3)):
        path = rng.choice(list(spots(document)))
        holder, last = holder_of(document, path), path[-1]
        way = rng.randrange(5)
        if way == 0:
            del holder[last]
        elif way == 1 and isinstance(holder, list):
            holder.append(holder[last])  # an id, a corner or an entry twice
        elif way == 2 and isinstance(holder, dict):
            holder[rng.choice(("extra", "x", "id", rng.choice(PLACES)))] = rng.choice(ODD)
        elif way == 3 and isinstance(holder[last], int | float):
            holder[last] = holder[last] * rng.choice((-1, 0, 1e-9, 10, 1e6))
        else:
            holder[last] = rng.choice(ODD)
    return document


def sent(document: Any) -> bytes:
    """As a careless program sends it: NaN and lone surrogates included."""
    return json.dumps(document).encode("utf-8", "surrogatepass")


@pytest.mark.parametrize("start", range(0, 300, 50))
def test_a_mutated_document_is_stored_or_refused_with_path_value_and_allowed(
    client: TestClient, start: int
) -> None:
    told = set()
    for seed in range(start, start + 50):
        answer = client.post("/api/projects", content=sent(mutated(seed)),
                             headers={"content-type": "application/json"})
        assert answer.status_code in {201, 422}, (seed, answer.text)
        told.add(answer.status_code)
        if answer.status_code == 422:
            faults = answer.json()["errors"]
            assert faults, seed
            assert all(f["path"].startswith("$") and f["allowed"] for f in faults), seed
            assert all("value" in f for f in faults), seed
            json.dumps(faults, allow_nan=False).encode()
    assert told == {201, 422}


def test_what_is_read_is_checked(client: TestClient) -> None:
    read = 0
    for seed in range(1000, 1120):
        document = mutated(seed)
        try:
            load_document(sent(document))
        except DocumentError:
            continue
        read += 1
        answer = client.post("/api/check", content=sent(document),
                             headers={"content-type": "application/json"})
        assert answer.status_code == 200, (seed, answer.text)
        assert {f["severity"] for f in answer.json()["findings"]} <= {"stop", "warn", "note"}
        json.dumps(answer.json(), allow_nan=False)
    assert read > 10

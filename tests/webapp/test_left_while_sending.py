"""A page that is left while a form is still being sent is no failure of the app."""

from __future__ import annotations

import asyncio
from concurrent.futures import ThreadPoolExecutor

import pytest
from fastapi import FastAPI
from starlette.types import Message


@pytest.mark.parametrize("path", ["/jobs/nojob/inside", "/jobs"])
def test_nothing_is_raised(local_app: FastAPI, path: str) -> None:
    arriving: list[Message] = [
        {"type": "http.request", "body": b"height=9", "more_body": True},
        {"type": "http.disconnect"},
    ]
    sent: list[Message] = []

    async def receive() -> Message:
        return arriving.pop(0) if arriving else {"type": "http.disconnect"}

    async def send(message: Message) -> None:
        sent.append(message)

    scope = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": "POST",
        "scheme": "http", "path": path, "raw_path": path.encode(), "query_string": b"",
        "root_path": "", "client": ("127.0.0.1", 1), "server": ("127.0.0.1", 80),
        "headers": [(b"host", b"127.0.0.1"), (b"content-length", b"100"),
                    (b"content-type", b"application/x-www-form-urlencoded")],
    }
    # In a thread of its own: browser tests leave an event loop running in this one.
    with ThreadPoolExecutor(1) as other:
        other.submit(lambda: asyncio.run(local_app(scope, receive, send))).result()
    assert sent[0]["status"] < 500

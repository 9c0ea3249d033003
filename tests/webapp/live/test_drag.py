"""The WebSocket of a drag: verdicts as the check has them, and nothing that can break it."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient, WebSocketTestSession
from starlette.websockets import WebSocketDisconnect

from layout_engine import load_document
from layout_engine.checks.scene import Scene
from layout_engine.model.part import Placement
from tests import samples
from webapp.live.drag import touches_of
from webapp.live.together import carried

LINE = "ws://127.0.0.1:8460"
HELD = {"seq": 1, "revision": 1, "id": "left", "x": 30, "y": 120, "turn": 0, "face": "front"}


@pytest.fixture
def job(local_app: FastAPI) -> str:
    return str(local_app.state.store.create(load_document(samples.two_module_board())).id)


@pytest.fixture
def line(client: TestClient, job: str) -> Iterator[WebSocketTestSession]:
    with client.websocket_connect(f"{LINE}/jobs/{job}/live") as opened:
        yield opened


def asked(line: WebSocketTestSession, **values: Any) -> dict[str, Any]:
    line.send_json({**HELD, **values})
    return dict(line.receive_json())


def test_where_nothing_is_touched(line: WebSocketTestSession) -> None:
    assert asked(line) == {"seq": 1, "revision": 1, "touches": [], "free": None}


def test_overlap_by_plane_geometry(line: WebSocketTestSession) -> None:
    """Left at x 75 to 145, right at 140 to 210, both 45 deep: 5 x 45 = 225 mm2 shared."""
    answer = asked(line, seq=7, x=75)
    assert answer["seq"] == 7
    assert answer["touches"] == [["left", "right", "outlines", 225.0, 0.0]]


def test_over_the_edge_and_too_deep(line: WebSocketTestSession) -> None:
    kinds = [kind for _, _, kind, _, _ in asked(line, x=-20)["touches"]]
    assert "off plate" in kinds


def test_the_other_face_is_free(line: WebSocketTestSession) -> None:
    assert asked(line, x=210, face="back")["touches"] == []


def test_free_height_on_both_faces(line: WebSocketTestSession) -> None:
    """Round body of 420 mm, plate 4 mm thick 20 mm behind the middle: 208 +- 20 in the middle."""
    line.send_json({"seq": 3, "revision": 1, "at": [130, 100]})
    answer = line.receive_json()
    assert answer["free"] == [pytest.approx(228.0), pytest.approx(188.0)]
    assert answer["touches"] == []


def test_a_page_that_is_behind_is_told_the_newest_revision(
        local_app: FastAPI, job: str, line: WebSocketTestSession) -> None:
    store = local_app.state.store
    moved = samples.two_module_board()
    moved["parts"][1]["placement"]["x"] = 35
    store.save(job, load_document(moved), "move", 1)
    assert asked(line, revision=2)["revision"] == 2
    assert asked(line, revision=1)["touches"][0][1] == "right"


@pytest.mark.parametrize("text", [
    "", "nonsense", "[]", "null", "{}", '"x"', "[" * 1500, json.dumps({**HELD, "seq": -1}),
    json.dumps({**HELD, "x": "far"}), json.dumps({**HELD, "x": 1e9}),
    json.dumps({**HELD, "more": 1}),
    json.dumps({**HELD, "face": "side"}), json.dumps({**HELD, "turn": 400}),
    json.dumps({**HELD, "seq": True}), json.dumps(HELD).replace("30", "NaN"),
    json.dumps(HELD).replace("30", "1e999"), json.dumps({**HELD, "id": "\ud800"}), "x" * 3000,
])  # fmt: skip
def test_what_cannot_be_read_is_answered_and_the_line_stays(
        line: WebSocketTestSession, text: str) -> None:
    line.send_text(text)
    assert line.receive_json()["error"]
    assert asked(line)["touches"] == []


def test_bytes_and_strange_modules_are_answered(line: WebSocketTestSession) -> None:
    line.send_bytes(b"\x00\xff")
    assert line.receive_json()["error"]
    assert "no module 'nobody'" in asked(line, id="nobody")["error"]


def test_a_job_that_is_not_there_closes_the_line(client: TestClient) -> None:
    with client.websocket_connect(f"{LINE}/jobs/nothinghere/live") as opened, \
            pytest.raises(WebSocketDisconnect) as gone:
        opened.receive_json()
    assert gone.value.code == 4404


@pytest.mark.parametrize("origin", ["http://elsewhere.test", "null", "http://127.0.0.1:1"])
def test_another_pages_line_is_refused(client: TestClient, job: str, origin: str) -> None:
    with pytest.raises(WebSocketDisconnect), \
            client.websocket_connect(f"{LINE}/jobs/{job}/live", headers={"origin": origin}):
        pass


def test_a_group_moves_by_the_same_way_and_does_not_touch_itself() -> None:
    document = {**samples.two_module_board(), "groups": [["left", "right"]]}
    scene = Scene(load_document(document))
    there = Placement(face="front", x=100, y=150, turn=0)
    moved = carried(scene.job, "left", there)
    assert (moved["right"].x, moved["right"].y) == (210, 150)
    touches = touches_of(scene, "left", there)
    assert {(part, kind) for part, _, kind, _, _ in touches} == {("right", "off plate")}

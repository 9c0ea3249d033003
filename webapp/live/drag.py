"""The WebSocket of a drag: the page says where a module is held, the server what it touches.

Page to server, one JSON object a message:
`{"seq", "revision", "id", "x", "y", "turn", "face", "at": [x, y]}`; without `id` only the free
height at `at` is asked for. Server to page: `{"seq", "revision", "touches": [[part, other, kind,
value, limit]], "free": [front, back] | null}`; `revision` is the newest one, so that a page that
is behind notices. What cannot be read is answered `{"seq", "error"}`; the connection stays.
A module of a group brings the others of its group along; what they touch is told as well.
"""

from __future__ import annotations

import json
from typing import Annotated, Any, Literal

from fastapi import APIRouter, WebSocket
from pydantic import BaseModel, ConfigDict, Field, ValidationError
from starlette.concurrency import run_in_threadpool
from starlette.websockets import WebSocketDisconnect

from layout_engine.checks.scene import Scene
from layout_engine.model.fields import Coordinate, Turn
from layout_engine.model.part import Placement
from webapp.live.scenes import Scenes
from webapp.live.together import carried
from webapp.stores.projects import NotFound, Opened, ProjectStore

router = APIRouter()
LONGEST_MESSAGE = 2000  # characters; a message of the page has about 120
NOT_FOUND = 4404  # close code of our own range (RFC 6455 7.4.2)
FIGURES = 3
Answer = dict[str, Any]


class Held(BaseModel):
    """A message of the page."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    seq: Annotated[int, Field(strict=True, ge=0, le=2**53)]
    revision: Annotated[int, Field(strict=True, ge=1, le=2**31 - 1)]
    id: Annotated[str, Field(max_length=40)] | None = None
    x: Coordinate = 0.0
    y: Coordinate = 0.0
    turn: Turn = 0.0
    face: Literal["front", "back"] = "front"
    at: tuple[Coordinate, Coordinate] | None = None

    @property
    def placement(self) -> Placement:
        """Where it is held."""
        return Placement(face=self.face, x=self.x, y=self.y, turn=self.turn)


class Drag:
    """One page's drag: the project and its newest revision as last looked at."""

    def __init__(self, store: ProjectStore, scenes: Scenes, project_id: str) -> None:
        self._store = store
        self._scenes = scenes
        self._project_id = project_id
        self._look()

    def _look(self) -> None:
        """Take the newest revision with its scene: some tens of ms, so never in the event loop."""
        self.opened: Opened = self._store.open(self._project_id)
        self._scene = self._scenes.of(self.opened)

    async def answer(self, text: str) -> Answer:
        """The answer to one message."""
        try:
            held = _read(text)
        except ValueError as error:
            return {"seq": None, "error": str(error)}
        if held.revision != self.opened.revision:
            await run_in_threadpool(self._look)
        if held.id is not None and held.id not in self.opened.job.parts_by_id:
            return {"seq": held.seq, "error": f"there is no module {held.id!r} in this job"}
        scene = self._scene
        touches = [] if held.id is None else touches_of(scene, held.id, held.placement)
        free = None if held.at is None else [round(h, FIGURES) for h in scene.free_height(*held.at)]
        return {"seq": held.seq, "revision": self.opened.revision, "touches": touches, "free": free}


def touches_of(scene: Scene, part_id: str, placement: Placement) -> list[list[Any]]:
    """What a held module, and what moves with it, would touch: [part, other, kind, value, limit].

    Infinite limits and heights, which JSON cannot carry, and areas not worked out are null.
    """
    moved = {part_id: placement, **carried(scene.job, part_id, placement)}
    return [
        [mover, touch.other, touch.kind, _figure(touch.value), _figure(touch.limit)]
        for mover, place in moved.items()
        for touch in scene.verdict(mover, place)
        if touch.other not in moved
    ]


def _figure(value: float | None) -> float | None:
    return round(value, FIGURES) if value is not None and abs(value) < float("inf") else None


def _read(text: str) -> Held:
    if len(text) > LONGEST_MESSAGE:
        raise ValueError(f"a message of at most {LONGEST_MESSAGE} characters")
    try:
        return Held.model_validate(json.loads(text))
    except ValidationError as error:
        first = error.errors()[0]
        raise ValueError(f"{'.'.join(map(str, first['loc']))}: {first['msg']}") from None
    except (ValueError, RecursionError):
        raise ValueError("a message that is a JSON object") from None


@router.websocket("/jobs/{project_id}/live", name="live")
async def live(socket: WebSocket, project_id: str) -> None:
    """Verdicts while a module is dragged, until the page goes."""
    state = socket.app.state
    await socket.accept()
    try:
        drag = await run_in_threadpool(Drag, state.store, state.scenes, project_id)
        while True:
            await socket.send_json(await drag.answer(await _text(socket)))
    except NotFound:
        await socket.close(NOT_FOUND, "this job is not there any more")
    except WebSocketDisconnect:
        return


async def _text(socket: WebSocket) -> str:
    """The next message as text; what was sent as bytes reads as nothing."""
    message = await socket.receive()
    if message["type"] == "websocket.disconnect":
        raise WebSocketDisconnect(message.get("code", 1000))
    return message.get("text") or ""

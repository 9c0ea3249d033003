"""Routed wires for programs: where each runs and how long it is."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from layout_engine.sizing.board import Sizing
from layout_engine.wiring import Wire
from webapp.api.answers import ProjectId, etag, json_answer
from webapp.api.description import NUMBER_OR_NONE, TEXT, answer_of, problems
from webapp.stores.routes import sized_routes_of
from webapp.views import StoreDep

router = APIRouter(prefix="/api/projects/{project_id}", tags=["wires"])
_WIRE = {
    "type": "object",
    "required": ["id", "from", "to", "length", "size_mm2", "size_awg", "colour", "amps", "fuse",
                 "drop_volts", "path"],
    "properties": {
        "id": TEXT, "from": TEXT, "to": TEXT, "colour": TEXT, "state": TEXT,
        "length": NUMBER_OR_NONE | {"description": "mm to cut; null: not known"},
        "size_mm2": NUMBER_OR_NONE | {"description": "null: nobody chose yet"},
        "size_awg": NUMBER_OR_NONE,
        "amps": NUMBER_OR_NONE | {"description": "largest of the cases that go on"},
        "fuse": {"type": ["string", "null"],
                 "description": "part.terminal of the fuse that sets it; null: none, several"},
        "drop_volts": NUMBER_OR_NONE | {"description": "lost in this wire at those amps"},
        "path": {"type": "array", "description": "[x, y, face], mm, as seen from the front",
                 "items": {"type": "array", "minItems": 3, "maxItems": 3}},
        "runs": {"type": "array", "items": TEXT}, "number": {"type": "integer"},
    },
}
_WIRES = answer_of("One entry a connection, in the document's order.",
                   {"type": "array", "items": _WIRE})


@router.get("/wires", name="project_wires", responses=_WIRES | problems(404, 422))
def wires(project_id: ProjectId, store: StoreDep) -> Response:
    """Every wire of the newest revision with its way on the plate."""
    opened = store.open(project_id)
    found = sized_routes_of(opened)
    listed = [_as_json(wire, found.sizing) for wire in found.routing.wires]
    return json_answer(listed, ETag=etag(opened.revision))


def _as_json(wire: Wire, sizing: Sizing | None) -> dict[str, Any]:
    """The contract's keys, and `state`, `number`, `runs` beside them."""
    sized = sizing.wires[wire.id] if sizing else None
    fuse = sizing.fuses.get(sized.fuse) if sizing and sized else None
    return {
        "id": wire.id, "from": wire.from_, "to": wire.to, "length": wire.length,
        "size_mm2": None if wire.mm2 is None else round(wire.mm2, 4), "size_awg": wire.awg,
        "colour": wire.colour, "amps": sized.amps.result if sized else None,
        "fuse": f"{fuse.part}.{fuse.terminal}" if fuse else None,
        "drop_volts": sized.drop.result if sized else None,
        "path": [list(point) for point in wire.path], "state": wire.state,
        "number": wire.number, "runs": list(wire.runs),
    }

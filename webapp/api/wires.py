"""Routed wires for programs: where each runs, how long it is, and the cut list."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from layout_engine.sizing.board import Sizing
from layout_engine.wiring import Wire
from webapp.api.answers import ProjectId, etag, json_answer
from webapp.api.description import problems
from webapp.printing.file_names import attachment
from webapp.stores.routes import routes_of, sized_routes_of
from webapp.views import StoreDep

router = APIRouter(prefix="/api/projects/{project_id}", tags=["wires"])
_NUMBER = {"type": ["number", "null"]}
_TEXT = {"type": "string"}
_WIRE = {
    "type": "object",
    "required": ["id", "from", "to", "length", "size_mm2", "size_awg", "colour", "amps", "fuse",
                 "drop_volts", "path"],
    "properties": {
        "id": _TEXT, "from": _TEXT, "to": _TEXT, "colour": _TEXT, "state": _TEXT,
        "length": _NUMBER | {"description": "mm to cut; null: not known"},
        "size_mm2": _NUMBER | {"description": "null: nobody chose yet"}, "size_awg": _NUMBER,
        "amps": _NUMBER | {"description": "largest of the cases that go on"},
        "fuse": {"type": ["string", "null"],
                 "description": "part.terminal of the fuse that sets it; null: none, several"},
        "drop_volts": _NUMBER | {"description": "lost in this wire at those amps"},
        "path": {"type": "array", "description": "[x, y, face], mm, as seen from the front",
                 "items": {"type": "array", "minItems": 3, "maxItems": 3}},
        "runs": {"type": "array", "items": _TEXT}, "number": {"type": "integer"},
    },
}
_WIRES: dict[int | str, dict[str, Any]] = {200: {
    "description": "One entry a connection, in the document's order.",
    "content": {"application/json": {"schema": {"type": "array", "items": _WIRE}}},
}}
_CSV: dict[int | str, dict[str, Any]] = {200: {
    "description": "The cut list.",
    "content": {"text/csv; charset=utf-8": {"schema": {"type": "string", "format": "binary"}}},
}}


@router.get("/wires", name="project_wires", responses=_WIRES | problems(404, 422))
def wires(project_id: ProjectId, store: StoreDep) -> Response:
    """Every wire of the newest revision with its way on the plate."""
    opened = store.open(project_id)
    found = sized_routes_of(opened)
    listed = [_as_json(wire, found.sizing) for wire in found.routing.wires]
    return json_answer(listed, ETag=etag(opened.revision))


@router.get("/wires.csv", name="wires_csv", response_class=Response,
            responses=_CSV | problems(404, 422))
def cut_list_file(project_id: ProjectId, store: StoreDep) -> Response:
    """The cut list: size, colour, length, what goes on the ends, in the order of making."""
    from layout_engine.sheets.cut_list import cut_list
    from webapp.printing.cut_list_csv import cut_list_csv

    opened = store.open(project_id)
    name = attachment(opened.job.name, f"wires rev {opened.revision}", "csv")
    return Response(cut_list_csv(cut_list(routes_of(opened))),
                    media_type="text/csv; charset=utf-8", headers={
        "Content-Disposition": name, "X-Content-Type-Options": "nosniff",
        "Content-Security-Policy": "default-src 'none'; sandbox", "Cache-Control": "no-store"})


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

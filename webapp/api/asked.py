"""Questions about the supply for programs: drives, pack, sizes, faults, heat, what if."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Annotated, Any

from fastapi import APIRouter, Query
from starlette.responses import Response

from layout_engine import Fault
from layout_engine.sizing import told
from layout_engine.sizing.board import Sizing
from layout_engine.sizing.results import StallClock
from layout_engine.sizing.what_if import Broken, what_if_sized
from layout_engine.supply.lost_return import OpenedReturn
from layout_engine.supply.pushed import Pushed
from layout_engine.supply.state import SupplyError
from webapp.api.answers import ProjectId, etag, json_answer
from webapp.api.description import answer_of, problems
from webapp.api.records import plain, schema_of
from webapp.api.supply import CaseQuery, PackQuery
from webapp.errors import Refused
from webapp.stores.projects import Opened
from webapp.stores.routes import sized_routes_of
from webapp.views import StoreDep

router = APIRouter(prefix="/api/projects/{project_id}/supply", tags=["supply"])
NOTHING = "Nothing is joined, so nothing flows."
MOST_NAMED = 20  # branches or pairs in one question
OpenQuery = Annotated[list[str], Query(
    alias="open", max_length=MOST_NAMED,
    description="what is open: a connection's id, or a path \"part.from>to\"; may be repeated",
)]
ShortQuery = Annotated[list[str], Query(
    alias="short", max_length=MOST_NAMED,
    description="two terminals that touch, \"part.terminal,part.terminal\"; may be repeated",
)]


def sizing_of(opened: Opened) -> Sizing:
    """The sized supply of a revision.

    Raises:
        Refused: 422, there is none; says why.
    """
    found = sized_routes_of(opened)
    if found.sizing is None:
        why = found.why or NOTHING
        raise Refused(422, why, (Fault("$.connections", None, why),))
    return found.sizing


def _described(words: str, kind: Any) -> dict[int | str, dict[str, Any]]:
    return answer_of(words, schema_of(kind)) | problems(404, 422)


def _add(name: str, words: str, kind: Any, work: Callable[[Sizing], Any]) -> None:
    """One call whose answer follows from the sized supply alone."""
    def call(project_id: ProjectId, store: StoreDep) -> Response:
        opened = store.open(project_id)
        try:
            found = work(sizing_of(opened))
        except SupplyError as error:
            raise Refused(422, str(error), (Fault("$", None, str(error)),)) from None
        return json_answer(plain(found), ETag=etag(opened.revision))

    call.__doc__ = words
    router.add_api_route(f"/{name}", call, methods=["GET"], name=f"project_{name}",
                         summary=words, responses=_described(words, kind))


CALLS: Mapping[str, tuple[str, Any, Callable[[Sizing], Any]]] = {
    "drives": ("What each motor draws on the flat, up the ramp and held fast.", told.Drives,
               told.drives_told),
    "pack": ("Run time, sag, lowest voltage of control, charging, inrush.", told.Pack,
             told.pack_told),
    "sizes": ("Each wire, fuse, contact and switch: needed and chosen, and why.", told.Sizes,
              told.sizes_told),
    "shorts": ("A dead short at each branch's far end, and how soon its fuse ends it.",
               tuple[told.ShortTold, ...], told.shorts_told),
    "stalls": ("Each motor held fast, as a clock: wire, fuse, driver.", tuple[StallClock, ...],
               told.stalls_told),
    "returns": ("Each return opened in turn: what goes dead, where the current goes.",
                tuple[OpenedReturn, ...], told.returns_told),
    "pushed": ("The rail of each driver while the machine is pushed.", tuple[Pushed, ...],
               told.pushed_told),
    "heat": ("Heat of each part and wire, air inside, what is touched.", told.Heat,
             told.heat_told),
}  # fmt: skip
for _name, _call in CALLS.items():
    _add(_name, *_call)


@router.get("/what-if", name="project_what_if",
            responses=_described("What the fault does, at once and in the end.", Broken))
def project_what_if(
    project_id: ProjectId, store: StoreDep, opened: OpenQuery = [],  # noqa: B006 (read only)
    shorted: ShortQuery = [], case: CaseQuery = "typical",  # noqa: B006
    pack: PackQuery = "nominal",
) -> Response:
    """Something open or shorted: what goes dead, which voltages appear, which fuse ends it."""
    found = store.open(project_id)
    pairs = tuple(_pair(text) for text in shorted)
    try:
        broken = what_if_sized(sizing_of(found), opened=tuple(opened), shorted=pairs, case=case,
                               pack=pack)
    except SupplyError as error:
        raise Refused(422, str(error), (Fault("query", None, str(error)),)) from None
    return json_answer(plain(broken), ETag=etag(found.revision))


def _pair(text: str) -> tuple[str, str]:
    one, comma, other = text.partition(",")
    if not comma or not one.strip() or not other.strip():
        allowed = 'two terminals, "part.terminal,part.terminal"'
        raise Refused(422, f"short: allowed: {allowed}", (Fault("query.short", text, allowed),))
    return one.strip(), other.strip()

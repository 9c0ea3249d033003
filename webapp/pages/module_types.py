"""Measuring a module: the form of a part type of the job, or of a new one, with its drawing."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from layout_engine import DocumentError, Job, dump_document
from layout_engine.edits import Edited, add_part, set_type
from layout_engine.errors import Fault
from webapp.drawings.module import module_drawing
from webapp.drawings.primitives import Drawing
from webapp.forms import part_type_form
from webapp.forms.drawable import drawable, outline_faults
from webapp.forms.fields import Reading, Typed, new_row, typed_form, with_rows
from webapp.forms.part_type_form import TABLE, TABLES
from webapp.forms.posted import FormDep, revision_of
from webapp.forms.said import put_beside
from webapp.stores.projects import NotFound, Opened
from webapp.views import JobBar, StoreDep, job_bar, render

router = APIRouter()
UNPROCESSABLE = 422
_OF_TYPE = re.compile(r"\$\.types\.[a-z0-9_]+")


@dataclass(frozen=True, slots=True)
class TypePage:
    """The form of a part type as typed, its faults, and the drawing that follows it."""

    job_bar: JobBar
    project_id: str
    revision: int
    type_id: str  # empty for a new type
    title: str
    typed: Typed
    faults: Mapping[str, str]
    other_faults: tuple[str, ...]
    drawing: Drawing | None
    undrawn: str
    users: tuple[str, ...]
    basis: Mapping[str, str]  # what its values rest on, in words, by field name
    form: Any = part_type_form
    page: str = "modules"


@dataclass(frozen=True, slots=True)
class TypeDrawing:
    """The drawing of a form as typed so far, or why there is none."""

    drawing: Drawing | None
    undrawn: str


@router.get("/jobs/{project_id}/modules/measure", name="module_types_new")
def new_type(request: Request, project_id: str, store: StoreDep) -> Response:
    """An empty form: a module that is on no shelf."""
    typed = part_type_form.typed_type(part_type_form.NEW)
    fixings = TABLE["fixings"]
    rows = (new_row(fixings, ()),)
    return _page(request, store.open(project_id), "",
                 replace(typed, rows={**typed.rows, "fixings": rows}))


@router.get("/jobs/{project_id}/modules/types/{type_id}", name="module_types")
def edit_type(request: Request, project_id: str, type_id: str, store: StoreDep) -> Response:
    """The form of one part type that the job uses."""
    opened = store.open(project_id)
    before = type_before(opened.job, type_id)
    return _page(request, opened, type_id, part_type_form.typed_type(before))


@router.post("/jobs/{project_id}/modules/measure", name="module_types_create")
def create_type(request: Request, project_id: str, store: StoreDep, form: FormDep) -> Response:
    """Put a module of a new type into the tray."""
    return _posted(request, store.open(project_id), "", form)


@router.post("/jobs/{project_id}/modules/types/{type_id}", name="module_types_save")
def save_type(request: Request, project_id: str, type_id: str, store: StoreDep,
              form: FormDep) -> Response:
    """Save a part type; every module of this type changes with it."""
    return _posted(request, store.open(project_id), type_id, form)


@router.post("/jobs/{project_id}/modules/drawing", name="module_types_drawing")
def draw_type(request: Request, form: FormDep) -> Response:
    """The drawing of a form as typed so far; nothing is saved."""
    typed = typed_form(form, TABLES)
    record, reading = part_type_form.read_type(typed, {})
    return render(request, "fragments/module_types_drawing.html",
                  TypeDrawing(_drawn(record), _undrawn(typed, record, reading)))


def type_before(job: Job, type_id: str) -> dict[str, Any]:
    """A part type of the job as plain JSON values; raises NotFound."""
    if type_id not in job.types:
        raise NotFound(f"no part type {type_id!r} in this job")
    found: dict[str, Any] = dump_document(job)["types"][type_id]
    return found


def _posted(request: Request, opened: Opened, type_id: str, form: Mapping[str, Any]) -> Response:
    before = type_before(opened.job, type_id) if type_id else {}
    typed = with_rows(typed_form(form, TABLES), form, TABLES)
    if "more" in form or "drop" in form:
        return _page(request, opened, type_id, typed)
    record, reading = part_type_form.read_type(typed, before)
    others: tuple[str, ...] = ()
    if not reading.faults:
        try:
            edited = _edited(opened.job, type_id, record)
        except DocumentError as error:
            others = _told(reading, error)
        else:
            request.app.state.store.save(
                opened.id, edited.job, edited.words, revision_of(form))
            url = request.app.url_path_for("modules", project_id=opened.id)
            return RedirectResponse(url, 303)
    return _page(request, opened, type_id, typed, reading, others)


def _edited(job: Job, type_id: str, record: dict[str, Any]) -> Edited:
    if type_id:
        return set_type(job, type_id, record)
    name = str(record.get("name", ""))
    return add_part(job, record, name, name)


def _told(reading: Reading, error: DocumentError) -> tuple[str, ...]:
    """Faults that belong beside no field, in words; the others are put beside theirs."""
    faults = [Fault(_OF_TYPE.sub("$", f.path), f.value, f.allowed) for f in error.errors]
    return put_beside(reading, faults, "$")


def _basis(typed: Typed) -> dict[str, str]:
    words = dict(part_type_form.BASIS_WORDS)
    names = [entry.name for entry in part_type_form.BASIS]
    return {name: words.get(typed.texts.get(name, ""), words["guess"]) for name in names}


def _drawn(record: dict[str, Any]) -> Drawing | None:
    kind = drawable(record)
    return None if kind is None else module_drawing(kind)


def _undrawn(typed: Typed, record: dict[str, Any], reading: Reading) -> str:
    """Why nothing can be drawn: what to type, or what is wrong with what was typed."""
    names = ("width", "depth", "outline")
    if not any(typed.texts.get(name, "").strip() for name in names):
        return "Type width and depth: the drawing follows."
    wrong = [reading.faults[name] for name in names if name in reading.faults]
    wrong += [f"its corners: allowed: {allowed}" for allowed in outline_faults(record)]
    return f"Not drawn. {'; '.join(wrong)}"


def _page(request: Request, opened: Opened, type_id: str, typed: Typed,
          reading: Reading | None = None, others: tuple[str, ...] = ()) -> Response:
    record, found = part_type_form.read_type(typed, {})
    users = tuple(part.title for part in opened.job.parts if part.type == type_id)
    title = opened.job.types[type_id].name if type_id else "Measure a module"
    context = TypePage(
        job_bar(opened), opened.id, opened.revision, type_id, title, typed,
        reading.faults if reading else {}, others, _drawn(record), _undrawn(typed, record, found),
        users, _basis(typed),
    )
    return render(request, "pages/module_types.html", context,
                  UNPROCESSABLE if reading else 200)

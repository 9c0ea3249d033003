"""Modules: types from the shelf into the tray, named, and where each module of the job is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from layout_engine import DocumentError, Fault, Job
from layout_engine.edits import Edited, add_part, place_parts, remove_part, set_part
from layout_engine.model.part import Part
from webapp.drawings.module import silhouette
from webapp.drawings.primitives import Drawing
from webapp.forms import part_form
from webapp.forms.fields import Reading, Table, Typed, typed_form
from webapp.forms.posted import FormDep, revision_of
from webapp.forms.said import put_beside
from webapp.forms.shelf import ShelfEntry, basis_words, entries, found_by
from webapp.forms.values import show_number
from webapp.stores.projects import NotFound, Opened
from webapp.views import JobBar, StoreDep, job_bar, job_page, render

router = APIRouter()
UNPROCESSABLE = 422


@dataclass(frozen=True, slots=True)
class Shelved:
    """A type on the shelf with its small drawing."""

    entry: ShelfEntry
    drawing: Drawing


@dataclass(frozen=True, slots=True)
class Mine:
    """One module of the job in the list."""

    id: str
    title: str
    type_id: str
    type_name: str
    where: str
    basis: str
    is_guess: bool
    is_locked: bool
    is_placed: bool
    drawing: Drawing


@dataclass(frozen=True, slots=True)
class PartPanel:
    """The settings of one part as typed, with their faults."""

    id: str
    title: str
    type_id: str
    typed: Typed
    faults: Mapping[str, str]
    other_faults: tuple[str, ...]
    wishes: Mapping[str, Table]
    is_placed: bool
    is_away: bool
    form: Any = part_form


@dataclass(frozen=True, slots=True)
class NotTaken:
    """A type that could not be taken: what was typed, and what is wrong with it."""

    type_id: str = ""
    label: str = ""
    words: str = ""


@dataclass(frozen=True, slots=True)
class ModulesPage:
    """The page: the job's modules on the left, the shelf or one module's settings beside them."""

    job_bar: JobBar
    project_id: str
    revision: int
    shelf: tuple[Shelved, ...]
    shelf_size: int
    kinds: tuple[tuple[str, str], ...]
    find: str
    kind: str
    mine: tuple[Mine, ...]
    panel: PartPanel | None
    not_taken: NotTaken
    page: str = "modules"


def where_words(part: Part) -> str:
    """Where a part is: "on the front", "in the tray", "elsewhere, lead 310 mm"."""
    if part.placement is not None:
        return f"on the {part.placement.face}"
    if part.away is not None:
        if not part.away.lead:
            return "elsewhere, length of its lead not given"
        return f"elsewhere, lead {show_number(part.away.lead)} mm"
    return "in the tray"


def _mine(job: Job) -> tuple[Mine, ...]:
    return tuple(
        Mine(
            part.id, part.title, part.type, kind.name, where_words(part), basis_words(kind),
            kind.is_guessed, part.locked, part.placement is not None, silhouette(kind),
        )
        for part in job.parts
        for kind in (job.type_of(part),)
    )


def _page(request: Request, opened: Opened, panel: PartPanel | None = None,
          status: int = 200, not_taken: NotTaken = NotTaken()) -> Response:
    filled = _filled(request, opened, panel, not_taken)
    return render(request, "pages/modules.html", filled, status)


def _filled(request: Request, opened: Opened, panel: PartPanel | None = None,
            not_taken: NotTaken = NotTaken()) -> ModulesPage:
    asked = request.query_params
    find, kind = asked.get("find", "")[:200], asked.get("kind", "")[:40]
    shelf = entries(request.app.state.shelf)
    shown = [e for e in shelf if found_by(e, find, kind)] if panel is None else []
    return ModulesPage(
        job_bar(opened), opened.id, opened.revision,
        tuple(Shelved(e, silhouette(e.type)) for e in shown), len(shelf),
        tuple(sorted({(e.kind, e.kind_words) for e in shelf})), find, kind,
        _mine(opened.job), panel, not_taken,
    )


@router.get("/jobs/{project_id}/modules", name="modules")
def modules(request: Request, project_id: str, store: StoreDep) -> Response:
    """The job's modules and the shelf; `find` and `kind` narrow the shelf."""
    opened = store.open(project_id)
    return job_page(request, "pages/modules.html", opened, lambda: _filled(request, opened))


@router.post("/jobs/{project_id}/modules/take", name="modules_take")
def take(request: Request, project_id: str, store: StoreDep, form: FormDep) -> Response:
    """Copy a type of the shelf into the job, with one such module in the tray or elsewhere."""
    opened = store.open(project_id)
    type_id, typed = form.get("type", ""), form.get("label", "")
    if type_id not in request.app.state.shelf:
        raise NotFound(f"no part type {type_id[:40]!r} on the shelf")
    part_type = request.app.state.shelf[type_id]
    label = _free_label(opened.job, typed.strip() or part_type["name"])
    try:
        edited = add_part(opened.job, part_type, type_id, label)
        edited = _elsewhere(edited) if "elsewhere" in form else edited
    except DocumentError as error:
        words = "; ".join(_not_taken(fault) for fault in error.errors)
        return _page(request, opened, None, UNPROCESSABLE, NotTaken(type_id, typed, words))
    return _saved(request, store, opened, edited, form)


def _not_taken(fault: Fault) -> str:
    """Why a type could not be taken: the job has no room for it, or its name is wrong."""
    if fault.path == "$.parts":
        return f"A job has {fault.allowed.removesuffix(' entries')} modules."
    return f"Its name: allowed: {fault.allowed}"


def _elsewhere(added: Edited) -> Edited:
    """The new module elsewhere in the body; its lead leaves at the top edge until it is told."""
    new = added.job.parts[-1]
    return set_part(added.job, new.id, f"{added.words}, elsewhere", away={})


def _free_label(job: Job, wanted: str) -> str:
    """The name itself, or with a number when the job has it already."""
    titles = {part.title for part in job.parts}
    if wanted not in titles:
        return wanted
    number = 2
    while f"{wanted} {number}" in titles:
        number += 1
    return f"{wanted} {number}"


def _saved(request: Request, store: StoreDep, opened: Opened, edited: Edited,
           form: Mapping[str, Any]) -> Response:
    store.save(opened.id, edited.job, edited.words, revision_of(form))
    path = request.app.url_path_for("modules", project_id=opened.id)
    searched = {key: form[key] for key in ("find", "kind") if form.get(key)}
    return RedirectResponse(f"{path}?{urlencode(searched)}" if searched else path, 303)


def part_of(job: Job, part_id: str) -> Part:
    """The part of that id; raises NotFound."""
    if part_id not in job.parts_by_id:
        raise NotFound(f"no module {part_id!r} in this job")
    return job.part(part_id)


@router.get("/jobs/{project_id}/modules/parts/{part_id}", name="modules_part")
def part(request: Request, project_id: str, part_id: str, store: StoreDep) -> Response:
    """The settings of one module."""
    opened = store.open(project_id)
    wanted = part_of(opened.job, part_id)
    forms = part_form.wish_forms(part_form.others_of(opened.job, wanted))
    return _page(request, opened, _panel(opened.job, wanted, part_form.typed_part(wanted, forms)))


def _panel(job: Job, wanted: Part, typed: Typed, reading: Reading | None = None,
           others: tuple[str, ...] = ()) -> PartPanel:
    forms = part_form.wish_forms(part_form.others_of(job, wanted))
    faults = reading.faults if reading else {}
    return PartPanel(wanted.id, wanted.title, wanted.type, typed, faults, others, forms,
                     wanted.placement is not None, wanted.away is not None)


@router.post("/jobs/{project_id}/modules/parts/{part_id}", name="modules_part_save")
def save_part(request: Request, project_id: str, part_id: str, store: StoreDep,
              form: FormDep) -> Response:
    """Save the settings of one module, or show them with one more or one less wish."""
    opened = store.open(project_id)
    wanted = part_of(opened.job, part_id)
    forms = part_form.wish_forms(part_form.others_of(opened.job, wanted))
    typed = part_form.with_wishes(typed_form(form, (forms["face"],)), forms, form)
    if "more" in form or "drop" in form:
        return _page(request, opened, _panel(opened.job, wanted, typed))
    record, reading = part_form.read_part(typed, forms)
    others: tuple[str, ...] = ()
    if not reading.faults:
        try:
            return _saved(request, store, opened, _set(opened.job, wanted, record), form)
        except DocumentError as error:
            root = f"$.parts[{opened.job.parts.index(wanted)}]"
            others = put_beside(reading, error.errors, root)
    return _page(request, opened, _panel(opened.job, wanted, typed, reading, others),
                 UNPROCESSABLE)


def _set(job: Job, wanted: Part, record: dict[str, Any]) -> Edited:
    renamed = record["label"] not in (None, wanted.label)
    words = f"name {wanted.title}: {record['label']}" if renamed else f"settings of {wanted.title}"
    return set_part(job, wanted.id, words, **record)


@router.post("/jobs/{project_id}/modules/parts/{part_id}/tray", name="modules_part_tray")
def to_tray(request: Request, project_id: str, part_id: str, store: StoreDep,
            form: FormDep) -> Response:
    """Take a module off the plate, or from elsewhere, back into the tray."""
    opened = store.open(project_id)
    wanted = part_of(opened.job, part_id)
    words = f"{wanted.title} back to the tray"
    if wanted.away is not None:
        edited = set_part(opened.job, part_id, words, away=None)
    else:
        edited = place_parts(opened.job, {part_id: None}, words)
    return _saved(request, store, opened, edited, form)


@router.post("/jobs/{project_id}/modules/parts/{part_id}/remove", name="modules_part_remove")
def remove(request: Request, project_id: str, part_id: str, store: StoreDep,
           form: FormDep) -> Response:
    """Take a module out of the job; undo brings it back."""
    opened = store.open(project_id)
    part_of(opened.job, part_id)
    return _saved(request, store, opened, remove_part(opened.job, part_id), form)

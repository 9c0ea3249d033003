"""Jobs: new, open, copy, rename, into the bin and back, export and import."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime
from functools import lru_cache
from pathlib import Path

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.responses import RedirectResponse, Response

from layout_engine import DocumentError, Fault, Job, load_document
from layout_engine.edits import rename_job
from webapp.drawings.board import thumbnail
from webapp.drawings.primitives import Drawing
from webapp.forms.posted import FormDep, revision_of
from webapp.new_job import DEFAULT_NAME, empty_job
from webapp.seed import read_demos
from webapp.stores.projects import NotFound, Opened, ProjectSummary
from webapp.views import JobBar, StoreDep, render

router = APIRouter()
UNPROCESSABLE = 422
EMPTY = "empty"


@dataclass(frozen=True, slots=True)
class JobCard:
    """One job in the list."""

    id: str
    name: str
    revision: int
    changed: datetime
    modules: int
    where: str
    picture: Drawing


@dataclass(frozen=True, slots=True)
class Typed:
    """What was typed into a form that could not be taken, and why: faults by field."""

    texts: Mapping[str, str] = field(default_factory=dict)
    faults: Mapping[str, str] = field(default_factory=dict)
    renamed: str = ""  # id of the job whose new name was refused


@dataclass(frozen=True, slots=True)
class Imported:
    """A file that is no job: its name, what it is not, and every fault."""

    file: str
    words: str
    faults: tuple[Fault, ...] = ()


@dataclass(frozen=True, slots=True)
class JobsPage:
    """Every job with a small drawing of its board, what a new one may start from, the bin."""

    jobs: tuple[JobCard, ...]
    binned: tuple[JobCard, ...]
    demos: tuple[tuple[str, str], ...]
    typed: Typed
    imported: Imported | None
    default_name: str = DEFAULT_NAME
    job_bar: JobBar | None = None
    page: str = "jobs"


def _card(opened: Opened) -> JobCard:
    job = opened.job
    return JobCard(
        opened.id, job.name, opened.revision, opened.changed, len(job.parts), _where(job),
        thumbnail(job),
    )


def _where(job: Job) -> str:
    """Where the modules are, in words: "16 modules on the plate, 2 in the tray, 5 elsewhere"."""
    if not job.parts:
        return "no modules yet"
    placed, waiting = len(job.placed), len(job.tray)
    counts = ((waiting, "in the tray"), (len(job.parts) - placed - waiting, "elsewhere"))
    on_plate = f"{placed} module{'' if placed == 1 else 's'} on the plate"
    return ", ".join([on_plate, *(f"{count} {where}" for count, where in counts if count)])


@lru_cache(maxsize=2)
def _demos(seed: Path) -> dict[str, Job]:
    return read_demos(seed)


def _page(request: Request, store: StoreDep, typed: Typed | None = None,
          imported: Imported | None = None, status: int = 200) -> Response:
    demos = _demos(request.app.state.settings.seed)
    context = JobsPage(
        tuple(_cards(store.list_projects(), store.open)),
        tuple(_cards(store.list_projects(binned=True), store.open_binned)),
        tuple((demo_id, job.name) for demo_id, job in demos.items()),
        typed or Typed(), imported,
    )
    return render(request, "pages/jobs.html", context, status)


def _cards(listed: Iterable[ProjectSummary], opened: Callable[[str], Opened]) -> Iterator[JobCard]:
    """A card each; one that another window moved since they were listed has none."""
    for one in listed:
        with suppress(NotFound):
            yield _card(opened(one.id))


def _to(request: Request, route: str, **parts: str) -> Response:
    return RedirectResponse(request.app.url_path_for(route, **parts), 303)


@router.get("/", name="jobs")
def jobs(request: Request, store: StoreDep) -> Response:
    """Every job."""
    return _page(request, store)


@router.post("/jobs", name="jobs_new")
def new(request: Request, form: FormDep, store: StoreDep) -> Response:
    """Make a job, empty or from a demo, and go to its inside."""
    start, name = form.get("start", EMPTY), form.get("name", "").strip()
    demos = _demos(request.app.state.settings.seed)
    if start != EMPTY and start not in demos:
        typed = Typed(form, {"start": "Choose an empty job or one of the demo jobs."})
        return _page(request, store, typed, status=UNPROCESSABLE)
    try:
        if start == EMPTY:
            job = empty_job(name or DEFAULT_NAME)
        else:
            job = rename_job(demos[start], name).job if name else demos[start]
    except DocumentError as error:
        typed = Typed(form, {"name": f"Allowed: {error.errors[0].allowed}."})
        return _page(request, store, typed, status=UNPROCESSABLE)
    opened = store.create(job, "new job" if start == EMPTY else "new job from a demo")
    return _to(request, "inside", project_id=opened.id)


@router.post("/jobs/{project_id}/rename", name="jobs_rename")
def rename(request: Request, project_id: str, form: FormDep, store: StoreDep) -> Response:
    """Give a job another name."""
    opened = store.open(project_id)
    try:
        edited = rename_job(opened.job, form.get("name", "").strip())
    except DocumentError as error:
        typed = Typed(form, {"rename": f"Allowed: {error.errors[0].allowed}."}, project_id)
        return _page(request, store, typed, status=UNPROCESSABLE)
    store.save(project_id, edited.job, edited.words, revision_of(form))
    return _to(request, "jobs")


@router.post("/jobs/{project_id}/copy", name="jobs_copy")
def copy(request: Request, project_id: str, store: StoreDep) -> Response:
    """Make a copy of a job."""
    store.copy(project_id)
    return _to(request, "jobs")


@router.post("/jobs/{project_id}/bin", name="jobs_bin")
def into_bin(request: Request, project_id: str, store: StoreDep) -> Response:
    """Put a job into the bin."""
    store.bin(project_id)
    return _to(request, "jobs")


@router.post("/jobs/{project_id}/restore", name="jobs_restore")
def restore(request: Request, project_id: str, store: StoreDep) -> Response:
    """Take a job out of the bin."""
    store.restore(project_id)
    return _to(request, "jobs")


@router.post("/jobs/{project_id}/delete", name="jobs_delete")
def delete(request: Request, project_id: str, store: StoreDep) -> Response:
    """Delete a job that lies in the bin, for good."""
    store.delete(project_id)
    return _to(request, "jobs")


@router.post("/bin/empty", name="jobs_empty_bin")
def empty_bin(request: Request, form: FormDep, store: StoreDep) -> Response:
    """Delete the jobs that the page showed in the bin, for good; none if one is not there."""
    store.delete(*dict.fromkeys(form.get("jobs", "").split()))
    return _to(request, "jobs")


@router.post("/import", name="jobs_import")
async def import_file(request: Request, store: StoreDep) -> Response:
    """Make a job of an exported document; a file that is none changes nothing."""
    async with request.form(max_files=1, max_fields=10) as form:
        file = form.get("file")
        if not isinstance(file, UploadFile) or not file.filename:
            wrong = Imported("", "Choose a file first.")
            return await run_in_threadpool(
                _page, request, store, imported=wrong, status=UNPROCESSABLE)
        name, data = file.filename[:120], await file.read()
    return await run_in_threadpool(_imported, request, store, name, data)


def _imported(request: Request, store: StoreDep, file: str, data: bytes) -> Response:
    try:
        job = load_document(data)
    except DocumentError as error:
        words = ("It is not a JSON file." if error.malformed
                 else "It is not a whole project document. Nothing was imported.")
        wrong = Imported(file, words, tuple(error.errors))
        return _page(request, store, imported=wrong, status=UNPROCESSABLE)
    opened = store.create(job, "imported from a file")
    return _to(request, "inside", project_id=opened.id)

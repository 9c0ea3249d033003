"""Layout: the board with its modules, the tray, what is found, and every place as a table."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from layout_engine import Job
from layout_engine.edits import place_parts
from layout_engine.model.part import Part, Placement
from layout_engine.model.plate import Face
from webapp.drawings.primitives import Drawing
from webapp.drawings.sections import cut_height, top_view
from webapp.drawings.seen import View
from webapp.forms.posted import FormDep, revision_of
from webapp.forms.values import NotReadableError, read_length, read_number
from webapp.live import above, edits, fits, groups, offers, runs
from webapp.live.corners import at_corner, corner_of
from webapp.live.pieces import pieces_of
from webapp.live.state import VIEWS, LayoutState, TableRow, layout_state, read_view
from webapp.stores.projects import Opened
from webapp.views import JobBar, StoreDep, job_page, render

router = APIRouter()
router.include_router(edits.router)
router.include_router(offers.router)
router.include_router(above.router)
router.include_router(groups.router)
router.include_router(fits.router)
router.include_router(runs.router)
UNPROCESSABLE = 422
TURNS = (-360.0, 360.0)
SAME_MM = 1e-6
SNAPS = (("0", "off"), ("0.5", "0.5 mm"), ("1", "1 mm"), ("2.5", "2.5 mm"), ("5", "5 mm"))
SHOWN = (("keep_free", "Keep-free"), ("other_face", "Other face"), ("runs", "Wires"))


@dataclass(frozen=True, slots=True)
class LayoutPage:
    """The page: state of the newest revision, and what its controls offer."""

    job_bar: JobBar
    state: LayoutState
    pieces: Mapping[str, str]
    above: Drawing
    above_words: str
    views: tuple[tuple[View, str], ...] = VIEWS
    snaps: tuple[tuple[str, str], ...] = SNAPS
    shown: tuple[tuple[str, str], ...] = SHOWN
    characters: tuple[tuple[str, str], ...] = offers.CHARACTER_WORDS
    page: str = "layout"


def _page(request: Request, opened: Opened, view: View,
          typed: Mapping[str, TableRow] | None = None) -> LayoutPage:
    state = layout_state(opened, view, typed)
    return LayoutPage(
        state.job_bar, state, pieces_of(request).of(request, state), opened.once(top_view),
        opened.once(cut_height),
    )


@router.get("/jobs/{project_id}/layout", name="layout")
def layout(request: Request, project_id: str, store: StoreDep, view: str = "front") -> Response:
    """The Layout page."""
    opened = store.open(project_id)
    return job_page(request, "pages/layout.html", opened,
                    lambda: _page(request, opened, read_view(view)))


@router.post("/jobs/{project_id}/layout/table", name="layout_table")
def table(request: Request, project_id: str, form: FormDep, store: StoreDep) -> Response:
    """Put modules where the table says; a row that cannot be read keeps what was typed."""
    opened = store.open(project_id)
    view = read_view(form.get("view", ""))
    rows = layout_state(opened, view).rows
    typed = {row.id: _typed(row, form) for row in rows}
    read = {row.id: _read(opened.job, typed[row.id]) for row in rows if typed[row.id] != row}
    faulty = {part_id: row for part_id, row in read.items() if isinstance(row, TableRow)}
    if faulty:
        page = _page(request, opened, view, typed | faulty)
        return render(request, "pages/layout.html", page, UNPROCESSABLE)
    placements = {i: p for i, p in read.items() if isinstance(p, Placement)}
    if placements:
        edited = place_parts(opened.job, placements)
        store.save(opened.id, edited.job, edited.words, revision_of(form))
    there = request.app.url_path_for("layout", project_id=project_id)
    return RedirectResponse(f"{there}?view={view}#table", 303)


def _typed(row: TableRow, form: Mapping[str, str]) -> TableRow:
    """The row as it was typed; fields that were not sent stay."""
    return replace(
        row, x=form.get(f"x.{row.id}", row.x), y=form.get(f"y.{row.id}", row.y),
        turn=form.get(f"turn.{row.id}", row.turn), face=form.get(f"face.{row.id}", row.face),
    )


def _read(job: Job, row: TableRow) -> Placement | TableRow:
    """The placement that a row asks for, or the row with what is wrong in it."""
    part = job.part(row.id)
    if part.locked:
        return replace(row, fault=f"{part.title} is locked: unlock it first.")
    values: dict[str, float] = {}
    for name, text, read in (("x", row.x, read_length), ("y", row.y, read_length),
                             ("turned", row.turn, read_number)):
        try:
            values[name] = read(text)
        except NotReadableError as error:
            return replace(row, fault=f"{name}: {error}")
    if not TURNS[0] <= values["turned"] <= TURNS[1]:
        return replace(row, fault="turned: a number from -360 to 360 degrees")
    return _placed(job, part, row, values)


def _placed(job: Job, part: Part, row: TableRow, values: Mapping[str, float]
            ) -> Placement | TableRow:
    kind = job.type_of(part)
    face: Face = "back" if row.face == "back" else "front"
    try:
        wanted = at_corner(kind, (values["x"], values["y"]), face, values["turned"])
    except ValueError:
        return replace(row, fault="x and y: from -5000 to 5000 mm")
    return _unmoved(job, part, wanted)


def _unmoved(job: Job, part: Part, wanted: Placement) -> Placement:
    """The placement as it was where only its rounding for the table differs."""
    before = part.placement
    if before is None or (before.face, before.turn) != (wanted.face, wanted.turn):
        return wanted
    kind = job.type_of(part)
    old, new = corner_of(kind, before), corner_of(kind, wanted)
    same = abs(old[0] - new[0]) < SAME_MM and abs(old[1] - new[1]) < SAME_MM
    return before if same else wanted



"""What joins what: the from/to table, suggestions with reasons, and terminals that are open."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from layout_engine import DocumentError, Job
from layout_engine.connection_edits import (
    add_connections,
    connection_of,
    leave_open,
    make_lead,
    remove_connections,
    set_connection,
    take_suggestions,
)
from layout_engine.edits import Edited
from layout_engine.joining import Advice, Lacking, all_ends, end_name, open_terminals, suggest
from layout_engine.joining.terminal_names import wire_words
from layout_engine.supply.case_words import case_words
from layout_engine.supply.cases import case_ids
from webapp.drawings.board import board
from webapp.drawings.joins import JoinLine, Spot, join_line, spots
from webapp.drawings.primitives import Drawing
from webapp.forms import joining_form as form_of
from webapp.forms.fields import Typed
from webapp.forms.joining_view import (
    SHOWS,
    SORTS,
    Asked,
    EndGroup,
    LeftOpen,
    OffBoard,
    OfferedGroup,
    OpenGroup,
    WireFinding,
    WireRow,
    asked_of,
    joined_words,
    left_open,
    off_board,
    offered,
    open_groups,
    rows_at,
    start_choices,
    target_choices,
    wire_findings,
    wire_rows,
)
from webapp.forms.lengths import Inches, inches_of_form
from webapp.forms.posted import FormDep, revision_of
from webapp.forms.said import fault_words, put_beside
from webapp.forms.supply_asked.one_wire import WireFigures, one_wire, wire_figures
from webapp.forms.supply_asked.parts import About, Heading
from webapp.forms.supply_asked.renaming import renamed
from webapp.forms.unit_cookie import inches_of, remember_inches
from webapp.forms.values import NotReadableError
from webapp.stores.judging import estimated_now
from webapp.stores.projects import NotFound, Opened
from webapp.stores.routes import sized_routes_of
from webapp.supply_answers import AnswerPiece
from webapp.views import JobBar, StoreDep, job_bar, job_page, render

router = APIRouter()
THIS_WIRE = Heading("wire", "This wire in the supply")
UNPROCESSABLE = 422
GONE = "This suggestion does not hold any more: something else was joined meanwhile."


@dataclass(frozen=True, slots=True)
class BoardView:
    """The board with its terminals as spots, what is not on it, and the chosen wire."""

    drawing: Drawing
    spots: tuple[Spot, ...]
    off: tuple[OffBoard, ...]
    line: JoinLine | None
    at_start: tuple[WireRow, ...]
    start_name: str


@dataclass(frozen=True, slots=True)
class WirePanel:
    """The settings of one connection as typed."""

    id: str
    words: str
    typed: Typed
    starts: tuple[EndGroup, ...]
    targets: tuple[EndGroup, ...]


@dataclass(frozen=True, slots=True)
class Wrong:
    """What is wrong with what was sent: by field, and what has no field."""

    faults: Mapping[str, str] = field(default_factory=dict)
    others: tuple[str, ...] = ()
    typed: Typed = field(default_factory=Typed)
    at: str = ""  # the form that it is about: "add", "wire", "lead", "suggest"
    picked: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class JoiningPage:
    """The page; `view` is there when the board is shown instead of the table."""

    job_bar: JobBar
    project_id: str
    revision: int
    asked: Asked
    rows: tuple[WireRow, ...]
    count: int
    modules: tuple[tuple[str, str], ...]
    starts: tuple[EndGroup, ...]
    targets: tuple[EndGroup, ...]
    panel: WirePanel | None
    groups: tuple[OfferedGroup, ...]
    offer_count: int
    lacking: tuple[Lacking, ...]
    findings: tuple[WireFinding, ...]
    open: tuple[OpenGroup, ...]
    open_count: int
    left_open: tuple[LeftOpen, ...]
    view: BoardView | None
    inches: Inches
    wrong: Wrong
    cases: tuple[tuple[str, str], ...]
    figures: Mapping[str, WireFigures]
    no_figures: str
    shows: tuple[tuple[str, str], ...] = SHOWS
    sorts: tuple[tuple[str, str], ...] = SORTS
    form: Any = form_of
    page: str = "joining"


def _page(request: Request, opened: Opened, asked: Asked, wrong: Wrong | None = None,
          inches: Inches | None = None) -> Response:
    wrong = wrong or Wrong()
    filled = _filled(request, opened, asked, wrong, inches)
    return render(request, "pages/joining.html", filled, UNPROCESSABLE if wrong.at else 200)


def _filled(request: Request, opened: Opened, asked: Asked, wrong: Wrong,
            inches: Inches | None = None) -> JoiningPage:
    job = opened.job
    units = inches_of(request) if inches is None else inches
    advice = opened.once(suggest)
    groups = offered(job, advice)
    opens = opened.once(open_groups)
    estimated = estimated_now(opened)
    return JoiningPage(
        job_bar(opened), opened.id, opened.revision, asked,
        wire_rows(job, asked, "in" if form_of.LENGTH.name in units else "mm"), len(job.connections),
        tuple((part.id, part.title) for part in job.parts if job.type_of(part).terminals),
        opened.once(start_choices), target_choices(job, asked.start, advice),
        _panel(job, asked, wrong, units, advice),
        groups, sum(len(g.offers) for g in groups), advice.lacking,
        wire_findings(job, estimated.findings),
        opens, sum(len(g.terminals) for g in opens), left_open(job),
        _board(job, asked), units, wrong,
        tuple((case, case_words(job, case)) for case in case_ids(job)) if job.connections else (),
        *_figures(opened, asked),
    )


def _figures(opened: Opened, asked: Asked) -> tuple[dict[str, WireFigures], str]:
    """Volts and amps of the case that is asked for, and why there are none where there are none."""
    if not asked.case or asked.show != "table":
        return {}, ""
    found = sized_routes_of(opened)
    if found.sizing is None:
        return {}, found.why
    figures = wire_figures(About(opened.job, found.sizing, {}), asked.case)
    return figures, "" if figures else "This case has no steady state, or is not in the job."


def _panel(job: Job, asked: Asked, wrong: Wrong, inches: Inches, advice: Advice
           ) -> WirePanel | None:
    if asked.wire not in {wire.id for wire in job.connections}:
        return None
    wire = connection_of(job, asked.wire)
    typed = wrong.typed if wrong.at == "wire" else form_of.typed_connection(wire, inches)
    return WirePanel(wire.id, wire_words(job, wire), typed, start_choices(job),
                     target_choices(job, typed.texts.get("from", wire.from_), advice))


def _board(job: Job, asked: Asked) -> BoardView | None:
    if asked.show == "table":
        return None
    words = joined_words(job)
    found = spots(job, asked.show, words)
    line = None
    if asked.wire in {wire.id for wire in job.connections}:
        line = join_line(job, asked.show, connection_of(job, asked.wire))
    return BoardView(board(job, asked.show), found,
                     off_board(job, {spot.end for spot in found}, words), line,
                     rows_at(job, asked.start),
                     end_name(job, asked.start) if asked.start in words else "")


@router.get("/jobs/{project_id}/joining", name="joining")
def joining(request: Request, project_id: str, store: StoreDep) -> Response:
    """The table or the board; a query narrows, sorts, and chooses a wire or the ends of a new."""
    opened, asked = store.open(project_id), asked_of(request.query_params)
    return job_page(request, "pages/joining.html", opened,
                    lambda: _filled(request, opened, asked, Wrong()))


@router.get("/jobs/{project_id}/joining/wires/{wire_id}/supply", name="joining_wire_supply")
def wire_supply(request: Request, project_id: str, wire_id: str, store: StoreDep) -> Response:
    """One wire in the supply: what it carries, its voltages, and what happens if it comes off."""
    opened = store.open(project_id)
    _known(opened.job, wire_id)
    found = sized_routes_of(opened)
    answer = None
    if found.sizing is not None:
        about = About(opened.job, found.sizing, {})
        answer = renamed(about, one_wire(about, wire_id))
    piece = AnswerPiece(opened.id, THIS_WIRE, answer, found.why, "")
    return render(request, "fragments/supply_answer.html", piece)


def _asked(form: Mapping[str, str], **more: str) -> Asked:
    """What the page showed when a form was sent."""
    return asked_of({**form, **{f"view-{key}": value for key, value in more.items()}}, "view-")


def _saved(request: Request, store: StoreDep, opened: Opened, edited: Edited,
           form: Mapping[str, str], **stays: str) -> Response:
    if edited.job != opened.job:
        store.save(opened.id, edited.job, edited.words, revision_of(form))
    path = request.app.url_path_for("joining", project_id=opened.id)
    return RedirectResponse(path + _asked(form, **stays).query(), 303)


def _known(job: Job, connection_id: str) -> str:
    if connection_id not in {wire.id for wire in job.connections}:
        raise NotFound(f"no connection {connection_id[:40]!r} in this job")
    return connection_id


@router.post("/jobs/{project_id}/joining/add", name="joining_add")
def add(request: Request, project_id: str, store: StoreDep, form: FormDep) -> Response:
    """Join two terminals."""
    opened = store.open(project_id)
    ends = frozenset(all_ends(opened.job))
    faults, chosen = {}, {}
    for key in ("from", "to"):
        try:
            chosen[key] = form_of.read_end(form.get(key, ""), ends, key)
        except NotReadableError as words:
            faults[key] = str(words)
    if not faults:
        faults = _pair_faults(opened.job, chosen)
    asked = _asked(form, **{"from": form.get("from", ""), "to": form.get("to", "")})
    if faults:
        return _page(request, opened, asked, Wrong(faults, at="add"))
    return _edited(request, store, opened, form, lambda: add_connections(opened.job, [chosen]),
                   asked)


def _pair_faults(job: Job, chosen: Mapping[str, str], own: str = "") -> dict[str, str]:
    """What is wrong with two ends together; `own` is the wire that they are chosen for."""
    if chosen["from"] == chosen["to"]:
        return {"to": "to: another terminal than the one it starts from"}
    pair = {chosen["from"], chosen["to"]}
    wire = next((w for w in job.connections if {w.from_, w.to} == pair and w.id != own), None)
    return {"to": f"to: these two are joined already, by {wire.id}"} if wire else {}


def _edited(request: Request, store: StoreDep, opened: Opened, form: Mapping[str, str],
            edit: Callable[[], Edited], asked: Asked, at: str = "add") -> Response:
    """Do an edit and save it; what the engine refuses is told on the page."""
    try:
        done = edit()
    except DocumentError as error:
        words = tuple(fault_words(fault) for fault in error.errors)
        return _page(request, opened, asked, Wrong(others=words, at=at))
    return _saved(request, store, opened, done, form)


@router.post("/jobs/{project_id}/joining/wires/{wire_id}", name="joining_wire")
def save_wire(request: Request, project_id: str, wire_id: str, store: StoreDep, form: FormDep
              ) -> Response:
    """Save the settings of one connection; what is wrong comes back beside its field."""
    opened = store.open(project_id)
    job = opened.job
    wire = connection_of(job, _known(job, wire_id))
    inches, typed = inches_of(request), Typed(dict(form))
    record, reading = form_of.read_connection(typed, wire, inches, job.assumptions.sizes)
    others: tuple[str, ...] = ()
    changed = form_of.changes(wire, record)
    if {"from", "to"} & changed.keys():
        reading.faults.update(_end_faults(job, record, wire_id))
    if not reading.faults:
        try:
            edited = set_connection(job, wire_id, _change_words(job, wire_id, changed), **changed)
        except DocumentError as error:
            others = put_beside(reading, error.errors,
                                f"$.connections[{job.connections.index(wire)}]")
        else:
            stays = wire_id if any(name.startswith("unit-") for name in form) else ""
            response = _saved(request, store, opened, edited, form, wire=stays)
            return remember_inches(response, inches_of_form(form, inches))
    return _page(request, opened, _asked(form, wire=wire_id),
                 Wrong(reading.faults, others, typed, "wire"))


def _end_faults(job: Job, record: Mapping[str, Any], own: str) -> dict[str, str]:
    faults = {}
    for key in ("from", "to"):
        try:
            form_of.read_end(record[key], frozenset(all_ends(job)), key)
        except NotReadableError as words:
            faults[f"wire-{key}"] = str(words)
    return faults or {f"wire-{k}": v for k, v in _pair_faults(job, record, own).items()}


def _change_words(job: Job, wire_id: str, changed: Mapping[str, Any]) -> str:
    """The words of the undo button where only one thing was changed."""
    name = wire_words(job, connection_of(job, wire_id))
    words = {"label": "name", "wire": "size and make", "cable": "lead", "length": "length",
             "unplug": "plug", "weight": "weight", "from": "start", "to": "end"}
    keys = list(changed)
    return f"{words[keys[0]]} of {name}" if len(keys) == 1 else ""


@router.post("/jobs/{project_id}/joining/wires", name="joining_wires")
def change_wires(request: Request, project_id: str, store: StoreDep, form: FormDep) -> Response:
    """Remove one wire or those that are ticked, or make those one ready-made lead."""
    opened = store.open(project_id)
    job, inches = opened.job, inches_of(request)
    if "remove" in form:
        gone = remove_connections(job, [_known(job, form["remove"])])
        return _saved(request, store, opened, gone, form)
    picked = [_known(job, name.removeprefix("pick-")) for name in form if name.startswith("pick-")]
    typed, units = Typed(dict(form)), inches_of_form(form, inches)

    def again(faults: Mapping[str, str]) -> Response:
        return _page(request, opened, _asked(form),
                     Wrong(faults, (), typed, "lead", frozenset(picked)))

    if any(key.startswith("unit-") for key in form):
        shown = Wrong(typed=typed, picked=frozenset(picked))
        return remember_inches(_page(request, opened, _asked(form), shown, units), units)
    if not picked:
        return again({"picked": "tick the wires first"})
    if "remove-ticked" in form:
        return _saved(request, store, opened, remove_connections(job, picked), form)
    if "apart" in form:
        return _saved(request, store, opened, make_lead(job, picked, ""), form)
    name, length, reading = form_of.read_lead(typed, inches)
    if reading.faults:
        return again(reading.faults)
    try:
        edited = make_lead(job, picked, name, length)
    except DocumentError as error:
        return again(_lead_faults(error))
    return remember_inches(_saved(request, store, opened, edited, form), units)


def _lead_faults(error: DocumentError) -> dict[str, str]:
    return {("lead_length" if fault.path.endswith(".length") else "lead_name"):
            f"allowed: {fault.allowed}" for fault in error.errors}


@router.post("/jobs/{project_id}/joining/take", name="joining_take")
def take(request: Request, project_id: str, store: StoreDep, form: FormDep) -> Response:
    """Take one suggestion, those of one group, or all."""
    opened = store.open(project_id)
    found = opened.once(suggest).suggestions
    keys = [s.key for s in found
            if form.get("take") in ("all", s.key) or form.get("group") == s.group]
    if not keys:
        return _page(request, opened, _asked(form), Wrong(others=(GONE,), at="suggest"))
    return _edited(request, store, opened, form, lambda: take_suggestions(opened.job, keys),
                   _asked(form), "suggest")


@router.post("/jobs/{project_id}/joining/open", name="joining_open")
def set_open(request: Request, project_id: str, store: StoreDep, form: FormDep) -> Response:
    """Say of ticked terminals that they are left open on purpose, or of one that it is not."""
    opened = store.open(project_id)
    job = opened.job
    ends = set(all_ends(job))
    if "back" in form:
        chosen = [form["back"]]
    else:
        chosen = [name.removeprefix("end-") for name in form if name.startswith("end-")]
        if "spare" in form:
            chosen = [t.end for t in open_terminals(job) if t.spare]
    if not chosen:
        return _page(request, opened, _asked(form),
                     Wrong({"open": "tick the terminals first"}, at="open"))
    if not ends.issuperset(chosen):
        raise NotFound("no such terminal in this job")
    edited = leave_open(job, chosen, on_purpose="back" not in form)
    return _saved(request, store, opened, edited, form)

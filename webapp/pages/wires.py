"""Wires: each wire's figures, fuses and supply, runs on both faces, the cut list ticked off."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from layout_engine import Job
from layout_engine.checks.wording import listed as said_as_list
from layout_engine.joining.terminal_names import wire_words
from layout_engine.record_edits import CUT, set_ticks, ticked, ticks
from layout_engine.sheets.cut_list import CutRow, ReelTotal, cut_list
from layout_engine.sheets.made import Since, made_since, made_words
from layout_engine.tables import dressing as d
from layout_engine.wiring import Conflict, Moved, Routing
from layout_engine.wiring.marking import COLOUR_WORDS
from layout_engine.working import Working
from webapp.drawings.primitives import Drawing
from webapp.drawings.runs import faces_used, routed_board
from webapp.forms import wires_view as seen
from webapp.forms.assumed_form import (
    CASES,
    AssumedForm,
    colours_said,
    read_assumed,
    typed_assumed,
)
from webapp.forms.fields import typed_form, with_rows
from webapp.forms.posted import FormDep, revision_of
from webapp.forms.runs_view import HoleLine, RunLine, hole_lines, run_lines
from webapp.forms.supply_asked import ALL, QUESTIONS, Question
from webapp.forms.supply_asked.parts import Answer
from webapp.forms.supply_view import SupplyView, supply_view
from webapp.forms.values import as_written, show_number
from webapp.forms.working_names import Names
from webapp.static_files import static_files
from webapp.stores.projects import LostUpdate, NotFound, Opened, ProjectStore, utc_now
from webapp.stores.routes import known_routes_of, sized_routes_of
from webapp.supply_answers import answer_of
from webapp.supply_answers import router as about_router
from webapp.views import JobBar, StoreDep, job_bar, job_page, render

router = APIRouter()
router.include_router(about_router)
HABITS = (
    (f"Bend no tighter than {d.BEND_RADIUS.value:g} outer diameters of wire or bundle "
    f"({d.BEND_RADIUS.source}), {d.BEND_AT_TERMINAL.value:g} at a terminal: "
    f"{d.BEND_AT_TERMINAL.source}."),
    (f"Tie every {d.TIE_SPACING.value:g} mm ({d.TIE_SPACING.source}), never farther than "
    f"{d.TIE_SPACING_MOST.value:g} mm ({d.TIE_SPACING_MOST.source}); let nothing sag more than "
    f"{d.SLACK_MOST.value:g} mm ({d.SLACK_MOST.source})."),
    (f"Put a grommet wherever a wire passes a bare edge nearer than {d.HOLE_CLEARANCE.value:g} mm "
    f"({d.HOLE_CLEARANCE.source})."),
)
LAID_AT_ONCE = 120  # wires: they are laid in two seconds or less; five hundred take twelve
MOST_MADE = 1000  # characters of what a tick keeps: a length, a colour, a size, two ends
WORKER = "workers/wires.js"
TRIES = 5  # of a tick while others save
FACE_WORDS = {"front": "Front", "back": "Back, seen from behind"}
CONFLICT_RULES = {
    "no_corridor": "no_corridor", "too_full": "run_too_full", "near_aerial": "wire_near_antenna",
    "pinned": "pinned_blocked",
}
CONFLICT_WORDS = {
    "no_corridor": "no way is wide enough",
    "too_full": "too many wires for the gap",
    "near_aerial": "passes within the aerial's quarter wave",
    "pinned": "its pinned path leaves the plate or meets something",
}


Pieces = tuple[tuple[tuple[str, Drawing], ...], tuple[RunLine, ...], tuple[HoleLine, ...]]


@dataclass(frozen=True, slots=True)
class Trouble:
    """One thing that does not work out: what, the figures, what to do, how they came about."""

    title: str
    figures: str
    remedy: str
    working: Working | None


@dataclass(frozen=True, slots=True)
class WireRow:
    """One wire as the cut list shows it.

    made: what a tick at it keeps; since: what changed since it was made; shown: whether its way is
    drawn on a board.
    """

    row: CutRow
    done: bool
    made: str
    since: Since | None
    shown: bool
    when: datetime | None
    length: str


@dataclass(frozen=True, slots=True)
class Total:
    """Wire of one size and colour to buy."""

    reel: ReelTotal
    colour: str
    metres: str
    working: Working


@dataclass(frozen=True, slots=True)
class WiresPage:
    """The page."""

    job_bar: JobBar
    project_id: str
    revision: int
    troubles: tuple[Trouble, ...]
    drawings: tuple[tuple[str, Drawing], ...]
    run_lines: tuple[RunLine, ...]
    hole_lines: tuple[HoleLine, ...]
    rows: tuple[WireRow, ...]
    done: int
    again: int
    totals: tuple[Total, ...]
    runs: int
    ties: int
    habits: tuple[str, ...]
    colours: str
    lines: tuple[seen.WireLine, ...]
    opened: seen.Opened | None
    traced: seen.WireLine | None
    why: str
    fuses: tuple[seen.FuseLine, ...]
    said: tuple[seen.Said, ...]
    supply: SupplyView | None
    names: Mapping[str, str]
    asked: str
    answer: Answer | None
    assumed: AssumedForm | None
    query: str
    questions: tuple[Question, ...] = ALL
    page: str = "wires"


@dataclass(frozen=True, slots=True)
class LayingPage:
    """What stands in for the page while many wires are laid."""

    job_bar: JobBar
    project_id: str
    wires: int
    page: str = "wires"


@router.get("/jobs/{project_id}/wires", name="wires")
def wires(request: Request, project_id: str, store: StoreDep) -> Response:
    """Figures, runs and cut list of the newest revision.

    A query opens one figure's working, or answers one question about the supply. While many wires
    are laid a page says so; with `laid` in the query the answer waits for them.
    """
    opened, query = store.open(project_id), dict(request.query_params)
    count = len(opened.job.connections)
    if count > LAID_AT_ONCE and "laid" not in query and known_routes_of(opened) is None:
        return render(request, "pages/wires_laying.html",
                      LayingPage(job_bar(opened), opened.id, count))
    if "figure" in query or "about" in query:  # which may not be one that there is
        return render(request, "pages/wires.html", _page(opened, query, request.url.query))
    return job_page(request, "pages/wires.html", opened,
                    lambda: _page(opened, query, request.url.query))


@router.get("/jobs/{project_id}/wires-worker.js", name="wires_worker")
def worker() -> Response:
    """The script that keeps the page on the device; beside the page, so that it may serve it."""
    script = static_files().file(WORKER)
    return Response(script.data if script else b"", media_type="text/javascript")


@router.post("/jobs/{project_id}/wires/ticks", name="wires_ticks")
def keep_ticks(request: Request, project_id: str, form: FormDep, store: StoreDep) -> Response:
    """Remember which wires are cut and fitted."""
    opened = store.open(project_id)
    known = {connection.id for connection in opened.job.connections}
    done = {name for name in known if f"cut-{name}" in form}
    when = utc_now().isoformat(timespec="seconds")
    words = f"{len(done)} of {len(known)} wires ticked off"
    made = {name: _made(form.get(f"made-{name}", "")) for name in done}
    edit = set_ticks(opened.job, CUT, done, words, when, made)
    store.save(opened.id, edit.job, edit.words, revision_of(form))
    return RedirectResponse(request.app.url_path_for("wires", project_id=opened.id), 303)


@router.post("/jobs/{project_id}/wires/{wire_id}/tick", name="wires_tick")
def keep_tick(project_id: str, wire_id: str, form: FormDep, store: StoreDep) -> Response:
    """Remember of one wire whether it is cut and fitted; ticks from several phones add up.

    `made` is what the page said of the wire when it was ticked: the page may be older than the job.
    """
    for _ in range(TRIES):
        try:
            _tick_one(store, project_id, wire_id, _made(form.get("made", "")),
                      is_done=form.get("done") == "yes")
        except LostUpdate:
            continue
        return Response(status_code=204)
    return Response(status_code=409)


def _made(sent: str) -> str:
    """What was made, as the page sent it; nothing where it can be no row of ours."""
    return sent if len(sent) <= MOST_MADE and sent.isprintable() else ""


def _tick_one(store: ProjectStore, project_id: str, wire_id: str, made: str, *, is_done: bool
              ) -> None:
    opened = store.open(project_id)
    ids = [connection.id for connection in opened.job.connections]
    if wire_id not in ids:
        raise NotFound(f"no connection {wire_id[:40]!r} in this job")
    before = ticked(opened.job, CUT)
    after = (before | {wire_id}) if is_done else (before - {wire_id})
    if after == before:
        return
    words = f"wire {ids.index(wire_id) + 1} {'is' if is_done else 'is not'} made"
    when = utc_now().isoformat(timespec="seconds")
    edit = set_ticks(opened.job, CUT, after, words, when, {wire_id: made})
    store.save(opened.id, edit.job, edit.words, opened.revision)


def _when_ticked(job: Job) -> dict[str, datetime]:
    """When each wire was ticked off, where the record says so readably."""
    found = {}
    for name, entry in ticks(job, CUT).items():
        if entry.when:
            try:
                when = datetime.fromisoformat(entry.when)
            except ValueError:
                continue
            found[name] = when if when.tzinfo else when.replace(tzinfo=UTC)
    return found


@dataclass(frozen=True, slots=True)
class BoardsPiece:
    """The boards with their runs and holes, to be put where they are scrolled near."""

    drawings: tuple[tuple[str, Drawing], ...]
    run_lines: tuple[RunLine, ...]
    hole_lines: tuple[HoleLine, ...]


@router.get("/jobs/{project_id}/wires/boards", name="wires_boards")
def boards(request: Request, project_id: str, store: StoreDep) -> Response:
    """The drawings of the runs, without the page."""
    routing = sized_routes_of(store.open(project_id)).routing
    return render(request, "fragments/wires_boards.html", BoardsPiece(*_pieces(routing)))


@router.get("/jobs/{project_id}/wires/assumed", name="wires_assumed_page")
def assumed_page(request: Request, project_id: str) -> Response:
    """Where a page that was answered after a form is loaded again: the page with the form."""
    path = request.app.url_path_for("wires", project_id=project_id)
    return RedirectResponse(f"{path}?about=assumed", 303)


@router.post("/jobs/{project_id}/wires/assumed", name="wires_assumed_save")
def save_assumed(request: Request, project_id: str, form: FormDep, store: StoreDep) -> Response:
    """Save the machine, the cases and what is assumed; what is wrong comes back as typed."""
    opened = store.open(project_id)
    typed = with_rows(typed_form(form, (CASES,)), form, (CASES,))
    shown = AssumedForm(typed)
    edit = None
    if "more" not in form and "drop" not in form:
        edit, shown = read_assumed(opened.job, typed)
    if edit is None:
        page = _page(opened, {"about": "assumed"}, "", shown)
        return render(request, "pages/wires.html", page, 422 if shown.faults or shown.others
                      else 200)
    if edit.job != opened.job:
        store.save(opened.id, edit.job, edit.words, revision_of(form))
    path = request.app.url_path_for("wires", project_id=opened.id)
    return RedirectResponse(f"{path}?about=assumed", 303)


def _page(opened: Opened, query: Mapping[str, str], sent: str,
          typed: AssumedForm | None = None) -> WiresPage:
    wire, figure, about = (query.get(key, "") for key in ("wire", "figure", "about"))
    found = sized_routes_of(opened)
    routing, view, when = found.routing, seen.WiresView(opened.job, found), _when_ticked(opened.job)
    listed, lines, names = cut_list(routing), view.lines, Names(opened.job)
    done = ticked(opened.job, CUT)
    since = {wire: replace(one, words=as_written(one.words))
             for wire, one in made_since(routing, listed.rows).items()}
    drawn = {wire.id for wire in routing.wires if wire.path}
    rows = tuple(
        WireRow(_read(row), row.id in done, made_words(row),
                since.get(row.id),
                row.id in drawn, when.get(row.id),
                "" if row.length is None else show_number(row.length))
        for row in listed.rows)
    again = sum(one.severity == "warn" for one in since.values())
    return WiresPage(
        job_bar(opened), opened.id, opened.revision,
        tuple(_troubles(opened, routing, names)),
        *(_pieces(routing, wire) if wire or "runs" in query else ((), (), ())),
        rows, sum(row.done for row in rows) - again, again,
        tuple(Total(replace(reel, size=as_written(reel.size)), COLOUR_WORDS[reel.colour],
                    f"{reel.metres:.2f}", names.working(reel.working))
              for reel in listed.totals),
        sum(run.is_named for run in routing.runs), len(routing.ties),
        HABITS, colours_said(opened.job), lines,
        view.opened(wire, figure),
        next((line for line in lines if line.id == wire), None), found.why,
        seen.fuse_lines(opened.job, found.sizing) if found.sizing else (),
        seen.said_of(opened.job, [f for f in opened.findings if f.rule in seen.RULES]),
        supply_view(opened.job, found.sizing) if found.sizing else None, seen.FIGURES,
        about if about in QUESTIONS else "", answer_of(opened.job, found, about, query),
        typed or (AssumedForm(typed_assumed(opened.job)) if about == "assumed" else None), sent,
    )


def _read(row: CutRow) -> CutRow:
    """A row with its sizes as they are written by hand."""
    one, other = (replace(end, fitting=as_written(end.fitting)) for end in row.ends)
    return replace(row, size=as_written(row.size), ends=(one, other))


def _pieces(routing: Routing, traced: str = "") -> Pieces:
    """Each face that wires use with its runs, and their figures; half of the page's weight."""
    return (tuple((FACE_WORDS[face], routed_board(routing, face, traced))
                  for face in faces_used(routing)), run_lines(routing), hole_lines(routing))


def _troubles(opened: Opened, routing: Routing, names: Names) -> Iterator[Trouble]:
    """What is to be settled, each with the working of the finding that says the same."""
    workings = {(f.rule, f.place.x, f.place.y): f.working for f in opened.findings
                if f.place and f.rule in CONFLICT_RULES.values()}
    for one in routing.conflicts:
        working = workings.get((CONFLICT_RULES[one.kind], one.x, one.y))
        yield _trouble(opened.job, one, working and names.working(working))


def _trouble(job: Job, conflict: Conflict, working: Working | None) -> Trouble:
    by_id = {c.id: (n, c) for n, c in enumerate(job.connections, 1)}
    meant = [by_id[wire] for wire in conflict.wires]
    title = f"Wires {said_as_list([str(number) for number, _ in meant])}"
    if len(meant) == 1:
        ((number, wire),) = meant
        title = f"Wire {number}, {wire_words(job, wire)}"
    parts = [job.part(p).title if p in job.parts_by_id else p for p in conflict.parts]
    stands = " and ".join(parts)
    figures = "" if not conflict.needs else (
        f"{conflict.gap:.1f} mm there, {conflict.needs:.1f} mm wanted, at "
        f"x {conflict.x:.0f}, y {conflict.y:.0f} mm on the {conflict.face}")
    remedy = f"Move {stands} apart, or allow another way." if stands else ""
    if conflict.move is not None:
        remedy = _moved_words(job, conflict.move)
    return Trouble(f"{title}: {CONFLICT_WORDS[conflict.kind]}", figures, remedy, working)


def _moved_words(job: Job, move: Moved) -> str:
    """Who gives way, how far and whither as the plate is drawn from the front."""
    ways = [(move.dx, "right", "left"), (move.dy, "up", "down")]
    whither = " and ".join(f"{show_number(abs(far))} mm {to if far > 0 else fro}"
                           for far, to, fro in ways if far)
    whither += ", seen from the front" if move.dx else ""
    freely = "" if move.clear else " (something else is met there)"
    return f"Move {job.part(move.part).title} {whither}{freely}, or allow another way."

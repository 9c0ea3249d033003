"""Papers: what can be printed, on how many sheets, what stands against it, and the hole list."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from layout_engine import DocumentError, Job, dump_document
from layout_engine.edits import set_assumptions
from layout_engine.model.plate import Face
from layout_engine.sheets.cut_list import cut_list
from layout_engine.sheets.holes import BoardHoles, Hole, board_holes
from layout_engine.sheets.silhouettes import silhouette_sheets
from layout_engine.tables.paper import PAPERS, Paper
from layout_engine.wiring import Routing
from webapp.forms.posted import FormDep, revision_of
from webapp.forms.values import NotReadableError, read_length, show_number
from webapp.printing.standing import Standing, standing_of
from webapp.stores.judging import judged_now
from webapp.stores.projects import Opened
from webapp.stores.routes import known_routes_of
from webapp.views import JobBar, StoreDep, job_bar, job_page, render

router = APIRouter()
UNPROCESSABLE = 422
MOST_DRILLS = 200
DEFAULT_PAPER = "a4"
TIE_WORDS = {"slots": "through pairs of holes", "screw": "on a screwed mount",
             "foot": "on a stuck-on foot, not drilled"}
DRILLS_WORDS = 'diameters in mm between commas, such as "1, 2, 2.5, 3"'


@dataclass(frozen=True, slots=True)
class PrintSheet:
    """One thing that can be printed: route, query values, words, number of sheets of paper.

    sheets: None while it is not known how the wires run.
    """

    route: str
    face: str
    title: str
    words: str
    sheets: int | None


@dataclass(frozen=True, slots=True)
class HoleRow:
    """One hole as the table shows it."""

    id: str
    x: str
    y: str
    wanted: str
    drill: str
    screw: str
    slack: str
    face: str
    for_: str
    remarks: str


@dataclass(frozen=True, slots=True)
class DrillsField:
    """The drills owned as typed, and what is wrong with them."""

    text: str
    faults: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PapersPage:
    """The page: sheets for a chosen paper, what stands against them, holes, drills.

    is_known: whether all that rests on the routes of the wires is in it.
    """

    job_bar: JobBar
    project_id: str
    revision: int
    paper: str
    paper_label: str
    papers: tuple[tuple[str, str], ...]
    stops: tuple[str, ...]
    unmeasured: tuple[str, ...]
    sheets: tuple[PrintSheet, ...]
    bench: tuple[PrintSheet, ...]
    ties: str
    holes: tuple[HoleRow, ...]
    new_holes: int
    notes: tuple[str, ...]
    drills: DrillsField
    is_known: bool
    page: str = "papers"


@router.get("/jobs/{project_id}/papers", name="papers")
def papers(request: Request, project_id: str, store: StoreDep) -> Response:
    """Everything that can be printed; `paper` picks A4, Letter or A3."""
    opened = store.open(project_id)
    paper = request.query_params.get("paper", "")
    return job_page(
        request, "pages/papers.html", opened,
        lambda: _filled(opened, paper, DrillsField(drills_text(opened.job))))


@router.post("/jobs/{project_id}/papers/drills", name="papers_drills")
def own_drills(request: Request, project_id: str, form: FormDep, store: StoreDep) -> Response:
    """Save which drills the person owns; a list that cannot be read comes back as typed."""
    opened = store.open(project_id)
    text, paper = str(form.get("drills", "")), str(form.get("paper", ""))
    try:
        drills = read_drills(text)
        edited = set_assumptions(opened.job, _with_drills(opened.job, drills),
                                 f"drills owned: {drills_text_of(drills)}"[:200])
    except NotReadableError as words:
        return _page(request, opened, paper, DrillsField(text, (str(words),)), UNPROCESSABLE)
    except DocumentError as error:
        faults = tuple(f"{fault.value}: allowed is {fault.allowed}" for fault in error.errors)
        return _page(request, opened, paper, DrillsField(text, faults), UNPROCESSABLE)
    store.save(opened.id, edited.job, edited.words, revision_of(form))
    return RedirectResponse(
        request.url_for("papers", project_id=opened.id).include_query_params(
            paper=_paper(paper).key), 303)


def _paper(key: str) -> Paper:
    return PAPERS.get(key, PAPERS[DEFAULT_PAPER])


def read_drills(text: str) -> tuple[float, ...]:
    """Diameters [mm] between commas or semicolons, smallest first, each once.

    Raises:
        NotReadableError: a piece that is no length, or none at all, or too many.
    """
    pieces = [piece.strip() for piece in text.replace(";", ",").split(",") if piece.strip()]
    if not pieces or len(pieces) > MOST_DRILLS:
        raise NotReadableError(f"1 to {MOST_DRILLS} {DRILLS_WORDS}")
    drills = set()
    for piece in pieces:
        try:
            drills.add(round(read_length(piece), 4))
        except NotReadableError:
            raise NotReadableError(f"{piece[:40]!r} is not a diameter; allowed are {DRILLS_WORDS}"
                              ) from None
    return tuple(sorted(drills))


def drills_text_of(drills: tuple[float, ...]) -> str:
    """Diameters as the field shows them: "1, 2, 2.5"."""
    return ", ".join(show_number(drill) for drill in drills)


def drills_text(job: Job) -> str:
    """The drills that a job's owner has, as the field shows them."""
    return drills_text_of(tuple(sorted(job.assumptions.drills)))


def _with_drills(job: Job, drills: tuple[float, ...]) -> dict[str, Any]:
    assumptions: dict[str, Any] = dict(dump_document(job).get("assumptions", {}))
    return {**assumptions, "drills": list(drills)}


def _page(request: Request, opened: Opened, paper_key: str, drills: DrillsField,
          status: int = 200) -> Response:
    return render(request, "pages/papers.html", _filled(opened, paper_key, drills), status)


def _filled(opened: Opened, paper_key: str, drills: DrillsField) -> PapersPage:
    from webapp.printing.cautions import board_notes

    paper = _paper(paper_key)
    judged, routes = judged_now(opened), known_routes_of(opened)
    is_known = judged.is_settled and (routes is not None or not opened.job.connections)
    standing = standing_of(opened, findings=judged.findings)
    routing = routes.routing if routes and is_known and opened.job.connections else None
    board = board_holes(opened.job, routing)
    prints = Prints(opened.job, paper, standing, routing, is_known=is_known)
    return PapersPage(
        job_bar(opened), opened.id, opened.revision, paper.key, paper.label,
        tuple((one.key, one.label) for one in PAPERS.values()), standing.stops,
        standing.unmeasured, prints.at_true_size(), prints.for_the_bench(),
        _ties_words(routing), _hole_rows(board), len(board.new), tuple(board_notes(board)), drills,
        is_known,
    )


@dataclass(frozen=True, slots=True)
class Prints:
    """What can be printed on a paper, and how much of it each takes."""

    job: Job
    paper: Paper
    standing: Standing
    routing: Routing | None
    is_known: bool

    def at_true_size(self) -> tuple[PrintSheet, ...]:
        """The sheets at true size."""
        from webapp.printing.outline import outline_plan

        return (
            PrintSheet("cardboard_pdf", "", "Cardboard outline",
                       "The bare plate, to be tried in the body before plastic is bought.",
                       outline_plan(self.job, self.paper).sheets),
            PrintSheet("silhouettes_pdf", "", "Silhouettes of the modules",
                       "To be held against the real modules and pushed about on the table.",
                       max(1, silhouette_sheets(self.job, self.paper).count)),
            PrintSheet("drilling_pdf", "front", "Drilling template, front",
                       "Seen from the front: every hole of both faces.", self._drilling("front")),
            PrintSheet("drilling_pdf", "back", "Drilling template, back",
                       "Seen from behind: the same holes, mirrored.", self._drilling("back")),
        )

    def _drilling(self, face: Face) -> int | None:
        from webapp.printing.drilling import drilling_sheets

        if not self.is_known:
            return None
        return drilling_sheets(self.job, face, self.paper, self.standing, self.routing)

    def for_the_bench(self) -> tuple[PrintSheet, ...]:
        """What is printed for the bench, at no scale."""
        from webapp.printing.cut_sheets import cut_list_sheets

        if not self.job.connections:
            return ()
        count = None if self.routing is None else cut_list_sheets(
            self.job, cut_list(self.routing), self.paper, self.standing, self.routing)
        return (PrintSheet("wires_pdf", "", "Cut list with boxes to tick",
                           "Every wire reel by reel: length, both ends, markers; totals by size "
                           "and colour; where the runs lie.", count),)


def _ties_words(routing: Routing | None) -> str:
    """How the wires are tied down, and what of it is drilled; "" without ties."""
    if routing is None or not routing.ties:
        return ""
    kinds: Counter[str] = Counter(tie.kind for tie in routing.ties)
    said = ", ".join(f"{kinds[kind]} {words}" for kind, words in TIE_WORDS.items() if kinds[kind])
    return (f"Ties for wires: {said}. Slots are taken where a pair of holes has room, on metal and "
            "else a screwed mount, and a stuck-on foot only where nothing can be drilled. They "
            "follow the wires as they run now: print again when wires or modules have moved.")


def _hole_rows(board: BoardHoles) -> tuple[HoleRow, ...]:
    return tuple(_hole_row(hole) for hole in board.holes)


def _hole_row(hole: Hole) -> HoleRow:
    return HoleRow(
        hole.id, f"{hole.x:.1f}", f"{hole.y:.1f}", show_number(hole.wanted),
        show_number(hole.diameter), hole.thread,
        "" if hole.slack is None else show_number(hole.slack), hole.faces, hole.for_, hole.remarks,
    )

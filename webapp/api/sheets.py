"""Sheets for programs and for the Papers page: PDF at true size, hole list, plate drawing."""

from __future__ import annotations

from codecs import BOM_UTF8
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Response

from layout_engine.model.plate import Face
from layout_engine.tables.paper import PAPERS
from webapp.api.answers import ProjectId
from webapp.api.description import problems
from webapp.printing.file_names import attachment
from webapp.printing.standing import routing_of, standing_of
from webapp.stores.projects import Opened
from webapp.stores.routes import routes_of, sized_routes_of
from webapp.views import StoreDep

router = APIRouter(prefix="/api/projects/{project_id}", tags=["sheets"])
PaperKey = Literal["a4", "letter", "a3"]
PaperQuery = Annotated[PaperKey, Query(description="Paper: A4, US Letter or A3.")]
FaceQuery = Annotated[Face, Query(description="The face that is drilled from.")]
# With the signature of UTF-8 (RFC 3629, section 6) spreadsheets read letters beyond ASCII rightly;
# to a program it would be part of the first column's name.
Reader = Literal["programs", "spreadsheets"]
ReaderQuery = Annotated[Reader, Query(alias="for", description="Who reads it: for spreadsheets "
                                      "the file begins with the signature of UTF-8.")]
# Nothing in a downloaded drawing may run or load, wherever it is opened (CSP Level 3).
SANDBOX = "default-src 'none'; sandbox"
PDF, CSV, SVG = "application/pdf", "text/csv; charset=utf-8", "image/svg+xml"


def _answers(media: str) -> dict[int | str, dict[str, Any]]:
    """What a sheet's call may answer, for the description of the interface."""
    content = {media: {"schema": {"type": "string", "format": "binary"}}}
    return {200: {"description": "The sheet.", "content": content}, **problems(404, 422)}


def _table(opened: Opened, data: bytes, what: str, reader: Reader) -> Response:
    signature = BOM_UTF8 if reader == "spreadsheets" else b""
    return _sheet(opened, signature + data, CSV, what, "csv")


def _sheet(opened: Opened, data: bytes, media: str, what: str, ending: str) -> Response:
    name = attachment(opened.job.name, f"{what} rev {opened.revision}", ending)
    return Response(data, media_type=media, headers={
        "Content-Disposition": name, "X-Content-Type-Options": "nosniff",
        "Content-Security-Policy": SANDBOX, "Cache-Control": "no-store"})


@router.get("/drilling.pdf", name="drilling_pdf", response_class=Response,
            responses=_answers(PDF))
def drilling(project_id: ProjectId, store: StoreDep, paper: PaperQuery = "a4",
             face: FaceQuery = "front") -> Response:
    """The 1:1 drilling template of one face, tiled where the plate is larger than the paper."""
    from webapp.printing.drilling import drilling_pdf  # the PDF library is loaded when needed

    opened = store.open(project_id)
    data = drilling_pdf(opened.job, face, PAPERS[paper], standing_of(opened),
                        routing_of(opened))
    return _sheet(opened, data, PDF, f"drilling {face} {paper}", "pdf")


@router.get("/cardboard.pdf", name="cardboard_pdf", response_class=Response,
            responses=_answers(PDF))
def cardboard(project_id: ProjectId, store: StoreDep, paper: PaperQuery = "a4") -> Response:
    """The bare plate 1:1, to be cut from cardboard and tried in the body."""
    from webapp.printing.outline import outline_pdf

    opened = store.open(project_id)
    data = outline_pdf(opened.job, PAPERS[paper], standing_of(opened))
    return _sheet(opened, data, PDF, f"cardboard outline {paper}", "pdf")


@router.get("/silhouettes.pdf", name="silhouettes_pdf", response_class=Response,
            responses=_answers(PDF))
def silhouettes(project_id: ProjectId, store: StoreDep, paper: PaperQuery = "a4") -> Response:
    """Paper outlines of all modules 1:1, to be held against the real ones."""
    from webapp.printing.silhouettes import silhouettes_pdf

    opened = store.open(project_id)
    data = silhouettes_pdf(opened.job, PAPERS[paper], standing_of(opened))
    return _sheet(opened, data, PDF, f"silhouettes {paper}", "pdf")


@router.get("/wires.pdf", name="wires_pdf", response_class=Response, responses=_answers(PDF))
def cut_list_sheet(project_id: ProjectId, store: StoreDep, paper: PaperQuery = "a4") -> Response:
    """The cut list with boxes to tick, reel by reel in the order of making, and its totals."""
    from layout_engine.sheets.cut_list import cut_list
    from layout_engine.sheets.made import still_made
    from webapp.printing.cut_sheets import cut_list_pdf

    opened = store.open(project_id)
    routing = routes_of(opened)
    listed = cut_list(routing)
    data = cut_list_pdf(opened.job, listed, PAPERS[paper], standing_of(opened),
                        still_made(routing, listed.rows), routing)
    return _sheet(opened, data, PDF, f"cut list {paper}", "pdf")


@router.get("/wires.csv", name="wires_csv", response_class=Response,
            responses=_answers("text/csv"))
def cut_list_file(project_id: ProjectId, store: StoreDep, reader: ReaderQuery = "programs"
                  ) -> Response:
    """The cut list: size, colour, length, what goes on the ends, in the order of making."""
    from layout_engine.sheets.cut_list import cut_list
    from webapp.printing.cut_list_csv import cut_list_csv

    opened = store.open(project_id)
    return _table(opened, cut_list_csv(cut_list(routes_of(opened))), "wires", reader)


@router.get("/drilling.csv", name="drilling_csv", response_class=Response,
            responses=_answers("text/csv"))
def hole_list(project_id: ProjectId, store: StoreDep, reader: ReaderQuery = "programs"
              ) -> Response:
    """Every round hole: id, x, y, diameter, what it is for, face; plate coordinates in mm."""
    from webapp.printing.drilling_csv import drilling_csv

    opened = store.open(project_id)
    return _table(opened, drilling_csv(opened.job, routing_of(opened)), "holes", reader)


@router.get("/materials.csv", name="materials_csv", response_class=Response,
            responses=_answers("text/csv"))
def materials_list(project_id: ProjectId, store: StoreDep, reader: ReaderQuery = "programs"
                   ) -> Response:
    """What is bought: wire, ends, ties, clamps, grommets, fuses, spacers and screws."""
    from layout_engine.sheets.materials import materials
    from webapp.printing.materials_csv import materials_csv

    opened = store.open(project_id)
    found = sized_routes_of(opened)
    data = materials_csv(materials(found.routing, found.sizing))
    return _table(opened, data, "materials", reader)


@router.get("/plate.svg", name="plate_svg", response_class=Response,
            responses=_answers(SVG))
def plate(project_id: ProjectId, store: StoreDep) -> Response:
    """Plate edge and holes as SVG, one user unit a millimetre, seen from the front."""
    from webapp.printing.plate_svg import plate_svg

    opened = store.open(project_id)
    return _sheet(opened, plate_svg(opened.job, routing_of(opened)), SVG, "plate in mm", "svg")

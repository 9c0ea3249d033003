"""Inside: the body's shape and sizes, its opening, what is in the way, where the plate stands.

Leaving a changed field saves the form; while something is typed the drawings follow it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import Response

from layout_engine import DocumentError, Finding, Job, dump_document
from layout_engine.edits import Edited, set_top
from webapp.drawings.passing import depth_of, passing_view
from webapp.drawings.primitives import Drawing
from webapp.drawings.sections import cut_height, front_view, side_view, top_view
from webapp.forms import body_form
from webapp.forms.fields import Reading, Typed, typed_form, with_rows
from webapp.forms.form_page import NO_FAULTS, FormPage, OneForm
from webapp.forms.lengths import Inches, with_units
from webapp.forms.measuring import Height, Tip, heights_for, tips_for
from webapp.forms.place_form import FIELDS, place_lengths, place_texts, read_place
from webapp.forms.posted import FormDep
from webapp.forms.said import changed_words, put_beside
from webapp.forms.unit_cookie import inches_of
from webapp.stores.projects import Opened
from webapp.views import StoreDep, job_bar, job_page

router = APIRouter()
TABLE = body_form.OBSTRUCTIONS
CHOICES = (body_form.SHAPE, body_form.OPENING_IN, body_form.OPENING_SHAPE, body_form.SKIN,
           body_form.REACH)


@dataclass(frozen=True, slots=True)
class Said:
    """A sentence about the plate in the body, with its mark: "tick", "warn" or "stop"."""

    mark: str
    title: str
    words: str = ""


@dataclass(frozen=True, slots=True)
class InsideViews:
    """The drawings of a job, and what is said about the plate in them."""

    front: Drawing
    side: Drawing
    top: Drawing
    cut_height: str
    passing: Drawing
    said: tuple[Said, ...]
    tips: tuple[Tip, ...]
    heights: tuple[Height, ...]


@dataclass(frozen=True, slots=True)
class InsidePage(FormPage):
    """The page: the form as typed on the left, the drawings of what is valid on the right."""

    views: InsideViews
    place_fields: tuple[Any, ...] = FIELDS
    form: Any = body_form
    page: str = "inside"


def typed_inside(job: Job, inches: Inches) -> Typed:
    """The job's body and the plate's place as the texts of the form."""
    typed = body_form.typed_body(job.body, inches)
    return replace(typed, texts={**typed.texts, **place_texts(job.plate, inches)})


def views_of(job: Job, findings: Iterable[Finding]) -> InsideViews:
    """Everything that is drawn and said about a valid job and what was found in it."""
    return InsideViews(front_view(job), side_view(job), top_view(job), cut_height(job),
                       passing_view(job), said_of(job, findings), tips_for(job.body),
                       heights_for(job))


def said_of(job: Job, findings: Iterable[Finding]) -> tuple[Said, ...]:
    """Whether the plate fits its place, and the loaded board its way in."""
    found = {f.rule: f for f in findings if f.rule in ("plate_too_big", "no_way_in")}
    depth = f"{depth_of(job):.0f} mm deep"
    said = []
    for rule, good in (("plate_too_big", "The plate fits at its place"),
                       ("no_way_in", _goes_in(job, depth))):
        finding = found.get(rule)
        said.append(Said("tick", good) if finding is None else Said(
            finding.severity, finding.title, f"{finding.message} {finding.remedy}"))
    return tuple(said)


def _goes_in(job: Job, depth: str) -> str:
    if not job.placed:
        return f"The bare plate goes in, {depth}; nothing stands on it yet"
    return f"The loaded plate goes in, {depth} with {_placed_words(len(job.placed))} on it"


def _placed_words(count: int) -> str:
    return "one module" if count == 1 else f"{count} modules"


@router.get("/jobs/{project_id}/inside", name="inside")
def inside(request: Request, project_id: str, store: StoreDep) -> Response:
    """The inside of a job's body."""
    opened = store.open(project_id)
    inches = inches_of(request)
    return job_page(
        request, "pages/inside.html", opened,
        lambda: _filled(opened, opened.job, typed_inside(opened.job, inches), inches))


@router.post("/jobs/{project_id}/inside", name="inside_save")
def save(request: Request, project_id: str, store: StoreDep, form: FormDep) -> Response:
    """Save the form as one edit; what is wrong comes back beside its field, all texts kept."""
    opened = store.open(project_id)
    inches = inches_of(request)
    typed = with_rows(typed_form(form, (TABLE,)), form, (TABLE,))
    if "more" in form or "drop" in form:
        return FORM.answer(request, opened, opened.job, typed, inches)
    return FORM.saved(request, opened, typed, inches, form)


@router.post("/jobs/{project_id}/inside/preview", name="inside_preview")
def preview(request: Request, project_id: str, store: StoreDep, form: FormDep) -> Response:
    """The page as the form stands; nothing is saved. What cannot be drawn yet is left as it was."""
    return FORM.previewed(request, store.open(project_id), typed_form(form, (TABLE,)),
                          inches_of(request))


def _read(job: Job, typed: Typed, inches: Inches, reading: Reading
          ) -> tuple[Edited | None, tuple[str, ...]]:
    """The edit that a form asks for; None where something is wrong, with the words for it."""
    document = dump_document(job)
    body, found = body_form.read_body(typed, inches, job.body, document["body"])
    plate_reading = Reading()
    place = read_place(with_units(typed, FIELDS, inches, place_lengths(job.plate)),
                       plate_reading)
    reading.faults.update(found.faults | plate_reading.faults)
    words = changed_words(typed_inside(job, inches), typed,
                          (*CHOICES, *body_form.SINGLE, *FIELDS,
                           body_form.diameter_field(typed.texts.get("shape", ""))),
                          "change the inside", (TABLE,))
    try:
        edited = set_top(job, words, body=body, plate={**document["plate"], **place})
    except DocumentError as error:
        plates = [f for f in error.errors if f.path.startswith("$.plate")]
        others = put_beside(plate_reading, plates, "$.plate")
        others += put_beside(found, [f for f in error.errors if f not in plates], "$.body")
        reading.faults.update(found.faults | plate_reading.faults)
        return None, () if reading.faults else others
    return (None, ()) if reading.faults else (edited, ())


def _filled(opened: Opened, job: Job, typed: Typed, inches: Inches,
            faults: Mapping[str, str] = NO_FAULTS, others: tuple[str, ...] = ()) -> InsidePage:
    return InsidePage(
        job_bar(opened), opened.id, opened.revision, typed, inches, faults, others,
        views_of(job, opened.placement_findings_of(job)),
    )


FORM = OneForm("inside", _read, _filled)

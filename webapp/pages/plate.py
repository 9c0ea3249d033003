"""Plate: the largest plate that fits is offered; size, place, material, holes, mounting points."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import Response

from layout_engine import DocumentError, Finding, Job, dump_document
from layout_engine.edits import Edited, set_plate
from layout_engine.fitting import (
    PlateOffer,
    largest_plate,
    module_depths,
    other_plates,
    with_offer,
)
from layout_engine.fitting.room import Stop
from layout_engine.model.fields import MAX_COORDINATE_MM
from layout_engine.units import format_number
from webapp.drawings.passing import passing_view
from webapp.drawings.plate import plate_drawing
from webapp.drawings.primitives import Drawing
from webapp.drawings.sections import cut_height, side_view, top_view
from webapp.forms import plate_form
from webapp.forms.fields import Field, Reading, Typed, typed_form, with_rows
from webapp.forms.form_page import NO_FAULTS, UNPROCESSABLE, FormPage, OneForm, saved
from webapp.forms.lengths import Inches, named, shown
from webapp.forms.place_form import FIELDS
from webapp.forms.plate_form import ROOM, SINGLE, TABLES
from webapp.forms.posted import FormDep
from webapp.forms.said import changed_words, put_beside
from webapp.forms.unit_cookie import inches_of
from webapp.forms.values import NotReadableError, read_length
from webapp.stores.projects import Opened
from webapp.views import StoreDep, job_bar, job_page

router = APIRouter()
SIDE_PX = 170.0  # how high the body is drawn on a screen of 900 px: the view has 28 % of it
OF_THE_PLATE = {"plate_too_big", "no_way_in", "conductive_plate", "plate_sags", "tips_over"}
NO_OFFER = "Nothing larger than this fits any more: the offer was not taken."


@dataclass(frozen=True, slots=True)
class Offered:
    """An offer as the page shows it; `value` names it in the form."""

    value: str
    title: str
    size: str
    limits: str
    reason: str
    is_here: bool
    offer: PlateOffer


@dataclass(frozen=True, slots=True)
class PlateViews:
    """The drawings, offers and findings of a valid job."""

    plate: Drawing
    side: Drawing
    top: Drawing
    cut_height: str
    passing: Drawing
    offers: tuple[Offered, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class PlatePage(FormPage):
    """The page: the form as typed on the left, offers and drawings on the right."""

    views: PlateViews
    place_fields: tuple[Field, ...] = FIELDS
    form: Any = plate_form
    page: str = "plate"


@router.get("/jobs/{project_id}/plate", name="plate")
def plate(request: Request, project_id: str, store: StoreDep) -> Response:
    """The plate of a job."""
    opened = store.open(project_id)
    inches = inches_of(request)
    return job_page(
        request, "pages/plate.html", opened,
        lambda: _filled(opened, opened.job, typed_with_room(opened.job, inches), inches))


@router.post("/jobs/{project_id}/plate", name="plate_save")
def save(request: Request, project_id: str, store: StoreDep, form: FormDep) -> Response:
    """Save the form as one edit; what is wrong comes back beside its field, all texts kept."""
    opened = store.open(project_id)
    inches = inches_of(request)
    typed, told = _with_rows(typed_form(form, TABLES), form, inches, opened.job)
    if "more" in form or "drop" in form or told:
        return FORM.answer(request, opened, opened.job, typed, inches, told,
                           status=UNPROCESSABLE if told else 200)
    return FORM.saved(request, opened, typed, inches, form)


@router.post("/jobs/{project_id}/plate/preview", name="plate_preview")
def preview(request: Request, project_id: str, store: StoreDep, form: FormDep) -> Response:
    """The page as the form stands; nothing is saved. What cannot be drawn yet is left as it was."""
    return FORM.previewed(request, store.open(project_id), typed_form(form, TABLES),
                          inches_of(request))


@router.post("/jobs/{project_id}/plate/take", name="plate_take")
def take(request: Request, project_id: str, store: StoreDep, form: FormDep) -> Response:
    """Take an offered plate, worked out anew for the form as it stands."""
    opened = store.open(project_id)
    inches = inches_of(request)
    typed = typed_form(form, TABLES)
    edited = FORM.asked(request, opened, typed, inches)
    if isinstance(edited, Response):
        return edited
    job = edited.job
    wanted = next((o.offer for o in offers_of(job, typed, inches)
                   if o.value == form.get("take") and o.offer.found), None)
    if wanted is None:
        return FORM.answer(request, opened, job, typed, inches, others=(NO_OFFER,),
                           status=UNPROCESSABLE)
    document = with_offer(job.plate, dump_document(job)["plate"], wanted)
    try:
        taken = set_plate(job, document, f"use the plate {wanted.width} x {wanted.height}")
    except DocumentError as error:
        told = put_beside(Reading(), error.errors, "$.plate")
        return FORM.answer(request, opened, job, typed, inches, others=told,
                           status=UNPROCESSABLE)
    return saved(request, opened, taken, form, "plate")


def typed_with_room(job: Job, inches: Inches) -> Typed:
    """The plate's form, with the heights of the job's modules as the room wanted on it."""
    typed = plate_form.typed_plate(job.plate, inches)
    room = {entry.name: shown(depth, inch=entry.name in inches)
            for entry, depth in zip(ROOM, module_depths(job), strict=True)}
    return replace(typed, texts={**typed.texts, **room})


def _with_rows(typed: Typed, form: Mapping[str, str], inches: Inches, job: Job
               ) -> tuple[Typed, Mapping[str, str]]:
    """The form with a row more or less, or with mounting points in the corners; faults if wrong."""
    changed = with_rows(typed, form, TABLES)
    if "corners" in form:
        try:
            mounts = plate_form.corner_rows(typed, inches, job.plate)
        except NotReadableError as words:
            return typed, {"corner_inset": str(words)}
        changed = replace(changed, rows={**changed.rows, "mounts": mounts})
    return changed, NO_FAULTS


def _read(job: Job, typed: Typed, inches: Inches, reading: Reading
          ) -> tuple[Edited | None, tuple[str, ...]]:
    """The edit that a form asks for; None where something is wrong, with the words for it."""
    before = dump_document(job)["plate"]
    record, found = plate_form.read_plate(typed, inches, job.plate, before)
    words = changed_words(plate_form.typed_plate(job.plate, inches), typed,
                          (plate_form.FORM, *SINGLE), "change the plate",
                          plate_form.TABLES)
    edited: Edited | None = None
    others: tuple[str, ...] = ()
    try:
        edited = set_plate(job, record, words)
    except DocumentError as error:
        others = put_beside(found, error.errors, "$.plate")
    reading.faults.update(found.faults)
    return (None, () if reading.faults else others) if reading.faults or others else (edited, ())


def offers_of(job: Job, typed: Typed, inches: Inches) -> tuple[Offered, ...]:
    """The largest plate at the chosen place, and others that are useful."""
    front, back = (_room(typed, entry, inches, depth)
                   for entry, depth in zip(ROOM, module_depths(job), strict=True))
    here = largest_plate(job, front=front, back=back, words="at this place")
    others = tuple(
        offer for offer in other_plates(job, front=front, back=back)
        if offer.wanted.stands != here.wanted.stands or offer.area > here.area
    )
    return tuple(_offered(number, offer, job) for number, offer in enumerate((here, *others)))


def _room(typed: Typed, entry: Field, inches: Inches, usual: float) -> float:
    """The wanted height of modules; what cannot be read counts as the usual one."""
    text = typed.texts.get(entry.name, "")
    try:
        depth = read_length(named(text, inch=entry.name in inches)) if text.strip() else 0.0
    except NotReadableError:
        return usual
    return min(max(depth, 0.0), MAX_COORDINATE_MM)


LIMITS = {
    "wall": "the wall", "floor": "the floor", "roof": "the top of the body",
    "opening": "the opening", "body above the place": "the body above it",
    "wish": "the size of the body",
}


def limit_words(stop: Stop | None) -> str:
    """What keeps a side from being longer, in words."""
    if stop is None:
        return ""
    what = {"plate": "", "front": " for modules in front", "back": " for modules behind"}
    name = stop.label if stop.kind == "obstruction" else LIMITS[stop.kind]
    return f"{name}{what[stop.what]}"


def _offered(number: int, offer: PlateOffer, job: Job) -> Offered:
    size = f"{offer.width} × {offer.height}"
    limits = ""
    if offer.found:
        wide, high = limit_words(offer.width_stop), limit_words(offer.height_stop)
        limits = (f"Limited by {wide}." if wide == high
                  else f"Width limited by {wide}, height by {high}.")
    wanted = offer.wanted
    place = (wanted.stands, wanted.offset, wanted.base, wanted.shift)
    same_place = place == (job.plate.stands, job.plate.offset, job.plate.base, job.plate.shift)
    is_here = same_place and job.plate.size == (offer.width, offer.height)
    height = format_number(round(wanted.base, 1))
    title = f"{offer.words[:1].upper()}{offer.words[1:]}"
    title += "" if same_place else f", {height} mm above the floor"
    return Offered(str(number), title, size, limits, offer.reason, is_here, offer)


def of_the_plate(job: Job, findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The findings that are about the plate itself, its mounting points, or holes drilled in it."""
    own = {"plate", *(mount.id for mount in job.plate.mounts)}
    about = ((f, f.subjects[-f.of_plate:] if f.of_plate else ()) for f in findings)
    return tuple(f for f, named in about if f.rule in OF_THE_PLATE or own & set(named))


def views_of(job: Job, findings: Iterable[Finding], typed: Typed, inches: Inches) -> PlateViews:
    """Everything that is drawn, offered and said about a valid job."""
    return PlateViews(
        plate_drawing(job, handles=plate_form.is_rectangle(job.plate)), side_view(job, SIDE_PX),
        top_view(job), cut_height(job), passing_view(job), offers_of(job, typed, inches),
        of_the_plate(job, findings),
    )


def _filled(opened: Opened, job: Job, typed: Typed, inches: Inches,
            faults: Mapping[str, str] = NO_FAULTS, others: tuple[str, ...] = ()) -> PlatePage:
    return PlatePage(
        job_bar(opened), opened.id, opened.revision, typed, inches, faults, others,
        views_of(job, opened.placement_findings_of(job), typed, inches),
    )


FORM = OneForm("plate", _read, _filled)

"""What pages that are one form share: what they carry, and how a form is saved and previewed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from fastapi import Request
from fastapi.responses import RedirectResponse, Response

from layout_engine import Job
from layout_engine.edits import Edited
from webapp.forms.fields import Reading, Typed
from webapp.forms.lengths import Inches, inches_of_form
from webapp.forms.posted import revision_of
from webapp.forms.unit_cookie import inches_of, remember_inches
from webapp.stores.projects import Opened
from webapp.views import JobBar, render

UNPROCESSABLE = 422
NO_FAULTS: Mapping[str, str] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class FormPage:
    """The form as typed, with the faults beside its fields and those that belong to none."""

    job_bar: JobBar
    project_id: str
    revision: int
    typed: Typed
    inches: Inches
    faults: Mapping[str, str]
    other_faults: tuple[str, ...]


Read = Callable[[Job, Typed, Inches, Reading], tuple[Edited | None, tuple[str, ...]]]
Fill = Callable[[Opened, Job, Typed, Inches, Mapping[str, str], tuple[str, ...]], FormPage]


@dataclass(frozen=True, slots=True)
class OneForm:
    """A page that is one form, answered for one job and the form as it was sent.

    Attributes:
        page: name of the page, its route and its template.
        read: the edit that a form asks for; None where something is wrong, with the words for
            what belongs to no field. Faults beside fields go into the reading.
        fill: the page of a valid job with the form as typed, faults beside fields, other faults.
    """

    page: str
    read: Read
    fill: Fill

    def answer(self, request: Request, opened: Opened, job: Job, typed: Typed, inches: Inches,
               faults: Mapping[str, str] = NO_FAULTS, others: tuple[str, ...] = (),
               status: int = 200) -> Response:  # fmt: skip
        """The page with the form as typed, and what is drawn of a valid job."""
        page = self.fill(opened, job, typed, inches, faults, others)
        return render(request, f"pages/{self.page}.html", page, status)

    def asked(self, request: Request, opened: Opened, typed: Typed, inches: Inches
              ) -> Edited | Response:
        """The edit that the form asks for; else the page with what is wrong beside its field."""
        reading = Reading()
        edited, others = self.read(opened.job, typed, inches, reading)
        return edited or self.answer(request, opened, opened.job, typed, inches, reading.faults,
                                     others, UNPROCESSABLE)

    def saved(self, request: Request, opened: Opened, typed: Typed, inches: Inches,
              form: Mapping[str, str]) -> Response:
        """The form saved as one edit; what is wrong comes back beside its field, texts kept."""
        edited = self.asked(request, opened, typed, inches)
        if isinstance(edited, Response):
            return edited
        return saved(request, opened, edited, form, self.page)

    def previewed(self, request: Request, opened: Opened, typed: Typed, inches: Inches
                  ) -> Response:
        """The page as the form stands; what cannot be drawn yet is left as it was."""
        reading = Reading()
        edited, others = self.read(opened.job, typed, inches, reading)
        job = opened.job if edited is None else edited.job
        return self.answer(request, opened, job, typed, inches, reading.faults, others)


def saved(request: Request, opened: Opened, edited: Edited, form: Mapping[str, str],
          page: str) -> Response:
    """Save an edit that changes something, and show the page anew with the units chosen on it."""
    if edited.job != opened.job:
        request.app.state.store.save(opened.id, edited.job, edited.words, revision_of(form))
    response = RedirectResponse(request.app.url_path_for(page, project_id=opened.id), 303)
    return remember_inches(response, inches_of_form(form, inches_of(request)))

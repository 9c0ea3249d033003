"""What pages that are one form share: what they carry, and how a form is saved as one edit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from fastapi import Request
from fastapi.responses import RedirectResponse, Response

from layout_engine.edits import Edited
from webapp.forms.fields import Typed
from webapp.forms.lengths import Inches, inches_of_form
from webapp.forms.posted import revision_of
from webapp.forms.unit_cookie import inches_of, remember_inches
from webapp.stores.projects import Opened
from webapp.views import JobBar

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


def saved(request: Request, opened: Opened, edited: Edited, form: Mapping[str, str],
          page: str) -> Response:
    """Save an edit that changes something, and show the page anew with the units chosen on it."""
    if edited.job != opened.job:
        request.app.state.store.save(opened.id, edited.job, edited.words, revision_of(form))
    response = RedirectResponse(request.app.url_path_for(page, project_id=opened.id), 303)
    return remember_inches(response, inches_of_form(form, inches_of(request)))

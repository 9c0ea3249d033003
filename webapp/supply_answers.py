"""Questions about the supply, each worked out when it is opened on Wires or What joins what."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import Response

from layout_engine import Job
from layout_engine.sizing.routed import SizedRoutes
from layout_engine.working import Working
from webapp.forms.assumed_form import AssumedForm, typed_assumed
from webapp.forms.supply_asked import QUESTIONS
from webapp.forms.supply_asked.parts import About, Answer, Heading
from webapp.forms.supply_asked.renaming import renamed
from webapp.forms.supply_asked.volts import terminal_working
from webapp.forms.working_names import Names
from webapp.stores.projects import NotFound
from webapp.stores.routes import sized_routes_of
from webapp.views import StoreDep, render

router = APIRouter()


@dataclass(frozen=True, slots=True)
class AnswerPiece:
    """The answer to one question, to be put below it."""

    project_id: str
    question: Heading
    answer: Answer | None
    why: str
    query: str


@dataclass(frozen=True, slots=True)
class AssumedPiece:
    """The form of what the supply rests on."""

    project_id: str
    revision: int
    assumed: AssumedForm


@dataclass(frozen=True, slots=True)
class WorkingPiece:
    """How the voltage of one terminal was worked out."""

    title: str
    working: Working | None


def answer_of(job: Job, found: SizedRoutes, about: str, chosen: Mapping[str, str]
              ) -> Answer | None:
    """The answer to a question; None where there is no such question or nothing is sized."""
    if found.sizing is None or about not in QUESTIONS:
        return None
    asked = About(job, found.sizing, dict(chosen))
    return renamed(asked, QUESTIONS[about].answer(asked))


@router.get("/jobs/{project_id}/wires/about/assumed", name="wires_assumed")
def assumed(request: Request, project_id: str, store: StoreDep) -> Response:
    """The form of what the supply rests on."""
    opened = store.open(project_id)
    form = AssumedForm(typed_assumed(opened.job))
    piece = AssumedPiece(opened.id, opened.revision, form)
    return render(request, "fragments/wires_assumed.html", piece)


@router.get("/jobs/{project_id}/wires/about/{topic}", name="wires_about")
def about(request: Request, project_id: str, topic: str, store: StoreDep) -> Response:
    """The answer to a question about the newest revision; the query holds what was chosen."""
    if topic not in QUESTIONS:
        raise NotFound(f"no question {topic[:40]!r} about the supply")
    opened = store.open(project_id)
    found = sized_routes_of(opened)
    answer = answer_of(opened.job, found, topic, dict(request.query_params))
    piece = AnswerPiece(opened.id, QUESTIONS[topic], answer, found.why, request.url.query)
    return render(request, "fragments/supply_answer.html", piece)


@router.get("/jobs/{project_id}/wires/terminal", name="wires_terminal")
def terminal(request: Request, project_id: str, store: StoreDep) -> Response:
    """How the voltage of the terminal that the query names was worked out, case and pack in it."""
    opened = store.open(project_id)
    found, chosen = sized_routes_of(opened), dict(request.query_params)
    end = chosen.get("end", "")
    if found.sizing is None or end not in found.sizing.study.network.number:
        raise NotFound(f"no terminal {end[:80]!r} with a voltage in this job")
    asked = About(opened.job, found.sizing, chosen)
    found_out = terminal_working(asked, end)
    told = Names(opened.job).working(found_out) if found_out is not None else None
    piece = WorkingPiece(asked.end(end), told)
    return render(request, "fragments/supply_working.html", piece)

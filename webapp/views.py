"""Rendering: one Jinja environment for all pages, and the small values that every page shows."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, fields
from datetime import UTC, datetime
from functools import lru_cache
from math import isinf
from typing import Annotated, Any

import jinja2
from fastapi import Depends, Request
from jinja2 import pass_context
from starlette.responses import HTMLResponse, Response, StreamingResponse

from layout_engine.working import is_guess
from webapp.drawings.kept import kept
from webapp.drawings.primitives import strokes
from webapp.resources import folder
from webapp.static_files import static_files
from webapp.stores.judging import stops_at_once
from webapp.stores.projects import Opened, ProjectStore

MM_PER_INCH = 25.4  # exact: international yard and pound agreement, 1959
PAUSE = "\f"  # what stands before it in base.html is sent before the rest is worked out
UNEXPECTED = "Something went wrong inside Platewright. What was saved before is still there."
DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September",
          "October", "November", "December")


@dataclass(frozen=True, slots=True)
class Tab:
    """One page of a job in the bar: its route name and its word."""

    name: str
    word: str


TABS = (
    Tab("inside", "Inside"), Tab("plate", "Plate"), Tab("modules", "Modules"),
    Tab("joining", "What joins what"), Tab("layout", "Layout"), Tab("wires", "Wires"),
    Tab("papers", "Papers"),
)


@dataclass(frozen=True, slots=True)
class JobBar:
    """What the bar shows of the opened job; not `is_judged`: there may be more to stop for."""

    project_id: str
    name: str
    revision: int
    changed: datetime
    undo_words: str | None
    redo_words: str | None
    stop_count: int
    is_judged: bool = True


def job_bar(opened: Opened) -> JobBar:
    """The bar of an opened job."""
    stops = stops_at_once(opened)
    return JobBar(
        opened.id, opened.job.name, opened.revision, opened.changed, opened.undo_words,
        opened.redo_words, stops.count, stops.is_settled,
    )


def _store(request: Request) -> ProjectStore:
    store: ProjectStore = request.app.state.store
    return store


StoreDep = Annotated[ProjectStore, Depends(_store)]


def render(request: Request, template: str, context: Any, status: int = 200) -> HTMLResponse:
    """A template filled with the fields of a dataclass.

    Beside them a template has `request`, `path_for(name, **parts)`, `static(path)`, `tabs`, its
    `sheet` and `scripts`, and the filters `mm`, `inch`, `worked`, `as_of` and `strokes`.
    """
    values = {"job_bar": None, **_for_every_page(request, template), **_values(context)}
    return HTMLResponse(environment().get_template(template).render(values), status)


def job_page(request: Request, template: str, opened: Opened, work: Callable[[], Any]) -> Response:
    """A page of a job: its head and bar are sent at once, the rest when `work` has filled it.

    Meanwhile the browser fetches the styles and scripts and shows the bar. `work` makes what
    `render` takes; above the template's blocks only `job_bar` and `page` are known. Should it
    fail, the page says so.
    """
    filled = environment().get_template(template)
    page = template.partition("/")[2].partition(".")[0]
    context = filled.new_context(
        {**_for_every_page(request, template), "job_bar": job_bar(opened), "page": page})
    pieces = filled.root_render_func(context)

    def sent() -> Iterator[str]:
        yield "".join(iter(pieces.__next__, PAUSE))
        try:
            context.parent.update(_values(work()))
            rest = "".join(pieces)
        except Exception:
            yield environment().get_template("fragments/failed.html").render(words=UNEXPECTED)
            raise
        yield rest

    return StreamingResponse(sent(), media_type="text/html")


def _for_every_page(request: Request, template: str) -> dict[str, Any]:
    return {"request": request, "scripts": imported(template), "sheet": sheet(template)}


def _values(context: Any) -> dict[str, Any]:
    return {field.name: getattr(context, field.name) for field in fields(context)}


@lru_cache(maxsize=1)
def environment() -> jinja2.Environment:
    """The environment: every template is escaped, whatever its name, and unknown names fail."""
    made = jinja2.Environment(
        loader=jinja2.FileSystemLoader(folder("templates")), autoescape=True,
        undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True,
    )
    made.globals.update(path_for=path_for, static=static, tabs=TABS, kept=kept, pause=PAUSE)
    made.filters.update(mm=mm, inch=inch, as_of=as_of, strokes=strokes, worked=worked)
    made.tests.update(guess=is_guess)
    return made


def compile_templates() -> None:
    """Compile every template, so that no page does it on its first visit: up to 0.1 s.

    Takes half a second of processor time and 3 MB.
    """
    for name in environment().list_templates(extensions=("html",)):
        environment().get_template(name)


@pass_context
def path_for(context: Mapping[str, Any], name: str, **parts: Any) -> str:
    """The path of a route by its name, from the root."""
    return str(context["request"].app.state.path_of(name, **parts))


def static(path: str) -> str:
    """The address of a file under static/, which changes with the contents: kept for good."""
    return f"/static/{static_files().version}/{path}"


def sheet(template: str) -> str:
    """The address of the style sheet of a page: its own, or what every page has."""
    own = template.replace(".html", ".css")
    return static(own if static_files().file(own) else "css/every_page.css")


def imported(template: str) -> tuple[str, ...]:
    """The addresses of all scripts that the script of a page imports.

    Told at once, they are fetched beside each other and not one after the other as they are met.
    """
    script = template.replace(".html", ".js")
    return tuple(static(path) for path in static_files().imported(script))


def mm(value: float, places: int = 1) -> str:
    """A length in mm with at most one decimal, without its unit: 24, 24.5."""
    text = f"{value:.{places}f}"
    shown = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if shown == "-0" else shown.replace("-", "\N{MINUS SIGN}")


def inch(value: float) -> str:
    """A length given in mm, in inches to a hundredth, without its unit."""
    return mm(value / MM_PER_INCH, 2)


def worked(value: float) -> str:
    """A value in a working: two decimals, small ones with three digits that count."""
    if isinf(value):
        return "without end"
    if abs(value) >= 0.1 or value == 0:
        return mm(value, 2)
    return f"{value:.3g}".replace("-", "\N{MINUS SIGN}")


def as_of(moment: datetime, now: datetime | None = None) -> str:
    """A time as "Tuesday 14:05" on this computer's clock; older than a week with its date."""
    local = moment.astimezone()
    today = (now or datetime.now(UTC)).astimezone()
    clock = f"{local:%H:%M}"
    days = (today.date() - local.date()).days
    if 0 <= days < 7:
        return f"{DAYS[local.weekday()]} {clock}"
    year = "" if local.year == today.year else f" {local.year}"
    return f"{local.day} {MONTHS[local.month - 1]}{year}, {clock}"

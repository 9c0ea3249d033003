"""What every page shows the same way: lengths, times, and any text as text."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import cast

import jinja2
import pytest
from fastapi import FastAPI, Request
from starlette.responses import StreamingResponse

from webapp.resources import folder
from webapp.views import (
    DAYS,
    JobBar,
    as_of,
    compile_templates,
    environment,
    inch,
    job_bar,
    job_page,
    mm,
    worked,
)


@pytest.mark.parametrize(("value", "text"), [
    (24, "24"), (24.04, "24"), (24.06, "24.1"), (0, "0"), (-0.01, "0"), (-2.5, "\u22122.5"),
    (1000.0, "1000"), (100.0, "100"),
])
def test_a_length_has_at_most_one_decimal(value: float, text: str) -> None:
    assert mm(value) == text


@pytest.mark.parametrize(("value", "text"), [(25.4, "1"), (219.075, "8.62"), (12.7, "0.5")])
def test_an_inch_is_25_4_mm(value: float, text: str) -> None:
    """International yard and pound agreement, 1959; 8 5/8 in is 219.075 mm."""
    assert inch(value) == text


def test_a_time_of_this_week_is_named_by_its_day() -> None:
    now = datetime(2030, 5, 14, 14, 5, tzinfo=UTC).astimezone()
    for days in range(7):
        then = now - timedelta(days=days)
        assert as_of(then, now) == f"{DAYS[then.weekday()]} {then:%H:%M}"


@pytest.mark.parametrize(("days", "text"), [(7, "7 May, 12:05"), (-1, "15 May, 12:05"),
                                            (365, "14 May 2029, 12:05")])
def test_another_time_is_named_by_its_date(days: int, text: str) -> None:
    now = datetime(2030, 5, 14, 12, 5).astimezone()
    assert as_of(now - timedelta(days=days), now) == text


@pytest.mark.parametrize("name", ["a.html", "a.svg", "a.svg.html", "a.csv", "a.txt", "a"])
def test_text_is_escaped_whatever_the_template_is_called(name: str) -> None:
    loader = jinja2.DictLoader({name: "{{ text }}"})
    made = environment().overlay(loader=loader)
    assert made.get_template(name).render(text="<b>&") == "&lt;b&gt;&amp;"


def test_an_unknown_name_in_a_template_fails() -> None:
    with pytest.raises(jinja2.UndefinedError):
        environment().from_string("{{ nosuch }}").render()


def test_all_templates_are_compiled_after_the_start(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is left to be compiled while somebody waits for a page."""
    compile_templates()
    monkeypatch.setattr(environment(), "compile", None)
    files = sorted(folder("templates").rglob("*.html"))
    assert len(files) > 40
    for file in files:
        environment().get_template(file.relative_to(folder("templates")).as_posix())


@dataclass(frozen=True)
class Laying:
    """What fills the page that is shown while wires are laid."""

    job_bar: JobBar
    project_id: str
    wires: int = 171
    page: str = "wires"


@pytest.mark.parametrize(("value", "shown"), [
    (0.0, "0"), (-0.004, "\N{MINUS SIGN}0.004"), (0.01234, "0.0123"), (-1.25, "\N{MINUS SIGN}1.25"),
    (12.5, "12.5"), (float("inf"), "without end"),
])  # fmt: skip
def test_values_of_workings_have_one_minus_sign_however_small(value: float, shown: str) -> None:
    assert worked(value) == shown


def test_the_head_and_the_bar_of_a_page_are_sent_before_the_rest_is_worked_out(
        local_app: FastAPI) -> None:
    opened = local_app.state.store.open(local_app.state.store.list_projects()[0].id)
    scope = {"type": "http", "app": local_app, "headers": [], "path": "/", "method": "GET"}
    asked: list[str] = []

    def work() -> Laying:
        asked.append("worked")
        return Laying(job_bar(opened), opened.id)

    async def chunks() -> list[tuple[str, bool]]:
        answer = job_page(Request(scope), "pages/wires_laying.html", opened, work)
        sent = cast("AsyncIterator[str]", cast("StreamingResponse", answer).body_iterator)
        return [(chunk, bool(asked)) async for chunk in sent]

    with ThreadPoolExecutor(1) as thread:  # another test may have left a loop running in this one
        (head, early), (rest, late) = thread.submit(asyncio.run, chunks()).result()
    assert (early, late) == (False, True)
    assert opened.job.name in head
    assert "</header>" in head
    assert "<main" not in head
    assert rest.startswith("<main")
    assert "171 wires" in rest
    assert rest.rstrip().endswith("</html>")

"""A page's form read back and sent as a browser does it."""

from __future__ import annotations

import json
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import httpx

DEMOS = Path(__file__).parents[3] / "seed_data" / "demos"


def demo(name: str) -> dict[str, Any]:
    """A demo job's document."""
    document: dict[str, Any] = json.loads((DEMOS / f"{name}.json").read_text(encoding="utf-8"))
    return document


class _Reader(HTMLParser):
    def __init__(self, form_id: str) -> None:
        super().__init__()
        self.form_id = form_id
        self.inside = False
        self.fields: dict[str, str] = {}
        self.select = ""
        self.textarea = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        if tag == "form":
            self.inside = found.get("id") == self.form_id
        if not self.inside:
            return
        name = found.get("name") or ""
        if tag == "input" and name and found.get("type") != "checkbox":
            self.fields[name] = found.get("value") or ""
        elif tag == "select":
            self.select = name
        elif tag == "option" and self.select and "selected" in found:
            self.fields[self.select] = found.get("value") or ""
        elif tag == "textarea":
            self.textarea = name
            self.fields[name] = ""

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self.inside = False
        elif tag == "select":
            self.select = ""
        elif tag == "textarea":
            self.textarea = ""

    def handle_data(self, data: str) -> None:
        # A newline right after <textarea> is not content: HTML Standard, 13.2.6.4.7 ("in body").
        if self.textarea:
            read = self.fields[self.textarea]
            self.fields[self.textarea] = read + (data if read else data.removeprefix("\n"))


def fields_of(page: str, form_id: str) -> dict[str, str]:
    """Names and values of a form's fields as they stand in a page."""
    reader = _Reader(form_id)
    reader.feed(page)
    return reader.fields


def document_of(http: httpx.Client, project_id: str) -> dict[str, Any]:
    """The stored document of a job."""
    document: dict[str, Any] = http.get(f"/api/projects/{project_id}").json()["document"]
    return document


class PageForm:
    """One page's form: `send(name=value)` posts it with changes."""

    def __init__(self, http: httpx.Client, project_id: str, page: str, form_id: str) -> None:
        self.http, self.id, self.page, self.form_id = http, project_id, page, form_id
        http.cookies.clear()

    @property
    def path(self) -> str:
        return f"/jobs/{self.id}/{self.page}"

    def text(self) -> str:
        answer = self.http.get(self.path)
        assert answer.status_code == 200
        return answer.text

    def fields(self) -> dict[str, str]:
        return fields_of(self.text(), self.form_id)

    def send(self, to: str = "", **changes: str) -> httpx.Response:
        named = {name.replace("__", "-"): value for name, value in changes.items()}
        return self.http.post(f"{self.path}{to}", data={**self.fields(), **named})

    def document(self) -> dict[str, Any]:
        return document_of(self.http, self.id)

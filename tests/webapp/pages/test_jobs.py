"""The Jobs page: new, open, copy, rename, bin, export and import, with names of any kind."""

from __future__ import annotations

import json
import re
from html import unescape
from html.parser import HTMLParser
from typing import Any

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from layout_engine import check, document_bytes, load_document
from tests import samples
from webapp.new_job import empty_job

HOSTILE = {
    "closes a text": "</text><script>alert(1)</script>",
    "opens a handler": '" onload="alert(1)',
    "template": "{{7*7}}{% raw %}",
    "character data": "]]><x>",
    "reference": "&#x3c;b&#x3e;",
    "right to left": "\u05e9\u05dc\u05d5\u05dd plate",
    "a formula": "=cmd|' /C calc'!A0",
    "a path": "../../etc/passwd",
    "emoji": "\U0001f9f0" * 120,
    "bold": "<b>bold</b>",
    "quotes": "'\"`",
    "percent": "%0d%0aSet-Cookie: a=b",
}


class Reader(HTMLParser):
    """What a browser would make of a page: its elements, attributes, and sources of scripts."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.elements: set[str] = set()
        self.attributes: set[str] = set()
        self.scripts: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.add(tag)
        self.attributes |= {name for name, _ in attrs}
        if tag == "script":
            self.scripts.append(dict(attrs).get("src") or "inline")


def _cards(page: str) -> dict[str, str]:
    """Ids and names of the jobs on the page, as a reader sees them."""
    cards = re.findall(r'data-project="([a-z0-9]+)".*?<h2[^>]*><a [^>]*>(.*?)</a>', page, re.DOTALL)
    return {project: unescape(name) for project, name in cards}


def _new(client: TestClient, **form: str) -> str:
    """The id of a new job, from the page that it leads to."""
    answer = client.post("/jobs", data=form)
    assert answer.status_code == 303, answer.text
    found = re.fullmatch(r"/jobs/([a-z0-9]{6,20})/inside", answer.headers["location"])
    assert found
    return found[1]


def _document(client: TestClient, project: str) -> Any:
    return client.get(f"/api/projects/{project}").json()["document"]


def test_a_new_folder_shows_three_demo_jobs_with_their_boards(client: TestClient) -> None:
    page = client.get("/")
    assert page.status_code == 200
    assert len(_cards(page.text)) >= 3
    assert page.text.count("<svg") >= 4  # the brand and a board each


def test_a_new_empty_job_leads_to_its_inside(client: TestClient) -> None:
    project = _new(client, name="Skerry box", start="empty")
    assert _cards(client.get("/").text)[project] == "Skerry box"
    assert client.get(f"/jobs/{project}/inside").status_code == 200


def test_an_empty_job_can_be_built_as_it_is() -> None:
    assert not [f.rule for f in check(empty_job("Skerry box")) if f.severity == "stop"]


def test_without_a_name_it_gets_one(client: TestClient) -> None:
    assert _document(client, _new(client, name="  ", start="empty"))["name"] == "New job"


def test_a_job_from_a_demo_is_the_demo_under_a_name_of_its_own(client: TestClient) -> None:
    page = client.get("/").text
    demo = re.search(r'<option value="([a-z_]+)">demo: (.*?)</option>', page)
    assert demo
    plain = _document(client, _new(client, name="", start=demo[1]))
    named = _document(client, _new(client, name="Mine", start=demo[1]))
    assert plain["name"] == unescape(demo[2])
    assert named == plain | {"name": "Mine"}
    assert plain["parts"]


@pytest.mark.parametrize(("form", "field"), [
    ({"name": "n" * 201, "start": "empty"}, "name"),
    ({"name": "a\x00b", "start": "empty"}, "name"),
    ({"name": "two\nlines", "start": "empty"}, "name"),
    ({"name": "Mine", "start": "nosuch"}, "start"),
])
def test_a_wrong_field_is_answered_beside_it_with_what_was_typed(
    client: TestClient, form: dict[str, str], field: str
) -> None:
    before = client.get("/api/projects").json()
    answer = client.post("/jobs", data=form)
    assert answer.status_code == 422
    assert f'aria-describedby="{field}-fault"' in answer.text
    assert f'id="{field}-fault"' in answer.text
    if field == "start":
        assert 'value="Mine"' in answer.text
    assert client.get("/api/projects").json() == before


def test_copy_rename_bin_and_back(client: TestClient) -> None:
    project = _new(client, name="Lamp", start="empty")
    assert client.post(f"/jobs/{project}/copy").status_code == 303
    assert "Lamp, copy" in _cards(client.get("/").text).values()
    answer = client.post(f"/jobs/{project}/rename", data={"name": " Big lamp ", "revision": "1"})
    assert answer.status_code == 303
    assert _cards(client.get("/").text)[project] == "Big lamp"
    assert client.post(f"/jobs/{project}/bin").status_code == 303
    page = client.get("/").text
    assert project not in _cards(page)
    assert f'action="/jobs/{project}/restore"' in page
    assert client.post(f"/jobs/{project}/restore").status_code == 303
    assert _cards(client.get("/").text)[project] == "Big lamp"


def _binned(client: TestClient) -> list[str]:
    """Ids of the jobs that lie in the bin."""
    return re.findall(r'action="/jobs/([a-z0-9]+)/restore"', client.get("/").text)


def test_a_job_binned_while_the_list_is_made_is_left_out(
    client: TestClient, local_app: FastAPI, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = local_app.state.store
    here, gone = (store.create(empty_job(name)) for name in ("Stays here", "Is taken away"))
    listed = store.list_projects()
    store.bin(gone.id)
    monkeypatch.setattr(store, "list_projects", lambda binned=False: [] if binned else listed)
    page = client.get("/")
    assert page.status_code == 200
    assert here.job.name in page.text
    assert gone.job.name not in page.text


def test_only_what_lies_in_the_bin_is_deleted_and_only_when_told_twice(client: TestClient) -> None:
    project = _new(client, name="Lamp", start="empty")
    assert client.post(f"/jobs/{project}/delete").status_code == 404
    assert _cards(client.get("/").text)[project] == "Lamp"
    client.post(f"/jobs/{project}/bin")
    page = client.get("/").text
    button = page.index(f'action="/jobs/{project}/delete"')
    assert page.rindex("<details", 0, button) > page.rindex("</details>", 0, button)
    assert client.post(f"/jobs/{project}/delete").status_code == 303
    assert project not in _binned(client)
    for call in ("restore", "delete"):
        assert client.post(f"/jobs/{project}/{call}").status_code == 404
    assert client.get(f"/api/projects/{project}").status_code == 404
    assert client.post(f"/api/projects/{project}/restore").status_code == 404


def test_emptying_the_bin_deletes_what_the_page_showed_in_it(client: TestClient) -> None:
    for name in ("One", "Two"):
        client.post(f"/jobs/{_new(client, name=name, start='parade_tortoise')}/bin")
    shown = re.search(r'name="jobs" value="([a-z0-9 ]+)"', client.get("/").text)
    assert shown
    assert set(shown[1].split()) == set(_binned(client))
    later = _new(client, name="Later", start="empty")
    client.post(f"/jobs/{later}/bin")
    kept = _new(client, name="Kept", start="empty")
    assert client.post("/bin/empty", data={"jobs": shown[1]}).status_code == 303
    assert _binned(client) == [later]
    assert _cards(client.get("/").text)[kept] == "Kept"
    answer = client.post("/bin/empty", data={"jobs": f"{later} {kept}"})
    assert answer.status_code == 404
    assert _binned(client) == [later]


def test_a_refused_name_stays_as_typed_beside_its_job(client: TestClient) -> None:
    project = _new(client, name="Lamp", start="empty")
    answer = client.post(f"/jobs/{project}/rename", data={"name": "x" * 201, "revision": "1"})
    assert answer.status_code == 422
    assert "x" * 201 in answer.text
    assert 'aria-describedby="rename-fault"' in answer.text
    assert _document(client, project)["name"] == "Lamp"


@pytest.mark.parametrize("revision", ["", "0", "2", "x", "9" * 30, "-1"])
def test_a_rename_of_another_revision_offers_both(client: TestClient, revision: str) -> None:
    project = _new(client, name="Lamp", start="empty")
    form = {"name": "Mine", "revision": revision}
    answer = client.post(f"/jobs/{project}/rename", data=form)
    assert answer.status_code == 412
    assert "changed meanwhile" in answer.text
    assert _document(client, project)["name"] == "Lamp"
    hidden = re.findall(r'type="hidden" name="([a-z]+)" value="(.*?)"', answer.text, re.DOTALL)
    files = {name: (None, unescape(value)) for name, value in hidden}
    assert client.post(f"/jobs/{project}/keep", files=files).status_code == 303
    assert _document(client, project)["name"] == "Mine"


def test_what_was_exported_is_imported_as_the_same_job(client: TestClient) -> None:
    project = _new(client, name="Lamp", start="parade_tortoise")
    exported = client.get(f"/api/projects/{project}/document.json").content
    answer = client.post("/import", files={"file": ("lamp.json", exported)})
    assert answer.status_code == 303
    again = answer.headers["location"].split("/")[2]
    assert again != project
    assert client.get(f"/api/projects/{again}/document.json").content == exported


def test_an_import_names_every_fault_with_its_place_and_stores_nothing(
    client: TestClient,
) -> None:
    before = client.get("/api/projects").json()
    document = samples.two_module_board()
    document["plate"]["thickness"] = "<b>thick</b>"
    document["parts"][0]["type"] = "nosuch"
    answer = client.post("/import", files={"file": ("a <b>.json", json.dumps(document))})
    assert answer.status_code == 422
    assert "$.plate.thickness" in answer.text
    assert "$.parts[0].type" in answer.text
    assert "a &lt;b&gt;.json" in answer.text
    assert "<b>thick" not in answer.text
    assert client.get("/api/projects").json() == before


@pytest.mark.parametrize("files", [
    {}, {"file": ("", b"")}, {"file": ("x.json", b"")}, {"file": ("x.json", b"\x00\xff")},
    {"file": ("x.json", b"[" * 100_000)}, {"other": ("x.json", b"{}")},
])
def test_what_is_no_job_is_refused_in_words(client: TestClient, files: dict[str, Any]) -> None:
    answer = client.post("/import", files=files or {"nothing": (None, "x")})
    assert answer.status_code == 422
    assert 'id="import-fault"' in answer.text


def test_an_import_may_be_large_but_not_endless(client: TestClient) -> None:
    whole = document_bytes(load_document(samples.two_module_board()))
    padded = whole.ljust(9 * 1024 * 1024)
    assert client.post("/import", files={"file": ("a.json", padded)}).status_code == 303
    endless = whole.ljust(11 * 1024 * 1024)
    refused = client.post("/import", files={"file": ("a.json", endless)})
    assert refused.status_code == 413
    assert "What was sent is larger than 10 MiB." in refused.text
    assert 'href="/">To the jobs</a>' in refused.text


@pytest.mark.parametrize("body", [b"", b"--x\r\n", b"--x\r\nbroken", b"\xff" * 100])
def test_a_broken_form_is_answered(client: TestClient, body: bytes) -> None:
    headers = {"content-type": "multipart/form-data; boundary=x"}
    assert client.post("/import", content=body, headers=headers).status_code in (400, 422)
    assert client.post("/jobs", content=body, headers=headers).status_code in (303, 400, 422)


@pytest.mark.parametrize("name", HOSTILE.values(), ids=HOSTILE.keys())
def test_a_name_is_shown_as_it_is_and_never_runs(client: TestClient, name: str) -> None:
    project = _new(client, name=name, start="empty")
    page = client.get("/").text
    assert _cards(page)[project] == name
    for text in (page, client.get(f"/jobs/{project}/inside").text):
        read = Reader(text)
        assert not [name for name in read.attributes if name.startswith("on") or name == "style"]
        assert all(source.startswith("/static/") for source in read.scripts)
        assert "x" not in read.elements
        assert "49{%" not in text
    header = client.get(f"/api/projects/{project}/document.json").headers
    assert "\n" not in header["content-disposition"]
    assert "set-cookie" not in header


def test_a_card_says_where_the_modules_are(client: TestClient) -> None:
    document = samples.two_module_board() | {"name": "Counted"}
    document["parts"][0]["placement"] = None
    client.post("/api/projects", json=document)
    card = client.get("/").text.split("Counted", 1)[1]
    assert "1 module on the plate, 1 in the tray" in unescape(card)

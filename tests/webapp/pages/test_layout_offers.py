"""Offers on the Layout page over HTTP: asked for, shown against what was there, taken, left."""

from __future__ import annotations

import copy
import json
import re
from collections.abc import Iterator
from dataclasses import asdict, replace
from types import SimpleNamespace
from typing import Any

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from layout_engine import dump_document, load_document
from layout_engine.arranging.classes import Care
from layout_engine.arranging.cost import evaluate
from layout_engine.arranging.details import details_of
from layout_engine.arranging.respects import respects_of
from layout_engine.working import Working
from tests import samples
from tests.layout_engine.wiring.test_conflicts import walled
from tests.webapp.pages.test_layout import made, post
from webapp.jobs.service import ArrangeJob
from webapp.jobs.telling import offer_details
from webapp.live.offers import to_arrange
from webapp.stores.projects import ProjectStore


@pytest.fixture
def store(local_app: FastAPI) -> ProjectStore:
    found: ProjectStore = local_app.state.store
    return found


def test_arranging_the_tray_keeps_what_is_placed() -> None:
    job = load_document(samples.two_module_board())
    tray = to_arrange(job, "tray")
    assert all(part.locked for part in tray.placed)
    assert to_arrange(job, "all") is job


def test_nothing_to_arrange_is_said(client: TestClient, store: ProjectStore) -> None:
    job = made(store)
    answer = post(client, job, "arrange", scope="tray")
    assert answer.status_code == 409
    assert answer.json()["words"] == "Nothing to arrange. The tray is empty."


class FakeJobs:
    """Arrange jobs that have ended before they were asked for."""

    def __init__(self, state: Any, document: bytes | None) -> None:
        self.job = ArrangeJob("abc", state, 1.0, 1000.0, 1000.0, 0.0, None, document=document)

    def of_project(self, _project: str) -> ArrangeJob:
        return self.job

    def stop(self, _job: str) -> ArrangeJob:
        return self.job

    def answer(self, _job: str) -> None:
        self.job = replace(self.job, is_answered=True)


@pytest.fixture
def offer(local_app: FastAPI) -> Iterator[dict[str, Any]]:
    state = local_app.state
    document = samples.two_module_board()
    document["parts"][0]["placement"]["y"] = 200
    real = state.jobs
    state.jobs = FakeJobs("done", json.dumps(document).encode())
    yield document
    state.jobs = real


def test_an_offer_is_shown_against_what_was_there_and_taken_once(
        client: TestClient, store: ProjectStore, offer: dict[str, Any]) -> None:
    job = made(store)
    shown = client.get(f"/jobs/{job}/layout/arrange").json()
    assert shown["state"] == "done"
    assert "What was there" in shown["html"]
    assert "Take the offer" in shown["html"]
    taken = post(client, job, "arrange/take").json()
    assert taken["words"] == "take the arrangement"
    assert taken["placements"]["left"]["y"] == offer["parts"][0]["placement"]["y"]
    assert client.get(f"/jobs/{job}/layout/arrange").json() == {"state": "none"}
    assert post(client, job, "arrange/take", revision=2).status_code == 422


@pytest.mark.usefixtures("offer")
def test_an_offer_goes_on_top_of_what_was_done_meanwhile(
        client: TestClient, store: ProjectStore) -> None:
    job = made(store)
    post(client, job, "lock", part="right", locked=True)
    late = post(client, job, "arrange/take")
    assert late.status_code == 412
    taken = post(client, job, "arrange/take", revision=2)
    assert taken.status_code == 200
    assert store.open(job).job.part("right").locked


@pytest.mark.usefixtures("offer")
def test_an_offer_that_is_left_is_gone_and_changes_nothing(
        client: TestClient, store: ProjectStore) -> None:
    job = made(store)
    assert client.post(f"/jobs/{job}/layout/arrange/leave").json() == {"state": "none"}
    assert client.get(f"/jobs/{job}/layout/arrange").json() == {"state": "none"}
    assert store.open(job).revision == 1


@pytest.mark.usefixtures("offer")
def test_a_search_that_is_made_ready_is_told_apart_from_one_that_looks(
        client: TestClient, store: ProjectStore, local_app: FastAPI) -> None:
    job, jobs = made(store), FakeJobs("running", None)
    local_app.state.jobs = jobs
    address = f"/jobs/{job}/layout/arrange"
    assert "Looking for a first arrangement" in client.get(address).json()["html"]
    jobs.job = replace(jobs.job, is_prepared=False)
    html = client.get(address).json()["html"]
    assert "The search is being made ready" in html
    assert "Looking for" not in html


def test_an_offer_is_told_in_four_respects_with_what_is_better(
        client: TestClient, store: ProjectStore, offer: dict[str, Any]) -> None:
    html = client.get(f"/jobs/{made(store)}/layout/arrange").json()["html"]
    for title in ("Wire", "Heat", "Service", "Tidiness"):
        assert f'<th scope="row">{title}</th>' in html
    assert "<b>worse</b>: 2 rows and 2 columns for 2 modules" in html  # it left the common row
    for words in ("Shortest wires", "Coolest", "Easiest to service", "Tidiest"):
        assert words in html
    assert offer


def test_an_offer_tells_which_wires_have_no_way(
        client: TestClient, store: ProjectStore, local_app: FastAPI) -> None:
    """A wall on both faces with a gap too narrow for the wire; half of it is aside in the offer."""
    document = dump_document(walled(gap=3.5, over=2.0))
    job = made(store, copy.deepcopy(document))
    for part, x in (("high_front", 5), ("high_back", 25)):
        next(p for p in document["parts"] if p["id"] == part)["placement"]["x"] = x
    local_app.state.jobs = FakeJobs("done", json.dumps(document).encode())
    html = client.get(f"/jobs/{job}/layout/arrange").json()["html"]
    row = re.sub(r"<[^>]+>", " ", html[html.index("Room for wires"):])
    before, after = row.split("better", 1)
    assert re.search(r"1 wire has no way that is wide enough: .+ to .+\.", before)
    assert "Every wire has a way that is wide enough." in after


@pytest.mark.parametrize(("key", "value"), [
    ("character", "finest"), ("ask", "riddle"), ("at_most_mm", 0), ("scope", "none"),
    ("some", "left"),
])
def test_what_is_not_known_is_refused_by_name(
        client: TestClient, store: ProjectStore, key: str, value: Any) -> None:
    answer = post(client, made(store), "arrange", **{key: value})
    assert answer.status_code == 422
    assert key in answer.text


def test_nothing_chosen_is_said(client: TestClient, store: ProjectStore) -> None:
    answer = post(client, made(store), "arrange", scope="some", some=["nobody"])
    assert answer.status_code == 409
    assert "Choose modules" in answer.json()["words"]


class Taker:
    """Takes note of what is submitted."""

    def __init__(self) -> None:
        self.asked: dict[str, Any] = {}

    def submit(self, job: Any, **asked: Any) -> ArrangeJob:
        self.asked = asked | {"job": job}
        return ArrangeJob("abc", "waiting")


def test_what_is_asked_goes_to_the_optimiser(
        client: TestClient, store: ProjectStore, local_app: FastAPI) -> None:
    taker, real = Taker(), local_app.state.jobs
    local_app.state.jobs = taker
    try:
        job = made(store)
        assert post(client, job, "arrange", scope="some", some=["left"], character="coolest",
                    at_most_mm=4.5).status_code == 202
        assert taker.asked["wishes"] == {
            "only": frozenset({"left"}), "character": "coolest", "at_most_mm": 4.5}
        assert post(client, job, "arrange", ask="plate").status_code == 202
        assert (taker.asked["ask"], taker.asked["wishes"]) == ("plate", {})
    finally:
        local_app.state.jobs = real


def test_a_smaller_plate_is_taken_with_its_layout(
        client: TestClient, store: ProjectStore, offer: dict[str, Any], local_app: FastAPI) -> None:
    offer["plate"]["outline"] = [[0, 0], [250, 0], [250, 290], [0, 290]]
    offer["plate"]["mounts"] = []
    told = {"plate": {"size": [250, 290], "tried": [{"size": [250, 290], "does": True}],
                      "area": asdict(Working("w h", (), 725, "cm2", "plane geometry"))}}
    local_app.state.jobs.job = replace(
        local_app.state.jobs.job, document=json.dumps(offer).encode(), ask="plate", details=told,
        words="The smallest plate found that takes all modules is 250 x 290 mm.")
    job = made(store)
    html = client.get(f"/jobs/{job}/layout/arrange").json()["html"]
    assert "is 250 × 290 mm." in html
    assert post(client, job, "arrange/take").json()["words"] == "take the smaller plate"
    taken = store.open(job).job
    assert taken.plate.size == (250, 290)
    assert taken.part("left").placement.y == 200


def test_what_musts_cost_is_told_in_words(
        client: TestClient, store: ProjectStore, offer: dict[str, Any], local_app: FastAPI) -> None:
    worked = asdict(Working("c - d, at least 0", (), 1234.0, "A mm", "estimate"))
    local_app.state.jobs.job = replace(local_app.state.jobs.job, ask="holds", details={"holds": [
        {"part": "left", "words": "Left box must stand on the front", "saved": 1234.0, "more": 0,
         "working": worked},
        {"part": "left", "words": "Left box is locked", "saved": 0.0, "more": 2,
         "working": worked}]})
    html = client.get(f"/jobs/{made(store)}/layout/arrange").json()["html"]
    assert "Left box must stand on the front" in html
    assert "1.2 A m" in html
    assert "2 more modules find a place" in html
    assert "c - d, at least 0" in html
    assert offer


@pytest.mark.usefixtures("offer")
@pytest.mark.parametrize(("care", "kept"), [
    (Care.NONE, None), (Care.ROOMY, "air of a heat sink."),
    (Care.BRIDGED, "air of a heat sink; between holes there are whole bridges."),
    (Care.ALL, "heat sink; between holes there are whole bridges; no screw comes out under one.")])
def test_every_figure_of_an_offer_opens_to_its_working_without_ids(
        client: TestClient, store: ProjectStore, local_app: FastAPI, care: Care, kept: str | None,
        ) -> None:
    document = samples.wired_board()
    job, project = load_document(document), made(store, document)
    found = details_of(job, evaluate(job), Working("b", (), 0.0, "A mm", "proven"), (12, 8),
                       care)
    told = SimpleNamespace(character="shortest", plan="quick", seed=0, starts=12, starts_near=8,
                           unplaced=(), details=found, respects=respects_of(job))
    local_app.state.jobs.job = replace(
        local_app.state.jobs.job, document=json.dumps(document).encode(),
        details=offer_details(told), revision=1)
    html = client.get(f"/jobs/{project}/layout/arrange").json()["html"]
    titles = re.findall(r'<div class="working">\s*<p><b>(.*?)</b>', html)
    assert titles[:3] == ["Least cost, proven", "What could still be saved at most",
                          "Starts that ended within 1 % of the best"]
    assert "66.67 %" in html  # 100 x 8 / 12
    assert sum(title.startswith("What it costs: ") for title in titles) == 1
    assert sum(title.startswith("Tidiness: ") for title in titles) >= 4  # the offer's and what was
    assert "<td>wire 1: 20 A" in html  # in the document it is called c
    assert "fullest gap between modules" in html
    assert ("No module that was arranged" in html) == (kept is not None)
    assert kept is None or kept in html
    assert "was changed after this was begun" not in html
    post(client, project, "lock", part="right", locked=True)
    html = client.get(f"/jobs/{project}/layout/arrange").json()["html"]
    assert "was changed after this was begun" in html


def told_of(client: TestClient, project: str) -> str:
    return re.sub(r"\s+", " ", client.get(f"/jobs/{project}/layout/arrange").json()["html"])


def test_an_offer_says_who_moves(client: TestClient, store: ProjectStore, offer: dict[str, Any],
                                 local_app: FastAPI) -> None:
    assert offer
    assert "1 of 2 modules moves: Left box." in told_of(client, made(store))
    tray = samples.two_module_board()
    del tray["parts"][1]["placement"]
    words = told_of(client, made(store, tray))
    assert "1 module comes from the tray: Right box. 1 of 2 modules moves: Left box." in words
    local_app.state.jobs.job = replace(
        local_app.state.jobs.job, document=json.dumps(samples.two_module_board()).encode())
    same = told_of(client, made(store))
    assert "Nothing better was found: every module stays where it is." in same
    assert "data-offer-take" not in same  # there is nothing to take
    assert "data-offer-leave" in same


@pytest.mark.usefixtures("offer")
def test_an_offer_that_was_stopped_says_so_and_keeps_its_character_and_its_workings(
        client: TestClient, store: ProjectStore, local_app: FastAPI) -> None:
    """What ends the search at once leaves no proof; the figures that are shown have theirs."""
    local_app.state.jobs.job = replace(
        local_app.state.jobs.job, state="stopped", character="tidiest", details=None)
    html = told_of(client, made(store))
    assert "<h2>An offer: tidiest</h2>" in html
    assert "You stopped it: more time may find better and tidier." in html
    assert "How much could still be saved was not worked out" in html
    titles = re.findall(r'<div class="working">\s*<p><b>(.*?)</b>', html)
    assert any(title.startswith("Tidiness: ") for title in titles)


@pytest.mark.parametrize(("ask", "progress", "words"), [
    ("holds", 0.1, "again without each one"), ("plate", 0.1, "One size after the other"),
    ("arrange", 0.5, "The best so far"), ("arrange", 1.0, "1 module has no place. Looking for"),
])
def test_while_it_runs_it_says_what_is_done(
        client: TestClient, store: ProjectStore, offer: dict[str, Any], local_app: FastAPI,
        ask: Any, progress: float, words: str) -> None:
    offer["parts"][0]["placement"] = None
    jobs = FakeJobs("running", json.dumps(offer).encode())
    jobs.job = replace(jobs.job, ask=ask, progress=progress)
    local_app.state.jobs = jobs
    html = client.get(f"/jobs/{made(store)}/layout/arrange").json()["html"]
    assert words in html
    assert ("has no place" in html) == (progress == 1.0)

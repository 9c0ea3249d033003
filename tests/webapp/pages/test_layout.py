"""The Layout page over HTTP: pieces of a revision, drops, the table, locks, acceptance."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from layout_engine import Job, dump_document, load_document
from layout_engine.model.part import Placement
from layout_engine.model.part_type import PartType
from tests import samples
from webapp.drawings.board import board
from webapp.drawings.primitives import Drawing
from webapp.drawings.seen import View
from webapp.live import state as state_module
from webapp.live.corners import at_centre, at_corner, centre_of, corner_of
from webapp.live.state import layout_state
from webapp.new_job import empty_job
from webapp.stores.projects import ProjectStore

HERE = {"face": "front", "x": 50.0, "y": 60.0, "turn": 0.0}


@pytest.fixture
def store(local_app: FastAPI) -> ProjectStore:
    found: ProjectStore = local_app.state.store
    return found


def made(store: ProjectStore, document: dict[str, Any] | None = None) -> str:
    return store.create(load_document(document or samples.two_module_board())).id


def post(client: TestClient, job: str, what: str, **body: Any) -> Any:
    return client.post(f"/jobs/{job}/layout/{what}", json={"revision": 1, **body})


@pytest.mark.parametrize("view", ["front", "back", "through", "nonsense"])
@pytest.mark.parametrize("sample", [
    samples.empty_plate, samples.two_module_board, samples.touching_board,
    samples.both_faces_board, samples.ten_module_tray, samples.overfull_plate,
])  # fmt: skip
def test_the_page_shows_every_sample(client: TestClient, store: ProjectStore, sample: Any,
                                     view: str) -> None:
    answer = client.get(f"/jobs/{made(store, sample())}/layout?view={view}")
    assert answer.status_code == 200
    assert answer.text.count("<h1") == 1


def test_each_finding_has_a_name_of_its_own_on_the_page(
        client: TestClient, store: ProjectStore) -> None:
    """A module lies on another one and on a mount that has the name of that one."""
    document = samples.touching_board()
    document["plate"]["mounts"] = [{"id": "right", "x": 60, "y": 130, "diameter": 4.5}]
    document["types"]["box"]["standoff"] = 0
    page = client.get(f"/jobs/{made(store, document)}/layout").text
    named = re.findall(r'id="(finding-[^"]*)"', page)
    assert named.count("finding-overlap.left.right") == 1
    assert len(set(named)) == len(named) > 1


def test_a_drop_is_one_edit_that_answers_the_new_pieces(
        client: TestClient, store: ProjectStore) -> None:
    job = made(store)
    answer = post(client, job, "place", view="front", placements={"left": HERE})
    assert answer.status_code == 200
    body = answer.json()
    assert (body["revision"], body["words"]) == (2, "move Left box")
    assert body["placements"]["left"] == HERE
    assert {"board", "table", "facts", "bar"} <= set(body["pieces"])
    assert 'data-key="left" data-x="50" data-y="60"' in body["pieces"]["board"]
    assert "Undo: move Left box" in body["pieces"]["bar"]
    assert store.open(job).job.part("left").placement == Placement(**HERE)  # type: ignore[arg-type]


def test_a_drop_sends_only_the_pieces_that_changed(
        client: TestClient, store: ProjectStore) -> None:
    job = made(store)
    page = client.get(f"/jobs/{job}/layout").text
    moved = post(client, job, "place", placements={"left": HERE}).json()["pieces"]
    assert set(moved) == {"board", "table", "facts", "bar"}  # found is the same, the tray too
    new = client.get(f"/jobs/{job}/layout/state").json()["pieces"]
    assert set(new) == {"board", "findings", "tray", "table", "facts", "bar"}
    for name in ("findings", "tray"):
        assert str(new[name]) in page
    over = {"right": HERE}  # on the other
    touching = post(client, job, "place", revision=2, placements=over).json()["pieces"]
    assert set(touching) == {"board", "table", "facts", "bar", "findings"}
    to_tray = post(client, job, "place", revision=3, placements={"left": None}).json()["pieces"]
    assert {"findings", "tray"} <= set(to_tray)


def test_everything_is_sent_where_it_is_not_known_what_a_page_shows(
        client: TestClient, store: ProjectStore) -> None:
    job = made(store)  # its page was never asked for
    moved = post(client, job, "place", placements={"left": HERE}).json()["pieces"]
    assert set(moved) == {"board", "findings", "tray", "table", "facts", "bar"}


def test_a_revision_is_drawn_once(client: TestClient, store: ProjectStore,
                                  monkeypatch: pytest.MonkeyPatch) -> None:
    drawn: list[str] = []

    def counted(job: Job, view: View, words: Mapping[str, str]) -> Drawing:
        drawn.append(view)
        return board(job, view, words)

    monkeypatch.setattr(state_module, "board", counted)
    job = made(store)
    for view in ("front", "front", "back", "front"):
        client.get(f"/jobs/{job}/layout?view={view}")
        client.get(f"/jobs/{job}/layout/state?view={view}")
    assert drawn == ["front", "back"]
    post(client, job, "place", placements={"left": HERE})
    assert drawn == ["front", "back", "front"]


def test_into_the_tray_and_touching(client: TestClient, store: ProjectStore) -> None:
    job = made(store, samples.touching_board())
    before = client.get(f"/jobs/{job}/layout/state").json()
    assert 'data-touching="left right"' in before["pieces"]["findings"]
    assert before["stops"] == 1
    after = post(client, job, "place", placements={"right": None}).json()
    assert 'data-touching=""' in after["pieces"]["findings"]
    assert 'data-tray="right"' in after["pieces"]["tray"]


def test_a_lost_update_changes_nothing_and_says_who(
        client: TestClient, store: ProjectStore) -> None:
    job = made(store)
    post(client, job, "place", placements={"left": HERE})
    answer = post(client, job, "place", placements={"left": {**HERE, "x": 90.0}})
    assert answer.status_code == 412
    assert answer.json() == {
        "words": "This job was changed elsewhere meanwhile (move Left box).", "revision": 2}
    assert store.open(job).revision == 2


@pytest.mark.parametrize("body", [
    b"", b"nonsense", b"[]", b"null", b'{"revision": "1"}', b'{"revision": 1, "placements": {}}',
    b'{"revision": true, "placements": {"left": null}}',
    b'{"revision": 1, "placements": {"left": {"face": "front", "x": NaN, "y": 0}}}',
    b'{"revision": 1, "placements": {"left": {"face": "front", "x": 1e999, "y": 0}}}',
    b'{"revision": 1, "placements": {"left": {"face": "side", "x": 1, "y": 0}}}',
    b'{"revision": 1, "placements": {"left": {"face": "front", "x": 5001, "y": 0}}}',
    b'{"revision": 1, "placements": {"left": {"face": "front", "x": 1, "y": 0, "turn": 361}}}',
    b'{"revision": 1, "placements": {"left": null}, "more": 1}', b"[" * 100_000, b"\xff\xfe",
    b'{"revision": 1, "placements": {"\\ud800": null}}',
])  # fmt: skip
@pytest.mark.parametrize("what", ["place", "lock", "accept", "module", "arrange", "arrange/take"])
def test_a_body_that_cannot_be_is_refused_in_words(
        client: TestClient, store: ProjectStore, what: str, body: bytes) -> None:
    job = made(store)
    answer = client.post(f"/jobs/{job}/layout/{what}", content=body)
    assert answer.status_code == 422
    assert answer.json()["words"].startswith("This cannot be: ")
    assert store.open(job).revision == 1


def test_strange_modules_and_jobs_are_not_found(client: TestClient, store: ProjectStore) -> None:
    assert post(client, made(store), "place", placements={"nobody": None}).status_code == 404
    assert post(client, "nosuchjob", "place", placements={"left": None}).status_code == 404
    assert client.get("/jobs/nosuchjob/layout").status_code == 404


def test_locked_modules_stay_and_can_be_freed(client: TestClient, store: ProjectStore) -> None:
    job = made(store)
    locked = post(client, job, "lock", part="left", locked=True).json()
    assert locked["words"] == "lock Left box"
    moved = post(client, job, "place", revision=2, placements={"left": HERE, "right": HERE}).json()
    assert moved["placements"]["left"]["x"] == 30
    assert moved["placements"]["right"] == HERE
    assert post(client, job, "lock", revision=3, part="left", locked=False).status_code == 200


def test_modules_are_joined_to_groups_and_move_on_their_own_again(
    client: TestClient, store: ProjectStore
) -> None:
    document = samples.two_module_board()
    third = {**document["parts"][0], "id": "third", "label": "Third", "placement": None}
    job = made(store, {**document, "parts": [*document["parts"], third]})

    def groups() -> Any:
        return [list(group) for group in store.open(job).job.groups]

    joined = post(client, job, "group", part="left", other="right")
    assert joined.status_code == 200
    assert groups() == [["left", "right"]]
    assert 'data-groups="left right"' in joined.json()["pieces"]["tray"]
    assert post(client, job, "group", revision=2, part="third", other="right").status_code == 200
    assert groups() == [["left", "right", "third"]]
    assert post(client, job, "group", revision=3, part="left").status_code == 200
    assert groups() == [["right", "third"]]
    alone = post(client, job, "group", revision=4, part="third")
    assert groups() == []
    assert "on its own" in alone.json()["words"]
    assert post(client, job, "group", revision=5, part="left", other="left").status_code == 422
    assert post(client, job, "group", revision=5, part="left", other="nobody").status_code == 404
    assert post(client, job, "group", revision=1, part="left").status_code == 412


def test_the_section_from_above_follows_the_module(client: TestClient, store: ProjectStore) -> None:
    job = made(store)
    height = store.open(job).job.body.height

    def cut(part: str) -> float:
        page = client.get(f"/jobs/{job}/layout/above", params={"part": part})
        assert page.status_code == 200
        found = re.search(r"cut at ([\d.]+) mm", page.text)
        assert found
        assert ("is-chosen" in page.text) is (part == "left")
        return float(found[1])

    before = cut("left")
    assert 0 < before < height
    assert cut("") == cut("nobody")
    here = store.open(job).job.part("left").placement
    assert here is not None
    there = {**here.model_dump(), "y": here.y + 25}
    assert post(client, job, "place", placements={"left": there}).status_code == 200
    assert cut("left") == pytest.approx(before + 25)


def test_a_mount_named_like_a_module_is_not_taken_for_it(store: ProjectStore) -> None:
    """The left box, 70 x 45 mm at 30, 120, stands on a screw head called "right"."""
    document = samples.two_module_board()
    document["plate"]["mounts"] = [
        {"id": "right", "x": 60, "y": 140, "diameter": 5, "head_diameter": 9, "head_height": 8}]
    job = made(store, document)
    state = layout_state(store.open(job), "front")
    assert [f.subjects for f in state.findings if f.rule == "overlap"] == [("left", "right")]
    severities = {row.id: row.severity for row in state.rows}
    assert severities["left"] == "stop"
    assert severities["right"] != "stop"
    assert state.touching == ""


def test_a_warning_is_accepted_with_a_reason_a_stop_is_not(
        client: TestClient, store: ProjectStore) -> None:
    document = samples.touching_board()
    document["types"]["box"]["basis"]["footprint"] = "guess"
    job = made(store, document)
    stop = post(client, job, "accept", rule="overlap", subjects=["left", "right"], reason="it fits")
    assert stop.status_code == 422
    assert "a stop cannot be accepted" in stop.json()["words"]
    warn = post(client, job, "accept", rule="not_measured", subjects=["left"], reason="I know it")
    assert warn.status_code == 200
    (accepted,) = store.open(job).job.accepted
    assert (accepted.rule, accepted.subjects, accepted.reason) == (
        "not_measured", ("left",), "I know it")
    assert post(client, job, "accept", rule="x", subjects=[], reason="").status_code == 422


def test_of_an_empty_plate_nothing_is_said(client: TestClient, store: ProjectStore) -> None:
    job = made(store, dump_document(empty_job("Bare")))
    page = client.get(f"/jobs/{job}/layout").text
    assert "is told here once modules stand on the plate" in page
    assert "Nothing speaks against" not in page


def test_warnings_that_are_told_together_are_accepted_together(
        client: TestClient, store: ProjectStore) -> None:
    document = samples.two_module_board()
    document["types"]["box"]["basis"]["footprint"] = "guess"
    job = made(store, document)
    page = client.get(f"/jobs/{job}/layout").text
    assert "2 modules are not measured yet" in page
    assert "Measure them, and hold their paper silhouettes against the real things." in page
    assert 'data-rule="not_measured" data-subjects="left right"' in page
    answer = post(client, job, "accept", rule="not_measured", subjects=["left", "right"],
                  reason="measured by a friend")
    assert answer.status_code == 200
    assert [a.subjects for a in store.open(job).job.accepted] == [("left",), ("right",)]
    page = client.get(f"/jobs/{job}/layout").text
    assert "2 modules are not measured yet" not in page
    assert "Accepted: Right box is not measured yet" in page


def table(client: TestClient, job: str, revision: int = 1, **typed: str) -> Any:
    form = {"revision": str(revision), "view": "front"}
    form |= {name.replace("__", "."): value for name, value in typed.items()}
    return client.post(f"/jobs/{job}/layout/table", data=form)


def test_the_table_places_by_edges_in_mm_or_inch(client: TestClient, store: ProjectStore) -> None:
    """1 inch = 25.4 mm exactly (international agreement of 1959)."""
    job = made(store)
    assert table(client, job, x__left="2 in", y__left="12.5").status_code == 303
    place = store.open(job).job.part("left").placement
    assert place is not None
    assert (place.x, place.y) == (50.8, 12.5)


def test_the_table_sent_as_it_stands_changes_nothing(
        client: TestClient, store: ProjectStore) -> None:
    document = samples.both_faces_board()
    document["parts"][0]["placement"]["turn"] = 33.3
    job = made(store, document)
    page = client.get(f"/jobs/{job}/layout").text
    fields = dict(re.findall(r'name="((?:x|y|turn)\.\w+)" value="([^"]*)"', page))
    assert len(fields) == 6
    answer = client.post(f"/jobs/{job}/layout/table",
                         data={"revision": "1", "view": "front", **fields})
    assert answer.status_code == 303
    assert store.open(job).revision == 1


def test_the_table_places_from_the_tray_too(client: TestClient, store: ProjectStore) -> None:
    job = made(store, samples.ten_module_tray())
    assert table(client, job, x__relay="20", y__relay="30", face__relay="back").status_code == 303
    parts = store.open(job).job.parts_by_id
    place = parts["relay"].placement
    assert place is not None
    assert (place.face, place.x, place.y) == ("back", 60.0, 30.0)  # 40 wide, seen from behind
    assert [p.id for p in store.open(job).job.placed] == ["relay"]
    half = table(client, job, revision=2, x__player="20")
    assert half.status_code == 422


@pytest.mark.parametrize(("field", "value", "words"), [
    ("x__left", "wide", "x: "), ("y__left", "9e9", "y: "), ("turn__left", "400", "turned: "),
    ("turn__left", "", "turned: "), ("x__left", "4999999", "x and y: from -5000 to 5000 mm"),
])  # fmt: skip
def test_a_wrong_row_is_told_beside_it_and_kept(
        client: TestClient, store: ProjectStore, field: str, value: str, words: str) -> None:
    job = made(store)
    answer = table(client, job, **{field: value, "x__right": "150"})
    assert answer.status_code == 422
    assert words in re.sub(r"<[^>]+>", "", answer.text)
    assert f'value="{value}"' in answer.text
    assert 'value="150"' in answer.text  # what was right is kept as well
    assert store.open(job).revision == 1


def test_two_tables_at_once(client: TestClient, store: ProjectStore) -> None:
    job = made(store)
    table(client, job, x__left="50")
    late = table(client, job, x__left="60")
    assert late.status_code == 412
    assert "Nothing was overwritten" in late.text or "meanwhile" in late.text
    assert store.open(job).revision == 2


@pytest.mark.parametrize("face", ["front", "back"])
@pytest.mark.parametrize("turn", [0.0, 90.0, 180.0, 270.0, 41.0])
def test_edges_and_middle_go_there_and_back(face: Any, turn: float) -> None:
    kind = load_document(samples.two_module_board()).types["box"]
    assert isinstance(kind, PartType)
    placed = at_corner(kind, (30.0, 40.0), face, turn)
    assert corner_of(kind, placed) == pytest.approx((30.0, 40.0), abs=1e-3)
    again = at_centre(kind, centre_of(kind, placed), face, turn)
    assert (again.x, again.y) == pytest.approx((placed.x, placed.y), abs=1e-3)


def test_a_module_is_drawn_turned_about_its_middle(
        client: TestClient, store: ProjectStore) -> None:
    """A box 70 x 45 with its middle at (65, 142.5), turned by 90: from (42.5, 107.5)."""
    job = made(store)
    answer = client.post(f"/jobs/{job}/layout/module", json={
        "part": "left", "face": "front", "turn": 90, "centre": [65, 142.5], "view": "front"}).json()
    assert answer["corner"] == [42.5, 107.5]
    assert answer["placement"] == {"face": "front", "x": 87.5, "y": 107.5, "turn": 90.0}
    assert 'data-turn="90"' in answer["svg"]
    assert store.open(job).revision == 1

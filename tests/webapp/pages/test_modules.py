"""The Modules page: from the shelf into the tray, names, wishes, elsewhere, back, away."""

from __future__ import annotations

import re
from html import unescape
from typing import Any

import pytest
from starlette.testclient import TestClient

from layout_engine import load_document
from layout_engine.model.job import Job
from webapp.resources import folder
from webapp.seed import read_demos, read_shelf

SHELF = read_shelf(folder("seed_data"))
LIGHTHOUSE = read_demos(folder("seed_data"))["rolling_lighthouse"]
EMPTY = {
    "format": "platewright/1", "name": "An empty job",
    "body": {"diameter": 300, "height": 500, "opening": {"diameter": 280}, "reach_from": "top"},
    "plate": {"outline": [[0, 0], [200, 0], [200, 150], [0, 150]], "thickness": 4,
              "material": "acrylic", "stands": "flat", "base": 60},
    "types": {}, "parts": [],
}


class Desk:
    """One job opened in the app: posts forms as the page would."""

    def __init__(self, client: TestClient, job: Job) -> None:
        self.client = client
        self.store = client.app.state.store  # type: ignore[attr-defined]
        self.id = self.store.create(job).id

    @property
    def job(self) -> Job:
        return self.store.open(self.id).job  # type: ignore[no-any-return]

    @property
    def revision(self) -> int:
        return self.store.open(self.id).revision  # type: ignore[no-any-return]

    def get(self, path: str = "", **query: str) -> str:
        answer = self.client.get(f"/jobs/{self.id}/modules{path}", params=query)
        assert answer.status_code == 200, answer.text
        return answer.text

    def post(self, path: str, status: int = 303, **form: Any) -> str:
        data = {"revision": str(self.revision), **form}
        answer = self.client.post(f"/jobs/{self.id}/modules{path}", data=data)
        assert answer.status_code == status, answer.text
        if status == 303:
            assert answer.headers["location"] == f"/jobs/{self.id}/modules"
        return answer.text


@pytest.fixture
def desk(client: TestClient) -> Desk:
    return Desk(client, LIGHTHOUSE)


@pytest.fixture
def empty_desk(client: TestClient) -> Desk:
    return Desk(client, load_document(EMPTY))


def fault_beside(page: str, field: str) -> str:
    """The words beside a field, found the way a screen reader finds them."""
    tag = re.search(rf'<(?:input|select|textarea)[^>]*\bid="{field}"[^>]*>', page)
    assert tag, f"no field {field}"
    assert 'aria-invalid="true"' in tag[0]
    noted = re.search(r'aria-describedby="([^"]*)"', tag[0])
    assert noted
    for note in noted[1].split():
        found = re.search(rf'<p class="field-fault" id="{note}">(.*?)</p>', page, re.DOTALL)
        if found:
            return unescape(re.sub(r"<[^>]+>", "", found[1])).strip()
    raise AssertionError(f"nothing says what is wrong with {field}")


def value_of(page: str, field: str) -> str:
    found = re.search(rf'id="{field}"[^>]*?value="([^"]*)"', page)
    assert found, f"no field {field}"
    return unescape(found[1])


def test_an_empty_job_says_so_with_one_button(empty_desk: Desk) -> None:
    page = empty_desk.get()
    mine = page[page.index("mine-title"):page.index("shelf-title")]
    assert "No modules yet." in mine
    assert len(re.findall(r'class="button', mine)) == 1
    assert ">Measure a module</a>" in mine


def test_the_shelf_shows_every_type_with_sizes_and_what_they_rest_on(desk: Desk) -> None:
    page = desk.get()
    assert page.count('class="card"') == len(SHELF)
    assert "104 × 82, 36 high" in page
    assert page.count("size is a guess") >= len(SHELF)


@pytest.mark.parametrize(("query", "there", "gone"), [
    ({"find": "driver dual"}, "Dual motor driver, 25 A", "Fan, 40 mm"),
    ({"kind": "other"}, "Fan, 40 mm", "Dual motor driver, 25 A"),
])
def test_search_and_kind_narrow_the_shelf(desk: Desk, query: dict[str, str], there: str,
                                          gone: str) -> None:
    shelf = desk.get(**query).partition('id="shelf"')[2]
    assert there in shelf
    assert gone not in shelf


def test_nothing_found_says_so_and_escapes_what_was_typed(desk: Desk) -> None:
    page = desk.get(find='"><script>alert(1)</script>')
    assert "Nothing on the shelf is called so." in page
    assert "<script>alert" not in page


def test_taking_a_type_copies_it_and_puts_a_named_module_into_the_tray(empty_desk: Desk) -> None:
    empty_desk.post("/take", type="converter_5v", label="Lamp converter")
    (part,) = empty_desk.job.parts
    assert part.label == "Lamp converter"
    assert empty_desk.job.tray == (part,)
    assert empty_desk.job.types[part.type].name == SHELF["converter_5v"]["name"]
    assert "in the tray" in empty_desk.get()


def test_without_a_name_it_gets_that_of_its_type_and_a_number_when_it_is_taken(
        empty_desk: Desk) -> None:
    for _ in range(3):
        empty_desk.post("/take", type="fan_40", label=" ")
    name = SHELF["fan_40"]["name"]
    assert [part.label for part in empty_desk.job.parts] == [name, f"{name} 2", f"{name} 3"]
    assert len(empty_desk.job.types) == 1


def test_a_name_too_long_is_answered_beside_the_field_and_kept(empty_desk: Desk) -> None:
    page = empty_desk.post("/take", 422, type="fan_40", label="x" * 201)
    assert "at most 200 characters" in fault_beside(page, "label-fan_40")
    assert value_of(page, "label-fan_40") == "x" * 201
    assert not empty_desk.job.parts


def test_a_job_that_is_full_says_how_many_modules_it_holds(client: TestClient) -> None:
    post = {"name": "Post", "kind": "other", "outline": [[0, 0], [9, 0], [9, 9]], "height": 5}
    full = {**EMPTY, "types": {"post": post},
            "parts": [{"id": f"p{n}", "type": "post"} for n in range(300)]}
    desk = Desk(client, load_document(full))
    page = desk.post("/take", 422, type="fan_40", label="")
    assert "Not taken. A job has at most 300 modules." in page


def test_after_taking_the_shelf_stays_as_it_was_searched(empty_desk: Desk) -> None:
    form = {"revision": "1", "type": "fan_40", "label": "", "find": "fan & more", "kind": "other"}
    answer = empty_desk.client.post(f"/jobs/{empty_desk.id}/modules/take", data=form)
    assert answer.headers["location"].endswith("/modules?find=fan+%26+more&kind=other")


def test_a_type_is_taken_to_stand_elsewhere_in_the_body(empty_desk: Desk) -> None:
    empty_desk.post("/take", type="drive_motor_24v", label="Left leg", elsewhere="yes")
    (part,) = empty_desk.job.parts
    assert part.away is not None
    assert empty_desk.job.tray == ()
    assert empty_desk.store.open(empty_desk.id).undo_words == "add Left leg, elsewhere"
    assert "elsewhere, length of its lead not given" in empty_desk.get()


def test_a_type_that_is_not_on_the_shelf_is_not_found(desk: Desk) -> None:
    desk.post("/take", 404, type="teapot")


def test_the_list_says_where_each_module_is(desk: Desk) -> None:
    page = desk.get()
    assert page.count("on the front") + page.count("on the back") == 16
    assert "elsewhere, lead 310 mm" in page


def test_naming_keeps_everything_else(desk: Desk) -> None:
    before = desk.job.part("drive")
    desk.post("/parts/drive", label="Wheels", where="board", settings=before.settings)
    after = desk.job.part("drive")
    assert after.label == "Wheels"
    assert after.placement == before.placement
    assert desk.store.open(desk.id).undo_words == "name Drive controller: Wheels"


def test_elsewhere_with_exit_and_lead_then_back_to_the_tray(desk: Desk) -> None:
    desk.post("/parts/drive", label="Drive", where="away", exit="left", lead="10 in")
    part = desk.job.part("drive")
    assert part.placement is None
    assert part.away is not None
    assert part.away.lead == pytest.approx(254)
    desk.post("/parts/drive/tray")
    assert [p.id for p in desk.job.tray] == ["drive"]


def test_a_placed_module_goes_back_to_the_tray(desk: Desk) -> None:
    desk.post("/parts/meter/tray")
    assert [p.id for p in desk.job.tray] == ["meter"]
    assert desk.store.open(desk.id).undo_words == "Meter back to the tray"


def test_removing_takes_its_wires_too_and_undo_brings_all_back(desk: Desk) -> None:
    before = desk.job
    desk.post("/parts/player/remove")
    assert "player" not in desk.job.parts_by_id
    assert not [c for c in desk.job.connections if "player." in c.from_ + c.to]
    desk.store.undo(desk.id, desk.revision)
    assert desk.job == before


def test_a_wish_more_is_shown_not_saved(desk: Desk) -> None:
    revision = desk.revision
    page = desk.post("/parts/drive", 200, label="Typed name", more="wishes", wish="near_edge")
    assert 'name="wishes-0-within"' in page
    assert value_of(page, "label") == "Typed name"
    assert desk.revision == revision


def test_wishes_are_saved(desk: Desk) -> None:
    desk.post("/parts/drive", label="Drive", where="board", **{
        "wishes-0-rule": "near_edge", "wishes-0-edge": "bottom", "wishes-0-within": "25",
        "wishes-0-must": "yes", "wishes-0-factor": "5"})
    (wish,) = desk.job.part("drive").wishes
    assert (wish.rule, wish.must) == ("near_edge", True)


def test_wrong_settings_are_answered_beside_their_fields_and_kept(desk: Desk) -> None:
    page = desk.post("/parts/drive", 422, label="Drive", where="away", exit="top", lead="long",
                     **{"wishes-3-rule": "high", "wishes-3-above": "up"})
    assert "a length such as" in fault_beside(page, "lead")
    assert "a length such as" in fault_beside(page, "wishes-3-above")
    assert value_of(page, "lead") == "long"


def test_what_the_engine_refuses_stands_beside_its_field_too(desk: Desk) -> None:
    page = desk.post("/parts/drive", 422, label="Drive", where="away", exit="top", lead="6000")
    assert "0 to 5000 mm" in fault_beside(page, "lead")
    page = desk.post("/parts/drive", 422, label="a\u202eb", where="board")
    assert "printable" in fault_beside(page, "label")


def test_line_breaks_in_settings_are_kept(desk: Desk) -> None:
    desk.post("/parts/drive", label="Drive", where="board", settings="first\r\nsecond")
    assert desk.job.part("drive").settings == "first\nsecond"


@pytest.mark.parametrize("path", ["/parts/nobody", "/types/nobody"])
def test_what_is_not_there_is_not_found(desk: Desk, path: str) -> None:
    assert desk.client.get(f"/jobs/{desk.id}/modules{path}").status_code == 404


@pytest.mark.parametrize(("path", "form"), [
    ("take", {"type": "fan_40", "revision": "1"}),
    ("parts/drive", {"label": "Mine", "where": "board", "revision": "1"}),
    ("parts/drive/remove", {"revision": "1"}),
    ("parts/drive/tray", {}),
])
def test_a_change_from_an_old_revision_overwrites_nothing(
        desk: Desk, path: str, form: dict[str, str]) -> None:
    desk.post("/parts/meter/tray")
    before = desk.job
    assert desk.client.post(f"/jobs/{desk.id}/modules/{path}", data=form).status_code == 412
    assert desk.job == before

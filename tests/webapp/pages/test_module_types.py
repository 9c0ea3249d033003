"""Measuring a module: a new type, a copied one edited, rows, faults, and the drawing."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from webapp.app import create_app
from webapp.forms.fields import Typed
from webapp.forms.part_type_form import SINGLE, TABLES, typed_type
from webapp.resources import folder
from webapp.seed import read_demos
from webapp.settings import Settings
from webapp.stores.projects import Opened

LIGHTHOUSE = read_demos(folder("seed_data"))["rolling_lighthouse"]
NEW = {"name": "Bell ringer", "kind": "other", "basis_footprint": "measured", "width": "60",
       "depth": "1 1/2 in", "height": "14", "fixing": "screws"}


class Measuring:
    """The demo lighthouse, opened in the app, and its forms of part types."""

    def __init__(self, client: TestClient) -> None:
        self.client = client
        self.store = client.app.state.store  # type: ignore[attr-defined]
        (self.id,) = [p.id for p in self.store.list_projects() if p.name == "Rolling lighthouse"]

    @property
    def opened(self) -> Opened:
        return self.store.open(self.id)  # type: ignore[no-any-return]

    def post(self, path: str, form: dict[str, str], status: int = 303) -> str:
        data = {"revision": str(self.opened.revision), **form}
        answer = self.client.post(f"/jobs/{self.id}/modules/{path}", data=data)
        assert answer.status_code == status, answer.text
        return answer.text


@pytest.fixture(scope="module")
def app(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    data: Path = tmp_path_factory.mktemp("data")
    with TestClient(create_app(Settings(data=data)), base_url="http://127.0.0.1:8460",
                    follow_redirects=False) as opened:
        yield opened


@pytest.fixture
def measuring(app: TestClient) -> Iterator[Measuring]:
    desk = Measuring(app)
    first = desk.opened
    yield desk
    desk.store.save(desk.id, first.job, "as before", desk.opened.revision)


def texts_of(typed: Typed) -> dict[str, str]:
    """A form as the browser posts it."""
    form = {name: text for name, text in typed.texts.items() if text}
    for table, rows in typed.rows.items():
        for row in rows:
            form.update({f"{table}-{row.number}-{k}": t for k, t in row.texts.items() if t})
    return form


def fault_beside(page: str, field: str) -> str:
    found = re.search(rf'<p class="field-fault" id="{field}-fault">(.*?)</p>', page, re.DOTALL)
    assert found, f"nothing is said beside {field}"
    return unescape(re.sub(r"<[^>]+>", "", found[1])).strip()


def test_a_new_module_goes_into_the_tray(measuring: Measuring) -> None:
    measuring.post("measure", {**NEW, "fixings-0-x": "5", "fixings-0-y": "5",
                               "fixings-0-thread": "M3", "fixings-0-head": "pan"})
    (part,) = measuring.opened.job.tray
    kind = measuring.opened.job.type_of(part)
    assert part.label == "Bell ringer"
    assert kind.outline[2] == (60, 38.1)
    assert [(f.x, f.y) for f in kind.fixings] == [(5, 5)]
    assert not kind.is_guessed


def test_a_new_module_without_sizes_is_answered_beside_every_field(measuring: Measuring) -> None:
    page = measuring.post("measure", {"kind": "other", "height": "tall"}, 422)
    assert "needed" in fault_beside(page, "width")
    assert "needed" in fault_beside(page, "depth")
    assert "a length such as" in fault_beside(page, "height")
    assert 'value="tall"' in page
    assert not measuring.opened.job.tray


def test_a_nameless_module_is_answered_beside_its_name(measuring: Measuring) -> None:
    page = measuring.post("measure", {**NEW, "name": " "}, 422)
    assert "needed" in fault_beside(page, "name")


@pytest.mark.parametrize("type_id", sorted(LIGHTHOUSE.types))
def test_every_type_opens_shows_its_values_and_saves_unchanged(
        measuring: Measuring, type_id: str) -> None:
    before = measuring.opened.job.types[type_id]
    page = measuring.client.get(f"/jobs/{measuring.id}/modules/types/{type_id}")
    assert page.status_code == 200
    assert page.text.count("data-row>") == sum(
        len(getattr(before, table.name)) for table in TABLES)
    shown = before.model_dump(by_alias=True, exclude_unset=True)
    measuring.post(f"types/{type_id}", texts_of(typed_type(shown)))
    assert measuring.opened.job.types[type_id].model_dump() == before.model_dump()


def test_editing_a_type_says_whom_it_changes(measuring: Measuring) -> None:
    page = measuring.client.get(f"/jobs/{measuring.id}/modules/types/drive_motor_12v").text
    assert "Changes 2 modules: Left drive motor, Right drive motor." in page


def test_a_removed_terminal_that_is_wired_is_told_in_words(measuring: Measuring) -> None:
    shown = measuring.opened.job.types["meter_panel"].model_dump(by_alias=True, exclude_unset=True)
    shown["terminals"] = shown["terminals"][:1]
    page = measuring.post("types/meter_panel", texts_of(typed_type(shown)), 422)
    said = re.search(r'role="alert".*?</ul>', page, re.DOTALL)
    assert said
    assert "meter.minus" in said[0]
    assert "loads" in said[0]


def test_two_terminals_of_one_id_are_told_beside_the_second(measuring: Measuring) -> None:
    shown = measuring.opened.job.types["meter_panel"].model_dump(by_alias=True, exclude_unset=True)
    shown["terminals"] = [*shown["terminals"], shown["terminals"][0]]
    page = measuring.post("types/meter_panel", texts_of(typed_type(shown)), 422)
    assert "no other terminal has" in fault_beside(page, "terminals-2-id")


def test_a_crossing_outline_is_told_beside_its_corners(measuring: Measuring) -> None:
    form = {**NEW, "outline": "0,0; 20,20; 20,0; 0,20"}
    page = measuring.post("measure", form, 422)
    assert "does not cross" in fault_beside(page, "outline")


@pytest.mark.parametrize("table", [table.name for table in TABLES])
def test_a_row_more_and_a_row_less_save_nothing(measuring: Measuring, table: str) -> None:
    revision = measuring.opened.revision
    page = measuring.post("measure", {**NEW, "more": table}, 200)
    rows = page.partition(f'data-rows="{table}"')[2].partition("</fieldset>")[0]
    assert rows.count("data-row>") == 1
    first = re.search(rf'name="({table}-0-[a-z0-9_]+)"', rows)
    assert first
    page = measuring.post("measure", {**NEW, first[1]: "", "drop": f"{table}-0"}, 200)
    rows = page.partition(f'data-rows="{table}"')[2].partition("</fieldset>")[0]
    assert rows.count("data-row>") == 0
    assert measuring.opened.revision == revision


def test_the_drawing_follows_what_is_typed(measuring: Measuring) -> None:
    page = measuring.post("drawing", {"width": "60", "depth": "30", "height": "12"}, 200)
    assert 'data-key="width"' in page
    assert ">60<" in page
    assert ">12<" in page
    assert "<html" not in page


def test_before_there_are_sizes_it_says_what_to_type(measuring: Measuring) -> None:
    assert "Type width and depth" in measuring.post("drawing", {"width": ""}, 200)


@pytest.mark.parametrize(("typed", "words"), [
    ({"width": "wide"}, "Not drawn. width: a length such as"),
    ({"outline": "0,0; 40,0; 0,30; 40,30"}, "Not drawn. its corners: allowed: "),
])
def test_what_cannot_be_drawn_is_told_while_it_is_typed(
        measuring: Measuring, typed: dict[str, str], words: str) -> None:
    page = measuring.post("drawing", typed, 200)
    assert words in unescape(page)
    assert "Type width and depth" not in page


FIELDS = [entry.name for entry in SINGLE] + ["width", "depth", "outline"] + [
    f"{table.name}-{number}-{entry.name}"
    for table in TABLES for number in (0, 999_999) for entry in table.fields
]
ODD = st.one_of(
    st.text(max_size=30), st.sampled_from([
        "NaN", "1e999", "-0", "9" * 400, "\u0000", "0 x 0", "1 x 1e9", "-1", "5001", "top", "M3",
        "0,0; 0,0; 0,0", ";;;", "1,1;2,2;3,3", "<b>", "\u202e", "round -4", "12 ft 13 in",
    ]))


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.dictionaries(st.sampled_from(FIELDS), ODD, max_size=12))
def test_nothing_that_is_typed_breaks_the_form(
        measuring: Measuring, odd: dict[str, str]) -> None:
    data = {**NEW, **odd, "revision": "0"}
    for path in ("measure", "drawing", "types/meter_panel"):
        answer = measuring.client.post(f"/jobs/{measuring.id}/modules/{path}", data=data)
        assert answer.status_code in (200, 412, 422), answer.text[:500]

"""The page Inside over HTTP: what is typed becomes the document, faults stand beside fields."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import httpx
import pytest

from layout_engine import load_document
from tests.webapp.pages.forms import PageForm, demo
from webapp.forms.measuring import heights_for

NewJob = Callable[[dict[str, Any]], str]


@pytest.fixture
def form(http: httpx.Client, new_job: NewJob) -> PageForm:
    return PageForm(http, new_job(demo("rolling_lighthouse")), "inside", "inside-form")


@pytest.mark.parametrize("name", ["rolling_lighthouse", "parade_tortoise", "puppet_wagon"])
def test_sending_the_form_as_it_stands_changes_nothing(
    http: httpx.Client, new_job: NewJob, name: str
) -> None:
    form = PageForm(http, new_job(demo(name)), "inside", "inside-form")
    answer = form.send()
    assert answer.status_code == 303
    stored = http.get(f"/api/projects/{form.id}").json()
    assert stored["document"] == demo(name)
    assert stored["revision"] == 1


def test_eight_and_five_eighths_inches(form: PageForm) -> None:
    assert form.send(diameter="8 5/8 in", opening_width="150", opening_low="10").status_code == 303
    assert form.document()["body"]["diameter"] == 219.075
    page = form.text()
    assert '8 5/8"' not in page.split("<form")[0]
    assert re.search(r'id="diameter" name="diameter" value="8 5/8"', page)


def test_a_field_can_be_shown_in_inches_and_back(form: PageForm) -> None:
    assert form.send(**{"unit-body_height": "in"}).status_code == 303
    assert form.fields()["body_height"] == "35.4331"
    assert form.document()["body"]["height"] == 900
    assert form.send(body_height="36").status_code == 303
    assert form.document()["body"]["height"] == pytest.approx(914.4)
    assert form.send(**{"unit-body_height": "mm"}).status_code == 303
    assert form.fields()["body_height"] == "914.4"


def test_looking_at_it_in_other_units_changes_no_length(form: PageForm) -> None:
    """900 mm is 35.4331 in as shown, which is 900.00074 mm."""
    before = form.document()
    for unit in ("in", "mm", "in"):
        assert form.send(**{"unit-body_height": unit, "unit-opening_low": unit}).status_code == 303
    assert form.send(**{"unit-obstructions-0-x0": "in"}).status_code == 303
    assert form.fields()["obstructions-0-x0"] == "-2.3622"
    assert form.send().status_code == 303
    assert form.document() == before


def test_undo_names_the_field_that_was_changed(form: PageForm) -> None:
    form.send(diameter="378")
    assert "Undo: inside at the floor 378" in form.text()


def test_a_straight_body_is_measured_across_and_a_tapered_one_at_floor_and_top(
    form: PageForm,
) -> None:
    label = r'<label for="diameter">(.*?)</label>'
    assert re.findall(label, form.text()) == ["inside at the floor"]
    form.send(shape="round", diameter="340")
    assert re.findall(label, form.text()) == ["inside across"]
    form.send(diameter="344")
    assert "Undo: inside across 344" in form.text()


def test_an_empty_plate_is_not_called_loaded(http: httpx.Client, new_job: NewJob) -> None:
    wagon = demo("puppet_wagon")
    assert not [part for part in wagon["parts"] if part.get("placement")]
    empty = PageForm(http, new_job(wagon), "inside", "inside-form").text()
    assert "The bare plate goes in, 5 mm deep" in empty
    assert "modules on it" not in empty
    house = demo("rolling_lighthouse")
    placed = [part for part in house["parts"] if part.get("placement")]
    loaded = PageForm(http, new_job(house), "inside", "inside-form").text()
    assert f"mm deep with {len(placed)} modules on it" in loaded


def test_wrong_values_come_back_beside_their_fields(form: PageForm) -> None:
    before = form.document()
    answer = form.send(diameter="wide", body_height="-4", opening_height="2000")
    assert answer.status_code == 422
    for name, typed in (("diameter", "wide"), ("body_height", "-4")):
        assert re.search(rf'id="{name}" name="{name}" value="{typed}"[^>]*aria-invalid="true"'
                         rf'[^>]*aria-describedby="{name}-wrong', answer.text)
    assert "a length such as" in answer.text
    assert "a number over 0" in answer.text
    assert 'value="2000"' in answer.text
    assert form.document() == before


def test_an_opening_larger_than_its_side_is_told_at_the_opening(form: PageForm) -> None:
    answer = form.send(opening_width="999")
    assert answer.status_code == 422
    assert re.search(r'id="opening_width-wrong">.*no larger than the side', answer.text)


@pytest.mark.parametrize(("reach", "sent", "kept"), [
    ("front", "front", "top"), ("back", "back", "back"), ("front", "back", "back"),
])
def test_hands_that_come_in_by_the_opening_go_with_it(form: PageForm, reach: str, sent: str,
                                                      kept: str) -> None:
    form.send(reach_from=reach)
    form.send(opening_in="top", opening_width="200", opening_height="200", reach_from=sent)
    body = form.document()["body"]
    assert (body["opening"]["in"], body["reach_from"]) == ("top", kept)


def test_every_shape_can_be_chosen_and_keeps_the_rest(form: PageForm) -> None:
    sent = form.send(shape="box", body_width="300", body_depth="280")
    assert sent.status_code == 303
    body = form.document()["body"]
    assert (body["shape"], body["width"], body["depth"], body["height"]) == ("box", 300, 280, 900)
    assert "diameter" not in body
    assert body["skin"] == "plastic"
    corners = "-150, -140; 150, -140; 150, 140; 0, 170; -150, 140"
    assert form.send(shape="free", section=corners).status_code == 303
    assert form.document()["body"]["section"][3] == [0, 170]
    assert form.send(shape="round", diameter="340").status_code == 303
    assert "top_diameter" not in form.document()["body"]


def test_a_section_that_crosses_itself_is_refused_at_its_field(form: PageForm) -> None:
    answer = form.send(shape="free", section="0, 0; 10, 10; 10, 0; 0, 10")
    assert answer.status_code == 422
    assert re.search(r'id="section-wrong">.*cross', answer.text)


def test_the_lower_edge_places_the_opening(form: PageForm) -> None:
    form.send(opening_low="100")
    assert form.document()["body"]["opening"]["at"] == [0, 275]
    form.send(opening_low="", opening_sideways="")
    assert "at" not in form.document()["body"]["opening"]


def test_things_in_the_way_are_added_changed_and_dropped(form: PageForm) -> None:
    more = form.send(more="obstructions")
    assert more.status_code == 200
    assert 'name="obstructions-2-label"' in more.text
    assert form.send(**{
        "obstructions-2-label": "rail", "obstructions-2-x0": "-10", "obstructions-2-x1": "10",
        "obstructions-2-y0": "1 in", "obstructions-2-y1": "2 in", "obstructions-2-z0": "0",
        "obstructions-2-z1": "900",
    }).status_code == 303
    assert form.document()["body"]["obstructions"][2] == {
        "label": "rail", "x": [-10, 10], "y": [25.4, 50.8], "z": [0, 900]}
    dropped = form.send(drop="obstructions-0")
    assert 'name="obstructions-0-label"' not in dropped.text
    assert 'name="obstructions-1-label"' in dropped.text


def test_a_range_the_wrong_way_round_is_told_at_its_row(form: PageForm) -> None:
    answer = form.send(**{"obstructions-0-x0": "70"})
    assert answer.status_code == 422
    assert 'id="obstructions-0-x0-wrong"' in answer.text


def test_battery_vents_and_place_are_kept(form: PageForm) -> None:
    form.send(battery_z="70", vent_area_mm2="3000", base="170", offset="25", stands="upright")
    document = form.document()
    assert document["body"]["battery_at"] == {"x": 0, "y": 0, "z": 70, "mass": 4000}
    assert document["body"]["vent_area_mm2"] == 3000
    assert (document["plate"]["base"], document["plate"]["offset"]) == (170, 25)
    form.send(battery_x="", battery_y="", battery_z="", battery_mass="")
    assert "battery_at" not in form.document()["body"]


def test_half_a_battery_place_is_told(form: PageForm) -> None:
    answer = form.send(battery_x="")
    assert answer.status_code == 422
    assert re.search(r'id="battery_x-wrong">.*needed', answer.text)


def test_a_preview_draws_what_is_typed_and_saves_nothing(form: PageForm) -> None:
    answer = form.send("/preview", body_height="950")
    assert answer.status_code == 200
    assert re.search(r'data-key="body_height".*?>950</text>', answer.text)
    assert form.document()["body"]["height"] == 900


def test_the_drawing_says_when_the_plate_does_not_fit(form: PageForm) -> None:
    answer = form.send("/preview", offset="180")
    assert "The plate does not fit at its place" in answer.text


def test_a_form_from_an_older_revision_overwrites_nothing(form: PageForm) -> None:
    old = form.fields()
    form.send(diameter="370")
    answer = form.http.post(form.path, data={**old, "diameter": "360"})
    assert answer.status_code == 412
    assert form.document()["body"]["diameter"] == 370


@pytest.mark.parametrize("text", ["<script>", "\x00", "9" * 400, "\ud800", "1e999", "٣"])
def test_no_typed_text_breaks_the_page(form: PageForm, text: str) -> None:
    fields = {**form.fields(), "diameter": text, "section": text, "shape": text}
    safe = {k: v.encode("utf-8", "surrogatepass") for k, v in fields.items()}
    answer = form.http.post(form.path, data=safe)
    assert answer.status_code in (400, 422)
    assert "<script>" not in answer.text.replace('<script type="module"', "")


def test_the_page_tells_what_to_measure_for_the_shape(form: PageForm) -> None:
    assert "circumference / pi" in form.text()
    assert "Both diagonals alike" in form.send(
        "/preview", shape="box", body_width="300", body_depth="300").text


def test_at_which_heights_and_what_is_expected_there(form: PageForm) -> None:
    """Straight taper 380 to 330 over 900: at 180 over the floor 380 - 50 x 0.2 = 370."""
    row = re.search(r"lower edge of the plate</th>.*?180</td>.*?⌀ ([\d.]+)</td>", form.text(), re.S)
    assert row is not None
    assert row[1] == "370"


def test_a_flat_plate_lies_half_above_and_half_below_its_middle() -> None:
    """Lies with its middle 300 over the floor and 4 thick: from 298 to 302; measured to 900."""
    document = demo("rolling_lighthouse")
    document["plate"] |= {"stands": "flat", "base": 300, "thickness": 4}
    heights = {h.words: h.z for h in heights_for(load_document(document))}
    assert heights == {"at the floor": "0", "lower edge of the plate": "298",
                       "upper edge of the plate": "302", "at the top": "900"}


def test_an_opening_whose_height_is_left_empty_has_its_middle_at_half_the_body(
    form: PageForm,
) -> None:
    """The body is 900 high."""
    assert form.send(opening_low="", opening_sideways="20").status_code == 303
    assert form.document()["body"]["opening"]["at"] == [20, 450]


def test_an_empty_list_of_things_in_the_way_stays_one(http: httpx.Client, new_job: NewJob) -> None:
    document = demo("rolling_lighthouse")
    document["body"]["obstructions"] = []
    form = PageForm(http, new_job(document), "inside", "inside-form")
    assert form.send(diameter="379").status_code == 303
    document["body"]["diameter"] = 379
    assert form.document() == document

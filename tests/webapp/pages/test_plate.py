"""The page Plate over HTTP: offers taken, sizes, holes, mounting points, faults beside fields."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import httpx
import pytest

from layout_engine import check, load_document
from tests.webapp.pages.forms import PageForm, demo, fields_of

NewJob = Callable[[dict[str, Any]], str]


@pytest.fixture
def form(http: httpx.Client, new_job: NewJob) -> PageForm:
    return PageForm(http, new_job(demo("rolling_lighthouse")), "plate", "plate-form")


@pytest.mark.parametrize("name", ["rolling_lighthouse", "parade_tortoise", "puppet_wagon"])
def test_sending_the_form_as_it_stands_changes_nothing(
    http: httpx.Client, new_job: NewJob, name: str
) -> None:
    form = PageForm(http, new_job(demo(name)), "plate", "plate-form")
    assert form.send().status_code == 303
    assert form.document() == demo(name)


@pytest.mark.parametrize("name", ["rolling_lighthouse", "parade_tortoise", "puppet_wagon"])
def test_the_offered_plate_is_taken_and_stands_the_check(
    http: httpx.Client, new_job: NewJob, name: str
) -> None:
    form = PageForm(http, new_job(demo(name)), "plate", "plate-form")
    offered = re.search(r'value="0"[^>]*>Use (\d+) × (\d+)</button>', form.text())
    assert offered is not None
    assert form.send("/take", take="0").status_code == 303
    document = form.document()
    width, height = int(offered[1]), int(offered[2])
    assert document["plate"]["outline"] == [[0, 0], [width, 0], [width, height], [0, height]]
    rules = {finding.rule for finding in check(load_document(document))}
    assert not rules & {"plate_too_big", "no_way_in"}
    page = form.text()
    assert f"{width} × {height}: in use" in page
    assert f"Undo: use the plate {width} x {height}" in page


def test_mounting_points_move_with_the_edges(form: PageForm) -> None:
    form.send("/take", take="0")
    mounts = [(m["x"], m["y"]) for m in form.document()["plate"]["mounts"]]
    assert mounts == [(12, 12), (260, 12), (260, 334), (12, 334)]


def test_what_limits_an_offer_and_how_it_was_worked_out(form: PageForm) -> None:
    """The door is 276 x 350 and 2 mm are left on each side."""
    page = form.text()
    assert "Limited by the opening." in page
    assert "width = a - 2 p" in page
    assert "272 mm, solid geometry" in page


def test_higher_modules_leave_a_smaller_plate(http: httpx.Client, new_job: NewJob) -> None:
    document = demo("rolling_lighthouse")
    document["body"]["opening"] = {"in": "front", "shape": "rectangle", "width": 330,
                                   "height": 800}
    form = PageForm(http, new_job(document), "plate", "plate-form")
    low = form.send("/preview", front_room="20", back_room="20").text
    high = form.send("/preview", front_room="150", back_room="20").text
    widths = [int(re.search(r">Use (\d+) ×", page)[1]) for page in (low, high)]  # type: ignore[index]
    assert widths[1] < widths[0]
    assert "for modules in front" in high


def test_an_offer_that_has_gone_is_not_taken(form: PageForm) -> None:
    before = form.document()
    answer = form.send("/take", take="7")
    assert answer.status_code == 422
    assert "the offer was not taken" in answer.text
    assert form.document() == before


def test_where_nothing_fits_there_is_a_reason_and_no_button(form: PageForm) -> None:
    page = form.send("/preview", base="0", offset="0").text
    first = page.split('id="offers"')[1].split("</div>")[0]
    assert "No plate: battery tray is in the way here." in first
    assert "Use" not in first


def test_a_size_in_inches(form: PageForm) -> None:
    assert form.send(width="10 1/4 in", height="13 in").status_code == 303
    assert form.document()["plate"]["outline"][2] == [260.35, 330.2]
    assert form.fields()["width"] == "10 1/4"


def test_any_outline_by_its_corners(form: PageForm) -> None:
    corners = "0, 0; 260, 0; 260, 200; 200, 330; 0, 330"
    assert form.send(outline_form="points", outline=corners).status_code == 303
    assert form.document()["plate"]["outline"][3] == [200, 330]
    fields = form.fields()
    assert fields["outline_form"] == "points"
    assert fields["outline"] == corners


@pytest.mark.parametrize(("corners", "words"), [
    ("0, 0; 10, 10; 10, 0; 0, 10", "cross"),
    ("5, 0; 260, 0; 260, 330", "least x and y 0, 0"),
    ("0, 0; 260, 0", "at least 3 points|3 to 2000 points"),
])
def test_a_wrong_outline_is_told_at_its_field(form: PageForm, corners: str, words: str) -> None:
    answer = form.send(outline_form="points", outline=corners)
    assert answer.status_code == 422
    assert re.search(rf'id="outline-wrong">.*({words})', answer.text)


def test_cut_outs_rectangular_round_and_by_points(form: PageForm) -> None:
    for number, text in enumerate(("40 x 25 at 50, 60", "round 30 at 200, 60")):
        form.send(**{f"holes-{number}-outline": text})
    holes = form.document()["plate"]["holes"]
    assert holes[0] == [[50, 60], [90, 60], [90, 85], [50, 85]]
    xs = [x for x, _ in holes[1]]
    assert (min(xs), max(xs)) == (185, 215)


def test_a_cut_out_off_the_plate_is_told_at_its_row(form: PageForm) -> None:
    answer = form.send(**{"holes-0-outline": "40 x 25 at 250, 60"})
    assert answer.status_code == 422
    assert re.search(r'id="holes-0-outline-wrong">.*wholly inside', answer.text)


def test_four_mounting_points_in_the_corners(form: PageForm) -> None:
    fields = {k: v for k, v in form.fields().items() if not k.startswith("mounts-")}
    answer = form.http.post(form.path, data={
        **fields, "corner_inset": "10", "corner_hole": "5", "corner_head": "1/2 in",
        "corners": "yes"})
    assert answer.status_code == 303
    mounts = form.document()["plate"]["mounts"]
    assert [(m["x"], m["y"]) for m in mounts] == [(10, 10), (250, 10), (250, 320), (10, 320)]
    assert mounts[0]["head_diameter"] == 12.7
    assert len({m["id"] for m in mounts}) == 4


def test_where_the_outline_leaves_a_corner_out_the_mounting_point_stands_nearest_to_it(
        form: PageForm) -> None:
    """The slanted edge's normal is (130, 60) / 143.18; (250, 320) is 41.21 mm outside of it."""
    form.send(outline_form="points", outline="0, 0; 260, 0; 260, 200; 200, 330; 0, 330")
    fields = {k: v for k, v in form.fields().items() if not k.startswith("mounts-")}
    form.http.post(form.path, data={**fields, "corner_inset": "10", "corners": "yes"})
    mounts = form.document()["plate"]["mounts"]
    assert [(m["x"], m["y"]) for m in mounts] == [(10, 10), (250, 10), (203.5, 298.5), (10, 320)]


def test_a_wrong_quick_entry_is_told_and_nothing_is_lost(form: PageForm) -> None:
    answer = form.send(corner_inset="near", corners="yes", thickness="3")
    assert answer.status_code == 422
    assert 'id="corner_inset-wrong"' in answer.text
    assert re.search(r'name="thickness" value="3"', answer.text)


def test_drilled_holes_and_keep_free_zones(form: PageForm) -> None:
    assert form.send(**{
        "existing_holes-0-x": "30", "existing_holes-0-y": "40", "existing_holes-0-diameter": "6",
        "keep_outs-0-label": "strut", "keep_outs-0-outline": "20 x 330 at 120, 0",
        "keep_outs-0-faces": "back", "keep_outs-0-max_height": "5",
    }).status_code == 303
    plate = form.document()["plate"]
    assert plate["existing_holes"] == [{"x": 30, "y": 40, "diameter": 6}]
    assert plate["keep_outs"] == [{
        "label": "strut", "outline": [[120, 0], [140, 0], [140, 330], [120, 330]],
        "max_height": 5, "faces": ["back"]}]


def test_dropped_mounts_leave_the_others_their_ids(form: PageForm) -> None:
    before = form.document()["plate"]["mounts"]
    page = form.send(drop="mounts-1").text
    left = fields_of(page, "plate-form")
    assert not any(name.startswith("mounts-1-") for name in left)
    assert form.http.post(form.path, data=left).status_code == 303
    assert form.document()["plate"]["mounts"] == [before[0], *before[2:]]


def test_findings_about_the_plate_are_shown(form: PageForm) -> None:
    page = form.send("/preview", width="360", height="500").text
    assert "The plate does not fit at its place" in page
    assert "cannot be brought in" in page


def test_the_drawing_carries_the_fields_names(form: PageForm) -> None:
    page = form.text()
    for key in ("width", "height", "edge_margin", "corner_radius", "mounts-0", "offset"):
        assert f'data-key="{key}"' in page


def test_missing_sizes_are_asked_for(form: PageForm) -> None:
    answer = form.send(width="", thickness="")
    assert answer.status_code == 422
    assert re.search(r'id="width-wrong">.*needed', answer.text)
    assert re.search(r'id="thickness-wrong">.*needed', answer.text)


def test_cardboard_outline_is_linked(form: PageForm) -> None:
    link = re.search(r'href="([^"]+)"[^>]*>Cardboard outline', form.text())
    assert link is not None
    answer = form.http.get(link[1])
    assert answer.status_code == 200
    assert answer.content.startswith(b"%PDF-")


def test_a_new_mounting_point_takes_no_id_that_is_taken(
    http: httpx.Client, new_job: NewJob
) -> None:
    document = demo("rolling_lighthouse")
    document["plate"]["mounts"] = [{**document["plate"]["mounts"][0], "id": "mount_2"}]
    form = PageForm(http, new_job(document), "plate", "plate-form")
    row = {"y": "90", "diameter": "4.5", "head_diameter": "9", "head_height": "5"}
    answer = form.send(**{f"mounts-{n}-{key}": text for n, x in ((1, "60"), (2, "90"))
                          for key, text in {**row, "x": x}.items()})
    assert answer.status_code == 303
    ids = [mount["id"] for mount in form.document()["plate"]["mounts"]]
    assert ids[0] == "mount_2"
    assert len(set(ids)) == 3

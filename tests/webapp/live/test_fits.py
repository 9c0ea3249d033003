"""Where it fits over HTTP: the ground as a path, lines of cost, spots to take, words why not."""

from __future__ import annotations

import re
from typing import Any

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from layout_engine import check, load_document
from layout_engine.arranging.cost import evaluate
from layout_engine.edits import place_parts
from layout_engine.model.part import Placement
from tests import samples

Json = dict[str, Any]
SPOT = re.compile(
    r'data-spot data-x="([-\d.]+)" data-y="([-\d.]+)" data-turn="([\d.]+)" data-face="(\w+)"')


def made(app: FastAPI, document: Json) -> str:
    return str(app.state.store.create(load_document(document)).id)


def asked(client: TestClient, job: str, **query: Any) -> Json:
    answer = client.get(f"/jobs/{job}/layout/fits", params={"part": "left", **query})
    assert answer.status_code == 200, answer.text
    return dict(answer.json())


def corners(path: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in re.findall(r"([-\d.]+) ([-\d.]+)", path)]


def test_the_ground_of_the_middle_is_the_plate_less_margin_and_half_the_module(
        client: TestClient, local_app: FastAPI) -> None:
    """Plate 260 x 300, margin 5, module 70 x 45: middles from 40 to 220 and 27.5 to 272.5."""
    document = samples.two_module_board()
    document["parts"].pop()
    document["plate"].pop("mounts")
    found = asked(client, made(local_app, document))
    xs, ys = zip(*corners(found["ground"]), strict=True)
    assert (min(xs), max(xs), min(ys), max(ys)) == (40, 220, 27.5, 272.5)
    assert found["revision"] == 1
    assert found["lines"] == []
    assert "toned ground: on the front, not turned" in found["html"]


def test_the_tray_is_asked_about_too_and_turns_count(
        client: TestClient, local_app: FastAPI) -> None:
    document = samples.two_module_board()
    document["parts"][0]["placement"] = None
    found = asked(client, made(local_app, document), turn=90, face="back")
    xs, _ = zip(*corners(found["ground"]), strict=True)
    assert min(xs) == pytest.approx(5 + 45 / 2)
    assert "on the back, turned 90" in found["html"]


def test_spots_are_cheaper_and_stop_nothing(client: TestClient, local_app: FastAPI) -> None:
    job = made(local_app, samples.wired_board())
    found = asked(client, job, costs=True)
    spots = SPOT.findall(found["html"])
    assert len(spots) >= 4
    assert found["html"].count("How it was worked out") == len(spots)
    assert "wire to Right box" in found["html"]
    assert "\N{NO-BREAK SPACE}A\N{NO-BREAK SPACE}m less than where it stands" in found["html"]
    assert [line["words"][0] for line in found["lines"]] == ["+"] * len(found["lines"])
    before = local_app.state.store.open(job).job
    for x, y, turn, face in spots:
        place = Placement.model_validate(
            {"x": float(x), "y": float(y), "turn": float(turn), "face": face})
        after = place_parts(before, {"left": place}).job
        assert not [f for f in check(after) if f.severity == "stop"]


def test_each_piece_of_the_ground_has_a_figure_of_what_it_costs(
        client: TestClient, local_app: FastAPI) -> None:
    """The plate is parted by strips; figures differ as the contract's costs of the places do."""
    document = samples.wired_board()
    document["plate"]["keep_outs"] = [
        {"label": f"strip {y}", "outline": [[0, y], [260, y], [260, y + 8], [0, y + 8]]}
        for y in (80, 140, 200, 260)]
    job = made(local_app, document)
    found = asked(client, job, costs=True)
    alone = [line for line in found["lines"] if not line["d"]]
    assert len(alone) >= 2
    before = local_app.state.store.open(job).job
    dx, dy = 35.0, 22.5  # the middle of the module from its datum
    costs = [evaluate(place_parts(before, {"left": Placement(
        face="front", x=line["at"][0] - dx, y=line["at"][1] - dy)}).job).cost for line in alone]
    figures = [float(line["words"]) for line in alone]
    for cost, figure in zip(costs, figures, strict=True):
        assert figure - figures[0] == pytest.approx((cost - costs[0]) / 1000, abs=0.011)


def test_a_locked_module_is_told_about_and_not_offered(
        client: TestClient, local_app: FastAPI) -> None:
    document = samples.wired_board()
    document["parts"][0]["locked"] = True
    found = asked(client, made(local_app, document), costs=True)
    assert "data-spot" not in found["html"]
    assert "It is locked" in found["html"]


def test_without_wires_every_spot_costs_the_same(client: TestClient, local_app: FastAPI) -> None:
    found = asked(client, made(local_app, samples.two_module_board()), costs=True)
    assert found["lines"] == []
    assert "Every spot costs about the same" in found["html"]


def test_why_it_fits_nowhere(client: TestClient, local_app: FastAPI) -> None:
    document = samples.two_module_board()
    document["types"]["big"] = samples.module_type("Big", width=255)
    document["parts"][0]["type"] = "big"
    found = asked(client, made(local_app, document), costs=True)
    assert found["ground"] == ""
    assert "Left box is larger than the plate inside its edge margin" in found["html"]
    assert "turned 90" in found["html"].lower()


def test_a_module_of_a_group_is_told_of_alone(client: TestClient, local_app: FastAPI) -> None:
    document = samples.two_module_board()
    document["groups"] = [["left", "right"]]
    assert "Told of it alone" in asked(client, made(local_app, document))["html"]


def test_names_cannot_bring_markup(client: TestClient, local_app: FastAPI) -> None:
    document = samples.two_module_board()
    document["parts"][0]["label"] = "<b>Left</b>"
    document["types"]["box"]["height"] = 2000
    assert "<b>" not in asked(client, made(local_app, document))["html"]


@pytest.mark.parametrize(("query", "status"), [
    ({"part": "nobody"}, 404), ({"part": "left", "turn": "361"}, 422),
    ({"part": "left", "turn": "nan"}, 422), ({"part": "left", "face": "side"}, 422), ({}, 422),
])
def test_what_cannot_be_is_refused(client: TestClient, local_app: FastAPI, query: Json,
                                   status: int) -> None:
    job = made(local_app, samples.two_module_board())
    assert client.get(f"/jobs/{job}/layout/fits", params=query).status_code == status


def test_the_page_has_the_switch(client: TestClient, local_app: FastAPI) -> None:
    page = client.get(f"/jobs/{made(local_app, samples.two_module_board())}/layout").text
    assert "data-fits-on" in page
    assert page.count("Where it fits") == 1

"""Groups as one stiff piece: what is true of stiff pieces holds, whatever the turn and the face."""

from __future__ import annotations

from itertools import combinations
from math import dist
from typing import Any

import pytest
from starlette.testclient import TestClient

from layout_engine import Job, load_document
from layout_engine.geometry.frames import Pose
from layout_engine.model.part import Placement
from tests import samples
from webapp.live.together import along, carried, companions, turned_together

POINTS = ((0.0, 0.0), (70.0, 0.0), (0.0, 45.0), (12.5, 30.0))
PLACES = [
    Placement(face="front", x=30, y=120, turn=0), Placement(face="front", x=-4.5, y=80, turn=90),
    Placement(face="back", x=60, y=20, turn=33), Placement(face="back", x=10, y=7, turn=270),
]


def board(**parts: dict[str, Any]) -> Job:
    document = {**samples.two_module_board(), "groups": [["left", "right"]]}
    for entry in document["parts"]:
        entry.update(parts.get(entry["id"], {}))
    return load_document(document)


def points(placement: Placement) -> list[tuple[float, float]]:
    return [Pose.of(placement).point(x, y) for x, y in POINTS]


@pytest.mark.parametrize("before", PLACES[:2])
@pytest.mark.parametrize("after", PLACES)
def test_all_distances_within_a_moved_group_stay(before: Placement, after: Placement) -> None:
    mate = Placement(face="front", x=140, y=95, turn=75)
    was = [*points(before), *points(mate)]
    now = [*points(after), *points(along(before, after, mate))]
    for one, other in combinations(range(len(was)), 2):
        assert dist(now[one], now[other]) == pytest.approx(dist(was[one], was[other]), abs=0.002)


@pytest.mark.parametrize("turn", [90.0, 15.0, 211.0])
@pytest.mark.parametrize("face", ["front", "back"])
def test_turned_back_a_group_stands_as_before(turn: float, face: Any) -> None:
    """Also turned over and back: a turning over is its own inverse."""
    job = board(right={"placement": {"face": "front", "x": 140, "y": 90, "turn": 30}})
    start = job.part("left").placement
    mate = job.part("right").placement
    assert start is not None
    assert mate is not None
    there = turned_together(job, "left", start, face, turn)
    back = turned_together(job, "left", there, "front", 0.0)
    assert (back.x, back.y) == pytest.approx((start.x, start.y), abs=0.003)
    came = carried(job, "left", back)["right"]
    assert (came.face, came.turn % 360) == ("front", mate.turn)
    assert (came.x, came.y) == pytest.approx((mate.x, mate.y), abs=0.003)


def test_a_quarter_turn_about_the_common_middle() -> None:
    """Boxes of 70 x 45 mm at 30, 120 and 140, 120: middles at 65 and 175, 142.5; the common one at
    120, 142.5. A quarter turn puts the left one's middle 55 mm below it and the right one's above.
    """
    job = board()
    start = job.part("left").placement
    assert start is not None
    there = turned_together(job, "left", start, "front", 90.0)
    assert Pose.of(there).point(35, 22.5) == pytest.approx((120, 87.5))
    mate = carried(job, "left", there)["right"]
    assert mate.turn == 90
    assert Pose.of(mate).point(35, 22.5) == pytest.approx((120, 197.5))


def test_turned_over_left_and_right_change_places() -> None:
    job = board()
    start = job.part("left").placement
    assert start is not None
    there = turned_together(job, "left", start, "back", 0.0)
    mate = carried(job, "left", there)["right"]
    assert (there.face, mate.face) == ("back", "back")
    assert Pose.of(there).point(35, 22.5) == pytest.approx((175, 142.5))
    assert Pose.of(mate).point(35, 22.5) == pytest.approx((65, 142.5))


@pytest.mark.parametrize("entry", [
    {"locked": True}, {"placement": {"face": "back", "x": 140, "y": 120, "turn": 0}},
])
def test_a_locked_mate_and_one_on_the_other_face_stay(entry: dict[str, Any]) -> None:
    assert companions(board(right=entry), "left") == {}


def test_the_server_draws_a_turned_group(client: TestClient) -> None:
    document = {**samples.two_module_board(), "groups": [["left", "right"]]}
    job = client.post("/api/projects", json=document).json()["id"]
    wanted = {"part": "left", "face": "front", "turn": 90, "centre": [65, 142.5]}
    call = f"/jobs/{job}/layout/module"
    together = client.post(call, json={**wanted, "together": True}).json()
    assert set(together["mates"]) == {"right"}
    assert together["mates"]["right"]["placement"]["turn"] == 90
    assert 'data-key="right"' in together["mates"]["right"]["svg"]
    alone = client.post(call, json=wanted).json()
    assert alone["mates"] == {}
    assert alone["centre"] == [65, 142.5]
    typed = client.post(call, json={**wanted, "turn": 0, "corner": [40, 130], "together": True})
    place = typed.json()["mates"]["right"]["placement"]
    assert (place["x"], place["y"]) == (150, 130)

"""Room that the checker warns of: kept free in offers that may cost more than the least.

Whether it is free is for the checker to say, whose rules have tests of their own.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from layout_engine import Job, arrange, load_document
from layout_engine.arranging.arrangement import Character
from layout_engine.arranging.arranger import cleared
from layout_engine.arranging.classes import Care
from layout_engine.arranging.probing import Watch, probed
from layout_engine.arranging.problem import problem_of
from layout_engine.arranging.verdict import unavoidable, warnings
from tests.benchmarks.arranging.family import Member, made
from tests.layout_engine.arranging.test_arrange import run, small, still

Json = dict[str, Any]
DEMOS = Path(__file__).parents[3] / "seed_data" / "demos"
ROOMY = {"terminal_blocked", "sink_crowded", "fins_across", "receiver_low", "receiver_near_metal",
         "switch_low", "service_point_blocked"}
BRIDGES = {"hole_spacing", "hole_edge"}
WANTED_SO = {"turns": "fins_across", "near_edge": "switch_low"}  # by musts of these rules
WORK = 20_000_000  # a third of a second


def job_of(name: str) -> Job:
    if name.startswith("family"):
        count, faces, seed = (int(number) for number in name.split()[1:])
        return made(Member(count, faces, "all", seed)).known
    return load_document(json.loads((DEMOS / f"{name}.json").read_text()))


def free(job: Job) -> Job:
    """The job with everything that may move in the tray."""
    return cleared(job, frozenset(p.id for p in job.parts if p.away is None and not p.locked))


def warned(job: Job) -> set[str]:
    return {rule for rule, _ in warnings(job)}


def searched(name: str, care: Care) -> set[str]:
    """What a short search with that room kept free is warned of, that other places might spare.

    Not the plate's own holes, what is locked, and what a must wants so.
    """
    base = free(job_of(name))
    problem = problem_of(base, care=care)
    found = probed(problem, base, unavoidable(base, frozenset(problem.movable)), WORK, Watch()).best
    assert found is not None
    musts = {(WANTED_SO[wish.rule], part.id) for part in base.parts for wish in part.wishes
             if wish.must and wish.rule in WANTED_SO}
    return {rule for rule, names in warnings(found)
            if names[0] in problem.movable and (rule, names[0]) not in musts}


@pytest.mark.parametrize("name", [
    "rolling_lighthouse", "parade_tortoise", *(f"family 12 1 {n}" for n in range(1, 6)),
    "family 25 1 1", "family 25 1 3"])
def test_where_all_room_is_kept_free_the_checker_finds_it_free(name: str) -> None:
    assert searched(name, Care.NONE) & (ROOMY | BRIDGES | {"hole_under_part"})
    assert not searched(name, Care.ALL) & (ROOMY | BRIDGES | {"hole_under_part"})


@pytest.mark.parametrize("name", ["puppet_wagon", "family 12 2 2", "family 12 2 4"])
@pytest.mark.parametrize("care", [Care.BRIDGED, Care.ROOMY])
def test_with_less_care_some_room_is_given_up(name: str, care: Care) -> None:
    found = searched(name, care)
    assert not found & ROOMY
    assert not found & BRIDGES or care is Care.ROOMY
    assert "hole_under_part" in found


def back_to_back() -> Json:
    """Two boxes of 30 x 20, 6 mm over the faces of their plate, which they fill, one screw each.

    Heads stand 2.4 mm high.
    """
    document = small(2, 40)
    document["plate"]["outline"] = [[0, 0], [40, 0], [40, 30], [0, 30]]
    document["plate"]["edge_margin"] = 5
    document["types"]["module"] |= {"standoff": 6, "fixing": "screws",
                                    "fixings": [{"x": 8, "y": 10, "thread": "M3"}]}
    for part, face in zip(document["parts"], ("front", "back"), strict=True):
        part["wishes"] = [{"rule": "face", "face": face, "must": True}]
    return document


def test_screws_come_out_under_a_module_where_there_is_no_other_place() -> None:
    found = run(back_to_back(), character="tidiest")
    assert found.whole
    assert found.details.care is Care.BRIDGED
    assert warned(found.job) == {"hole_under_part"}


def beside(wide: float) -> Json:
    """Two boxes, 30 long, one before the other on a plate so wide and 30 high.

    Each wants 10 mm free at one end; a little more than half of it must be, or the build is
    stopped.
    """
    document = small(2, 100)
    document["plate"]["outline"] = [[0, 0], [wide, 0], [wide, 30], [0, 30]]
    document["plate"]["edge_margin"] = 0
    for terminal in document["types"]["module"]["terminals"]:
        terminal["room"] = 10 if terminal["id"] == "b" else 0
    for part in document["parts"]:
        part["wishes"] = [{"rule": "face", "face": "front", "must": True},
                          {"rule": "turns", "allowed": [0], "must": True}]
    document["connections"] = [{"id": "c", "from": "p0.b", "to": "p1.b", "weight": 2}]
    return document


@pytest.mark.parametrize(("wide", "care", "blocked"), [
    (75, Care.ALL, set()), (67, Care.NONE, {"terminal_blocked"})])
def test_bend_room_is_kept_free_where_there_is_place_for_it(
    wide: float, care: Care, blocked: set[str],
) -> None:
    """Two of 30 mm and 10 mm between them need 70."""
    found = run(beside(wide), character="coolest")
    assert found.whole
    assert found.details.care is care
    assert warned(found.job) == blocked


def test_the_shortest_keeps_no_more_room_than_it_must() -> None:
    """Terminals 5 mm apart, the half of their bend room, cost less than 10 mm apart."""
    found = run(beside(75))
    assert found.details.care is Care.NONE
    assert found.cost < run(beside(75), character="coolest").cost


FINS = {"heat": {"watts": {"typical": 5}, "fins": "x",
                 "sink": [[0, 0], [30, 0], [30, 20], [0, 20]]}}


@pytest.mark.parametrize(("musts", "across"), [([], set()), ([0], {"fins_across"})])
def test_fins_run_up_and_down_unless_a_must_lays_them_across(
    musts: list[float], across: set[str],
) -> None:
    document = small(3)
    document["types"]["module"] |= FINS
    for part in document["parts"] if musts else ():
        part["wishes"] = [{"rule": "turns", "allowed": musts, "must": True}]
    for character in ("coolest", "serviceable", "tidiest"):
        found = run(document, character=character)
        assert found.whole
        assert warned(found.job) & {"fins_across"} == across


def test_the_aerial_is_put_over_metal() -> None:
    """A long wire would draw the receiver down to the foot of the plate."""
    document = small(3, 200)
    plain = document["types"]["module"]
    document["types"] |= {
        "shielded": plain | {"shields": [{"outline": plain["outline"], "height": [0, 10]}]},
        "receiver": plain | {"antenna": {"x": 15, "y": 10, "z": 10, "band_mhz": 2400}},
        "post": plain,
    }
    for part, kind in zip(document["parts"], ("receiver", "shielded", "post"), strict=True):
        part["type"] = kind
    document["parts"][2] |= {"locked": True, "placement": {"face": "front", "x": 80, "y": 10}}
    document["connections"] = [
        {"id": "c", "from": "p0.b", "to": "p2.a", "weight": 2},
        {"id": "d", "from": "p1.b", "to": "p2.b", "weight": 1}]
    assert "receiver_low" in warned(run(document).job)
    assert "receiver_low" not in warned(run(document, character="tidiest").job)


def test_the_main_switch_is_put_within_reach_of_the_top() -> None:
    """100 mm from the edge that hands come to, though its wire would draw it down."""
    document = small(2, 300)
    plain = document["types"]["module"]
    document["types"] |= {"switch": plain | {"kind": "main_switch"}, "post": plain}
    for part, kind in zip(document["parts"], ("switch", "post"), strict=True):
        part["type"] = kind
    document["parts"][1] |= {"locked": True, "placement": {"face": "front", "x": 100, "y": 10}}
    assert "switch_low" in warned(run(document).job)
    found = run(document, character="coolest")
    assert found.details.care is Care.ALL
    assert "switch_low" not in warned(found.job)


@pytest.mark.parametrize("character", ["coolest", "serviceable", "tidiest"])
@pytest.mark.parametrize("name", ["rolling_lighthouse", "parade_tortoise"])
def test_offers_of_demos_are_warned_of_next_to_nothing(name: str, character: Character) -> None:
    found = arrange(free(job_of(name)), seconds=2, seed=2, character=character, clock=still)
    assert found.details.care is Care.ALL
    assert len(warnings(found.job)) <= 1

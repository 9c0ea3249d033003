"""Laws of arranging: whatever the job, the offer is allowed, priced rightly and repeatable."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from itertools import pairwise
from math import cos, hypot, radians, sin
from pathlib import Path
from time import monotonic
from typing import Any

import pytest

from layout_engine import Job, arrange, check, document_bytes, dump_document, load_document
from layout_engine.arranging import Arrangement, Progress, chains
from layout_engine.arranging.cost import evaluate
from layout_engine.arranging.problem import _Maker
from layout_engine.checks.rules import SIZES
from layout_engine.model.part import Part

DEMOS = Path(__file__).parents[3] / "seed_data" / "demos"
NAMES = ("parade_tortoise", "puppet_wagon", "rolling_lighthouse")
STOPPED_WITHIN_S = 0.2  # the contract; measured in processor-free words: looks between two calls
Json = dict[str, Any]


def still() -> float:
    """A clock that stands: the plan is never cut."""
    return 0.0


def demo(name: str) -> Json:
    document: Json = json.loads((DEMOS / f"{name}.json").read_text())
    return document


def emptied(document: Json) -> Json:
    for part in document["parts"]:
        part.pop("placement", None)
    return document


@cache
def arranged(name: str) -> Arrangement:
    job = load_document(emptied(demo(name)))
    return arrange(job, seconds=1, seed=1, clock=still)


def stops(job: Job) -> list[tuple[str, tuple[str, ...]]]:
    """Stops but those of wire sizes, which follow from where wires are laid."""
    return [(f.rule, f.subjects) for f in check(job) if f.severity == "stop"
            and f.rule not in SIZES]


def small(count: int = 4, side: float = 120) -> Json:
    """Boxes of 30 x 20 on a square plate in a wide box, each wired to the next."""
    kind = {
        "name": "Module", "kind": "other", "outline": [[0, 0], [30, 0], [30, 20], [0, 20]],
        "height": 15, "standoff": 6, "clearance": 2,
        "terminals": [
            {"id": "a", "x": 0, "y": 10, "leaves": 180, "role": "signal"},
            {"id": "b", "x": 30, "y": 10, "leaves": 0, "role": "signal"},
        ],
    }
    return {
        "format": "platewright/1", "name": "Small",
        "body": {"shape": "box", "width": 400, "depth": 300, "height": 400,
                 "opening": {"shape": "rectangle", "width": 380, "height": 280},
                 "reach_from": "top"},
        "plate": {"outline": [[0, 0], [side, 0], [side, side], [0, side]], "thickness": 5,
                  "material": "acrylic", "stands": "upright", "base": 50},
        "types": {"module": kind},
        "parts": [{"id": f"p{n}", "type": "module"} for n in range(count)],
        "connections": [
            {"id": f"c{n}", "from": f"p{n}.b", "to": f"p{n + 1}.a", "weight": 2}
            for n in range(count - 1)
        ],
    }


@contextmanager
def few_moves() -> Iterator[None]:
    """A tenth of the quick plan's moves: a few boxes have found their places long before."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(chains.WORK, "quick", (4_000_000, 1.4))
        yield


def run(document: Json, **more: Any) -> Arrangement:
    with few_moves():
        return arrange(load_document(document), seconds=1, seed=3, clock=still, **more)


@pytest.mark.parametrize("name", NAMES)
def test_each_demo_is_arranged_without_a_stop_from_an_empty_tray(name: str) -> None:
    offer = arranged(name)
    assert stops(offer.job) == []
    assert offer.whole
    assert offer.reason == ""


def terminal_at(document: Json, end: str) -> tuple[float, float, str | None]:
    """Where a terminal is, by the contract's text alone."""
    part_id, terminal_id = end.split(".")
    part = next(p for p in document["parts"] if p["id"] == part_id)
    xs, ys = zip(*document["plate"]["outline"], strict=True)
    if "away" in part:
        leaves = part["away"].get("exit", "top")
        named = {"top": (max(xs) / 2, max(ys)), "bottom": (max(xs) / 2, 0),
                 "left": (0, max(ys) / 2), "right": (max(xs), max(ys) / 2)}
        x, y = named[leaves] if isinstance(leaves, str) else leaves
        return x, y, None
    kind, place = document["types"][part["type"]], part["placement"]
    t = next(t for t in kind["terminals"] if t["id"] == terminal_id)
    side = -1 if place.get("face", "front") == "back" else 1
    c, s = cos(radians(place.get("turn", 0))), sin(radians(place.get("turn", 0)))
    qx, qy = side * t["x"], t["y"]
    return (c * qx - s * qy + place["x"], s * qx + c * qy + place["y"],
            place.get("face", "front"))


def weight(document: Json, connection: Json) -> float:
    if connection.get("weight"):
        return float(connection["weight"])
    ids = [connection[e].split(".")[0] for e in ("from", "to")]
    kinds = [document["types"][p["type"]] for i in ids for p in document["parts"] if p["id"] == i]
    typical = max((load.get("typical", 0) for k in kinds for load in k.get("loads", [])),
                  default=0)
    half = max((d.get("continuous", 0) / 2 for k in kinds for d in k.get("drives", [])), default=0)
    return float(typical or half or 0.5)


@pytest.mark.parametrize("name", NAMES)
def test_wire_cost_is_that_of_the_contract(name: str) -> None:
    offer = arranged(name)
    document = dump_document(offer.job)
    total = 0.0
    for connection in document["connections"]:
        ax, ay, face = terminal_at(document, connection["from"])
        bx, by, other = terminal_at(document, connection["to"])
        through = document["plate"]["thickness"] + 20 if face and other and face != other else 0
        total += weight(document, connection) * (abs(ax - bx) + abs(ay - by) + through)
    assert offer.wire_cost == pytest.approx(total, abs=1e-6)
    assert offer.cost == pytest.approx(offer.wire_cost + offer.wish_cost, abs=1e-9)


@pytest.mark.parametrize("name", NAMES)
def test_the_bound_is_below_the_cost(name: str) -> None:
    offer = arranged(name)
    assert 0 < offer.bound <= offer.cost


def test_the_bound_of_two_boxes_is_what_they_can_reach() -> None:
    """Worked by hand: two boxes wired end to end can only touch at 2 mm: 2 x 2 = 4."""
    offer = run(small(2))
    assert offer.cost == pytest.approx(4.0, abs=0.05)
    assert offer.bound <= offer.cost


def test_same_seed_and_plan_give_the_same_bytes() -> None:
    document = small(5)
    one, two = (document_bytes(run(document).job) for _ in range(2))
    assert one == two


def test_cost_never_rises_while_it_runs() -> None:
    costs: list[float] = []

    def look(progress: Progress) -> bool:
        if progress.cost is not None:
            costs.append(progress.cost)
        return True

    offer = run(small(6), on_progress=look)
    assert len(costs) > 1
    rounding = 1e-9  # the same lengths elsewhere on the plate add up otherwise in the last digits
    assert all(after <= before + rounding for before, after in pairwise(costs))
    assert offer.cost == costs[-1]


def test_a_locked_part_stays_and_the_others_keep_clear() -> None:
    document = small(4)
    where = {"face": "front", "x": 45.25, "y": 50.5, "turn": 30}
    document["parts"][1] |= {"locked": True, "placement": where}
    offer = run(document)
    assert stops(offer.job) == []
    kept = dump_document(offer.job)["parts"][1]
    assert kept["placement"] == where


def test_only_the_chosen_parts_move() -> None:
    document = dump_document(run(small(4)).job)
    before = {p["id"]: p["placement"] for p in document["parts"]}
    del document["parts"][2]["placement"]
    offer = run(document, only=frozenset({"p2"}))
    after = {p["id"]: p.get("placement") for p in dump_document(offer.job)["parts"]}
    assert after["p2"] is not None
    assert {k: v for k, v in after.items() if k != "p2"} == {
        k: v for k, v in before.items() if k != "p2"}


def test_an_unknown_part_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="nobody"):
        run(small(2), only=frozenset({"nobody"}))


def test_stopping_gives_the_best_allowed_so_far_at_once() -> None:
    job = load_document(emptied(demo("rolling_lighthouse")))
    asked: list[float] = []

    def stop_when_there_is_one(progress: Progress) -> bool:
        asked.append(monotonic())
        return progress.job is None

    offer = arrange(job, seconds=60, seed=1, on_progress=stop_when_there_is_one, clock=still)
    assert offer.capped
    assert stops(offer.job) == []


@pytest.mark.parametrize("at", [1, 5, 9])
def test_who_stops_it_before_the_search_gets_what_was_there(
        monkeypatch: pytest.MonkeyPatch, at: int) -> None:
    """It is asked before every module whose poses are worked out, which takes some ms each."""
    document, asked, made = small(8, 200), list[int](), list[Part]()
    make = _Maker.movable_body
    monkeypatch.setattr(_Maker, "movable_body",
                        lambda self, part: (made.append(part), make(self, part))[1])
    there = {"face": "front", "x": 40, "y": 40}
    document["parts"][0]["placement"] = there
    job = load_document(document)

    def stop_early(_: Progress) -> bool:
        asked.append(1)
        return len(asked) < at

    offer = arrange(job, seconds=60, seed=1, on_progress=stop_early, clock=still)
    assert len(asked) == at
    assert len(made) == at - 1
    assert offer.capped
    assert offer.starts == 0
    assert offer.unplaced == tuple(f"p{n}" for n in range(1, 8))
    assert offer.job.part("p0").placement == job.part("p0").placement


def test_it_is_asked_often_enough_to_stop_within_a_fifth_of_a_second() -> None:
    """Work between two looks, in units that the fast half of a machine does 13 million a second."""
    fractions: list[float] = []
    arrange(load_document(small(8, 200)), seconds=1, seed=3, clock=still,
            on_progress=lambda p: not fractions.append(p.fraction))  # type: ignore[func-returns-value]
    steps = [b - a for a, b in pairwise(fractions)]
    assert max(steps) * 10_000_000 / 13_000_000 < STOPPED_WITHIN_S


def test_the_clock_caps_it() -> None:
    ticks = iter(range(1000))
    job = load_document(small(4))
    assert arrange(job, seconds=2, seed=1, clock=lambda: float(next(ticks))).capped


def test_too_much_for_the_plate_leaves_parts_in_the_tray_with_the_reason() -> None:
    document = small(9, 60)
    for part in document["parts"]:
        part["wishes"] = [{"rule": "face", "face": "front", "must": True}]
    offer = run(document)
    assert not offer.whole
    assert offer.unplaced
    assert "The plate lacks about" in offer.reason
    assert {rule for rule, _ in stops(offer.job)} == {"not_placed"}


def test_a_part_that_fits_nowhere_is_named() -> None:
    document = small(3)
    document["types"]["tall"] = document["types"]["module"] | {"height": 290}
    document["parts"].append({"id": "tower", "type": "tall", "label": "Tower"})
    offer = run(document)
    assert offer.unplaced == ("tower",)
    assert "Tower cannot stand anywhere" in offer.reason


MUSTS: tuple[Json, ...] = (
    {"rule": "face", "face": "back"},
    {"rule": "near_edge", "edge": "left", "within": 8},
    {"rule": "high", "above": 100},
    {"rule": "inside", "outline": [[10, 10], [60, 10], [60, 50], [10, 50]]},
    {"rule": "turns", "allowed": [45]},
    {"rule": "near", "part": "p3", "within": 6},
)


@pytest.mark.parametrize("must", MUSTS, ids=lambda must: must["rule"])
def test_musts_are_kept_even_where_they_cost(must: Json) -> None:
    document = small(4)
    document["parts"][0]["wishes"] = [must | {"must": True}]
    offer = run(document)
    assert offer.whole
    parts = {p["id"]: p for p in dump_document(offer.job)["parts"]}
    box, other = (corners(parts[i]["placement"]) for i in ("p0", "p3"))
    xs, ys = [c[0] for c in box], [c[1] for c in box]
    held = {
        "face": parts["p0"]["placement"].get("face", "front") == "back",
        "near_edge": min(xs) <= 8 + 1e-6,
        "high": sum(ys) / 4 >= 100 - 1e-6,
        "inside": min(xs) >= 10 - 1e-6 and max(xs) <= 60 + 1e-6
        and min(ys) >= 10 - 1e-6 and max(ys) <= 50 + 1e-6,
        "turns": parts["p0"]["placement"].get("turn", 0) == 45,
        "near": boxes_apart(box, other) <= 6 + 1e-6,
    }
    assert held[must["rule"]]


def corners(place: Json) -> list[tuple[float, float]]:
    c, s = cos(radians(place.get("turn", 0))), sin(radians(place.get("turn", 0)))
    side = -1 if place.get("face", "front") == "back" else 1
    return [(c * side * x - s * y + place["x"], s * side * x + c * y + place["y"])
            for x, y in ((0, 0), (30, 0), (30, 20), (0, 20))]


def boxes_apart(a: list[tuple[float, float]], b: list[tuple[float, float]]) -> float:
    gaps = [max(min(p[i] for p in b) - max(p[i] for p in a),
                min(p[i] for p in a) - max(p[i] for p in b), 0) for i in (0, 1)]
    return hypot(*gaps)


def test_names_and_order_change_nothing_about_being_allowed() -> None:
    document = small(5)
    text = json.dumps(document)
    for n in range(5):
        text = text.replace(f'"p{n}', f'"other_{9 - n}')
    renamed = json.loads(text)
    renamed["parts"].reverse()
    assert run(document).whole == run(renamed).whole
    assert stops(run(renamed).job) == []


def test_a_whole_allowed_layout_that_is_there_is_never_made_dearer_or_lost() -> None:
    there = load_document(demo("rolling_lighthouse"))
    ticks = iter(range(100_000))
    cut = arrange(there, seconds=1, seed=1, clock=lambda: float(next(ticks)))
    assert cut.whole
    assert cut.cost <= evaluate(there).cost

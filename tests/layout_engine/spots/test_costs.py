"""What spots cost: against the contract's cost; the raster against the exact places."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
import pytest

from layout_engine import Finding, Job, load_document
from layout_engine.arranging.cost import evaluate, missed_musts, weight_of
from layout_engine.checks import check
from layout_engine.checks.rules import PLACEMENT
from layout_engine.model.part import Placement
from layout_engine.spots import (
    Around,
    Forms,
    Spot,
    best_spots,
    cost_map,
    fit_of,
    isolines,
    round_step,
    worked,
)
from layout_engine.spots.choosing import turns_of
from layout_engine.spots.raster import STEP_MM
from tests.checks.random_jobs import random_job
from tests.layout_engine.spots.borders import border_gaps

Json = dict[str, Any]
DEMOS = Path(__file__).parents[3] / "seed_data" / "demos"
FORMS = Forms()
SEEDS = range(12)


def wired(seed: int) -> Job:
    """A random job with connections and wishes."""
    document, rng = random_job(seed), Random(seed)
    ends = [f"{part['id']}.{terminal['id']}" for part in document["parts"]
            for terminal in document["types"][part["type"]]["terminals"]]
    pairs = [rng.sample(ends, 2) for _ in range(12)] if len(ends) > 1 else []
    document["connections"] = [
        {"id": f"c{n}", "from": a, "to": b, "weight": rng.choice((0.5, 2, 10))}
        for n, (a, b) in enumerate(pairs)
    ]
    ids = [part["id"] for part in document["parts"]]
    for part in document["parts"]:
        others = [other for other in ids if other != part["id"]]
        part["wishes"] = rng.sample([
            {"rule": "face", "face": "back"},
            {"rule": "near_edge", "edge": rng.choice(("top", "bottom", "left", "right")),
             "within": 10},
            {"rule": "high", "above": 150},
            {"rule": "away_from_shields", "distance": 120},
            {"rule": "inside", "outline": [[10, 10], [100, 10], [60, 40], [10, 100]]},
            {"rule": "turns", "allowed": [0, 90]},
            {"rule": "near", "part": rng.choice(others), "within": 5},
        ], 3)
    return load_document(document)


@pytest.mark.parametrize("seed", SEEDS)
def test_two_spots_differ_as_the_cost_of_the_arrangement_does(seed: int) -> None:
    job, rng = wired(seed), Random(seed)
    for part in job.parts:
        around = Around(job, part.id, FORMS)
        left_over = []
        for _ in range(4):
            face, turn = rng.choice(("front", "back")), rng.choice((0.0, 90.0, 180.0, 37.5))
            stance = around.stance(face, turn)
            x, y = rng.uniform(0, 200), rng.uniform(0, 200)
            dx, dy = stance.posed.centre
            own = around.prices.over(stance, np.array([0.0, x + dx]), np.array([y + dy, 5.0]))
            place = Placement.model_validate({"face": face, "x": x, "y": y, "turn": turn})
            left_over.append(evaluate(job.with_places({part.id: place})).cost - own[0, 1])
        assert max(left_over) - min(left_over) < 1e-6


@pytest.mark.parametrize("seed", SEEDS)
def test_a_free_cell_is_wholly_free(seed: int) -> None:
    job, rng = load_document(random_job(seed)), Random(seed)
    for part in job.parts:
        face, turn = rng.choice(("front", "back")), rng.choice((0.0, 90.0, 270.0, 37.5))
        around = Around(job, part.id, FORMS)
        own, fit = cost_map(around, face, turn), fit_of(around, face, turn)
        rows, columns = np.nonzero(own.free)
        for dx, dy in ((-1, -1), (1, -1), (1, 1), (-1, 1), (0, 0)):
            corners = np.column_stack((own.grid.xs[columns] + dx, own.grid.ys[rows] + dy))
            out = corners[~fit.middles.hold(corners)]
            assert (border_gaps(fit.middles, out) < 0.01).all()


def test_among_boxes_the_raster_leaves_out_only_cells_at_the_border() -> None:
    kind = {"name": "Box", "kind": "other", "height": 20, "standoff": 6, "clearance": 3,
            "outline": [[0, 0], [30, 0], [30, 20], [0, 20]]}
    places = [None, (20, 20), (90, 30), (60, 90), (130, 100)]
    job = load_document({
        "format": "platewright/1", "name": "Boxes", "types": {"a": kind},
        "parts": [{"id": f"p{n}", "type": "a"} | ({"placement": {"x": at[0], "y": at[1]}}
                                                  if at else {}) for n, at in enumerate(places)],
        "body": {"shape": "box", "width": 300, "depth": 300, "height": 300, "reach_from": "top",
                 "opening": {"shape": "rectangle", "width": 290, "height": 290}},
        "plate": {"outline": [[0, 0], [200, 0], [200, 150], [0, 150]], "thickness": 5,
                  "material": "acrylic", "stands": "upright", "base": 50},
    })
    around = Around(job, "p0")
    own, fit = cost_map(around, "front", 90), fit_of(around, "front", 90)
    ys, xs = np.meshgrid(own.grid.ys, own.grid.xs, indexing="ij")
    points = np.column_stack((xs.ravel(), ys.ravel()))
    deep = fit.middles.hold(points) & (border_gaps(fit.middles, points) > 2.0)
    assert own.free.ravel()[deep].all()
    assert deep.sum() > 500


def test_alone_on_a_plate_the_free_cells_are_those_of_a_rectangle() -> None:
    """Worked by hand: 30 x 20 on 100 x 80 with a margin of 6 has its middle at x 21 to 79, y 16 to
    64. Cells of 2 mm begin at even figures: 28 columns from 22, 24 rows from 16 lie in it."""
    job = boxes([{"id": "a", "type": "box"}], outline=[[0, 0], [100, 0], [100, 80], [0, 80]],
                edge_margin=6)
    own = cost_map(Around(job, "a"), "front", 0)
    assert own.grid.step == 2
    rows, columns = (np.flatnonzero(own.free.any(axis=axis)) for axis in (1, 0))
    assert [rows[0], rows[-1], columns[0], columns[-1]] == [8, 31, 11, 38]
    assert own.free.sum() == 24 * 28


def test_a_cell_is_free_only_where_all_of_it_is_near_enough() -> None:
    """Required within 12 mm of a box at x 85 to 115, y 65 to 85, itself 30 x 20."""
    must = {"rule": "near", "part": "b", "within": 12, "must": True}
    job = boxes([{"id": "a", "type": "box", "wishes": [must]},
                 {"id": "b", "type": "box", "placement": {"x": 85, "y": 65}}])
    own = cost_map(Around(job, "a"), "front", 0)
    rows, columns = np.nonzero(own.free)
    assert len(rows) > 100
    for dx, dy in ((-1, -1), (1, -1), (1, 1), (-1, 1)):
        x, y = own.grid.xs[columns] + dx, own.grid.ys[rows] + dy
        apart = np.hypot(np.maximum(abs(x - 100) - 30, 0), np.maximum(abs(y - 75) - 20, 0))
        assert apart.max() <= 12 + 1e-6


def test_turns_tried_are_the_one_it_has_quarters_and_those_wished_for() -> None:
    def turns(*wishes: Json) -> tuple[float, ...]:
        job = boxes([{"id": "a", "type": "box", "wishes": list(wishes)}])
        return turns_of(job.part("a"), 397.5)

    assert turns() == (37.5, 0, 90, 180, 270)
    assert turns({"rule": "turns", "allowed": [45, 90]}) == (37.5, 0, 90, 180, 270, 45)
    assert turns({"rule": "turns", "allowed": [45, 90], "must": True}) == (90, 45)


def boxes(parts: list[Json], **plate: Any) -> Job:
    """Boxes of 30 x 20 on an upright plate in a wide body."""
    kind = {"name": "Box", "kind": "other", "height": 20, "standoff": 6,
            "outline": [[0, 0], [30, 0], [30, 20], [0, 20]]}
    return load_document({
        "format": "platewright/1", "name": "Boxes", "types": {"box": kind}, "parts": parts,
        "body": {"shape": "box", "width": 300, "depth": 300, "height": 300, "reach_from": "top",
                 "opening": {"shape": "rectangle", "width": 290, "height": 290}},
        "plate": {"outline": [[0, 0], [200, 0], [200, 150], [0, 150]], "thickness": 5,
                  "material": "acrylic", "stands": "upright", "base": 50, **plate},
    })


def stops(job: Job) -> list[Finding]:
    """What the places of modules alone keep from being built."""
    return [f for f in check(job, rules=PLACEMENT) if f.severity == "stop"]


@pytest.mark.parametrize("name", ["parade_tortoise", "rolling_lighthouse"])
def test_best_spots_stop_nothing_and_cost_what_they_say(name: str) -> None:
    job = load_document((DEMOS / f"{name}.json").read_text("utf-8"))
    for part in job.placed[:4]:
        around = Around(job, part.id, FORMS)
        found = best_spots(around, [cost_map(around, "front", turn) for turn in turns_of(part)])
        given = {(f.rule, f.subjects) for f in stops(job.with_places({part.id: None}))}
        costs = []
        for spot in found:
            there = job.with_places({part.id: spot.placement})
            assert {(f.rule, f.subjects) for f in stops(there)} <= given
            costs.append(evaluate(there).cost - spot.cost)
        assert not costs or max(costs) - min(costs) < 1e-6
        assert [spot.cost for spot in found] == sorted(spot.cost for spot in found)


def test_the_best_spot_is_no_dearer_than_where_a_module_stands_well() -> None:
    job = load_document((DEMOS / "parade_tortoise.json").read_text("utf-8"))
    for part in job.placed[:4]:
        around = Around(job, part.id, FORMS)
        where = part.placement
        assert where is not None
        found = best_spots(around, [cost_map(around, where.face, where.turn)])
        there = job.with_places({part.id: found[0].placement})
        own = sum(weight_of(job, c) for c in job.connections
                  if part.id in {part_id for part_id, _ in c.ends})
        assert evaluate(there).cost <= evaluate(job).cost + 2 * STEP_MM * own


def test_the_best_spot_keeps_what_is_required() -> None:
    """Its wire pulls it to the left edge; it is required to stay within 12 mm of b."""
    kind = {"name": "Box", "kind": "other", "height": 20, "standoff": 6,
            "outline": [[0, 0], [30, 0], [30, 20], [0, 20]],
            "terminals": [{"id": "t", "x": 0, "y": 10, "leaves": 180, "role": "signal"}]}
    must = {"rule": "near", "part": "b", "within": 12, "must": True}
    job = load_document({
        "format": "platewright/1", "name": "Near", "types": {"box": kind},
        "parts": [{"id": "a", "type": "box", "wishes": [must]},
                  {"id": "b", "type": "box", "placement": {"x": 140, "y": 60}},
                  {"id": "c", "type": "box", "away": {"exit": "left"}}],
        "connections": [{"id": "w", "from": "a.t", "to": "c.t"}],
        "body": {"shape": "box", "width": 300, "depth": 300, "height": 300, "reach_from": "top",
                 "opening": {"shape": "rectangle", "width": 290, "height": 290}},
        "plate": {"outline": [[0, 0], [200, 0], [200, 150], [0, 150]], "thickness": 5,
                  "material": "acrylic", "stands": "upright", "base": 50},
    })
    around = Around(job, "a")
    (spot,) = best_spots(around, [cost_map(around, "front", 0)])
    assert missed_musts(job.with_places({"a": spot.placement})) == []
    assert spot.placement.x == pytest.approx(140 - 12 - 30, abs=2.5)


@pytest.mark.parametrize("seed", range(6))
def test_the_working_of_a_spot_adds_up_to_it(seed: int) -> None:
    job = wired(seed)
    for part in job.parts[:3]:
        around = Around(job, part.id, FORMS)
        stance = around.stance("front", 90)
        place = Placement.model_validate({"x": 120.0, "y": 70.0, "turn": 90.0})
        dx, dy = stance.posed.centre
        cost = around.prices.over(stance, np.array([120.0 + dx]), np.array([70.0 + dy]))[0, 0]
        told = worked(around, Spot(place, float(cost)), 2000.0, "the other")
        *parts, base = told.given
        assert sum(one.value for one in parts) == pytest.approx(cost / 1000)
        assert base.value == 2.0
        assert told.result == pytest.approx(cost / 1000 - 2.0)


def test_a_slot_narrower_than_the_raster_still_gives_its_spot() -> None:
    kind = {"name": "Box", "kind": "other", "height": 20, "standoff": 6,
            "outline": [[0, 0], [40, 0], [40, 20], [0, 20]]}
    plate = {"outline": [[0, 0], [50.4, 0], [50.4, 30.3], [0, 30.3]], "thickness": 5,
             "material": "acrylic", "stands": "upright", "base": 50}
    job = load_document({
        "format": "platewright/1", "name": "Slot", "types": {"a": kind}, "plate": plate,
        "parts": [{"id": "a", "type": "a"}],
        "body": {"shape": "box", "width": 300, "depth": 300, "height": 300, "reach_from": "top",
                 "opening": {"shape": "rectangle", "width": 290, "height": 290}},
    })
    around = Around(job, "a")
    own = cost_map(around, "front", 0)
    assert not own.free.any()
    (spot,) = best_spots(around, [own])
    assert 5 <= spot.placement.x <= 5.4
    assert 5 <= spot.placement.y <= 5.3


def test_asked_from_several_threads_it_answers_the_same() -> None:
    job = load_document((DEMOS / "rolling_lighthouse.json").read_text("utf-8"))
    asked = [(part.id, face) for part in job.placed for face in ("front", "back")]

    def size(forms: Forms, one: tuple[str, str]) -> float:
        return fit_of(Around(job, one[0], forms), one[1], 0).middles.size

    alone = [size(Forms(), one) for one in asked]
    shared = Forms()
    with ThreadPoolExecutor(4) as pool:
        together = list(pool.map(lambda one: size(shared, one), asked))
    assert together == pytest.approx(alone)


def test_lines_of_equal_cost_lie_on_their_level() -> None:
    xs, ys = np.linspace(0, 100, 60), np.linspace(0, 80, 50)
    cone = np.hypot(xs[None, :] - 50, ys[:, None] - 40)
    lines = isolines(cone, xs, ys, 25.0)
    assert len(lines) == 1
    assert lines[0][0] == pytest.approx(lines[0][-1])
    assert np.hypot(*(lines[0] - [50, 40]).T) == pytest.approx(25.0, abs=0.05)
    assert isolines(cone, xs, ys, 500.0) == []
    open_lines = isolines(cone, xs, ys, 45.0)
    assert sum(len(line) for line in open_lines) > 40


def test_a_saddle_is_cut_by_its_middle() -> None:
    corners = np.array([[0.0, 1.0], [1.0, 0.0]])
    axis = np.array([0.0, 1.0])
    # Under the middle's 0.5 the low corners are cut off, above it the high ones, each by itself.
    for level, apart in ((0.4, [(0, 0), (1, 1)]), (0.6, [(0, 1), (1, 0)])):
        lines = isolines(corners, axis, axis, level)
        assert sorted(tuple(np.round(line.mean(axis=0))) for line in lines) == apart


@pytest.mark.parametrize(("span", "step"), [(10, 2), (11, 5), (4.9, 1), (0.3, 0.1), (5000, 1000)])
def test_steps_are_round(span: float, step: float) -> None:
    assert round_step(span) == pytest.approx(step)

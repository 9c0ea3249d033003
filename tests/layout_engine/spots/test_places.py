"""Where a module fits, against the rules, against the slow oracle, and against plane geometry."""

from __future__ import annotations

from collections.abc import Iterator
from math import cos, pi, sin
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
import pytest

from layout_engine import Job, load_document
from layout_engine.arranging.cost import missed_musts
from layout_engine.checks.facts import Facts
from layout_engine.checks.rules import RULES as ALL_RULES
from layout_engine.model.part import Placement
from layout_engine.spots import RULES, Around, Fit, Forms, fit_of, why_nowhere
from tests.checks.oracle_body import verdicts
from tests.checks.random_jobs import random_job
from tests.layout_engine.spots.borders import border_gaps

Json = dict[str, Any]
Stops = dict[tuple[str, tuple[str, ...]], float | None]
DEMOS = Path(__file__).parents[3] / "seed_data" / "demos"
FORMS = Forms()
SEEDS = range(14)
MUST_SEEDS = range(20, 28)
ORACLE_SEEDS = range(4)
EXACT_MM = 0.01
ABOUT_OTHERS = {"terminal_blocked", "receiver_near_metal", "hole_edge"}


def stops(job: Job) -> Stops:
    """Stops of the rules that a region includes."""
    facts = Facts(job)
    return {(f.rule, f.subjects): f.value for name in RULES for f in ALL_RULES[name](facts)
            if f.severity == "stop"}


def own_holes_meet(job: Job, part_id: str) -> bool:
    """Whether holes of the module run into each other, wherever it stands."""
    far = job.with_places({part_id: Placement(x=3000, y=3000)})
    return ("hole_spacing", (part_id,)) in stops(far)


def spots(fit: Fit, rng: Random, size: tuple[float, float]) -> Iterator[tuple[float, float, bool]]:
    """Points all over the plate, close to the border and in it: x, y, whether it fits there."""
    points = [(rng.uniform(-20, size[0] + 20), rng.uniform(-20, size[1] + 20)) for _ in range(10)]
    for ring in (ring for piece in fit.placements.rings for ring in piece):
        at = rng.randrange(len(ring))
        middle = (ring[at] + ring[(at + 1) % len(ring)]) / 2
        away, turn = rng.uniform(0.011, 0.03), rng.uniform(0, 2 * pi)
        points.append((middle[0] + away * cos(turn), middle[1] + away * sin(turn)))
        low, high = ring.min(axis=0), ring.max(axis=0)
        points.append((rng.uniform(low[0], high[0]), rng.uniform(low[1], high[1])))
    array = np.array(points)
    holds, gaps = fit.placements.hold(array), border_gaps(fit.placements, array)
    for (x, y), inside, gap in zip(array.tolist(), holds, gaps, strict=True):
        if gap > EXACT_MM:
            yield x, y, bool(inside)


def poses(job: Job, rng: Random) -> Iterator[tuple[str, str, float]]:
    for part in job.parts:
        if not own_holes_meet(job, part.id):
            yield part.id, rng.choice(("front", "back")), rng.choice((0, 90, 180, 270, 37.5))


def new_stops(job: Job, part_id: str, place: Placement) -> list[tuple[str, tuple[str, ...]]]:
    before, after = (stops(job.with_places({part_id: at})) for at in (None, place))
    return [key for key, value in after.items() if key not in before or value != before[key]]


def hidden_stop(job: Job, part_id: str, place: Placement) -> bool:
    """Whether the place brings a stop that a worse one of the same rule and module hides."""
    if any(rule in ABOUT_OTHERS for rule, _ in stops(job.with_places({part_id: None}))):
        return True
    return any(
        new_stops(job.model_copy(update={"parts": (other, job.part(part_id))}), part_id, place)
        for other in job.placed if other.id != part_id
    )


@pytest.mark.parametrize("seed", SEEDS)
def test_places_are_those_without_a_stop(seed: int) -> None:
    job, rng = load_document(random_job(seed)), Random(seed)
    wrong = []
    for part_id, face, turn in poses(job, rng):
        fit = fit_of(Around(job, part_id, FORMS), face, turn)
        for x, y, inside in spots(fit, rng, job.plate.size):
            place = Placement.model_validate({"face": face, "x": x, "y": y, "turn": turn})
            new = new_stops(job, part_id, place)
            if bool(new) == inside and not (not inside and hidden_stop(job, part_id, place)):
                wrong.append((part_id, place, inside, new))
    assert wrong == []


def required(document: Json, rng: Random) -> Json:
    """The job with a requirement for every module."""
    width, height = document["plate"]["outline"][1][0], document["plate"]["outline"][2][1]
    ids = [part["id"] for part in document["parts"]]
    for part in document["parts"]:
        others = [other for other in ids if other != part["id"]]
        part["wishes"] = [{"must": True} | rng.choice((
            {"rule": "near_edge", "edge": rng.choice(("top", "bottom", "left", "right")),
             "within": 25},
            {"rule": "high", "above": height * 0.4},
            {"rule": "away_from_shields", "distance": 90},
            {"rule": "near", "part": rng.choice(others), "within": 20},
            {"rule": "inside", "outline": [[2, 2], [width * 0.8, 9], [width * 0.6, height * 0.9]]},
        ))]
    return document


def missed(job: Job, part_id: str, place: Placement | None) -> set[tuple[str, str]]:
    return {(who, wish.rule) for who, wish, _ in missed_musts(job.with_places({part_id: place}))}


@pytest.mark.parametrize("seed", MUST_SEEDS)
def test_places_keep_what_is_required(seed: int) -> None:
    rng = Random(seed)
    job = load_document(required(random_job(seed), rng))
    wrong = []
    for part_id, face, turn in poses(job, rng):
        fit = fit_of(Around(job, part_id, FORMS), face, turn)
        before = missed(job, part_id, None)
        for x, y, inside in spots(fit, rng, job.plate.size):
            place = Placement.model_validate({"face": face, "x": x, "y": y, "turn": turn})
            new = missed(job, part_id, place) - before
            stopped = new_stops(job, part_id, place)
            if inside and (new or stopped):
                wrong.append((part_id, place, new, stopped))
            if not inside and not new and not stopped and not before and not hidden_stop(
                    job, part_id, place):
                wrong.append((part_id, place, inside))
    assert wrong == []


@pytest.mark.slow
@pytest.mark.parametrize("seed", ORACLE_SEEDS)
def test_places_agree_with_the_oracle(seed: int) -> None:
    document, rng = random_job(seed), Random(seed)
    job = load_document(document)
    wrong = []
    for part_id, face, turn in list(poses(job, rng))[:3]:
        fit = fit_of(Around(job, part_id, FORMS), face, turn)
        for x, y, inside in list(spots(fit, rng, job.plate.size))[:9]:
            place = {"face": face, "x": x, "y": y, "turn": turn}
            if not oracle_agrees(document, part_id, place, inside):
                wrong.append((part_id, place, inside))
    assert wrong == []


def oracle_agrees(document: Json, part_id: str, place: Json, inside: bool) -> bool:
    """Whether the oracle's verdicts allow what the places say."""
    parts = [p | {"placement": place} if p["id"] == part_id else p for p in document["parts"]]
    found = verdicts(document | {"parts": parts})
    mine = {key: allowed for key, allowed in found.items() if key[0] in RULES
            and (part_id in key[1] or key[0] in ABOUT_OTHERS)}
    if inside:
        return not any(allowed == {"stop"} for (rule, who), allowed in mine.items()
                       if part_id in who and rule != "no_reach")
    return any("stop" in allowed for allowed in mine.values())


def job_of(types: Json, parts: list[Json], plate: Json | None = None, body: Json | None = None
           ) -> Job:
    """Modules on a plate of 200 x 100 in a box with room for everything."""
    return load_document({
        "format": "platewright/1", "name": "Places", "types": types, "parts": parts,
        "body": {"shape": "box", "width": 400, "depth": 400, "height": 300,
                 "opening": {"shape": "rectangle", "width": 390, "height": 390},
                 "reach_from": "top"} if body is None else body,
        "plate": {"outline": [[0, 0], [200, 0], [200, 100], [0, 100]], "thickness": 5,
                  "material": "acrylic", "stands": "upright", "base": 50} | (plate or {}),
    })


def box(width: float, height: float, **more: Any) -> Json:
    return {"name": "Box", "kind": "other", "height": 20, "standoff": 6,
            "outline": [[0, 0], [width, 0], [width, height], [0, height]], **more}


def test_alone_on_a_plate_the_places_are_a_rectangle() -> None:
    job = job_of({"a": box(40, 20)}, [{"id": "a", "type": "a"}])
    fit = fit_of(Around(job, "a"), "front", 0)
    assert fit.placements.bounds == pytest.approx((5, 5, 155, 75))
    assert fit.placements.size == pytest.approx(150 * 70)
    turned = fit_of(Around(job, "a"), "front", 90)
    assert turned.placements.bounds == pytest.approx((25, 5, 195, 55))


def test_what_a_rectangle_forbids_to_another_has_the_area_of_steiners_formula() -> None:
    """Area of a sum of convex sets and a disc: A + P c + pi c^2 (Steiner 1840)."""
    c = 8.0
    job = job_of({"a": box(40, 20), "b": box(30, 10, clearance=c)}, [
        {"id": "a", "type": "a"}, {"id": "b", "type": "b", "placement": {"x": 85, "y": 45}}])
    fit = fit_of(Around(job, "a"), "front", 0)
    wide, high = 40 + 30, 20 + 10
    forbidden = wide * high + 2 * (wide + high) * c + pi * c * c
    assert 150 * 70 - fit.placements.size == pytest.approx(forbidden, abs=2 * pi * c * EXACT_MM)
    assert 150 * 70 - fit.placements.size >= forbidden


def test_rounded_corners_leave_their_arc() -> None:
    """A small square in a rounded corner: its corner runs along an arc of r - margin."""
    job = job_of({"a": box(2, 2)}, [{"id": "a", "type": "a"}], {"corner_radius": 30})
    fit = fit_of(Around(job, "a"), "front", 0)
    left = (200 - 12) * (100 - 12) - (4 - pi) * 25**2
    assert fit.placements.size == pytest.approx(left, abs=2 * pi * 25 * EXACT_MM)


def test_in_a_cylinder_the_far_top_corner_decides() -> None:
    """x^2 + (offset + t/2 + h)^2 <= R^2: R 100, h 60 + 2.5 out of the middle leaves 78.06 mm."""
    body = {"shape": "round", "diameter": 200, "height": 300,
            "opening": {"shape": "round", "diameter": 190}, "reach_from": "top"}
    job = job_of({"a": box(20, 20) | {"height": 54}}, [{"id": "a", "type": "a"}],
                 {"outline": [[0, 0], [190, 0], [190, 100], [0, 100]]}, body)
    x0, _, x1, _ = fit_of(Around(job, "a"), "front", 0).placements.bounds
    half = (100**2 - 62.5**2) ** 0.5
    assert (x0, x1) == pytest.approx((95 - half, 95 + half - 20), abs=1e-6)


def test_a_hole_drilled_before_serves_again_within_its_slack() -> None:
    """3.4 mm (ISO 273, medium); a washer of 7 (ISO 7089) covers 6, so 5 may be 0.5 mm off."""
    hole = {"x": 20, "y": 10, "thread": "M3"}
    job = job_of({"a": box(40, 20, fixings=[hole])}, [{"id": "a", "type": "a"}],
                 {"existing_holes": [{"x": 100, "y": 50, "diameter": 5}]})
    places = fit_of(Around(job, "a"), "front", 0).placements
    beside = np.array([[80, 40], [80.49, 40], [80.51, 40], [84.19, 40], [84.21, 40]])
    assert places.hold(beside).tolist() == [True, True, False, False, True]


def test_requirements_bound_the_places() -> None:
    musts = [{"rule": "near_edge", "edge": "left", "within": 30, "must": True},
             {"rule": "high", "above": 40, "must": True},
             {"rule": "near", "part": "b", "within": 20, "must": True}]
    job = job_of({"a": box(40, 20), "b": box(30, 10)}, [
        {"id": "a", "type": "a", "wishes": musts},
        {"id": "b", "type": "b", "placement": {"x": 85, "y": 45}}])
    places = fit_of(Around(job, "a"), "front", 0).placements
    rng = Random(1)
    points = np.array([(rng.uniform(0, 160), rng.uniform(0, 80)) for _ in range(300)])
    clear = border_gaps(places, points) > EXACT_MM
    for (x, y), inside in zip(points[clear].tolist(), places.hold(points[clear]), strict=True):
        there = job.with_places({"a": Placement(x=x, y=y)})
        assert (not missed_musts(there) and not stops(there)) == inside
    assert not places.is_empty


@pytest.mark.parametrize("name", ["parade_tortoise", "puppet_wagon", "rolling_lighthouse"])
def test_whoever_stands_without_a_stop_stands_among_its_places(name: str) -> None:
    job = load_document((DEMOS / f"{name}.json").read_text("utf-8"))
    accused = {subject for _, subjects in stops(job) for subject in subjects}
    for part in job.placed:
        where = part.placement
        assert where is not None
        places = fit_of(Around(job, part.id, FORMS), where.face, where.turn).placements
        spot = np.array([[where.x, where.y]])
        stands = bool(places.hold(spot)[0]) or border_gaps(places, spot)[0] < EXACT_MM
        assert stands or part.id in accused, part.id


def test_an_l_embraces_another_module() -> None:
    ell = [[0, 0], [60, 0], [60, 20], [20, 20], [20, 60], [0, 60]]
    job = job_of({"a": box(1, 1) | {"outline": ell}, "b": box(30, 30)}, [
        {"id": "a", "type": "a"}, {"id": "b", "type": "b", "placement": {"x": 80, "y": 40}}])
    assert fit_of(Around(job, "a"), "front", 0).placements.hold(np.array([[59.9, 19.9]])).all()


def test_another_origin_of_the_footprint_shifts_the_places_only() -> None:
    there = [{"id": "b", "type": "b", "placement": {"x": 85, "y": 45}}]
    sizes = []
    for dx, dy in ((0, 0), (-20, -10), (300, 7)):
        kind = box(40, 20)
        kind["outline"] = [[x + dx, y + dy] for x, y in kind["outline"]]
        job = job_of({"a": kind, "b": box(30, 10)}, [{"id": "a", "type": "a"}, *there])
        fit = fit_of(Around(job, "a"), "back", 90)
        sizes.append((fit.placements.size, fit.middles.bounds))
    assert sizes[1][0] == pytest.approx(sizes[0][0])
    assert sizes[2][1] == pytest.approx(sizes[0][1])


def test_the_order_of_parts_changes_nothing() -> None:
    document = random_job(5)
    turned = document | {"parts": document["parts"][::-1]}
    one, other = (fit_of(Around(load_document(d), "part1"), "front", 0) for d in (document, turned))
    assert one.placements.size == pytest.approx(other.placements.size)


@pytest.mark.parametrize(("types", "more", "words"), [
    ({"a": box(195, 20)}, {}, "larger than the plate inside its edge margin of 5 mm"),
    ({"a": box(40, 20) | {"height": 500}}, {}, "it needs 506 mm over the front; at most 197.5 mm"),
    ({"a": box(40, 20)}, {"keep_outs": [
        {"label": "rail", "outline": [[60, 0], [140, 0], [140, 100], [60, 100]]},
        {"label": "", "outline": [[0, 0], [60, 0], [60, 100], [0, 100]]},
        {"label": "", "outline": [[140, 0], [200, 0], [200, 100], [140, 100]]}]},
     "without the keep-free zone rail"),
])
def test_where_nothing_fits_the_reason_is_told(types: Json, more: Json, words: str) -> None:
    around = Around(job_of(types, [{"id": "a", "type": "a"}], more), "a")
    fit = fit_of(around, "front", 0)
    assert fit.placements.is_empty
    assert words in why_nowhere(around, fit)


def test_a_module_that_takes_the_room_is_named() -> None:
    job = job_of({"a": box(150, 60), "b": box(30, 30)}, [
        {"id": "a", "type": "a"},
        {"id": "b", "type": "b", "label": "Big fuse", "placement": {"x": 85, "y": 35}}])
    around = Around(job, "a")
    assert why_nowhere(around, fit_of(around, "front", 0)) == (
        "No free ground of its size is left for a on the front. It would fit without Big fuse.")


def test_a_required_face_is_told() -> None:
    must = [{"rule": "face", "face": "back", "must": True}]
    around = Around(job_of({"a": box(40, 20)}, [{"id": "a", "type": "a", "wishes": must}]), "a")
    assert why_nowhere(around, fit_of(around, "front", 0)) == "a is required to stand on the back."
    assert why_nowhere(around, fit_of(around, "back", 0)) == ""

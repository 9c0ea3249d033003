"""Laws that the placement rules keep, whatever the job: motion, names, order, mirror, scale."""

from __future__ import annotations

from copy import deepcopy
from math import cos, radians, sin
from random import Random
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from layout_engine import check, load_document
from layout_engine.checks.finding import Finding
from layout_engine.checks.scene import Scene
from tests.checks.random_jobs import random_job

Json = dict[str, Any]
Verdict = tuple[str, str, frozenset[str]]
SEEDS = st.integers(1000, 9999)
FEW = settings(max_examples=25, deadline=None, derandomize=True)
BETWEEN_PARTS = frozenset({
    "overlap", "hole_spacing", "hole_under_part", "terminal_blocked", "sink_crowded",
    "head_on_board", "receiver_near_metal", "not_measured", "not_placed", "conductive_plate",
})  # fmt: skip
UNDER = frozenset({
    "off_plate", "hole_edge", "hole_spacing", "hole_under_part", "terminal_blocked",
    "receiver_low", "receiver_near_metal", "tips_over",
})  # fmt: skip
OVER = frozenset({
    "too_deep", "no_way_in", "head_on_board", "switch_low", "fins_across", "receiver_shadowed",
    "plate_sags", "sink_crowded",
})  # fmt: skip


def findings(document: Json) -> list[Finding]:
    """All findings of a document."""
    return check(load_document(document))


def verdicts(document: Json, rules: frozenset[str] | None = None) -> set[Verdict]:
    """(rule, severity, subjects) of the findings of these rules."""
    return {
        (f.rule, f.severity, frozenset(f.subjects))
        for f in findings(document)
        if rules is None or f.rule in rules
    }


def bare(seed: int) -> Json:
    """A job whose plate has nothing of its own that parts could meet, in a plastic body."""
    document = random_job(seed)
    for key in ("holes", "mounts", "keep_outs", "existing_holes"):
        document["plate"].pop(key, None)
    document["plate"]["material"] = "acrylic"
    document["body"]["skin"] = "plastic"
    return document


def placed(document: Json) -> list[Json]:
    """Placements of the placed parts."""
    return [part["placement"] for part in document["parts"] if part.get("placement")]


@FEW
@given(SEEDS, st.floats(-200, 200), st.floats(-200, 200))
def test_moving_all_parts_together_changes_nothing_between_them(
    seed: int, dx: float, dy: float
) -> None:
    before, after = bare(seed), bare(seed)
    for place in placed(after):
        place["x"] += dx
        place["y"] += dy
    assert verdicts(before, BETWEEN_PARTS) == verdicts(after, BETWEEN_PARTS)


@FEW
@given(SEEDS, st.floats(-180, 180))
def test_turning_all_parts_together_changes_nothing_between_them(seed: int, angle: float) -> None:
    before, after = bare(seed), bare(seed)
    c, s = cos(radians(angle)), sin(radians(angle))
    for place in placed(after):
        x, y = place["x"], place["y"]
        turn = (place["turn"] + angle) % 360
        place.update(x=c * x - s * y, y=s * x + c * y, turn=turn)
    assert verdicts(before, BETWEEN_PARTS) == verdicts(after, BETWEEN_PARTS)


@FEW
@given(SEEDS)
def test_names_and_order_change_nothing(seed: int) -> None:
    document = random_job(seed)
    other = deepcopy(document)
    rng = Random(seed)
    names = [part["id"] for part in document["parts"]]
    renamed = dict(zip(names, rng.sample([f"z{n}" for n in range(len(names))], len(names)),
                       strict=True))  # fmt: skip
    for part in other["parts"]:
        part["id"] = renamed[part["id"]]
    rng.shuffle(other["parts"])
    expected = {
        (rule, severity, frozenset(renamed.get(s, s) for s in subjects))
        for rule, severity, subjects in verdicts(document)
    }
    assert verdicts(other) == expected


@FEW
@given(SEEDS)
def test_touching_is_mutual(seed: int) -> None:
    job = load_document(random_job(seed))
    scene = Scene(job)
    met = {
        part.id: {touch.other for touch in scene.verdict(part.id, part.placement)}
        for part in job.placed
        if part.placement
    }
    for one, others in met.items():
        assert all(one in met[other] for other in others & met.keys())


def mirrored(points: list[list[float]], width: float) -> list[list[float]]:
    """Plate points as seen from behind."""
    return [[width - x, y] for x, y in points]


def _turned_body(body: Json) -> None:
    """The body after half a turn about its upright axis."""
    swap = {"front": "back", "back": "front", "top": "top"}
    body["reach_from"] = swap[body["reach_from"]]
    body["opening"]["in"] = swap[body["opening"]["in"]]
    if "section" in body:
        body["section"] = [[-x, -y] for x, y in body["section"]]
    for block in body.get("obstructions", []):
        for axis in "xy":
            block[axis] = [-block[axis][1], -block[axis][0]]


def _turned_plate(plate: Json, width: float) -> None:
    plate["offset"] = -plate.get("offset", 0)
    plate["outline"] = mirrored(plate["outline"], width)
    plate["holes"] = [mirrored(hole, width) for hole in plate.get("holes", [])]
    for thing in (*plate.get("mounts", []), *plate.get("existing_holes", [])):
        thing["x"] = width - thing["x"]
    for zone in plate.get("keep_outs", []):
        zone["outline"] = mirrored(zone["outline"], width)
        zone["faces"] = [{"front": "back", "back": "front"}[face] for face in zone["faces"]]


def seen_from_behind(document: Json) -> Json:
    """The same upright job with front and back exchanged: half a turn about the upright axis."""
    other = deepcopy(document)
    width = max(x for x, _ in document["plate"]["outline"])
    _turned_body(other["body"])
    _turned_plate(other["plate"], width)
    for place in placed(other):
        place.update(
            face={"front": "back", "back": "front"}[place["face"]],
            x=width - place["x"], turn=-place["turn"],
        )  # fmt: skip
    return other


@FEW
@given(SEEDS)
def test_front_and_back_mirror_each_other(seed: int) -> None:
    document = random_job(seed)
    if document["plate"]["stands"] == "upright":
        assert verdicts(document) == verdicts(seen_from_behind(document))
    else:
        assert verdicts(document, BETWEEN_PARTS - {"receiver_near_metal"}) == verdicts(
            seen_from_behind(document), BETWEEN_PARTS - {"receiver_near_metal"}
        )


def scaled(thing: object, factor: float, keys: frozenset[str], *, on: bool = False) -> object:
    """Every number under one of these keys, multiplied."""
    if isinstance(thing, dict):
        return {k: scaled(v, factor, keys, on=k in keys or (on and k not in {"turn"}))
                for k, v in thing.items()}  # fmt: skip
    if isinstance(thing, list):
        return [scaled(v, factor, keys, on=on) for v in thing]
    return thing * factor if on and isinstance(thing, int | float) else thing


LENGTHS = frozenset({
    "outline", "height", "standoff", "clearance", "x", "y", "edge_margin", "corner_radius",
    "holes", "max_height", "head_height", "head_diameter", "diameter",
})  # fmt: skip


@FEW
@given(SEEDS, st.floats(0.4, 2.5))
def test_a_larger_drawing_touches_as_the_small_one(seed: int, factor: float) -> None:
    document = random_job(seed)
    grown = deepcopy(document)
    for key in ("plate", "types", "parts"):
        grown[key] = scaled(document[key], factor, LENGTHS)
    rules = frozenset({"overlap", "off_plate"})
    assert verdicts(document, rules) == verdicts(grown, rules)


@FEW
@given(SEEDS, st.floats(0, 40))
def test_more_clearance_never_parts_what_touches(seed: int, more: float) -> None:
    document = random_job(seed)
    wide = deepcopy(document)
    for kind in wide["types"].values():
        kind["clearance"] += more
    rules = frozenset({"overlap"})
    assert verdicts(document, rules) <= verdicts(wide, rules)


def _is_beyond(finding: Finding) -> bool | None:
    if finding.value is None or finding.limit is None:
        return None
    if finding.rule == "no_way_in" and finding.severity == "warn":
        return None  # it passes, but must be turned
    if finding.rule in UNDER and not (finding.rule == "hole_under_part" and
                                      finding.severity == "warn"):  # fmt: skip
        return finding.value < finding.limit
    return finding.value > finding.limit if finding.rule in OVER else None


@FEW
@given(SEEDS)
def test_every_figure_lies_beyond_its_limit(seed: int) -> None:
    for finding in findings(random_job(seed)):
        assert _is_beyond(finding) is not False, finding


@FEW
@given(SEEDS)
def test_checking_twice_and_through_the_file_gives_the_same(seed: int) -> None:
    document = random_job(seed)
    assert findings(document) == findings(deepcopy(document))


@FEW
@given(SEEDS)
def test_a_place_is_clear_exactly_where_the_verdict_is_empty(seed: int) -> None:
    job = load_document(random_job(seed))
    scene = Scene(job)
    for part in job.placed:
        assert part.placement is not None
        met = scene.verdict(part.id, part.placement)
        assert scene.is_clear(part.id, part.placement) is (not met)

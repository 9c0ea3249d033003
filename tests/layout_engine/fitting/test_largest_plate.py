"""The offered plate against closed forms, worked rows and a search by trying every size.

The rows are those of tests/data/mechanical.csv; solid geometry as their source says.
"""

from __future__ import annotations

import csv
import re
from math import atan2, cos, sqrt
from pathlib import Path
from typing import Any

import pytest

from layout_engine import Job, check, dump_document, load_document
from layout_engine.fitting import largest_plate, module_depths, other_plates, resized, with_offer

DATA = Path(__file__).parents[2] / "data" / "mechanical.csv"
DEMOS = sorted((Path(__file__).parents[3] / "seed_data" / "demos").glob("*.json"))
ROWS = {
    (row["topic"], row["quantity"], row["inputs"]): float(row["expected"])
    for row in csv.DictReader(DATA.read_text(encoding="utf-8").splitlines())
    if row["topic"].startswith(("geometry-cylinder", "geometry-box", "opening-round"))
}
THIN = 1e-5
TOP = {"in": "top", "shape": "round", "diameter": 300}
WIDE_TOP = {"in": "top", "shape": "rectangle", "width": 300, "height": 300}


def job(body: dict[str, Any], **plate: Any) -> Job:
    """A job with nothing on its plate."""
    return load_document({
        "format": "platewright/1", "name": "Fitting", "types": {}, "parts": [],
        "body": {"reach_from": "top", **body},
        "plate": {
            "outline": [[0, 0], [50, 0], [50, 50], [0, 50]], "thickness": 4,
            "material": "acrylic", "stands": "upright", "offset": 0, "base": 50, **plate,
        },
    })


def cylinder(**plate: Any) -> Job:
    return job({"shape": "round", "diameter": 300, "height": 400, "opening": TOP}, **plate)


@pytest.mark.parametrize(("distance", "row"), [
    (0, "R=150; d=0"), (90, "R=150; d=90"), (120, "R=150; d=120"),
])
def test_width_in_a_cylinder_is_the_worked_chord(distance: float, row: str) -> None:
    expected = ROWS["geometry-cylinder", "plate width at distance d from axis", row]
    offer = largest_plate(
        cylinder(offset=distance, thickness=THIN), air_gap=0.0, passing_gap=0.0)
    assert offer.width_working is not None
    assert offer.width_working.result == pytest.approx(expected, abs=1e-3)
    assert offer.width == int(offer.width_working.result)
    assert offer.height == 350


@pytest.mark.parametrize(("radius", "gap", "row"), [
    (150, 0, ("largest width of a centred 40 mm tall box", "R=150; d=60")),
    (147, 5, ("same with wall 3 and air 5", "R=150 outer")),
])
def test_width_of_40_mm_tall_modules_is_the_worked_one(
    radius: float, gap: float, row: tuple[str, str]
) -> None:
    body = {"shape": "round", "diameter": 2 * radius, "height": 400,
            "opening": {"in": "top", "shape": "round", "diameter": 2 * radius}}
    plate = {"offset": -60 + THIN / 2, "thickness": THIN, "edge_margin": 0}
    offer = largest_plate(job(body, **plate), front=40.0, air_gap=gap, passing_gap=0.0)
    assert offer.width_working is not None
    assert offer.width_stop is not None
    assert offer.width_stop.what == "front"
    expected = ROWS["geometry-cylinder", *row]
    assert offer.width_working.result == pytest.approx(expected, abs=1e-3)


def test_width_in_a_box_is_the_worked_one() -> None:
    body = {"shape": "box", "width": 300 - 2 * 4, "depth": 200, "height": 300,
            "opening": {"in": "top", "shape": "rectangle", "width": 292, "height": 200}}
    expected = ROWS["geometry-box", "usable inside width", "outer 300; wall 4; gap 5"]
    offer = largest_plate(job(body), passing_gap=0.0)
    assert offer.width == expected
    assert offer.width_working is not None
    assert offer.width_working.formula == "width = W - 2 g - 2 |s|"


def test_a_round_hole_passes_the_worked_section() -> None:
    """240 x 60 needs 247.386: the width through just that hole is 240."""
    needed = ROWS["opening-round", "section 240 x 60 through 250 mm", "edge-on"]
    body = {"shape": "box", "width": 600, "depth": 600, "height": 600,
            "opening": {"in": "top", "shape": "round", "diameter": needed}}
    plate = {"thickness": 20, "edge_margin": 0}
    offer = largest_plate(job(body, **plate), front=20.0, back=20.0, passing_gap=0.0)
    assert offer.width_working is not None
    assert offer.width_working.result == pytest.approx(240, abs=1e-3)


def test_taper_follows_the_narrower_end() -> None:
    """A frustum 222 at the floor and 198 at the top, 560 high: the chord at the plate's top."""
    body = {"shape": "round", "diameter": 222, "top_diameter": 198, "height": 560,
            "opening": {"in": "front", "shape": "rectangle", "width": 222, "height": 560}}
    offer = largest_plate(job(body, offset=20, base=70, thickness=3), most=(222, 200))
    gap = 5 / cos(atan2(12, 560))
    radius = 111 - 12 * (70 + 200) / 560 - gap
    width = 2 * sqrt(radius**2 - 21.5**2)
    assert (offer.width, offer.height) == (int(width), 200)
    assert offer.width_working is not None
    assert offer.width_working.result == pytest.approx(width, abs=1e-5)


FRONT = {"in": "front", "shape": "rectangle", "width": 480, "height": 690}
TAPER = {"shape": "round", "diameter": 500, "top_diameter": 300, "height": 700, "opening": FRONT}
STRAIGHT = {**TAPER, "top_diameter": 500}
BOX = {"shape": "box", "width": 320, "depth": 240, "height": 300,
       "opening": {"in": "top", "shape": "rectangle", "width": 320, "height": 240}}  # fmt: skip
SHOWN: dict[str, tuple[dict[str, Any], dict[str, Any]]] = {
    "box": (BOX, {}),
    "lying in a box": (BOX, {"stands": "flat", "shift": 12, "offset": -7}),
    "cylinder": (STRAIGHT, {"corner_radius": 6, "offset": 30, "shift": -15}),
    "taper": (TAPER, {"offset": 30}),
    "taper, rounded corners": (TAPER, {"corner_radius": 6, "offset": 30}),
    "taper, well rounded corners": (TAPER, {"corner_radius": 40}),
    "round opening": (
        {**STRAIGHT, "opening": {"in": "front", "shape": "round", "diameter": 300}},
        {"corner_radius": 8}),
}  # fmt: skip


@pytest.mark.parametrize("name", SHOWN)
@pytest.mark.parametrize("front", [0.0, 30.0])
def test_a_formula_that_is_shown_gives_its_figure(name: str, front: float) -> None:
    """Formulas are read as they stand: "2 g" is a product, "|s|" the amount of s.

    Arcs are judged as 64 chords a quarter, so that a plate with them may be a hair larger.
    """
    body, plate = SHOWN[name]
    offer = largest_plate(job(body, **plate), front=front)
    read = 0
    for working in (offer.width_working, offer.height_working):
        assert working is not None
        formula = working.formula.partition("; ")
        if not formula[2]:
            read += 1
            right = formula[0].partition(" = ")[2].replace("^", "**")
            right = re.sub(r"\|(\w)\|", r"abs(\1)", right)
            right = re.sub(r"(?<=\d) (?=[a-zA-Z(])", " * ", right)
            given = {one.symbol: one.value for one in working.given}
            figure = eval(right, {"abs": abs, "sqrt": sqrt}, given)
            assert figure == pytest.approx(working.result, abs=1e-3), working.formula
    assert read or "rounded" in name


def test_largest_in_a_cone_is_the_calculated_optimum() -> None:
    """A triangle's largest rectangle: half of its height (Euclid, Elements VI.27, from memory)."""
    body = {"shape": "round", "diameter": 400, "top_diameter": 0.001, "height": 400,
            "opening": {"in": "front", "shape": "rectangle", "width": 400, "height": 400}}
    offer = largest_plate(
        job(body, base=0, thickness=THIN), air_gap=0.0, passing_gap=0.0)
    assert (offer.width, offer.height) == (200, 200)


SHAPES: dict[str, tuple[dict[str, Any], dict[str, Any], dict[str, float]]] = {
    "cylinder, behind the middle": (
        {"shape": "round", "diameter": 160, "height": 150,
         "opening": {"in": "top", "shape": "round", "diameter": 150}},
        {"offset": 30, "corner_radius": 8}, {}),
    "tapered, door in front": (
        {"shape": "round", "diameter": 160, "top_diameter": 90, "height": 180,
         "opening": {"in": "front", "shape": "rectangle", "width": 120, "height": 100}},
        {"offset": 10, "base": 12}, {}),
    "tapered, round door, rounded corners": (
        {"shape": "round", "diameter": 160, "top_diameter": 120, "height": 180,
         "opening": {"in": "front", "shape": "round", "diameter": 110}},
        {"base": 20, "corner_radius": 15}, {}),
    "widening, from the top": (
        {"shape": "round", "diameter": 90, "top_diameter": 150, "height": 140,
         "opening": {"in": "top", "shape": "round", "diameter": 100}},
        {"base": 30, "shift": 5}, {"front": 12.0}),
    "box with a beam": (
        {"shape": "box", "width": 140, "depth": 90, "height": 150,
         "opening": {"in": "top", "shape": "rectangle", "width": 120, "height": 60},
         "obstructions": [{"label": "beam", "x": [30, 50], "y": [-45, 45], "z": [90, 110]}]},
        {"base": 10}, {}),
    "flat in a cylinder, rounded": (
        {"shape": "round", "diameter": 150, "height": 80,
         "opening": {"in": "top", "shape": "round", "diameter": 140}},
        {"stands": "flat", "base": 30, "corner_radius": 20, "offset": 6}, {}),
    "flat through a slot": (
        {"shape": "box", "width": 150, "depth": 120, "height": 80,
         "opening": {"in": "front", "shape": "rectangle", "width": 130, "height": 40}},
        {"stands": "flat", "base": 20}, {"front": 20.0}),
    "free section, an L": (
        {"shape": "free", "height": 120,
         "section": [[-60, -60], [60, -60], [60, 0], [0, 0], [0, 60], [-60, 60]],
         "opening": {"in": "top", "shape": "rectangle", "width": 110, "height": 110}},
        {"offset": -20, "base": 15}, {}),
}
NO_GAPS = {"air_gap": 0.0, "passing_gap": 0.0}


def loaded(base: Job, width: float, height: float, front: float = 0.0) -> Job:
    """The job with a plate of that size, its whole inner ground covered by a module."""
    document = dump_document(base)
    document["plate"] = resized(base.plate, document["plate"], width, height)
    m = base.plate.edge_margin
    if front and min(width, height) > 2 * m:
        inner = [[0, 0], [width - 2 * m, 0], [width - 2 * m, height - 2 * m], [0, height - 2 * m]]
        document["types"] = {"all": {"name": "all", "kind": "other", "outline": inner,
                                     "height": front}}
        document["parts"] = [{"id": "all", "type": "all", "placement": {
            "face": "front", "x": m, "y": m, "turn": 0}}]
    return load_document(document)


def goes(base: Job, width: float, height: float, front: float = 0.0) -> bool:
    """Whether the rules of the check, which know nothing of offers, accept this size."""
    wrong = {"plate_too_big", "no_way_in", "too_deep"}
    return not any(f.rule in wrong for f in check(loaded(base, width, height, front)))


@pytest.mark.parametrize("name", SHAPES)
def test_no_tried_size_is_larger_than_the_offer(name: str) -> None:
    body, plate, heights = SHAPES[name]
    base = job(body, **plate)
    front = heights.get("front", 0.0)
    offer = largest_plate(base, front=front, **NO_GAPS)
    assert goes(base, offer.width, offer.height, front)
    assert not goes(base, offer.width + 1, offer.height, front)
    assert not goes(base, offer.width, offer.height + 1, front)
    tried = [
        width * height
        for height in range(20, 181, 8)
        for width in range(20, 161, 8)
        if width * height > offer.area and goes(base, width, height, front)
    ]
    assert tried == []


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_offers_for_the_demo_jobs_stand_the_check(path: Path) -> None:
    base = load_document(path.read_bytes())
    front, back = module_depths(base)
    for offer in (largest_plate(base, front=front, back=back), *other_plates(base)):
        if not offer.found:
            assert offer.reason
            continue
        document = dump_document(base)
        document["plate"] = with_offer(base.plate, document["plate"], offer)
        document["parts"], document["connections"] = [], []
        for key in ("cases", "accepted", "groups"):
            document.pop(key, None)
        rules = {f.rule for f in check(load_document(document))}
        assert not rules & {"plate_too_big", "no_way_in"}


def test_gaps_are_kept_to_wall_roof_and_block() -> None:
    body = {"shape": "box", "width": 200, "depth": 100, "height": 200,
            "opening": {"in": "front", "shape": "rectangle", "width": 200, "height": 200},
            "obstructions": [{"label": "rail", "x": [80, 100], "y": [-5, 5], "z": [0, 200]}]}
    offer = largest_plate(job(body), air_gap=7.0, passing_gap=0.0)
    assert (offer.width, offer.height) == (2 * (80 - 7), 200 - 50 - 7)
    assert offer.width_stop is not None
    assert offer.width_stop.label == "rail"
    assert offer.height_stop is not None
    assert offer.height_stop.kind == "roof"


@pytest.mark.parametrize(("place", "words"), [
    ({"base": -10.0}, "floor"), ({"base": 395.0}, "top"), ({"offset": 149.0}, "wall"),
    ({"front": 290.0}, "wall"),
])
def test_where_nothing_fits_the_reason_is_said(place: dict[str, float], words: str) -> None:
    offer = largest_plate(cylinder(), **place)  # type: ignore[arg-type]
    assert not offer.found
    assert words in offer.reason


def test_other_plates_stand_the_other_way() -> None:
    flat, = other_plates(cylinder())
    assert flat.wanted.stands == "flat"
    assert flat.words == "lying flat"
    middle, turned = other_plates(cylinder(offset=40))
    assert middle.wanted.offset == 0
    assert turned.wanted.stands == "flat"
    assert middle.width > largest_plate(cylinder(offset=40)).width


def test_mounts_keep_their_distance_to_the_nearer_edge() -> None:
    mounts = [{"id": "a", "x": 5, "y": 6, "diameter": 4}, {"id": "b", "x": 45, "y": 44,
              "diameter": 4}, {"id": "c", "x": 25, "y": 25, "diameter": 4}]
    base = cylinder(mounts=mounts)
    plate = resized(base.plate, dump_document(base)["plate"], 120, 80)
    assert [(m["x"], m["y"]) for m in plate["mounts"]] == [(5, 6), (115, 74), (60, 40)]

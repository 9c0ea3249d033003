"""What an offer could not do: free places are used up, and what stays wrong is said in words."""

from __future__ import annotations

from math import dist
from typing import Any

from layout_engine import Job, arrange, load_document
from layout_engine.arranging import Progress
from layout_engine.arranging.leftovers import filled, held_back_by
from layout_engine.arranging.problem import problem_of
from layout_engine.arranging.reasons import stops_kept, why_not_whole
from layout_engine.arranging.verdict import stops, unavoidable
from tests.layout_engine.arranging.test_arrange import run, small

Json = dict[str, Any]
ON_FRONT = {"rule": "face", "face": "front", "must": True}


def still() -> float:
    return 0.0


def held(document: Json, *places: tuple[float, float]) -> Json:
    """The first parts locked at these places on the front."""
    for part, (x, y) in zip(document["parts"], places, strict=False):
        part |= {"locked": True, "placement": {"face": "front", "x": x, "y": y}}
    return document


def on_front(document: Json) -> Json:
    for part in document["parts"]:
        part["wishes"] = [ON_FRONT]
    return document


def overlapping() -> Json:
    return held(small(3), (20, 20), (30, 25))


def too_full() -> Json:
    """Nine boxes of 30 x 20 for one face of 60 x 60."""
    return on_front(small(9, 60))


def far_from_its_mate() -> Json:
    """p0 must be near p1, which is locked in the corner farthest from where p0 must be."""
    document = held(small(2), (5, 5))
    document["parts"][0] |= {"id": "p0"}
    document["parts"][1]["wishes"] = [
        {"rule": "near", "part": "p0", "within": 10, "must": True},
        {"rule": "near_edge", "edge": "top", "within": 10, "must": True}, ON_FRONT]
    return document


def kept_wrong(document: Json) -> str:
    """What is said of an offer that leaves everything where it is."""
    job = load_document(document)
    return stops_kept(job, unavoidable(job, frozenset()))


def why(document: Json, *left: str) -> str:
    """What is said of a job as it stands, were it an offer that left these in the tray."""
    job = load_document(document)
    return why_not_whole(problem_of(job), job, left, set())


def test_what_locks_do_wrong_is_said_with_the_offer() -> None:
    offer = run(overlapping(), only=frozenset({"p2"}))
    assert offer.whole
    assert {found.rule for found in stops(offer.job)} == {"overlap"}
    assert offer.reason == "What arranging cannot mend still stops the build: p0 and p1 touch."


def test_of_many_stops_three_are_named_and_the_rest_counted() -> None:
    words = kept_wrong(held(small(4, 200), (-10, 20), (-10, 60), (-10, 100), (-10, 140)))
    assert words.endswith("; and 1 more.")
    assert words.count("is off the plate") == 3


def test_musts_that_two_modules_cannot_keep_together_are_named() -> None:
    """120 mm of plate, p0 in its lower 30 mm, p1 in its upper: over 10 mm apart."""
    assert why(far_from_its_mate(), "p1") == (
        "p1 has no place beside the others while it must be within 10 mm of p0 and must be within "
        "10 mm of the top edge.")


def shoelace_and_edge(outline: list[list[float]]) -> tuple[float, float]:
    """Area and length of a polygon's edge, by the shoelace formula (Gauss)."""
    pairs = list(zip(outline, [*outline[1:], outline[0]], strict=True))
    return (abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs)) / 2,
            sum(dist(a, b) for a, b in pairs))


def test_the_ground_that_lacks_is_a_sum_done_otherwise() -> None:
    """Outlines with half their clearance, less the plate inside its margin with as much."""
    document = too_full()
    kind = document["types"]["module"]
    area, edge = shoelace_and_edge(kind["outline"])
    wanted = 9 * (area + edge * kind["clearance"] / 2)
    there = (60 - 2 * 5 + kind["clearance"]) ** 2
    lacks = -(-(wanted - there) // 100)
    left = [part["id"] for part in document["parts"]]
    assert why(document, *left).startswith(f"The plate lacks about {lacks:.0f} cm2. 9 modules have")


def test_a_bent_plate_lacks_more_than_its_bounds_would() -> None:
    """An L of two arms 40 mm wide has 120 x 120 - 80 x 80 = 8000 mm2; sixteen boxes want 11 200."""
    document = on_front(small(16))
    document["plate"] |= {"edge_margin": 1, "outline": [
        [0, 0], [120, 0], [120, 40], [40, 40], [40, 120], [0, 120]]}
    assert "The plate lacks about 32 cm2." in why(document, "p0")


def test_where_ground_is_enough_it_is_said_how_full_it_is() -> None:
    """Six boxes want 6 x (600 + 100) mm2 of (62 - 10 + 2) x (98 - 10 + 2) = 4860: 86 %."""
    document = on_front(small(6))
    document["plate"]["outline"] = [[0, 0], [62, 0], [62, 98], [0, 98]]
    for part, y in zip(document["parts"], (5, 27, 49, 71), strict=False):
        part["placement"] = {"face": "front", "x": 16, "y": y}
    assert why(document, "p4", "p5") == (
        "p4 and p5 have no place on the front beside the others, as far as was found. "
        "All that is to stand there takes about 86 % of its ground, gaps not counted.")


def placed_in_a_row() -> Job:
    """Three boxes in the lower row, one in the tray, the upper half free."""
    document = on_front(small(4))
    for part, x in zip(document["parts"], (5, 40, 75), strict=False):
        part["placement"] = {"face": "front", "x": x, "y": 5}
    return load_document(document)


def test_a_module_with_a_free_place_is_put_there() -> None:
    job = filled(placed_in_a_row(), ["p3"], lambda: False)
    assert not job.tray
    assert stops(job) == []
    assert [p.placement for p in job.parts[:3]] == [
        p.placement for p in placed_in_a_row().parts[:3]]


def test_nothing_is_put_where_time_is_up() -> None:
    assert filled(placed_in_a_row(), ["p3"], lambda: True) == placed_in_a_row()


def test_a_must_that_leaves_no_place_is_found() -> None:
    job = placed_in_a_row()
    low = {"rule": "near_edge", "edge": "bottom", "within": 6, "must": True}
    document = on_front(small(4))
    for part, x in zip(document["parts"], (5, 40, 75), strict=False):
        part["placement"] = {"face": "front", "x": x, "y": 5}
    document["parts"][3]["wishes"].append(low)
    job = load_document(document)
    wish = job.part("p3").wishes[1]
    assert held_back_by(job, job.part("p3")) == (wish,)
    assert held_back_by(placed_in_a_row(), placed_in_a_row().part("p3")) == ()


def test_stopping_while_a_plate_is_sought_keeps_the_best_and_is_heard_at_once() -> None:
    told: list[Progress] = []
    after = 0

    def tell(progress: Progress) -> bool:
        nonlocal after
        told.append(progress)
        sought = progress.fraction >= 1 and progress.job is not None and bool(progress.job.tray)
        after += sought
        return not sought

    offer = arrange(load_document(too_full()), seconds=1, seed=3, clock=still, on_progress=tell)
    assert after == 1  # nothing went on after it
    assert told[-1].job == offer.job
    assert not offer.whole
    assert "The plate lacks about" in offer.reason
    assert "that would do" not in offer.reason

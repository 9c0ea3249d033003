"""The cavity round the plate, by sizes worked out by hand: free heights, distances to the skin."""

from __future__ import annotations

from typing import Any

import pytest

from layout_engine import load_document
from layout_engine.geometry.cavity import Cavity
from layout_engine.geometry.shapes import box
from tests import samples

TOP = {"in": "top", "shape": "round", "diameter": 100}
FRONT = {"in": "front", "shape": "round", "diameter": 100}
BOX = {"shape": "box", "width": 200, "depth": 200}
C_SHAPE = [[-100, -100], [100, -100], [100, -40], [-40, -40], [-40, 40], [100, 40], [100, 100],
           [-100, 100]]  # fmt: skip


def cavity(body: dict[str, Any], **plate: Any) -> Cavity:
    """A plate 100 x 100 x 4, upright in the middle of a body, 50 over its floor."""
    document = samples.empty_plate()
    document["body"] = {"height": 400, "opening": TOP, "reach_from": "top", **body}
    document["plate"] = {
        "outline": samples.rectangle(100, 100), "thickness": 4, "material": "acrylic",
        "stands": "upright", "base": 50, **plate,
    }  # fmt: skip
    job = load_document(document)
    return Cavity.of(job.body, job.plate)


@pytest.mark.parametrize(("opening", "distance"), [(TOP, 100), (FRONT, 10)])
def test_an_open_roof_is_no_metal(opening: dict[str, Any], distance: float) -> None:
    """390 over the floor, in the middle: the roof is 10 away, the walls 100."""
    assert cavity({**BOX, "opening": opening}).wall_distance(0, 0, 390) == pytest.approx(distance)


def test_the_wall_of_a_taper_is_met_square() -> None:
    """A cone from 300 down to 100 over 100: its wall leans by 45 degrees; half way up its radius is
    100.
    """
    around = cavity({"shape": "round", "diameter": 300,
                     "top_diameter": 100, "height": 100}, base=0,
                    outline=samples.rectangle(60, 60))  # fmt: skip
    assert around.wall_distance(0, 0, 50) == pytest.approx(50)  # the floor
    assert around.wall_distance(0, 60, 50) == pytest.approx(40 / 2**0.5)


def test_what_ends_flush_with_a_face_takes_no_height_over_it() -> None:
    """A block from behind through the plate's plane, up to its front: 98 is free before it."""
    block = {"label": "post", "x": [-20, 20], "y": [-2, 60], "z": [60, 100]}
    around = cavity({**BOX, "obstructions": [block]})
    over = box(40, 20, 60, 40)
    assert around.height_over(over, "front") == pytest.approx(98)
    assert around.height_over(over, "back") == 0


@pytest.mark.parametrize(("offset", "x", "front", "back"), [
    (70, 150, 28, 28),  # in the arm behind, 60 deep
    (-70, 150, 28, 28),  # in the arm in front
    (70, 20, 168, 28),  # left of the gap between the arms
    (0, 150, 0, 0),  # in the gap
])
def test_over_a_point_of_a_c_the_arm_that_the_plate_stands_in_counts(
        offset: float, x: float, front: float, back: float) -> None:
    around = cavity({"shape": "free", "section": C_SHAPE, "opening": {**TOP, "diameter": 50}},
                    outline=samples.rectangle(200, 100), offset=offset)  # fmt: skip
    free = [around.free_height(x, 50, face) for face in ("front", "back")]
    assert free == pytest.approx([front, back])


def test_the_depth_over_a_strip_is_that_of_its_narrowest_place() -> None:
    """A section with a step in front: 100 deep on the left of x 0, which is plate x 50, else 40."""
    step = [[-100, -100], [0, -100], [0, -40], [100, -40], [100, 100], [-100, 100]]
    around = cavity({"shape": "free", "section": step,
                     "opening": {**TOP, "diameter": 50}})  # fmt: skip
    assert around.height_over(box(0, 10, 40, 40), "front") == pytest.approx(98)
    assert around.height_over(box(0, 10, 60, 40), "front") == pytest.approx(38)
    assert around.height_over(box(0, 10, 50, 40), "front") == pytest.approx(98)

"""Shadows of metal, by angles worked out by hand: of shields, of a metal skin with an opening."""

from __future__ import annotations

from typing import Any

import pytest

from layout_engine import load_document
from layout_engine.geometry.cavity import Cavity
from layout_engine.geometry.metal import AllMetal, Metal, shadowed_share
from layout_engine.geometry.shapes import shape_of
from tests import samples


def cavity(opening: dict[str, Any], *, is_round: bool = False, stands: str = "upright") -> Cavity:
    """A body 300 x 300 or 400 across, 400 high; the plate's frame is the body's, moved by 100."""
    document = samples.empty_plate()
    form = ({"shape": "round", "diameter": 400} if is_round
            else {"shape": "box", "width": 300, "depth": 300})  # fmt: skip
    document["body"] = {**form, "height": 400, "opening": opening, "reach_from": "top"}
    document["plate"] = {
        "outline": samples.rectangle(200, 200), "thickness": 4, "material": "acrylic",
        "stands": stands, "base": 0 if stands == "upright" else 100,
    }  # fmt: skip
    job = load_document(document)
    return Cavity.of(job.body, job.plate)


def open_rays(opening: dict[str, Any], at: tuple[float, float, float], **body: Any) -> int:
    """How many of 360 rays from a body point go out of a metal skin; nothing else is metal."""
    around = cavity(opening, **body)
    spot = around.frame.from_body(*at)
    share = shadowed_share(around, AllMetal([], around.frame), spot, skin=True)
    return 360 - round(share * 360)


WINDOW = {"shape": "rectangle", "width": 200, "height": 200}


@pytest.mark.parametrize(("side", "rays"), [
    ("front", 59),  # atan(100 / 180) = 29.05 each side
    ("back", 79),  # atan(100 / 120) = 39.81 each side
])
def test_a_window_in_a_metal_box_lets_through_the_angle_that_it_is_seen_at(
        side: str, rays: int) -> None:
    assert open_rays({"in": side, **WINDOW}, (0, 30, 200)) == rays


def test_beside_the_height_of_the_opening_all_is_skin() -> None:
    assert open_rays({"in": "front", **WINDOW}, (0, 0, 310)) == 0
    assert open_rays({"in": "top", **WINDOW}, (0, 0, 200)) == 0


def test_a_round_opening_is_narrower_beside_its_middle() -> None:
    """60 over the middle of 200: half of the chord is 80, atan(80 / 150) = 28.07 each side."""
    opening = {"in": "front", "shape": "round", "diameter": 200}
    assert open_rays(opening, (0, 0, 260)) == 57


def test_an_opening_out_of_the_middle_of_a_round_wall_is_seen_between_its_own_edges() -> None:
    """Its edges at x -40 and 160 of radius 200: asin(0.2) = 11.54 to the one side, 53.13 to the
    other.
    """
    opening = {"in": "front", **WINDOW, "at": [60, 200]}
    assert open_rays(opening, (0, 0, 200), is_round=True) == 11 + 1 + 53


def test_an_aerial_between_the_edges_of_an_opening_looks_out_of_it() -> None:
    """Edges at x 120 and -120, y -160, seen from (0, -170): 4.76 behind square on each side."""
    opening = {"in": "front", "shape": "rectangle", "width": 240, "height": 200}
    assert open_rays(opening, (0, -170, 200), is_round=True) == 4 + 181 + 4


def test_a_can_round_an_aerial_shadows_all_but_its_slot() -> None:
    """A can 40 x 40 with walls of 10, open 10 to the right: atan(5 / 20) = 14.04 each side."""
    can = shape_of([(20, -5), (10, -5), (10, -10), (-10, -10), (-10, 10), (10, 10), (10, 5),
                    (20, 5), (20, 20), (-20, 20), (-20, -20), (20, -20)])  # fmt: skip
    around = cavity({"in": "top", **WINDOW}, stands="flat")
    metal = AllMetal([Metal("can", can, (0, 20))], around.frame)
    shares = [shadowed_share(around, metal, (0, 0, w), skin=False) for w in (10, 30)]
    assert shares == pytest.approx([331 / 360, 0])


def test_metal_that_ends_a_hair_below_the_aerial_shadows_nothing() -> None:
    around = cavity({"in": "top", **WINDOW})
    plate = AllMetal([Metal("shield", shape_of([(40, 0), (60, 0), (60, 50), (40, 50)]), (0, 20))],
                     around.frame)
    shares = [shadowed_share(around, plate, (100, up, 10), skin=False) for up in (50 + 1e-7, 49.9)]
    assert shares[0] == 0
    assert shares[1] > 0

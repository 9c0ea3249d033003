"""Down through what is built in above a place: agrees with trying one place after the other."""

from __future__ import annotations

import random
from typing import Any

import numpy as np
import pytest
import shapely

from layout_engine import load_document
from layout_engine.geometry.cavity import Cavity
from layout_engine.geometry.shapes import convex_hull
from layout_engine.geometry.way_in import _rotated, _Shaft
from tests import samples

BODIES: tuple[dict[str, Any], ...] = (
    {"shape": "box", "width": 300, "depth": 240}, {"shape": "round", "diameter": 300},
    {"shape": "free", "section": [[-150, -120], [150, -120], [150, 60], [30, 60], [30, 120],
                                  [-150, 120]]},
)  # fmt: skip
STEP_MM = 6.0
PLACE_MM = 300.0  # below what is built in


def block(draw: random.Random) -> dict[str, Any]:
    x, y = (sorted(draw.uniform(-most, most) for _ in "ab") for most in (150, 120))
    return {"x": [x[0], x[1] + 1], "y": [y[0], y[1] + 1], "z": [500, 700]}


@pytest.mark.parametrize("body", BODIES, ids=lambda body: str(body["shape"]))
@pytest.mark.parametrize("seed", range(12))
def test_an_outline_goes_down_where_some_place_holds_it(body: dict[str, Any], seed: int) -> None:
    draw = random.Random(seed)
    document = samples.empty_plate()
    document["body"] = {
        **body, "height": 700, "reach_from": "top",
        "opening": {"in": "top", "shape": "round", "diameter": 200},
        "obstructions": [block(draw) for _ in range(draw.randint(0, 3))],
    }  # fmt: skip
    document["plate"] |= {"outline": samples.rectangle(150, 200), "base": 10, "mounts": []}
    job = load_document(document)
    corners = [(draw.uniform(0, 220), draw.uniform(0, 120)) for _ in range(draw.randint(3, 9))]
    outline = convex_hull(np.array(corners))
    shaft, turn = _Shaft(Cavity.of(job.body, job.plate), PLACE_MM, outline), draw.uniform(0, 360)
    turned, ground = _rotated(outline, turn), shaft._ground
    if shaft.takes(turn):
        place = shapely.get_coordinates(shapely.point_on_surface(shaft._places(turn)))
        assert shapely.covers(shapely.buffer(ground, 1e-3), shapely.polygons(turned + place))
    elif not ground.is_empty:
        x0, y0, x1, y1 = ground.bounds
        shifts = np.stack(np.meshgrid(np.arange(x0 - turned[:, 0].min(), x1, STEP_MM),
                                      np.arange(y0 - turned[:, 1].min(), y1, STEP_MM)), axis=-1)
        shapely.prepare(ground)
        tried = shapely.polygons(turned + shifts.reshape(-1, 1, 2))
        assert not shapely.covers(ground, tried).any()

"""The plate as a polygon: rounded as far as its edges allow, it is still a sound one."""

from __future__ import annotations

from math import pi

import pytest

from layout_engine import check, load_document
from layout_engine.geometry.plate_shape import PlateShape
from layout_engine.geometry.rectangles import rounded_rectangle
from layout_engine.model.job import Job
from tests import samples


def rounded_off(width: float, height: float) -> Job:
    """A plate with corners rounded by half of its shorter side; a bar runs through its plane."""
    document = samples.empty_plate()
    document["body"]["obstructions"] = [
        {"label": "bar", "x": [-200, 200], "y": [-50, 50], "z": [200, 260]}]
    document["plate"] |= {"outline": samples.rectangle(width, height), "corner_radius": 500,
                          "mounts": []}  # fmt: skip
    return load_document(document)


@pytest.mark.parametrize(("width", "height"), [
    (233, 233), (231.42, 231.42), (100.1, 170.3), (199.99, 60), (61.7, 61.7),
])
def test_a_disc_or_a_long_hole_is_a_sound_polygon(width: float, height: float) -> None:
    """Its area: that of a circle over the shorter side and of the rectangle between the halves."""
    radius, between = min(width, height) / 2, abs(width - height)
    job = rounded_off(width, height)
    for shape in (PlateShape.of(job.plate).polygon(), rounded_rectangle(width, height, radius)):
        assert shape.is_valid
        assert shape.area == pytest.approx(pi * radius**2 + 2 * radius * between, rel=1e-3)
    (found,) = check(job, rules=["plate_too_big"])
    assert "it meets bar" in found.message

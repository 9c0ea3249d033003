"""The plate as a polygon: rounded as far as its edges allow, it is still a sound one."""

from __future__ import annotations

from math import cos, pi, sin

import pytest
import shapely

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


@pytest.mark.parametrize(("hole", "area"), [
    ([[3, 3], [8, 3], [8, 8], [3, 8]], 0.0),  # (8, 8) is 45.3 from the arc's centre at (40, 40)
    # a quarter of the circle, less what of it lies over 37 from its centre along x, and along y
    ([[3, 3], [40, 3], [40, 40], [3, 40]], 400 * pi - 2 * 30.62),
])
def test_a_cut_out_may_reach_over_a_rounded_corner(hole: list[list[int]], area: float) -> None:
    """Rounded by 40: what of the cut-out lies on the plate is taken away, and both are judged."""
    document = samples.two_module_board()
    document["plate"] |= {"outline": samples.rectangle(260, 300), "corner_radius": 40,
                          "holes": [hole], "mounts": []}  # fmt: skip
    document["body"]["obstructions"] = [
        {"label": "bar", "x": [-200, 200], "y": [-50, 50], "z": [150, 260]}]
    job = load_document(document)
    board = PlateShape.of(job.plate).polygon()
    rounded = 260 * 300 - (4 - pi) * 40**2
    assert board.is_valid
    assert rounded - board.area == pytest.approx(area, abs=1.5)
    (found,) = check(job, rules=["plate_too_big"])
    assert "it meets bar" in found.message


@pytest.mark.parametrize("radius", [0.5, 40, 5000])
def test_rounding_takes_spikes_away_and_adds_nothing(radius: float) -> None:
    """Twelve spikes of 100 mm about a disc, whose corners are far too narrow for such radii."""
    star = [(100 + far * cos(n * pi / 12), 100 + far * sin(n * pi / 12))
            for n in range(24) for far in ([100] if n % 2 == 0 else [20])]
    document = samples.empty_plate()
    document["plate"] |= {"outline": [[round(x, 3), round(y, 3)] for x, y in star],
                          "corner_radius": radius, "mounts": []}
    job = load_document(document)
    whole = shapely.Polygon(document["plate"]["outline"])
    left = PlateShape.of(job.plate).polygon()
    assert left.is_valid
    assert left.difference(whole).area < 1e-3
    assert left.contains(shapely.Point(100, 100).buffer(19))
    assert left.area < whole.area
    check(job)

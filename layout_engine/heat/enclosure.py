"""A closed body and its air: effective area, rise of temperature, the sun.

Sizes of the document in mm, areas in m2, heat in W, rise in K.
"""

from __future__ import annotations

from itertools import pairwise
from math import hypot, pi

from layout_engine.geometry.outlines import bounds
from layout_engine.model.body import Body, BoxBody, FreeBody, RoundBody
from layout_engine.tables.heat import (
    ABSORPTANCE,
    SIDE_COVERED,
    SIDE_OPEN,
    SKIN_K,
    SUN,
    SUN_H,
    TOP_COVERED,
    TOP_OPEN,
    VDE_500,
)
from layout_engine.working import Given, Working

MM2 = 1e-6


def box_area(
    width: float, depth: float, height: float, *, covered_sides: tuple[bool, bool, bool, bool]
    = (False, False, False, False), covered_top: bool = False,
) -> float:  # fmt: skip
    """Effective area [m2] of a box, lengths in METRES; sides in the order front, back, left, right.

    >>> round(box_area(0.8, 0.6, 2.0), 3)
    5.712
    """
    front = width * height, width * height, depth * height, depth * height
    sides = sum(
        area * (SIDE_COVERED if covered else SIDE_OPEN).value
        for area, covered in zip(front, covered_sides, strict=True)
    )
    return sides + width * depth * (TOP_COVERED if covered_top else TOP_OPEN).value


def round_area(diameter: float, height: float, top_diameter: float | None = None) -> float:
    """Effective area [m2] of an upright round body, METRES: 0.9 of its mantle, 1.4 of its top."""
    top = diameter if top_diameter is None else top_diameter
    slope = hypot(height, (diameter - top) / 2)
    return SIDE_OPEN.value * pi * (diameter + top) / 2 * slope + TOP_OPEN.value * pi * top**2 / 4


def mantle_and_top(body: Body) -> tuple[float, float]:
    """Real areas [m2] of a body's sides together and of its top."""
    high = body.height / 1000
    if isinstance(body, RoundBody):
        wide, top = body.diameter / 1000, body.top / 1000
        slope = hypot(high, (wide - top) / 2)
        return pi * (wide + top) / 2 * slope, pi * top**2 / 4
    if isinstance(body, BoxBody):
        return 2 * (body.width + body.depth) * body.height * MM2, body.width * body.depth * MM2
    assert isinstance(body, FreeBody)
    ring = [*body.section, body.section[0]]
    around = sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(ring))
    doubled = sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise(ring))
    return around * body.height * MM2, abs(doubled) / 2 * MM2


def effective_area(body: Body) -> float:
    """Effective area [m2] of a body that stands free: 0.9 of its sides, 1.4 of its top, no floor.

    For round and free shapes the same factors as for boxes, which is an extension of the source.
    """
    sides, top = mantle_and_top(body)
    return SIDE_OPEN.value * sides + TOP_OPEN.value * top


def air_rise(watts: float, k: float, area: float) -> float:
    """Mean rise of the air inside [K]: P / (k A).

    >>> round(air_rise(20, 3.5, 0.438252), 2)
    13.04
    """
    return watts / (k * area)


def wall_heat(area: float, k: float, rise: float) -> float:
    """Heat through the wall [W] at a rise [K]: k A dT."""
    return area * k * rise


def rise_working(body: Body, watts: tuple[Given, ...]) -> Working:
    """The mean rise of the air in a body that the heat of each [W] makes, with its working."""
    k, area = SKIN_K[body.skin], effective_area(body)
    sides, top = mantle_and_top(body)
    rise = air_rise(sum(one.value for one in watts), k.value, area)
    return Working(
        "dT = sum of P / (k (fs As + ft At)), floor left out", (
            Given("k", f"wall, {body.skin}", k.value, "W/m2K", k.source),
            Given("As", "sides", sides, "m2", "body"),
            Given("At", "top", top, "m2", "body"),
            Given("fs", "share of the sides that cools, standing free", SIDE_OPEN.value, "1",
                  SIDE_OPEN.source),
            Given("ft", "share of the top", TOP_OPEN.value, "1", TOP_OPEN.source),
            *watts,
        ), rise, "K", f"{VDE_500}; the mean: under the roof it is hotter",
    )  # fmt: skip


def sun_rise(body: Body) -> Working:
    """Rise of a closed body's inside in full sun from the side [K]: a G Ap / (h A)."""
    sides, top = mantle_and_top(body)
    facing = _seen_from_side(body)
    rise = ABSORPTANCE.value * SUN.value * facing / (SUN_H.value * (sides + top))
    return Working(
        "dT = a G Ap / (h A)", (
            Given("a", "absorptance of the outside", ABSORPTANCE.value, "1", ABSORPTANCE.source),
            Given("G", "sun", SUN.value, "W/m2", SUN.source),
            Given("Ap", "area that the sun sees from the side", facing, "m2", "body"),
            Given("h", "outside", SUN_H.value, "W/m2K", SUN_H.source),
            Given("A", "sides and top", sides + top, "m2", "body"),
        ), rise, "K", "heat balance of the skin; irradiance IEC 60068-2-5",
    )  # fmt: skip


def _seen_from_side(body: Body) -> float:
    """Largest area [m2] that a low sun sees."""
    if isinstance(body, RoundBody):
        return (body.diameter + body.top) / 2 * body.height * MM2
    if isinstance(body, BoxBody):
        return hypot(body.width, body.depth) * body.height * MM2
    x0, y0, x1, y1 = bounds(body.section)
    return hypot(x1 - x0, y1 - y0) * body.height * MM2

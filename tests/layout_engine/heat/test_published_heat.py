"""The rows of tests/data/mechanical.csv about heat, each with its source."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from layout_engine.heat import enclosure
from layout_engine.tables import air, heat
from tests.layout_engine.tables.published_rows import ROWS, Figures, Key, assert_row, row_id

TOPICS = ("natural-convection", "fin-spacing", "board-gap", "enclosure", "touch-temperature",
          "derating")  # fmt: skip
SQUARE_FOOT, FAHRENHEIT = 0.09290304, 5 / 9  # m2; K per degree
# Cengel's table A-15 at 55 and 60 C, by which his examples are worked (from memory): the air of
# Incropera's table, which the engine uses, is 1 % off it.
CENGEL_55 = air.Air(1.847e-5, 0.02772, 1.847e-5 / 0.7215, 0.7215, 328.15)
CENGEL_60 = air.Air(1.896e-5, 0.02808, 1.896e-5 / 0.7202, 0.7202, 333.15)


def facing_down(film: air.Air, rise: float, length: float, area: float) -> float:
    """Heat, W, of a plate with its hot side down: Nu = 0.27 Ra^0.25."""
    nu = 0.27 * film.rayleigh(rise, length) ** 0.25
    return float(nu * film.conductivity / length * area * rise)


def cengel_gap() -> float:
    """Millimetres between fins."""
    return float(1000 * air.BOTH_SIDES_HOT.value * 0.18 / CENGEL_55.rayleigh(50, 0.18) ** 0.25)


# (topic, beginning of the quantity, beginning of the inputs): our figures.
CHECKS: dict[tuple[str, str, str], Callable[[], Figures]] = {
    ("natural-convection", "h vertical plate", ""): lambda: (air.simple_h(air.UPRIGHT, 30, 0.1),),
    ("natural-convection", "h horizontal, hot side up", ""): lambda: (
        air.simple_h(air.HOT_SIDE_UP, 30, 0.1),),
    ("natural-convection", "h horizontal, hot side down", ""): lambda: (
        air.simple_h(air.HOT_SIDE_DOWN, 30, 0.1),),
    ("natural-convection", "h small parts", ""): lambda: (air.simple_h(air.SMALL_PARTS, 30, 0.01),),
    ("natural-convection", "h with L wrongly", ""): lambda: (air.simple_h(air.UPRIGHT, 30, 100),),
    ("natural-convection", "mean h", ""): lambda: (air.upright_h(232, 23, 0.71),),
    ("natural-convection", "heat flow", "area"): lambda: (
        0.71 * 1.02 * 209 * air.upright_h(232, 23, 0.71),),
    ("natural-convection", "heat flow, hot side down", ""): lambda: (
        facing_down(CENGEL_60, 60, 0.15, 0.36),),
    ("fin-spacing", "best gap", ""): lambda: (cengel_gap(),),
    ("fin-spacing", "factor, one side hot", ""): lambda: (air.ONE_SIDE_HOT.value,),
    ("board-gap", "best gap behind", ""): lambda: (
        1000 * air.best_gap(0.1, 50, 30, one_side=True),),
    ("enclosure", "effective area, free standing", ""): lambda: (
        enclosure.box_area(0.8, 0.6, 2.0),),
    ("enclosure", "heat through wall", ""): lambda: (enclosure.wall_heat(4.38, 5.5, 10),),
    ("enclosure", "effective area, wall-mounted", ""): lambda: (enclosure.box_area(
        0.3, 0.25, 0.4, covered_sides=(False, True, False, False)),),
    ("enclosure", "effective area, top covered, mid row", ""): lambda: (enclosure.box_area(
        0.3, 0.25, 0.4, covered_sides=(False, True, True, True), covered_top=True),),
    ("enclosure", "heat transfer coefficient k", "painted steel"): lambda: (
        heat.SKIN_K["metal"].value,),
    ("enclosure", "heat transfer coefficient k", "stainless"): lambda: (heat.STAINLESS.value,),
    ("enclosure", "heat transfer coefficient k", "aluminium"): lambda: (
        heat.ALUMINIUM_MOVING.value,),
    ("enclosure", "heat transfer coefficient k", "aluminium, double"): lambda: (
        heat.ALUMINIUM_DOUBLE.value,),
    ("enclosure", "heat transfer coefficient k", "polyester"): lambda: (
        heat.SKIN_K["plastic"].value,),
    ("enclosure", "air temperature rise", ""): lambda: (enclosure.air_rise(350, 5.5, 3.96),),
    ("enclosure", "implied k of a US chart", ""): lambda: (
        300 / enclosure.wall_heat(42 * SQUARE_FOOT, 1, 30 * FAHRENHEIT),),
    ("enclosure", "radiation share h_r", ""): lambda: (
        air.radiation_h(308 - air.KELVIN, 308 - air.KELVIN, 0.9),),
    ("enclosure", "surface factors", ""): lambda: (
        heat.TOP_OPEN.value, heat.TOP_COVERED.value, heat.SIDE_OPEN.value,
        heat.SIDE_COVERED.value, heat.FLOOR.value),
    ("enclosure", "effective area, upright round body", ""): lambda: (
        enclosure.round_area(0.3, 0.4),),
    ("touch-temperature", "no burn for contact up to 0.5 s", ""): lambda: (
        heat.TOUCH_METAL_INSTANT.value,),
    ("touch-temperature", "burn threshold, any material", "contact 1 min"): lambda: (
        heat.TOUCH_1_MIN.value,),
    ("touch-temperature", "burn threshold, any material", "contact 10 min"): lambda: (
        heat.TOUCH_10_MIN.value,),
    ("touch-temperature", "burn threshold, any material", "contact 8 h"): lambda: (
        heat.TOUCH_8_H.value,),
    ("touch-temperature", "burn threshold, bare metal", ""): lambda: (heat.TOUCH_10_S.value,),
    ("fin-spacing", "Nusselt number at best gap", ""): lambda: (
        air.channel_nusselt(air.BOTH_SIDES_HOT.value**4),),
    ("derating", "life factor per 10 K", ""): lambda: (air.LIFE_FACTOR.value,),
    ("derating", "factor, fins lying crosswise", ""): lambda: (air.FINS_ACROSS.value,),
}  # fmt: skip


def check_of(key: Key) -> Callable[[], Figures] | None:
    """The longest beginning that fits a row."""
    fitting = [c for c in CHECKS if key[0] == c[0] and all(
        mine.startswith(theirs) for mine, theirs in zip(key[1:], c[1:], strict=True))]  # fmt: skip
    return CHECKS[max(fitting, key=lambda c: (len(c[1]), len(c[2])))] if fitting else None


HEAT_ROWS = [key for key in ROWS if key[0] in TOPICS]


@pytest.mark.parametrize("key", [pytest.param(key, id=row_id(key)) for key in HEAT_ROWS])
def test_published_row(key: Key) -> None:
    ours = check_of(key)
    assert ours is not None
    assert_row(key, ours())


def test_every_heat_row_has_its_own_check() -> None:
    used = {id(check_of(key)) for key in HEAT_ROWS}
    assert len(used) == len(HEAT_ROWS) == len(CHECKS) == 33


def test_twenty_watts_in_a_plastic_drum() -> None:
    """Note of the row of the round body: 20 W, k 3.5, 0.3 x 0.4 m: 13.04 K."""
    assert enclosure.air_rise(20, 3.5, enclosure.round_area(0.3, 0.4)) == pytest.approx(
        13.04, abs=0.005)


@pytest.mark.parametrize("height", [0.1, 0.3])
def test_the_simplified_form_is_within_6_percent(height: float) -> None:
    """Holman's simplified form against Churchill-Chu at 0.1 and 0.3 m, 30 K over 25 C."""
    simple, better = air.simple_h(air.UPRIGHT, 30, height), air.upright_h(55, 25, height)
    assert math.isclose(simple, better, rel_tol=0.06)


def test_air_between_two_rows_of_the_table() -> None:
    """Incropera & DeWitt, Table A.4: 0.0263 and 0.0300 W/mK at 300 and 350 K."""
    assert air.air_at(325 - air.KELVIN).conductivity == pytest.approx(0.02815, abs=1e-6)
    assert air.air_at(CENGEL_55.kelvin - air.KELVIN).viscosity == pytest.approx(
        CENGEL_55.viscosity, rel=0.02)

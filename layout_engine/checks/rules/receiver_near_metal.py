"""The aerial is close to metal.

Wrong: from the antenna to metal (shields of other parts on both faces, a conducting plate or skin)
is less than the reactive near field, at most 20 mm: stop. Less than its maker wants, or else a
quarter wave, at most 50 mm: a warning.

Remedy: move the receiver away from metal.

Source: lambda / 2 pi from the definition of the short antenna's near field; quarter wave: common
practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding, Place
from layout_engine.checks.standing import Standing
from layout_engine.checks.wording import mm
from layout_engine.geometry.frames import EPS_MM
from layout_engine.tables.radio import LIGHT, metal_stop_distance, metal_warn_distance, wavelength
from layout_engine.working import Given, Working

SOURCE = f"near field lambda/2pi, at most 20 mm; quarter wave, at most 50 mm: {COMMON_PRACTICE}"
SKIN = "the body's skin"  # among ids of parts, which have no spaces


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a part with an antenna: the nearest metal."""
    for standing in facts.standing:
        antenna = standing.type.antenna
        if antenna is None:
            continue
        distance, owner = nearest_metal(facts, standing)
        stop = metal_stop_distance(antenna.band_mhz)
        warn = metal_warn_distance(antenna.band_mhz, antenna.keep_from_metal)
        if distance < max(stop, warn) - EPS_MM:
            limit = stop if distance < stop - EPS_MM else warn
            yield _finding(facts, standing, distance, owner, limit, limit == stop)


def nearest_metal(facts: Facts, standing: Standing) -> tuple[float, str]:
    """Distance, mm, from a part's antenna to the nearest metal of others, and whose it is."""
    x, y, w = facts.antenna(standing)
    nearest = facts.metal.nearest(x, y, w, standing.id)
    metal = [nearest] if nearest else []
    if facts.conducting_skin:
        metal.append((facts.cavity.wall_distance(*facts.frame.to_body(x, y, w)), SKIN))
    return min(metal, default=(float("inf"), ""))


def _finding(facts: Facts, standing: Standing, distance: float, owner: str, limit: float,
             stop: bool) -> Finding:
    antenna = standing.type.antenna
    assert antenna is not None
    x, y, _ = facts.antenna(standing)
    what = facts.title(owner)
    return Finding(
        rule="receiver_near_metal", severity="stop" if stop else "warn", subjects=(standing.id,),
        title=f"{standing.title}: the aerial is close to metal",
        message=f"{mm(distance)} from the aerial to {what}; {mm(limit)} is wanted.",
        value=distance, limit=limit, unit="mm", source=SOURCE,
        remedy=f"Move the receiver away from {what}.",
        rests_on_guess=facts.guessed(standing.id, owner), place=Place(x, y, standing.face),
        working=Working(
            "lambda = c / f; limits min(lambda / 2 pi, 20 mm) and min(lambda / 4, 50 mm)",
            _wave(antenna.band_mhz), distance, "mm", "distance in three dimensions", limit, SOURCE),
    )


def _wave(band_mhz: float) -> tuple[Given, ...]:
    """What the limits follow from; where the band is not known they are their own upper bounds."""
    if band_mhz == 0:
        return (Given("f", "band", 0.0, "MHz", "part type: not known, so 20 and 50 mm"),)
    return (
        Given("f", "band", band_mhz, "MHz", "part type"),
        Given("c", "speed of light", LIGHT.value, LIGHT.unit, LIGHT.source),
        Given("lambda", "wavelength", wavelength(band_mhz), "mm", "c / f"),
    )

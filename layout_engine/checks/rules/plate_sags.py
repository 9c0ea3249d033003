"""The flat plate sags.

Wrong: between its two farthest neighbouring mounts the loaded plate, taken as a beam under a
spread load with the modulus of plastics halved for creep, sags more than 1/200 of the span.
No mounts: a note, for nothing can be said.

Remedy: a thicker plate, or a mount in the middle of the span.

Source: beam 5 q L^4 / (384 E I); limit L/200 and halved modulus common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import dist

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import COMMON_PRACTICE, Finding
from layout_engine.checks.wording import mm
from layout_engine.geometry.frames import EPS_MM
from layout_engine.tables.bending import sag_limit, spread_pressure, strip_spread_sag
from layout_engine.tables.materials import plate_material
from layout_engine.working import Given, Working

SOURCE = f"beam 5 q L^4/(384 E I); L/200 and halved E for plastics {COMMON_PRACTICE}"
GRAMS_PER_KG = 1000.0
MM3_PER_CM3 = 1000.0


def find(facts: Facts) -> Iterator[Finding]:
    """At most one finding, about a flat plate."""
    plate = facts.job.plate
    if plate.stands != "flat":
        return
    span = largest_span(facts)
    if span is None:
        yield _no_mounts()
        return
    area = facts.plate.polygon().area
    own = area * plate.thickness * plate_material(plate.material).density.value / MM3_PER_CM3
    mass = (own + sum(s.type.mass for s in facts.standing)) / GRAMS_PER_KG
    pressure = spread_pressure(mass, area, 1.0)
    modulus = plate_material(plate.material).long_term_modulus_mpa
    sag = strip_spread_sag(pressure * span, span, 1.0, plate.thickness, modulus)
    if sag > sag_limit(span) + EPS_MM:
        yield _finding(facts, span, mass, modulus, sag)


def largest_span(facts: Facts) -> float | None:
    """The largest distance, mm, between neighbouring mounts; None without two of them.

    Neighbours are the mounts that the shortest net joins (least spanning tree).
    """
    joined, *others = [(m.x, m.y) for m in facts.job.plate.mounts] or [(0.0, 0.0)]
    apart = {mount: dist(mount, joined) for mount in others}
    spans = []
    while apart:
        nearest = min(apart, key=apart.__getitem__)
        spans.append(apart.pop(nearest))
        apart = {mount: min(known, dist(mount, nearest)) for mount, known in apart.items()}
    return max(spans, default=None)


def _no_mounts() -> Finding:
    return Finding(
        rule="plate_sags", severity="note", subjects=("plate",), of_plate=1,
        title="No mounts: nothing can be said of the plate's sag",
        message="A flat plate needs at least two mounting points.", value=None, limit=None,
        unit="mm", source=COMMON_PRACTICE, remedy="Enter where the plate is held.",
    )


def _finding(facts: Facts, span: float, mass: float, modulus: float, sag: float) -> Finding:
    limit = sag_limit(span)
    return Finding(
        rule="plate_sags", severity="warn", subjects=("plate",), of_plate=1,
        title="The plate sags",
        message=f"About {mm(sag)} over {mm(span)} between its mounts; {mm(limit)} at most.",
        value=sag, limit=limit, unit="mm", source=SOURCE,
        remedy="Take a thicker plate, or hold it in the middle of the span.",
        working=Working(
            "w = 5 q L^4 / (384 E I), I = t^3 / 12, q = m g / A", (
                Given("L", "largest span between neighbouring mounts", span, "mm", "plate"),
                Given("m", "plate and modules", mass, "kg", "part types, density of the plate"),
                Given("E", "modulus, halved for plastics", modulus, "MPa",
                      plate_material(facts.job.plate.material).modulus.source),
                Given("t", "thickness", facts.job.plate.thickness, "mm", "plate"),
            ), sag, "mm", SOURCE, limit, "L/200"),
    )

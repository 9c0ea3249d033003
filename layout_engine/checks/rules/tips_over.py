"""The machine may tip over.

Wrong: the centre of gravity of plate, modules and battery lies outside the wheel base, or so near
its edge that the machine tips on a slope of less than 20 degrees.

Remedy: battery lower or nearer the middle, heavy modules lower, wheels farther apart.

Source: tip angle atan(distance to the wheel line / height), NHTSA rollover rulemaking ch. V for
the formula; 20 degrees common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding
from layout_engine.checks.wording import mm, number
from layout_engine.geometry.shapes import centre, inside_distance
from layout_engine.tables.access import LEAST_TIP_ANGLE, centre_of_mass, tip_angle
from layout_engine.tables.materials import plate_material
from layout_engine.working import Given, Working

Weight = tuple[float, float, float, float]  # mass in g, body x, y, z in mm
MM3_PER_CM3 = 1000.0


def find(facts: Facts) -> Iterator[Finding]:
    """At most one finding; nothing is said while the wheels are not known."""
    machine = facts.job.machine
    if machine is None or len(machine.wheels) < 3:
        return
    x, y, z = centre_of_gravity(facts)
    height = z + machine.floor_height
    distance = inside_distance(machine.wheels, x, y)
    angle = tip_angle(distance, height)
    if angle < LEAST_TIP_ANGLE.value:
        yield _finding(facts, distance, height, angle)


def centre_of_gravity(facts: Facts) -> tuple[float, float, float]:
    """Body x, y, z, mm, of the centre of plate, placed modules and battery."""
    weights = list(_weights(facts))
    masses = tuple(w[0] for w in weights)
    x, y, z = (centre_of_mass(masses, tuple(w[i] for w in weights)) for i in (1, 2, 3))
    return x, y, z


def _weights(facts: Facts) -> Iterator[Weight]:
    plate = facts.job.plate
    shape = facts.plate.polygon()
    density = plate_material(plate.material).density.value
    yield (shape.area * plate.thickness * density / MM3_PER_CM3,
           *facts.frame.to_body(*centre(shape), 0.0))
    for s in facts.standing:
        level = facts.frame.level(s.face, s.type.standoff + s.type.height / 2)
        yield s.type.mass, *facts.frame.to_body(*centre(s.outline), level)
    battery = facts.job.body.battery_at
    if battery is not None:
        yield battery.mass, battery.x, battery.y, battery.z


def _finding(facts: Facts, distance: float, height: float, angle: float) -> Finding:
    limit = LEAST_TIP_ANGLE
    outside = distance < 0
    message = (
        f"Its centre of gravity lies {mm(-distance)} outside the wheel base." if outside else
        f"It tips on a slope of {number(angle)} degrees; {number(limit.value)} at least is wished."
    )
    return Finding(
        rule="tips_over", severity="warn", subjects=("plate",), of_plate=1,
        title="The machine may tip over",
        message=message, value=angle, limit=limit.value, unit="deg", source=limit.source,
        remedy="Put the battery lower or nearer the middle, or the wheels farther apart.",
        rests_on_guess=facts.guessed(*(s.id for s in facts.standing)),
        working=Working(
            "a = atan(d / h)", (
                Given("d", "centre of gravity to the nearest wheel line", distance, "mm",
                      "machine, part types"),
                Given("h", "centre of gravity over the ground", height, "mm",
                      "part types; battery"),
            ), angle, "deg", "NHTSA rollover rulemaking ch. V", limit.value, limit.source),
    )

"""A trimmer, mode switch, card slot, light or socket is covered.

Wrong: the straight way to a service point, as wide and long as what comes there needs, meets a
part of that face; straight from above also an obstruction or the wall.

Remedy: turn the module so that the point faces free ground, or move the one in the way.

Source: finger: MIL-STD-1472 and EN 547-3 (from memory); tool, plug and eye: common practice, no
source.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.facts import Facts
from layout_engine.checks.finding import Finding, Place
from layout_engine.checks.reach import WALL
from layout_engine.checks.standing import Standing
from layout_engine.checks.wording import mm
from layout_engine.geometry.frames import EPS_MM
from layout_engine.geometry.shapes import first_met, leaves_at, overlaps, strip
from layout_engine.model.part_type import ServicePoint
from layout_engine.tables.access import SERVICE_WAYS


def find(facts: Facts) -> Iterator[Finding]:
    """One finding a part: its first point that is covered."""
    for standing in facts.standing:
        for point in standing.type.service:
            blocker = blocker_of(facts, standing, point)
            if blocker:
                yield _finding(facts, standing, point, blocker)
                break


def blocker_of(facts: Facts, standing: Standing, point: ServicePoint) -> str:
    """Whose prism, or the wall (from above), stands in the straight way to it; "" for none."""
    x, y = standing.pose.point(point.x, point.y)
    width, length = SERVICE_WAYS[point.by].width, SERVICE_WAYS[point.by].length
    level = standing.type.standoff + point.z
    if point.towards == "top":
        spot = strip(x, y, 0.0, -width / 2, width, width / 2)
        for solid in facts.scene.solids_near(spot, standing.face):
            over = solid.high > max(level, standing.type.top) + EPS_MM
            if solid.owner != standing.id and over and overlaps(solid.shape, spot):
                return solid.owner
        free = facts.cavity.free_height(x, y, standing.face)
        return WALL if free < level + length - EPS_MM else ""
    return _sideways(facts, standing, (x, y), level, point)


def _sideways(facts: Facts, standing: Standing, at: tuple[float, float], level: float,
              point: ServicePoint) -> str:
    assert point.towards != "top"
    width, length = SERVICE_WAYS[point.by].width, SERVICE_WAYS[point.by].length
    direction = standing.pose.direction(point.towards)
    start = leaves_at(point.x, point.y, point.towards, standing.type.outline)
    lane = strip(*at, direction, start, length, width / 2)
    for solid in facts.scene.solids_near(lane, standing.face):
        in_height = solid.low < level + width / 2 and solid.high > level - width / 2
        if solid.owner == standing.id or not in_height:
            continue
        if first_met(lane, *at, direction, solid.shape) < start + length - EPS_MM:
            return solid.owner
    return ""


def _finding(facts: Facts, standing: Standing, point: ServicePoint, blocker: str) -> Finding:
    way = SERVICE_WAYS[point.by]
    x, y = standing.pose.point(point.x, point.y)
    name = point.label or "service point"
    in_the_way = "The wall" if blocker == WALL else facts.title(blocker)
    return Finding(
        rule="service_point_blocked", severity="warn", subjects=(standing.id,),
        title=f"{standing.title}: {name} is covered",
        message=f"{in_the_way} stands in the straight way to it; a {point.by} needs "
                f"{mm(way.width)} by {mm(way.length)}.",
        value=None, limit=way.length, unit="mm", source=way.source,
        remedy="Turn the module so that the point faces free ground, or move what is in the way.",
        rests_on_guess=facts.guessed(standing.id, blocker), place=Place(x, y, standing.face),
    )

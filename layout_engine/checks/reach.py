"""How hands and tools get to a part: the room above it and the straight way from there."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

import numpy as np
from numpy.typing import NDArray

from layout_engine.checks.facts import Facts
from layout_engine.checks.standing import Solid, Standing
from layout_engine.geometry.frames import EPS_MM
from layout_engine.geometry.shapes import (
    Shape,
    bounds_of,
    box,
    extent,
    overlaps,
    spot_for_circle,
    spot_for_rectangle,
)
from layout_engine.model.job import Job
from layout_engine.tables.access import DRIVER_HANDLE, HAND_HEIGHT, HAND_WIDTH

WALL = "the wall"  # among ids of parts, which have no spaces
MOST_LANES = 64  # lanes along the board that are tried against the wall
Floats = NDArray[np.float64]
Section = tuple[float, float]  # across the way, along the board and out of it, mm


@dataclass(frozen=True, slots=True)
class ReachWay:
    """The direction that hands come from, seen from the plate.

    `axis` "w" when they come square to the plate (then `sign` is the face they see: 1 front), "y"
    when they come along it (then `sign` is the plate y direction towards them).
    """

    axis: str
    sign: int

    def is_behind(self, face: str) -> bool:
        """Whether a face is turned away from hands that come square to the plate."""
        return self.axis == "w" and (self.sign > 0) != (face == "front")


def reach_way(job: Job) -> ReachWay:
    """Where hands come from: the contract's `reach_from` in the plate's frame."""
    upright, source = job.plate.stands == "upright", job.body.reach_from
    if upright:
        return {"top": ReachWay("y", 1), "front": ReachWay("w", 1), "back": ReachWay("w", -1)}[
            source]
    return {"top": ReachWay("w", 1), "front": ReachWay("y", -1), "back": ReachWay("y", 1)}[source]


def wanted_room(standing: Standing) -> float:
    """Room, mm, above the part's top that reaching it takes; 0 where none is stated."""
    reach = standing.type.reach
    return reach.room if reach and reach.by != "none" else 0.0


def faces_hand(facts: Facts, standing: Standing) -> bool:
    """Whether hands come square to the face that the part stands on."""
    way = reach_way(facts.job)
    return way.axis == "w" and not way.is_behind(standing.face)


def room_blockers(facts: Facts, standing: Standing) -> list[str]:
    """What stands in the room above a part: ids of parts, `WALL`."""
    room, top = wanted_room(standing), standing.type.top
    blockers = [
        solid.owner for solid in taller(facts, standing, top)
        if min(solid.high, top + room) - max(solid.low, top) > EPS_MM
        and overlaps(solid.shape, standing.outline)
    ]
    if facts.free_heights[standing.id, 0] < top + room - EPS_MM:
        blockers.append(WALL)
    return blockers


def taller(facts: Facts, standing: Standing, level: float, within: float = 0.0) -> list[Solid]:
    """Prisms of other parts on the same face that rise over a level, mm over the face.

    Only those that meet the part in plan, or come within a distance, mm.
    """
    return [
        solid for solid in facts.scene.solids_near(standing.outline, standing.face, within)
        if solid.high > level + EPS_MM and solid.owner != standing.id
    ]


def has_straight_way(facts: Facts, standing: Standing) -> bool:
    """Whether a hand or a tool comes straight from the part's room to where hands come from."""
    way = reach_way(facts.job)
    reach = standing.type.reach
    by_hand = reach is not None and reach.by == "hand"
    if way.axis == "w":
        return faces_hand(facts, standing) and _square_way(facts, standing, by_hand)
    sections = [(HAND_WIDTH.value, HAND_HEIGHT.value), (HAND_HEIGHT.value, HAND_WIDTH.value)]
    if not by_hand:
        sections = [(DRIVER_HANDLE.value, DRIVER_HANDLE.value)]
    return any(_way_along(facts, standing, way.sign, section) for section in sections)


def _square_way(facts: Facts, standing: Standing, by_hand: bool) -> bool:
    """Straight out of the face: some spot over the part where the section meets nothing taller."""
    top, far = standing.type.top, hypot(HAND_WIDTH.value, HAND_HEIGHT.value)
    in_way = [solid.shape for solid in taller(facts, standing, top, far)]
    in_way += _blocks_beyond(facts, standing.face, top)
    if not by_hand:
        return spot_for_circle(standing.outline, in_way, DRIVER_HANDLE.value)
    width, height = HAND_WIDTH.value, HAND_HEIGHT.value
    return spot_for_rectangle(standing.outline, in_way, width, height) or spot_for_rectangle(
        standing.outline, in_way, height, width)


def _blocks_beyond(facts: Facts, face: str, level: float) -> list[Shape]:
    """Obstructions, in plate x, y, that lie over a face beyond a level."""
    limit = facts.frame.level(face, level)
    return [
        block.shape for block in facts.cavity.blocks
        if (block.w[1] > limit + EPS_MM if face == "front" else block.w[0] < limit - EPS_MM)
    ]


def _way_along(facts: Facts, standing: Standing, sign: int, section: Section) -> bool:
    """Along the plate at the height of the room: some lane from the part outwards that is free."""
    half, deep = section[0] / 2, section[1]
    x0, y0, x1, y1 = extent(standing.outline)
    start = y1 if sign > 0 else y0
    end = _lane_end(facts, sign)
    lane = (min(start, end), max(start, end))
    if lane[1] - lane[0] <= EPS_MM:
        return True
    top = standing.type.top
    blocks = np.array(_blocks_between(facts, standing.face, top, top + deep), dtype=object)
    solids = facts.scene.boxes_over(standing.face, top, standing.id)
    boxes = np.vstack((solids, bounds_of(blocks)))
    boxes = boxes[np.minimum(boxes[:, 3], lane[1]) - np.maximum(boxes[:, 1], lane[0]) > EPS_MM]
    middle = facts.frame.width / 2 - facts.frame.shift
    centres = _free_centres((x0, x1), boxes[:, 0] - half, boxes[:, 2] + half, middle)
    lanes = np.array([box(c - half, lane[0], c + half, lane[1]) for c in centres], dtype=object)
    heights = facts.cavity.wall_heights(lanes, standing.face)
    return bool(np.any(heights >= top + deep - EPS_MM))


def _lane_end(facts: Facts, sign: int) -> float:
    """Plate y where the body ends on the side that hands come from."""
    body, frame = facts.job.body, facts.frame
    if frame.stands == "upright":
        return body.height - frame.base
    return frame.height if sign > 0 else 0.0


def _blocks_between(facts: Facts, face: str, low: float, high: float) -> list[Shape]:
    span = facts.frame.span(face, low, high)
    return [
        block.shape for block in facts.cavity.blocks
        if min(block.w[1], span[1]) - max(block.w[0], span[0]) > EPS_MM
    ]


def _free_centres(span: tuple[float, float], lows: Floats, highs: Floats, middle: float
                  ) -> list[float]:
    """Centres within a span that no forbidden run (low, high) covers, the ones worth trying.

    The nearest to the middle of the body come first; of very many the first ones are enough.
    """
    ends = np.array([*span, float(np.clip(middle, *span))])
    tries = np.unique(np.concatenate((ends, lows, highs)))
    tries = tries[(tries >= span[0] - EPS_MM) & (tries <= span[1] + EPS_MM)]
    inside = (tries[:, None] > lows + EPS_MM) & (tries[:, None] < highs - EPS_MM)
    free = tries[~inside.any(axis=1)]
    nearest = free[np.argsort(np.abs(free - middle), kind="stable")]
    return [float(c) for c in nearest[:MOST_LANES]]

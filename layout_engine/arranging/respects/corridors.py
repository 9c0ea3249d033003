"""Corridors: free lanes into which the terminals of two or more modules face."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

from layout_engine.arranging.respects.service import mouth
from layout_engine.checks.standing import Standing
from layout_engine.tables.access import TERMINAL_STRIP_HALF

Box = tuple[float, float, float, float]
WIDEST_MM = 40.0  # a lane is counted as no wider than this; common practice, no source
LEAST_MM = 5.0  # a narrower lane carries no bundle; common practice, no source
SQUARE_DEG = 1e-6
CORNERS = 1e-6


@dataclass(frozen=True, slots=True)
class _Side:
    """Terminals of one module that leave the same way from one line: the lane ahead of them.

    `axis`: along which they leave; `low`, `high`: the lane's run along it; `start`, `end`: from
    the first to the last of them, across it.
    """

    owner: str
    axis: int
    low: float
    high: float
    start: float
    end: float
    count: int


def shared_corridors(standing: list[Standing], boxes: dict[str, Box]) -> tuple[int, int]:
    """Terminals of one face at a corridor shared with another module, and terminals in all.

    `boxes`: bounds of the outlines of the modules of that face, by id.
    """
    sides = [side for s in standing for side in _sides(s, boxes)]
    total = sum(side.count for side in sides)
    shared = set()
    for i, j in combinations(range(len(sides)), 2):
        if _share(sides[i], sides[j], boxes):
            shared |= {i, j}
    return sum(sides[i].count for i in shared), total


def _sides(standing: Standing, boxes: dict[str, Box]) -> list[_Side]:
    found: dict[tuple[int, float], list[tuple[float, float]]] = {}
    for terminal in standing.type.terminals:
        x, y, direction = mouth(standing, terminal)
        quarter = round(direction / 90.0)
        if abs(direction - 90.0 * quarter) > SQUARE_DEG:
            continue
        at, across = ((x, y), (y, x))[quarter % 2]
        found.setdefault((quarter % 4, round(at, 2)), []).append((at, across))
    sides = []
    for (quarter, _), spots in found.items():
        axis, sign = quarter % 2, 1 if quarter < 2 else -1
        at = spots[0][0]
        runs = [_free(at, across, axis, sign, standing.id, boxes) for _, across in spots]
        ahead = at + sign * min(runs)
        sides.append(_Side(standing.id, axis, min(at, ahead), max(at, ahead),
                           min(s[1] for s in spots), max(s[1] for s in spots), len(spots)))
    return sides


def _free(at: float, across: float, axis: int, sign: int, owner: str, boxes: dict[str, Box]
          ) -> float:
    """Free run ahead of a terminal, mm, up to the widest that counts."""
    half, free = TERMINAL_STRIP_HALF.value, WIDEST_MM
    for name, box in boxes.items():
        beside = box[3 - axis] <= across - half or box[1 - axis] >= across + half
        if name == owner or beside:
            continue
        way = box[axis] - at if sign > 0 else at - box[axis + 2]
        if way > -CORNERS:
            free = min(free, max(way, 0.0))
    return free


def _share(one: _Side, other: _Side, boxes: dict[str, Box]) -> bool:
    """Whether two sides of two modules face the same free lane."""
    if one.owner == other.owner or one.axis != other.axis:
        return False
    low, high = max(one.low, other.low), min(one.high, other.high)
    narrower = min(one.high - one.low, other.high - other.low)
    if high - low < max(LEAST_MM, narrower / 2) - CORNERS:
        return False
    start, end = min(one.end, other.end), max(one.start, other.start)
    axis = one.axis
    return not any(
        box[axis] < high - CORNERS and box[axis + 2] > low + CORNERS
        and box[1 - axis] < end - CORNERS and box[3 - axis] > start + CORNERS
        for box in boxes.values()
    )

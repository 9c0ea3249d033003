"""Labels of holes and terminals, each on clear ground of one sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import cos, hypot, radians, sin

from webapp.drawings.primitives import Item, Lettering, Line, Text
from webapp.printing.canvas import LETTERING
from webapp.printing.placing import Box, Ground
from webapp.printing.setting import LEADER_STEPS_MM, LINE_PITCH, Setting, measure, taken

BESIDE_MM = 0.8
LEADER_PENALTY = 0.5


@dataclass(frozen=True, slots=True)
class Spot:
    """A hole on the sheet: centre and the radius that its cross reaches, mm; its lines of text."""

    x: float
    y: float
    reach: float
    lines: tuple[str, ...]


def hole_labels(ground: Ground, spots: Sequence[Spot]) -> tuple[Item, ...]:
    """A label for each hole, the most crowded holes first; takes the ground it uses."""
    def crowd(spot: Spot) -> tuple[int, float, float]:
        near = sum(hypot(spot.x - o.x, spot.y - o.y) < 16 for o in spots)
        return -near, spot.y, spot.x

    items: list[Item] = []
    for spot in sorted(spots, key=crowd):
        items.extend(_hole_label(ground, spot))
    return tuple(items)


def _hole_label(ground: Ground, spot: Spot) -> tuple[Item, ...]:
    best: tuple[float, Setting] | None = None
    for setting in _beside(spot):
        cost = ground.cost(setting.box)
        if cost == 0:
            return taken(ground, setting)
        if best is None or cost < best[0]:
            best = (cost, setting)
    if not ground.bounds.holds(Box(spot.x, spot.y, spot.x, spot.y)):
        return ()  # the neighbouring sheet has it whole
    led = _led(ground, spot)
    if led is not None and (best is None or led[0] < best[0]):
        _, setting, leader = led
        ground.add_stroke(leader.x1, leader.y1, leader.x2, leader.y2)
        return (leader, *taken(ground, setting))
    return taken(ground, best[1]) if best else ()


def _beside(spot: Spot, lettering: Lettering = "mark") -> Iterator[Setting]:
    """Right, left, above and below the cross, then in its corners; one line first, then two."""
    for lines in dict.fromkeys(((" ".join(spot.lines),), spot.lines)):
        width, height = measure(lines, lettering)
        out_x, out_y = spot.reach + BESIDE_MM + width / 2, spot.reach + BESIDE_MM + height / 2
        corner_x = spot.reach * 0.45 + BESIDE_MM + width / 2
        corner_y = spot.reach * 0.45 + BESIDE_MM + height / 2
        for dx, dy in (
            (out_x, 0), (-out_x, 0), (0, out_y), (0, -out_y),
            (corner_x, corner_y), (-corner_x, corner_y), (corner_x, -corner_y),
            (-corner_x, -corner_y), (out_x, height), (-out_x, height), (out_x, -height),
            (-out_x, -height), (corner_x, out_y), (-corner_x, out_y), (corner_x, -out_y),
            (-corner_x, -out_y),
        ):
            yield Setting(lines, lettering, spot.x + dx, spot.y + dy)


def _led(ground: Ground, spot: Spot) -> tuple[float, Setting, Line] | None:
    best: tuple[float, Setting, Line] | None = None
    lines = (" ".join(spot.lines),)
    width, _ = measure(lines, "mark")
    for far in LEADER_STEPS_MM:
        for direction in range(15, 375, 30):
            c, s = cos(radians(direction)), sin(radians(direction))
            end = (spot.x + c * (spot.reach + far), spot.y + s * (spot.reach + far))
            side = 1 if c >= 0 else -1
            setting = Setting(lines, "mark", end[0] + side * (width / 2 + BESIDE_MM), end[1])
            leader = Line(spot.x + c * spot.reach * 0.75, spot.y + s * spot.reach * 0.75, *end,
                          pen="fine")
            cost = (ground.cost(setting.box) + far * LEADER_PENALTY / 10
                    + ground.crossings((leader.x1, leader.y1, leader.x2, leader.y2)))
            if best is None or cost < best[0]:
                best = (cost, setting, leader)
        if best and best[0] < 3:
            break
    return best


def terminal_marks(ground: Ground, spots: Sequence[Spot]) -> tuple[Item, ...]:
    """Printed marks beside terminals, small; left out where there is no room."""
    items: list[Item] = []
    for spot in spots:
        settings = (s for s in _beside(spot, "scale") if ground.is_clear(s.box))
        setting = next(settings, None)
        if setting is not None:
            items.extend(taken(ground, setting))
    return tuple(items)


def block_of_words(ground: Ground, ways: Sequence[Sequence[str]]) -> tuple[Item, ...]:
    """Several lines as one block, set in the first of `ways` that finds clear ground; else none."""
    for lines in ways:
        width, height = measure(lines, "small")
        place = ground.room_for(width + 2, height + 2)
        if ground.is_clear(place):
            ground.add_box(place)
            size = LETTERING["small"][0] * LINE_PITCH
            top = place.top - 1 - LETTERING["small"][0] / 2
            return tuple(Text(place.left + 1, top - n * size, line, "small", "start")
                         for n, line in enumerate(lines))
    return ()

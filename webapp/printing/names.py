"""Names of modules: inside where they fit, else beside on a leader, else shortened."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import hypot

import numpy as np
from numpy.typing import NDArray

from layout_engine.geometry.outlines import bounds
from layout_engine.once import cached_property
from webapp.drawings.primitives import Item, Lettering, Line
from webapp.printing.canvas import LETTERING
from webapp.printing.fonts import shortened, wrap
from webapp.printing.placing import Box, Ground
from webapp.printing.setting import LEADER_STEPS_MM, Setting, measure, taken

STRANGE_PENALTY = 5.0  # for a name that stands inside another module
NAME_STEP_MM = 2.5
NAME_LOOKS = 400  # places tried for one name before the next way of setting it
BESIDE_COST = 2.0  # what a name beside its module may cost; clear ground and a short leader
_Way = tuple[tuple[str, ...], Lettering, bool]


@dataclass(frozen=True)
class Name:
    """A module's outline on the sheet, and its name."""

    outline: tuple[tuple[float, float], ...]
    text: str
    lettering: Lettering

    @cached_property
    def box(self) -> Box:
        """The outline's box."""
        return Box(*bounds(self.outline))

    @cached_property
    def _sides(self) -> NDArray[np.float64]:
        corners = np.array(self.outline)
        return np.hstack((corners, np.roll(corners, -1, axis=0)))

    def covers(self, x: float, y: float) -> bool:
        """Whether a point lies within the outline: by how many sides a ray to the right meets."""
        if not self.box.grown(1.0).meets(Box(x, y, x, y)):
            return False
        sides = self._sides
        x1, y1, x2, y2 = sides[(sides[:, 1] > y) != (sides[:, 3] > y)].T
        return bool((x < (x2 - x1) * (y - y1) / (y2 - y1) + x1).sum() % 2)


def module_names(ground: Ground, names: Sequence[Name]) -> tuple[Item, ...]:
    """A name inside each module where it fits, else beside it, else shortened inside.

    Where not even that finds clear ground the name is left to the table of holes.
    """
    items: list[Item] = []
    seen = [name for name in names if ground.bounds.meets(name.box)]
    for name in sorted(seen, key=lambda n: _area(n.box)):
        setting = _inside(ground, name, _ways)
        if setting is not None:
            items.extend(taken(ground, setting))
        elif ground.bounds.holds(_middle(name.box)):  # else the neighbouring sheet names it
            items.extend(_elsewhere(ground, name, [n for n in seen if n is not name]))
    return tuple(items)


def _elsewhere(ground: Ground, name: Name, others: Sequence[Name]) -> tuple[Item, ...]:
    beside = _beside_module(ground, name, others)
    if beside is not None:
        leader, setting = beside
        ground.add_stroke(leader.x1, leader.y1, leader.x2, leader.y2)
        return (leader, *taken(ground, setting))
    short = _inside(ground, name, _short_ways)
    return taken(ground, short) if short is not None else ()


def _middle(box: Box) -> Box:
    x, y = box.centre
    return Box(x, y, x, y)


def _area(box: Box) -> float:
    return (box.right - box.left) * (box.top - box.bottom)


def _inside(ground: Ground, name: Name, ways: Callable[[Name, Box], Iterator[_Way]]
            ) -> Setting | None:
    box, seen = name.box, ground.bounds
    window = Box(max(box.left, seen.left), max(box.bottom, seen.bottom),
                 min(box.right, seen.right), min(box.top, seen.top))
    if window.right - window.left < 3 or window.top - window.bottom < 3:
        return None
    for lines, lettering, turned in ways(name, window):
        for x, y in _places(window):
            setting = Setting(lines, lettering, x, y, turned)
            if window.holds(setting.box) and name.covers(x, y) \
                    and ground.is_clear(setting.box):
                return setting
    return None


def _ways(name: Name, window: Box) -> Iterator[_Way]:
    """Upright in one line, in several, turned; then the same in smaller lettering."""
    across, up = window.right - window.left - 1.5, window.top - window.bottom - 1.5
    for lettering in dict.fromkeys((name.lettering, "mark", "scale")):
        size, weight = LETTERING[lettering]
        seen: set[tuple[tuple[str, ...], bool]] = set()
        for room, turned in ((across, False), (across * 0.6, False), (up, True), (up * 0.6, True)):
            lines = tuple(wrap(name.text, size, max(room, size), weight))
            if len(lines) <= 4 and (lines, turned) not in seen and _whole(lines, name.text):
                seen.add((lines, turned))
                yield lines, lettering, turned


def _whole(lines: tuple[str, ...], text: str) -> bool:
    """No word is broken, unless the name is a single word."""
    return len(text.split()) == 1 or " ".join(lines) == " ".join(text.split())


def _places(window: Box) -> list[tuple[float, float]]:
    cx, cy = window.centre
    columns = int((window.right - window.left) / 2 / NAME_STEP_MM)
    rows = int((window.top - window.bottom) / 2 / NAME_STEP_MM)
    places = [(cx + c * NAME_STEP_MM, cy + r * NAME_STEP_MM)
              for c in range(-columns, columns + 1) for r in range(-rows, rows + 1)]
    places.sort(key=lambda p: (hypot(p[0] - cx, p[1] - cy), p))
    return places[:NAME_LOOKS]


def _beside_module(ground: Ground, name: Name, others: Sequence[Name]
                   ) -> tuple[Line, Setting] | None:
    """On clear ground beside the module with a short leader, if there is any."""
    size, weight = LETTERING["mark"]
    line = shortened(name.text, size, 45.0, weight)
    best: tuple[float, Line, Setting] | None = None
    for far, setting, leader in _around(name.box, line):
        strange = sum(other.covers(setting.x, setting.y) for other in others)
        cost = ground.cost(setting.box.grown(0.2)) + far / 10 + STRANGE_PENALTY * strange
        cost += ground.crossings((leader.x1, leader.y1, leader.x2, leader.y2))
        if best is None or cost < best[0]:
            best = (cost, leader, setting)
    return best[1:] if best is not None and best[0] <= BESIDE_COST else None


def _around(box: Box, line: str) -> Iterator[tuple[float, Setting, Line]]:
    cx, cy = box.centre
    width, height = measure((line,), "mark")
    for far in LEADER_STEPS_MM:
        for x, y, from_x, from_y in (
            (box.right + far + width / 2, cy, box.right, cy),
            (box.left - far - width / 2, cy, box.left, cy),
            (cx, box.top + far + height / 2, cx, box.top),
            (cx, box.bottom - far - height / 2, cx, box.bottom),
        ):
            setting = Setting((line,), "mark", x, y)
            yield far, setting, _leader_to(setting.box, from_x, from_y)


def _short_ways(name: Name, window: Box) -> Iterator[_Way]:
    """The start of the name in small lettering, upright and turned, in four lines down to one."""
    size, weight = LETTERING["scale"]
    for most in (4, 3, 2, 1):
        for side, turned in ((window.right - window.left, False),
                             (window.top - window.bottom, True)):
            room = max(side - 1.5, size)
            lines = wrap(name.text, size, room, weight)
            if len(lines) > most:
                rest = " ".join(lines[most - 1:])
                lines = (*lines[:most - 1], shortened(rest, size, room, weight))
            yield lines, "scale", turned


def _leader_to(box: Box, x: float, y: float) -> Line:
    """From a module's edge, a little inside it, to the near side of the lettering."""
    near_x = min(max(x, box.left - 0.5), box.right + 0.5)
    near_y = min(max(y, box.bottom - 0.5), box.top + 0.5)
    return Line(x + (x - near_x) * 0.3, y + (y - near_y) * 0.3, near_x, near_y, pen="fine")

"""Labels of holes and names of modules, each on clear ground of one sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import cos, hypot, radians, sin

from layout_engine.geometry.outlines import bounds
from webapp.drawings.primitives import Item, Lettering, Line, Text
from webapp.printing.canvas import CAP_HEIGHT, LETTERING
from webapp.printing.fonts import shortened, width_mm, wrap
from webapp.printing.placing import Box, Ground

LINE_PITCH = 1.12  # of the type size, between lines of one label
BESIDE_MM = 0.8
LEADER_STEPS_MM = (3.0, 5.0, 8.0, 12.0, 17.0, 23.0, 30.0)
LEADER_PENALTY = 0.5
STRANGE_PENALTY = 5.0  # for a name that stands inside another module
NAME_STEP_MM = 2.5
NAME_LOOKS = 400  # places tried for one name before the next way of setting it
Outline = Sequence[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Spot:
    """A hole on the sheet: centre and the radius that its cross reaches, mm; its lines of text."""

    x: float
    y: float
    reach: float
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Name:
    """A module's outline on the sheet, and its name."""

    outline: tuple[tuple[float, float], ...]
    text: str
    lettering: Lettering


@dataclass(frozen=True, slots=True)
class _Setting:
    """Lines of one label round a centre, upright or reading from the right."""

    lines: tuple[str, ...]
    lettering: Lettering
    x: float
    y: float
    turned: bool = False

    @property
    def box(self) -> Box:
        width, height = _measure(self.lines, self.lettering)
        if self.turned:
            width, height = height, width
        return Box(self.x - width / 2, self.y - height / 2, self.x + width / 2, self.y + height / 2)

    def items(self) -> tuple[Item, ...]:
        pitch = LETTERING[self.lettering][0] * LINE_PITCH
        shifts = [(len(self.lines) - 1) / 2 * pitch - n * pitch for n in range(len(self.lines))]
        return tuple(
            Text(self.x - shift, self.y, line, self.lettering, turn=90) if self.turned
            else Text(self.x, self.y + shift, line, self.lettering)
            for shift, line in zip(shifts, self.lines, strict=True)
        )


def _measure(lines: Sequence[str], lettering: Lettering) -> tuple[float, float]:
    size, weight = LETTERING[lettering]
    width = max(width_mm(line, size, weight) for line in lines)
    return width, size * (CAP_HEIGHT + 0.12) + (len(lines) - 1) * size * LINE_PITCH


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
    best: tuple[float, _Setting] | None = None
    for setting in _beside(spot):
        cost = ground.cost(setting.box)
        if cost == 0:
            return _taken(ground, setting)
        if best is None or cost < best[0]:
            best = (cost, setting)
    if not ground.bounds.holds(Box(spot.x, spot.y, spot.x, spot.y)):
        return ()  # the neighbouring sheet has it whole
    led = _led(ground, spot)
    if led is not None and (best is None or led[0] < best[0]):
        _, setting, leader = led
        ground.add_stroke(leader.x1, leader.y1, leader.x2, leader.y2)
        return (leader, *_taken(ground, setting))
    return _taken(ground, best[1]) if best else ()


def _taken(ground: Ground, setting: _Setting) -> tuple[Item, ...]:
    ground.add_box(setting.box)
    return setting.items()


def _beside(spot: Spot, lettering: Lettering = "mark") -> Iterator[_Setting]:
    """Right, left, above and below the cross, then in its corners; one line first, then two."""
    for lines in dict.fromkeys(((" ".join(spot.lines),), spot.lines)):
        width, height = _measure(lines, lettering)
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
            yield _Setting(lines, lettering, spot.x + dx, spot.y + dy)


def _led(ground: Ground, spot: Spot) -> tuple[float, _Setting, Line] | None:
    best: tuple[float, _Setting, Line] | None = None
    lines = (" ".join(spot.lines),)
    width, _ = _measure(lines, "mark")
    for far in LEADER_STEPS_MM:
        for direction in range(15, 375, 30):
            c, s = cos(radians(direction)), sin(radians(direction))
            end = (spot.x + c * (spot.reach + far), spot.y + s * (spot.reach + far))
            side = 1 if c >= 0 else -1
            setting = _Setting(lines, "mark", end[0] + side * (width / 2 + BESIDE_MM), end[1])
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
            items.extend(_taken(ground, setting))
    return tuple(items)


def module_names(ground: Ground, names: Sequence[Name]) -> tuple[Item, ...]:
    """A name inside each module where it fits, else beside it on a leader, else shortened."""
    items: list[Item] = []
    for name in sorted(names, key=lambda n: _area(n.outline)):
        setting = _inside(ground, name)
        if setting is not None:
            items.extend(_taken(ground, setting))
        elif ground.bounds.meets(Box(*bounds(name.outline))):
            others = [n.outline for n in names if n is not name]
            items.extend(_name_outside(ground, name, others))
    return tuple(items)


def _area(outline: Sequence[tuple[float, float]]) -> float:
    left, bottom, right, top = bounds(outline)
    return (right - left) * (top - bottom)


def _inside(ground: Ground, name: Name) -> _Setting | None:
    left, bottom, right, top = bounds(name.outline)
    window = Box(max(left, ground.bounds.left), max(bottom, ground.bounds.bottom),
                 min(right, ground.bounds.right), min(top, ground.bounds.top))
    if window.right - window.left < 3 or window.top - window.bottom < 3:
        return None
    for lines, lettering, turned in _ways(name, window):
        for x, y in _places(window):
            setting = _Setting(lines, lettering, x, y, turned)
            if window.holds(setting.box) and _contains(name.outline, x, y) \
                    and ground.is_clear(setting.box):
                return setting
    return None


def _ways(name: Name, window: Box) -> Iterator[tuple[tuple[str, ...], Lettering, bool]]:
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


def _contains(outline: Sequence[tuple[float, float]], x: float, y: float) -> bool:
    inside = False
    for (x1, y1), (x2, y2) in zip(outline, (*outline[1:], outline[0]), strict=True):
        if (y1 > y) != (y2 > y) and x < (x2 - x1) * (y - y1) / (y2 - y1) + x1:
            inside = not inside
    return inside


def _name_outside(ground: Ground, name: Name, others: Sequence[Outline]) -> tuple[Item, ...]:
    """Beside the module with a short leader; the least bad place where none is clear."""
    box = Box(*bounds(name.outline))
    cx, cy = box.centre
    size, weight = LETTERING["mark"]
    line = shortened(name.text, size, 45.0, weight)
    width, height = _measure((line,), "mark")
    best: tuple[float, _Setting, Line] | None = None
    for far in LEADER_STEPS_MM:
        for x, y, from_x, from_y in (
            (box.right + far + width / 2, cy, box.right, cy),
            (box.left - far - width / 2, cy, box.left, cy),
            (cx, box.top + far + height / 2, cx, box.top),
            (cx, box.bottom - far - height / 2, cx, box.bottom),
        ):
            setting = _Setting((line,), "mark", x, y)
            leader = _leader_to(setting.box, from_x, from_y)
            strange = sum(_contains(outline, x, y) for outline in others)
            cost = ground.cost(setting.box.grown(0.2)) + far / 10 + STRANGE_PENALTY * strange
            cost += ground.crossings((leader.x1, leader.y1, leader.x2, leader.y2))
            seen = ground.bounds.holds(setting.box)
            if seen and (best is None or cost < best[0]):
                best = (cost, setting, leader)
    if best is None:
        return ()  # a sliver of it on this sheet: the neighbour names it
    ground.add_stroke(best[2].x1, best[2].y1, best[2].x2, best[2].y2)
    return (best[2], *_taken(ground, best[1]))


def _leader_to(box: Box, x: float, y: float) -> Line:
    """From a module's edge, a little inside it, to the near side of the lettering."""
    near_x = min(max(x, box.left - 0.5), box.right + 0.5)
    near_y = min(max(y, box.bottom - 0.5), box.top + 0.5)
    return Line(x + (x - near_x) * 0.3, y + (y - near_y) * 0.3, near_x, near_y, pen="fine")


def block_of_words(ground: Ground, ways: Sequence[Sequence[str]]) -> tuple[Item, ...]:
    """Several lines as one block, set in the first of `ways` that finds clear ground; else none."""
    for lines in ways:
        width, height = _measure(lines, "small")
        place = ground.room_for(width + 2, height + 2)
        if ground.is_clear(place):
            ground.add_box(place)
            size = LETTERING["small"][0] * LINE_PITCH
            top = place.top - 1 - LETTERING["small"][0] / 2
            return tuple(Text(place.left + 1, top - n * size, line, "small", "start")
                         for n, line in enumerate(lines))
    return ()

"""Body, opening and plate from the front, cut from the right, and cut from above.

The front and the side view share one window in z, so that drawn equally high they have one scale.
A dimension's key is the name of the field that it belongs to.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from layout_engine.geometry.cavity import Cavity
from layout_engine.geometry.inset import outset_section
from layout_engine.model.job import Job
from webapp.drawings.body_parts import (
    GAP_PX,
    WALL_PX,
    Box3,
    OpeningPlace,
    across,
    cut_runs,
    floor_line,
    module_blocks,
    named_blocks,
    obstructions,
    plan_gap,
    plan_ring,
    plan_wall,
    plate_block,
    rectangle,
    roof,
    side_walls,
    words,
)
from webapp.drawings.primitives import (
    Circle,
    Dimension,
    Drawing,
    Group,
    Item,
    Line,
    Pen,
    Text,
    polygon,
)

SIDE_PX = 74.0  # room beside a view for two rows of dimensions
TALL_PX = 470.0  # the height that front and side view are meant to have
PLAN_PX = 300.0
SHORTEST_PX = 48.0  # a shorter free height gets no dimension: its figure would touch the plate
WORD_PX = 64.0  # a longer one is also said to be free
TICK_PX = 9.0
FREE_AT = 0.01  # share of the plate's height at which free heights are shown


@dataclass(frozen=True, slots=True)
class Views:
    """What all views of one job share."""

    job: Job
    place: OpeningPlace
    plate: Box3
    u: float

    @classmethod
    def of(cls, job: Job, tall: float = TALL_PX) -> Views:
        """The views of a job; `tall`: how high, in pixels, the body is meant to be drawn."""
        wide = max(job.body.plan)
        u = max(job.body.height / tall, wide / (0.7 * tall))
        return cls(job, OpeningPlace.of(job.body), plate_block(job), u)

    @property
    def upright(self) -> bool:
        """Whether the plate stands upright."""
        return self.job.plate.stands == "upright"

    @property
    def cut_height(self) -> float:
        """Height at which the section from above is taken: the middle of the plate."""
        middle = (self.plate.z[0] + self.plate.z[1]) / 2
        return min(max(middle, 0.0), self.job.body.height)

    def drawing(self, spans: Iterable[tuple[float, float]], items: tuple[Item, ...], title: str
                ) -> Drawing:
        """A view of the height with room for dimensions; front and side have one size."""
        low = -(GAP_PX + 30) * self.u
        high = self.job.body.height + (GAP_PX + 30) * self.u
        left, right = min(s[0] for s in spans), max(s[1] for s in spans)
        wide = max(self.job.body.plan) + 2 * SIDE_PX * self.u
        return Drawing((left + right - wide) / 2, low, wide, high - low, items, title)


def front_view(job: Job) -> Drawing:
    """From the front: the body's outline, opening, plate."""
    v = Views.of(job)
    body, u = job.body, v.u
    floor, top = across(body, 0.0, 0), across(body, body.height, 0)
    wall = WALL_PX * u
    inner = ((floor[0], 0.0), (floor[1], 0.0), (top[1], body.height), (top[0], body.height))
    items: tuple[Item, ...] = (
        Line(inner[0][0] - wall, 0.0, inner[3][0] - wall, body.height, "outline"),
        Line(inner[1][0] + wall, 0.0, inner[2][0] + wall, body.height, "outline"),
        polygon(inner, "thin"),
        *roof(body, v.place, top, 0, u), floor_line(floor, u),
        *obstructions(body, "x", "z", u, lambda _block: False), _axis(v),
        *_front_opening(v), *_front_plate(v), *_cut_marks(v, min(floor[0], top[0]),
                                                                   max(floor[1], top[1])),
        *_front_dimensions(v),
    )
    return v.drawing((floor, top), items, "The body from the front, with its opening and the plate")


def _axis(v: Views) -> Item:
    beyond = 12 * v.u
    return Line(0.0, -beyond, 0.0, v.job.body.height + beyond, "axis")


def _cut_marks(v: Views, left: float, right: float) -> Iterator[Item]:
    """Where the section from above is cut: two short strokes and a letter."""
    z, u = v.cut_height, v.u
    for x, way in ((left, -1), (right, 1)):
        near, far = x + way * 10 * u, x + way * (10 + TICK_PX) * u
        yield Line(near, z, far, z, "edge")
        yield Text(x + way * (10 + TICK_PX + 9) * u, z, "A", "title")


def _front_opening(v: Views) -> Iterator[Item]:
    if v.place.side == "top":
        return
    front = v.place.side == "front"
    yield Group((v.place.outline("outline" if front else "hidden"),), "opening")
    upper = v.place.run[1]
    yield Text(v.place.along, upper, "opening" if front else "opening behind", "small", dy=10,
               plaque=True)


def _front_plate(v: Views) -> Iterator[Item]:
    plate, block, u = v.job.plate, v.plate, v.u
    if not v.upright:
        yield rectangle(block.x, block.z, "edge", "plate")
        return
    dx, dy = block.x[0], block.z[0]
    outline = tuple((x + dx, y + dy) for x, y in plate.outline)
    yield polygon(outline, "edge", "plate", radius=plate.corner_radius)
    for hole in plate.holes:
        yield polygon(tuple((x + dx, y + dy) for x, y in hole), "thin", "sheet")
    for mount in plate.mounts:
        yield Circle(mount.x + dx, mount.y + dy, mount.diameter, "thin")
    width, height = plate.size
    if width / u > 90 and height / u > 46:
        x, z = (block.x[0] + block.x[1]) / 2, (block.z[0] + block.z[1]) / 2
        yield Text(x, z, "Plate", "name", dy=8, plaque=True)
        size = f"{words(width)} × {words(height)} × {words(plate.thickness)}"
        yield Text(x, z, size, "small", dy=-9, plaque=True)


def _front_dimensions(v: Views) -> Iterator[Item]:
    body, u, block = v.job.body, v.u, v.plate
    floor, top = across(body, 0.0, 0), across(body, body.height, 0)
    wide = words(floor[1] - floor[0])
    if body.shape != "round":
        yield Dimension(floor[1], 0.0, floor[0], 0.0, wide, GAP_PX * u, "body_width")
    else:
        yield Dimension(floor[1], 0.0, floor[0], 0.0, f"⌀ {wide}", GAP_PX * u, "diameter")
    if body.shape == "round" and body.top_diameter is not None:
        yield Dimension(top[0], body.height, top[1], body.height, f"⌀ {words(body.top)}",
                        GAP_PX * u, "top_diameter")
    left = min(floor[0], top[0])
    yield Dimension(left, 0.0, left, body.height, words(body.height), 2.0 * GAP_PX * u,
                    "body_height")
    base = v.job.plate.base
    if base > 0:
        x = block.x[0]
        yield Dimension(x, 0.0, x, base, words(base), 0.55 * GAP_PX * u, "base")
    if abs(v.job.plate.shift) > 0:
        z = block.z[1]
        yield from _from_axis(v, v.job.plate.shift, z, "shift")


def _from_axis(v: Views, to: float, z: float, key: str) -> Iterator[Item]:
    off = 0.7 * GAP_PX * v.u
    a, b = sorted((0.0, to))
    yield Dimension(a, z, b, z, words(to), off, key)


def side_view(job: Job, tall: float = TALL_PX) -> Drawing:
    """Cut through the middle, seen from the right: the front is on the left."""
    v = Views.of(job, tall)
    body, u = job.body, v.u
    floor, top = _ends(v, 0.0), _ends(v, body.height)
    items: tuple[Item, ...] = (
        *side_walls(body, v.place, u), *roof(body, v.place, top, 1, u), floor_line(floor, u),
        *obstructions(body, "y", "z", u, lambda block: block.x[0] < 0 < block.x[1]), _axis(v),
        *_side_plate(v), *_battery(v), *_side_opening(v), *_side_dimensions(v),
    )
    return v.drawing((floor, top), items,
                     "The body cut through the middle, seen from the right; its front is left")


def _ends(v: Views, z: float) -> tuple[float, float]:
    runs = cut_runs(v.job.body, z)
    return runs[0][0], runs[-1][1]


def _side_plate(v: Views) -> Iterator[Item]:
    yield Group(tuple(rectangle(b.y, b.z, "thin", "part") for b in module_blocks(v.job)), "modules")
    yield rectangle(v.plate.y, v.plate.z, "edge", "plate")


def _battery(v: Views) -> Iterator[Item]:
    place = v.job.body.battery_at
    if place is None:
        return
    arm = 7 * v.u
    cross = (Line(place.y - arm, place.z, place.y + arm, place.z),
             Line(place.y, place.z - arm, place.y, place.z + arm),
             Circle(place.y, place.z, arm, "thin"))
    label = Text(place.y, place.z, "battery", "small", "start", dx=11, plaque=True)
    yield Group((*cross, label), "battery", "battery")


def _side_opening(v: Views) -> Iterator[Item]:
    place, u, body = v.place, v.u, v.job.body
    if place.side == "top":
        size = "opening_diameter" if place.is_round else "opening_height"
        a, b = place.run
        text = f"⌀ {words(place.height)}" if place.is_round else words(place.height)
        yield Dimension(a, body.height, b, body.height, text, GAP_PX * u, size)
        return
    low, high = place.run
    size = "opening_diameter" if place.is_round else "opening_height"
    text = f"⌀ {words(place.height)}" if place.is_round else words(place.height)
    front = place.side == "front"
    edge = min(_ends(v, low)[0], _ends(v, high)[0]) if front else max(
        _ends(v, low)[1], _ends(v, high)[1])
    lengths = ((low, high, text, size), (0.0, low, words(low), "opening_low"))
    for z0, z1, figure, key in lengths:
        if z1 - z0 <= 0:
            continue
        ends = (z0, z1) if front else (z1, z0)
        yield Dimension(edge, ends[0], edge, ends[1], figure, 1.5 * GAP_PX * u, key)


def _side_dimensions(v: Views) -> Iterator[Item]:
    job, u, block = v.job, v.u, v.plate
    body = job.body
    if body.shape != "round":
        low, high = _ends(v, 0.0)
        yield Dimension(high, 0.0, low, 0.0, words(high - low), GAP_PX * u, "body_depth")
    if abs(job.plate.offset) > 0:
        yield from _from_axis(v, job.plate.offset, block.z[1], "offset")
    if not v.upright:
        side = block.y[1] + 14 * u
        if job.plate.base > 0:
            yield Dimension(side, job.plate.base, side, 0.0, words(job.plate.base), 0.0, "base")
    yield from _free_room(v)


def _free_room(v: Views) -> Iterator[Item]:
    """Free height over both faces, in the margin at the edge, where no module stands."""
    cavity = Cavity.of(v.job.body, v.job.plate)
    width, height = v.job.plate.size
    front = cavity.free_height(width / 2, height * FREE_AT, "front")
    back = cavity.free_height(width / 2, height * FREE_AT, "back")
    y, z = v.plate.y, v.plate.z
    level = z[0] + FREE_AT * height
    middle = y[0] + FREE_AT * height
    runs = (
        ((y[0] - front, level, y[0], level), (y[1], level, y[1] + back, level)) if v.upright else
        ((middle, z[1], middle, z[1] + front), (middle, z[0] - back, middle, z[0]))
    )
    for (x1, z1, x2, z2), free in zip(runs, (front, back), strict=True):
        if free / v.u > SHORTEST_PX:
            text = f"{words(free)} free" if free / v.u > WORD_PX else words(free)
            yield Dimension(x1, z1, x2, z2, text)


def cut_height(job: Job, part_id: str = "") -> str:
    """The height over the floor, mm, at which the section from above is taken."""
    return words(_cut_at(Views.of(job), part_id))


def _cut_at(v: Views, part_id: str) -> float:
    """The middle of a module's height, or of the plate's where no placed one is named."""
    z = next((sum(b.z) / 2 for name, b in named_blocks(v.job) if name == part_id), None)
    return v.cut_height if z is None else min(max(z, 0.0), v.job.body.height)


def top_view(job: Job, part_id: str = "") -> Drawing:
    """Cut at the middle of the plate's height, seen from above: the front is below.

    part_id: the cut goes through the middle of this module, which is marked; what it does not
    meet of the others is left out.
    """
    v = Views.of(job)
    body, z = job.body, _cut_at(v, part_id)
    x0, x1 = across(body, z, 0)
    y0, y1 = across(body, z, 1)
    u = max(x1 - x0, y1 - y0) / PLAN_PX * 1.15
    outer = outset_section(plan_ring(body, z), WALL_PX * u)
    items: tuple[Item, ...] = (
        plan_wall(body, z, u, outer), *plan_gap(body, z, v.place, u),
        *obstructions(body, "x", "y", u, lambda block: block.z[0] < z < block.z[1]),
        Line(x0 - 12 * u, 0.0, x1 + 12 * u, 0.0, "axis"),
        Line(0.0, y0 - 12 * u, 0.0, y1 + 12 * u, "axis"), *_plan_plate(v, u, z, part_id),
        *_plan_opening(v, u, (x0, x1), (y0, y1)), *_plan_dimensions(v, u),
    )
    pad = 46 * u
    low, high = (24, 68) if v.place.side == "back" else (62, 40)
    return Drawing(x0 - pad, y0 - low * u, x1 - x0 + 2 * pad, y1 - y0 + (low + high) * u, items,
                   f"The body cut {words(z)} mm above the floor, seen from above; front below")


def _plan_modules(v: Views, z: float, part_id: str) -> Iterator[Item]:
    """The modules that the cut meets, the chosen one marked and above the others."""
    met = [(name, b) for name, b in named_blocks(v.job) if b.z[0] <= z <= b.z[1]]
    for role, chosen in (("modules", False), ("modules is-chosen", True)):
        blocks = [b for name, b in met if (name == part_id) is chosen]
        pen: Pen = "outline" if chosen else "thin"
        if blocks:
            yield Group(tuple(rectangle(b.x, b.y, pen, "part") for b in blocks), role)


def _plan_plate(v: Views, u: float, z: float, part_id: str) -> Iterator[Item]:
    plate, block = v.job.plate, v.plate
    if v.upright:
        yield from _plan_modules(v, z, part_id)
        yield rectangle(block.x, block.y, "edge", "plate")
        return
    if part_id in {part.id for part in v.job.placed}:
        yield from _lying_plate(v, z)
        yield from _plan_modules(v, z, part_id)
        return
    yield from _lying_plate(v, z)
    if (block.x[1] - block.x[0]) / u > 90:
        size = f"{words(plate.size[0])} × {words(plate.size[1])} × {words(plate.thickness)}"
        x, y = (block.x[0] + block.x[1]) / 2, (block.y[0] + block.y[1]) / 2
        yield Text(x, y, "Plate", "name", dy=18, plaque=True)
        yield Text(x, y, size, "small", dy=-18, plaque=True)


def _lying_plate(v: Views, z: float) -> Iterator[Item]:
    """A plate that lies flat, dashed where the cut runs below it."""
    plate, block = v.job.plate, v.plate
    is_over = z < block.z[0]
    outline = tuple((x + block.x[0], y + block.y[0]) for x, y in plate.outline)
    yield polygon(outline, "hidden" if is_over else "edge", "none" if is_over else "plate",
                  radius=plate.corner_radius)
    for hole in plate.holes:
        yield polygon(tuple((x + block.x[0], y + block.y[0]) for x, y in hole), "thin", "sheet")


def _plan_opening(v: Views, u: float, x: tuple[float, float], y: tuple[float, float]
                  ) -> Iterator[Item]:
    place = v.place
    if place.side == "top":
        yield Group((place.outline("hidden"),), "opening")
    size = "opening_diameter" if place.is_round else "opening_width"
    text = f"⌀ {words(place.width)}" if place.is_round else words(place.width)
    a, b = place.x
    if place.side == "back":
        yield Dimension(a, y[1], b, y[1], text, GAP_PX * u, size)
    else:
        yield Dimension(b, y[0], a, y[0], text, GAP_PX * u, size)
    label = {"top": "opening in the top", "front": "opening in front", "back": "opening behind"}
    level = y[1] + GAP_PX * u if place.side == "back" else y[0] - GAP_PX * u
    yield Text((a + b) / 2, level, label[place.side], "small",
               dy=26 if place.side == "back" else -14)
    if abs(place.along) > 0:
        near, far = sorted((0.0, place.along))
        yield Dimension(near, y[1], far, y[1], words(place.along), 0.5 * GAP_PX * u,
                        "opening_sideways")
    if place.side == "top" and abs(place.over) > 0:
        near, far = sorted((0.0, place.over))
        yield Dimension(x[1], far, x[1], near, words(place.over), 0.8 * GAP_PX * u, "opening_deep")


def _plan_dimensions(v: Views, u: float) -> Iterator[Item]:
    """Free height in front of an upright plate, at its middle and near its edge."""
    if not v.upright:
        return
    cavity = Cavity.of(v.job.body, v.job.plate)
    width, height = v.job.plate.size
    for share in (0.72, 0.97):
        free = cavity.free_height(width * share, height / 2, "front")
        if free / u > SHORTEST_PX:
            x = v.plate.x[0] + share * width
            yield Dimension(x, v.plate.y[0] - free, x, v.plate.y[0], words(free))

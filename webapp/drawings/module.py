"""One module by itself, in its own frame: seen from its top, and from its lower side.

x to the right, y up, mm; the lower left corner of most outlines is 0, 0.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import cos, radians, sin

from layout_engine.geometry.outlines import bounds
from layout_engine.model.part_type import (
    Antenna,
    Heat,
    PartType,
    RoundCutOut,
    Terminal,
)
from layout_engine.sheets.cut_outs import slot_outline
from layout_engine.tables.fasteners import medium_hole
from layout_engine.units import format_number
from webapp.drawings.primitives import (
    Anchor,
    Circle,
    Dimension,
    Drawing,
    Fill,
    Group,
    Item,
    Line,
    Path,
    Pen,
    Text,
    polygon,
    rings,
)

Points = Sequence[tuple[float, float]]
CROSS_BEYOND_MM = 1.3  # how far a hole's centre cross stands out
TERMINAL_MM = 3.1
SHIELD_INSET_MM = 1.0
FINS = 14
CORNER_MM = 1.0
MOST_ROUNDED = 100  # corners of an outline; one of more is drawn as it is, in a third of the text
MARK_OFF_MM = 1.2  # between a terminal and its printed mark
SLANT = 0.5  # cosine under which a wire counts as leaving up or down
ROOM_HALF_MM = 5.0  # the contract's strip along a terminal's wire, each side
AERIAL_RAYS = (60.0, 120.0)
PLATE_MM = 3.0  # thickness at which the side view draws a plate


def silhouette(kind: PartType) -> Drawing:
    """The small drawing of a list: outline, holes, cut-outs."""
    x0, y0, x1, y1 = bounds(kind.outline)
    edge = max(x1 - x0, y1 - y0) * 0.04
    holes = tuple(Circle(f.x, f.y, medium_hole(f.thread), "thin") for f in kind.fixings)
    items = (polygon(tuple(kind.outline), "outline", "part"), *_cut_outs(kind, "thin"), *holes)
    return Drawing(x0 - edge, y0 - edge, x1 - x0 + 2 * edge, y1 - y0 + 2 * edge, items, kind.name)


def module_items(kind: PartType) -> tuple[Item, ...]:
    """Everything that belongs to a module in its own frame, without dimensions."""
    return (
        *layer("keep_free", (polygon(tuple(z.outline), "fine", "keep_free")
                              for z in kind.keep_outs)),
        *layer("rooms", _rooms(kind)),
        polygon(tuple(kind.outline), "outline", "part",
                radius=CORNER_MM if len(kind.outline) <= MOST_ROUNDED else 0.0),
        *layer("behind", (polygon(tuple(b.outline), "hidden") for b in kind.behind)),
        *layer("shields", (i for s in kind.shields for i in _shield(tuple(s.outline)))),
        *(_sink(kind.heat) if kind.heat else ()),
        *_cut_outs(kind, "outline"),
        *(polygon(slot_outline(slot), "thin") for slot in kind.slots),
        *sorted(_places(kind), key=lambda item: isinstance(item, Line)),
        *(_aerial(kind.antenna) if kind.antenna else ()),
        *(i for s in kind.service for i in _service(s.x, s.y)),
    )


def layer(role: str, items: Iterable[Item]) -> Iterator[Group]:
    """A group of what a module has of one thing; none where it has none of it."""
    if held := tuple(items):
        yield Group(held, role)


def _places(kind: PartType) -> Iterator[Item]:
    """Fixing holes and terminals. Their lines, drawn after all else of them, are one element."""
    for f in kind.fixings:
        yield from crossed_circle(f.x, f.y, medium_hole(f.thread))
    for terminal in kind.terminals:
        yield from _terminal(terminal)


def module_drawing(kind: PartType) -> Drawing:
    """Plan and, below it, side view of a module, with dimensions that the form's fields light."""
    x0, y0, x1, y1 = bounds(kind.outline)
    left, low, right, top = _extent(kind)
    off = max(6.0, 0.06 * max(x1 - x0, y1 - y0))
    face = low - 3.5 * off - kind.standoff - kind.height
    bottom = face - PLATE_MM - max((b.height for b in kind.behind), default=0.0) - off
    items = (
        *module_items(kind),
        Dimension(x1, y0, x0, y0, _figure(x1 - x0), y0 - low + off, "width"),
        Dimension(x0, y0, x0, y1, _figure(y1 - y0), x0 - left + off, "depth"),
        *_side_view(kind, face, off),
    )
    left, right = left - 3 * off, max(right, x1 + 2 * off) + off
    return Drawing(left, bottom, right - left, top + off - bottom, items, kind.name)


def _extent(kind: PartType) -> tuple[float, float, float, float]:
    """Least x, least y, greatest x, greatest y of the module with all the room it needs."""
    outlines = [
        kind.outline, *(z.outline for z in kind.keep_outs), *(b.outline for b in kind.behind),
        *(_strip(t, kind.outline) for t in kind.terminals if t.room),
    ]
    edges = [bounds(outline) for outline in outlines]
    return (min(e[0] for e in edges), min(e[1] for e in edges),
            max(e[2] for e in edges), max(e[3] for e in edges))


def _figure(value: float) -> str:
    return format_number(round(value, 2))


def crossed_circle(x: float, y: float, diameter: float) -> tuple[Item, ...]:
    """A hole with its centre cross."""
    reach = diameter / 2 + CROSS_BEYOND_MM
    return (Circle(x, y, diameter, "outline", "hole"), Line(x - reach, y, x + reach, y, "thin"),
            Line(x, y - reach, x, y + reach, "thin"))


def _cut_outs(kind: PartType, pen: Pen) -> tuple[Item, ...]:
    return tuple(
        Circle(cut.x, cut.y, cut.diameter, pen, "sheet") if isinstance(cut, RoundCutOut)
        else polygon(tuple(cut), pen, "sheet")
        for cut in kind.through
    )


def _rooms(kind: PartType) -> Iterator[Path]:
    """Bend room of all terminals as one path; strips may overlap."""
    strips = [_strip(t, kind.outline) for t in kind.terminals if t.room]
    if strips:
        yield rings(strips, "none", "room")


def _strip(terminal: Terminal, outline: Points) -> tuple[tuple[float, float], ...]:
    """The bend room: a strip from the terminal to `room` beyond the outline's extent."""
    c, s = cos(radians(terminal.leaves)), sin(radians(terminal.leaves))
    edge = max((x - terminal.x) * c + (y - terminal.y) * s for x, y in outline)
    far = max(edge, 0.0) + terminal.room
    ends = ((0.0, -ROOM_HALF_MM), (far, -ROOM_HALF_MM), (far, ROOM_HALF_MM), (0.0, ROOM_HALF_MM))
    return tuple((terminal.x + c * u - s * v, terminal.y + s * u + c * v) for u, v in ends)


def _shield(outline: tuple[tuple[float, float], ...]) -> tuple[Item, ...]:
    x0, y0, x1, y1 = bounds(outline)
    inner = SHIELD_INSET_MM
    if x1 - x0 <= 4 * inner or y1 - y0 <= 4 * inner or len(outline) != 4:
        return (polygon(outline, "thin"),)
    ring = ((x0 + inner, y0 + inner), (x1 - inner, y0 + inner), (x1 - inner, y1 - inner),
            (x0 + inner, y1 - inner))
    return (polygon(outline, "thin"), polygon(ring, "fine"))


def _sink(heat: Heat) -> tuple[Item, ...]:
    if heat.sink is None:
        return ()
    x0, y0, x1, y1 = bounds(heat.sink)
    lines: list[Item] = []
    for step in range(1, FINS if heat.fins else 1):
        share = step / FINS
        if heat.fins == "y":
            lines.append(Line(x0 + share * (x1 - x0), y0, x0 + share * (x1 - x0), y1, "fine"))
        else:
            lines.append(Line(x0, y0 + share * (y1 - y0), x1, y0 + share * (y1 - y0), "fine"))
    return (polygon(tuple(heat.sink), "thin"), Group(tuple(lines), "fins"))


def _terminal(terminal: Terminal) -> tuple[Item, ...]:
    slot = TERMINAL_MM * 0.3
    x, y = terminal.x, terminal.y
    c, s = cos(radians(terminal.leaves)), sin(radians(terminal.leaves))
    inward = TERMINAL_MM / 2 + MARK_OFF_MM
    mark = Text(x - c * inward, y - s * inward, terminal.mark, "mark", _anchor(c, s),
                turn=90.0 if abs(c) < SLANT else 0.0)
    drawn = (Circle(x, y, TERMINAL_MM, "thin"), Line(x - slot, y - slot, x + slot, y + slot))
    return (*drawn, mark) if terminal.mark else drawn


def _anchor(c: float, s: float) -> Anchor:
    """Which end of a mark stands at its terminal: marks read from below, or from the right."""
    along = c if abs(c) >= SLANT else s
    return "end" if along > 0 else "start"


def _aerial(antenna: Antenna) -> tuple[Item, ...]:
    x, y, arm = antenna.x, antenna.y, 3.0
    rays = tuple(
        Line(x, y, x + arm * cos(radians(a)), y + arm * sin(radians(a)), "thin")
        for a in AERIAL_RAYS
    )
    ring = antenna.keep_from_metal
    far = (Circle(x, y, 2 * ring, "axis"),) if ring else ()
    return (Circle(x, y, 1.5, "thin", "ink"), *rays, *far)


def _service(x: float, y: float) -> tuple[Item, ...]:
    half = 1.2
    return (polygon(((x - half, y), (x, y - half), (x + half, y), (x, y + half)), "thin"),)


def _side_view(kind: PartType, face: float, off: float) -> tuple[Item, ...]:
    """The module over a plate whose front lies at y = `face`, seen along y."""
    x0, _, x1, _ = bounds(kind.outline)
    under, top = face + kind.standoff, face + kind.standoff + kind.height
    legs: tuple[Item, ...] = tuple(
        _box(f.x - 2, face, f.x + 2, under, "thin") for f in kind.fixings
    ) if kind.standoff else ()
    behind = tuple(
        _box(b[0], face - PLATE_MM - z.height, b[2], face - PLATE_MM, "hidden")
        for z in kind.behind if z.height for b in (bounds(z.outline),)
    )
    stands = (Dimension(x1, under, x1, face, _figure(kind.standoff), off, "standoff"),) \
        if kind.standoff else ()
    return (
        _box(x0 - 6, face - PLATE_MM, x1 + 6, face, "thin", "section"), *legs, *behind,
        *((_box(x0, under, x1, top, "outline", "part"),) if kind.height else ()),
        *((Dimension(x0, under, x0, top, _figure(kind.height), off, "height"),)
          if kind.height else ()), *stands,
    )


def _box(x0: float, y0: float, x1: float, y1: float, pen: Pen, fill: Fill = "none") -> Path:
    corners = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
    return polygon(corners, pen, fill)

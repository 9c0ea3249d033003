"""The board: a job's plate and all that stands on it, one face at a time.

Front: as the plate's own frame. Back: as seen from behind, left and right exchanged, the datum
corner on the right. Through: from the front, the far face in hidden lines.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence

from layout_engine.arranging.cost import exit_of
from layout_engine.geometry.outlines import bounds, simplified
from layout_engine.model.job import Job
from layout_engine.model.part import Part
from layout_engine.model.plate import Mount
from webapp.drawings.board_module import BoardModule
from webapp.drawings.module import crossed_circle, module_drawing
from webapp.drawings.primitives import (
    Circle,
    Drawing,
    Group,
    Item,
    Line,
    Path,
    Text,
    figure,
    polygon,
)
from webapp.drawings.seen import Seen, Stand, View

SCALE_OFF_PX, SCALE_SIDE_PX, SCALE_FOOT_PX, FREE_PX = 14.0, 56.0, 48.0, 26.0
TICKS_PX = {50: 8.0, 10: 5.0, 5: 2.5}
LAST_FIGURE_MM = 12.0  # the full length gets a figure when it is farther from the last
CROWDED_MM = 24.0  # a figure nearer to it gives way: on a telephone they would stand in each other
THUMB_EDGE = 0.03
THUMB_DETAIL = 0.002  # of the longer side: half a pixel of the small picture

part_drawing = module_drawing


def board(job: Job, view: View = "front", words: Mapping[str, str] | None = None) -> Drawing:
    """The drawing of one face, or of both seen through from the front.

    words: accessible description for each part id ("x 80 mm, y 50 mm, touches Fuse block").
    """
    width, height = job.plate.size
    seen = Seen(view, width, height)
    pixel = seen.pixel
    modules = [
        BoardModule(part, job.type_of(part), seen, (words or {}).get(part.id, ""))
        for part in job.placed
    ]
    left = (FREE_PX if seen.mirrored else SCALE_SIDE_PX) * pixel
    wide = (FREE_PX + SCALE_SIDE_PX) * pixel + width
    foot = SCALE_FOOT_PX * pixel
    items = tuple(_layers(job, seen, modules))
    return Drawing(-left, -foot, wide, height + foot + FREE_PX * pixel, items,
                   f"Board of {job.name}, {_view_words(view)}", plate_path(job, seen))


def module_on_board(job: Job, part: Part, view: View) -> Drawing:
    """One part as the board would show it at its placement: what a page swaps in when it turns."""
    seen = Seen(view, *job.plate.size)
    module = BoardModule(part, job.type_of(part), seen)
    groups = (module.zones(), module.body(), module.aerial())
    x0, y0, x1, y1 = bounds(module.stand.offsets(job.type_of(part).outline))
    return Drawing(x0, y0, x1 - x0, y1 - y0, tuple(g for g in groups if g), part.title)


def thumbnail(job: Job) -> Drawing:
    """A small picture of the board for lists: the plate and its modules, the back in dashes."""
    width, height = job.plate.size
    seen = Seen("through", width, height)
    edge = max(width, height) * THUMB_EDGE
    shown = sorted(job.placed, key=lambda p: p.placement is not None and p.placement.face != "back")
    outlines = {name: simplified(job.types[name].outline, max(width, height) * THUMB_DETAIL)
                for name in {part.type for part in shown}}
    items: tuple[Item, ...] = (
        plate_path(job, seen),
        *(_silhouette(outlines[part.type], seen.stand(part.placement), part.placement.face)
          for part in shown if part.placement is not None),
    )
    return Drawing(-edge, -edge, width + 2 * edge, height + 2 * edge, items, f"Board of {job.name}")


def plate_path(job: Job, seen: Seen) -> Path:
    """The plate's edge with its corners, and its cut-outs."""
    plate = job.plate
    edge = polygon(seen.points(plate.outline), "edge", "plate", radius=plate.corner_radius)
    holes = tuple(c for h in plate.holes for c in polygon(seen.points(h)).commands)
    return Path((*edge.commands, *holes), "edge", "plate")


def _silhouette(own: Sequence[tuple[float, float]], stand: Stand, face: str) -> Group:
    far = face == "back"
    outline = polygon(stand.offsets(own), "hidden" if far else "thin",
                      "none" if far else "part")
    return Group((outline,), transform=(0.0, False, stand.x, stand.y))


def _view_words(view: View) -> str:
    return {"front": "the front", "back": "the back, seen from behind",
            "through": "both faces, seen through from the front"}[view]


def _layers(job: Job, seen: Seen, modules: list[BoardModule]) -> Iterator[Group]:
    """From below: plate, keep-free, modules, other face, holes of the plate, scales."""
    near = [m for m in modules if not m.is_far]
    far = [m for m in modules if m.is_far]
    own = [*far, *near] if seen.view == "through" else near
    yield Group((plate_path(job, seen), *_margin(job, seen)), "plate")
    yield Group(tuple(_plate_zones(job, seen)), "plate_zones")
    yield Group(tuple(m.zones() for m in own), "zones_layer")
    if seen.view != "through":
        yield Group(tuple(m.behind() for m in far if m.kind.behind), "stands_out_layer")
    yield Group(tuple(m.body() for m in own), "modules")
    if seen.view != "through":
        yield Group(tuple(m.dashed(near) for m in far), "other_face")
    yield Group(tuple(a for m in own if (a := m.aerial())), "aerials")
    yield Group(tuple(_plate_holes(job, seen)), "plate_holes")
    yield Group(tuple(_leads(job, seen)), "leads")
    yield Group((*_scale_x(seen, job.plate.size[0]), *_scale_y(seen, job.plate.size[1]),
                 _datum(seen)), "scales")


def _margin(job: Job, seen: Seen) -> Iterator[Item]:
    """The edge margin of a rectangular plate, dotted; other plates show it only in findings."""
    plate, (width, height) = job.plate, job.plate.size
    m = plate.edge_margin
    corners = {(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)}
    if m > 0 and set(plate.outline) == corners and 2 * m < min(width, height):
        ring = ((m, m), (width - m, m), (width - m, height - m), (m, height - m))
        yield polygon(seen.points(ring), "margin", radius=max(0.0, plate.corner_radius - m))


def _plate_zones(job: Job, seen: Seen) -> Iterator[Item]:
    for zone in job.plate.keep_outs:
        if seen.view != "through" and seen.face not in zone.faces:
            continue
        outline = seen.points(zone.outline)
        x0, y0, x1, y1 = bounds(outline)
        words = zone.label or "keep free"
        if zone.max_height:
            words += f", {figure(zone.max_height)} at most"
        yield Group((polygon(outline, "fine", "keep_free"),
                     Text((x0 + x1) / 2, (y0 + y1) / 2, words, "small", plaque=True)), "plate_zone")


def _plate_holes(job: Job, seen: Seen) -> Iterator[Item]:
    for old in job.plate.existing_holes:
        yield Group(crossed_circle(*seen.point(old.x, old.y), old.diameter), "existing")
    for mount in job.plate.mounts:
        yield _mount(mount, seen)


def _mount(mount: Mount, seen: Seen) -> Group:
    x, y = seen.point(mount.x, mount.y)
    head = (Circle(x, y, mount.head_diameter, "thin"),) if mount.head_diameter else ()
    return Group((*head, *crossed_circle(x, y, mount.diameter)), "mount", mount.id)


def _edge_at(job: Job, x: float, y: float) -> str:
    """The edge of the plate's bounding box that is nearest to a point."""
    width, height = job.plate.size
    gaps = {"bottom": y, "top": height - y, "left": x, "right": width - x}
    return min(gaps, key=lambda edge: gaps[edge])


def _leads(job: Job, seen: Seen) -> Iterator[Item]:
    """A triangle where leads leave the plate; leads that leave at one place share it."""
    wired = {end[0] for c in job.connections for end in c.ends}
    places: dict[tuple[float, float, str], list[Part]] = defaultdict(list)
    for part in job.parts:
        if part.away is not None and part.id in wired:
            x, y = exit_of(job, part)
            edge = part.away.exit if isinstance(part.away.exit, str) else _edge_at(job, x, y)
            places[x, y, edge].append(part)
    for (x, y, edge), parts in places.items():
        yield from _lead(*seen.point(x, y), _edge_seen(edge, seen), parts)


def _edge_seen(edge: str, seen: Seen) -> str:
    swapped = {"left": "right", "right": "left"}
    return swapped.get(edge, edge) if seen.mirrored else edge


def _lead(x: float, y: float, edge: str, parts: list[Part]) -> Iterator[Item]:
    names = ", ".join(part.title for part in parts)
    data = {"sign": f"lead_{edge}", "leads": names}
    yield Group((), "mark", key=f"lead_{parts[0].id}", transform=(0.0, False, x, y), data=data)


def _scale_x(seen: Seen, width: float) -> Iterator[Item]:
    off = SCALE_OFF_PX
    ticks = [Line(0, -off, width, -off, "fine")]
    for at, length in _ticks(width):
        x = seen.point(at, 0)[0]
        ticks.append(Line(x, -off, x, -off - length, "fine"))
    yield Group(tuple(ticks), "px_y")
    for at in _figures(width):
        yield Text(seen.point(at, 0)[0], 0, figure(round(at, 1)), "scale", dy=-off - 17)


def _scale_y(seen: Seen, height: float) -> Iterator[Item]:
    """On the datum's side: left in the front view, right from behind."""
    side = 1.0 if seen.mirrored else -1.0
    off = SCALE_OFF_PX * side
    ticks = [Line(off, 0, off, height, "fine")]
    for at, length in _ticks(height):
        ticks.append(Line(off, at, off + length * side, at, "fine"))
    x = seen.point(0, 0)[0]
    yield Group(tuple(ticks), "px_x", transform=(0.0, False, x, 0.0))
    for at in _figures(height):
        yield Text(x, at, figure(round(at, 1)), "scale", "start" if seen.mirrored else "end",
                   dx=off + 12 * side)


def _ticks(length: float) -> Iterator[tuple[float, float]]:
    for at in range(0, int(length) + 1, 5):
        yield float(at), next(px for step, px in TICKS_PX.items() if at % step == 0)
    if length % 5:
        yield length, TICKS_PX[50]


def _figures(length: float) -> Iterator[float]:
    """Figures on the edge scale: every 50 mm (100 on a long edge), and the full length."""
    step = 50 if length <= 800 else 100
    marks = [float(at) for at in range(0, int(length) + 1, step)]
    last = length - marks[-1]
    yield from marks[:-1] if LAST_FIGURE_MM < last < CROWDED_MM and len(marks) > 1 else marks
    if last > LAST_FIGURE_MM:
        yield length


def _datum(seen: Seen) -> Group:
    sign = "datum_right" if seen.mirrored else "datum_left"
    return Group((), "mark", transform=(0.0, False, *seen.point(0.0, 0.0)), data={"sign": sign})

"""The plate by itself from the front: outline with dimensions, holes, mounting points, zones.

Plate frame, mm. Three handles at the right and upper edge of a rectangle change its size.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.checks.standing import Standing
from layout_engine.geometry.corners import Corner, rounded
from layout_engine.geometry.inset import inset_section
from layout_engine.geometry.outlines import bounds
from layout_engine.geometry.shapes import vertices
from layout_engine.model.job import Job
from layout_engine.model.plate import Plate
from webapp.drawings.body_parts import words
from webapp.drawings.module import crossed_circle
from webapp.drawings.primitives import (
    Circle,
    Dimension,
    Drawing,
    Group,
    Item,
    Path,
    Text,
    polygon,
)

WIDE_PX = 560.0
TALL_PX = 560.0
HANDLE_PX = 6.0


def plate_drawing(job: Job, *, handles: bool) -> Drawing:
    """The plate with its dimensions; with `handles` its size can be dragged."""
    plate = job.plate
    width, height = plate.size
    u = max(width / WIDE_PX, height / TALL_PX)
    items: tuple[Item, ...] = (
        polygon(plate.outline, "edge", "plate", radius=plate.corner_radius),
        *_zones(plate, u), *_modules(job), *_margin(plate), *_openings(plate), *_mounts(plate),
        *_dimensions(plate, u), *(_handles(plate) if handles else ()),
    )
    pad = 62 * u
    return Drawing(-pad, -pad, width + 2 * pad, height + 2 * pad, items,
                   f"The plate from the front, {words(width)} by {words(height)} mm")


def _zones(plate: Plate, u: float) -> Iterator[Item]:
    for number, zone in enumerate(plate.keep_outs):
        x0, y0, x1, y1 = bounds(zone.outline)
        shape = polygon(zone.outline, "thin", "keep_free")
        room = (x1 - x0) / u > 6.5 * len(zone.label) and (y1 - y0) / u > 16
        label = Text((x0 + x1) / 2, (y0 + y1) / 2, zone.label, "small", plaque=True)
        yield Group((shape, label) if room and zone.label else (shape,), "zone",
                    f"keep_outs-{number}")


def _modules(job: Job) -> Iterator[Item]:
    for part in job.placed:
        standing = Standing.of(job, part)
        corners = tuple((float(x), float(y)) for x, y in vertices(standing.outline))
        yield polygon(corners, "fine" if standing.face == "front" else "hidden")


def _margin(plate: Plate) -> Iterator[Item]:
    if plate.edge_margin <= 0:
        return
    middle = (plate.size[0] / 2, plate.size[1] / 2)
    inner = inset_section(plate.outline, plate.edge_margin, middle)
    if inner is not None:
        yield polygon(inner, "margin")


def _openings(plate: Plate) -> Iterator[Item]:
    for number, hole in enumerate(plate.holes):
        yield Group((polygon(hole, "outline", "sheet"),), "cut-out", f"holes-{number}")
    for number, drilled in enumerate(plate.existing_holes):
        circle = crossed_circle(drilled.x, drilled.y, drilled.diameter)
        yield Group(circle, "existing", f"existing_holes-{number}")


def _mounts(plate: Plate) -> Iterator[Item]:
    for number, mount in enumerate(plate.mounts):
        ring = (Circle(mount.x, mount.y, mount.head_diameter, "fine"),) \
            if mount.head_diameter > mount.diameter else ()
        yield Group((*ring, *crossed_circle(mount.x, mount.y, mount.diameter)), "mount",
                    f"mounts-{number}")


def _dimensions(plate: Plate, u: float) -> Iterator[Item]:
    width, height = plate.size
    yield Dimension(width, 0.0, 0.0, 0.0, words(width), 30 * u, "width")
    yield Dimension(0.0, 0.0, 0.0, height, words(height), 30 * u, "height")
    if plate.edge_margin > 0 and width > 4 * plate.edge_margin:
        x = width * 0.62
        m = plate.edge_margin
        text = Text(x, height, f"{words(m)} free", "small", "start", dx=6, dy=12)
        line = Dimension(x, height - m, x, height, "")
        yield Group((line, text), "edge-margin", "edge_margin")
    arcs = [c for c in rounded(plate.outline, plate.corner_radius) if isinstance(c, Corner)]
    arc = min(arcs, key=lambda c: c.centre[0] + c.centre[1], default=None)
    if arc is not None:
        yield Group(
            (Path((("M", *arc.centre), ("L", *_middle(arc))), "thin"),
             Text(*_middle(arc), f"R {words(arc.radius)}", "small", "end", dx=-5, dy=-11)),
            "radius", "corner_radius")


def _middle(arc: Corner) -> tuple[float, float]:
    """The middle of an arc."""
    cx, cy = arc.centre
    x, y = (arc.start[0] + arc.end[0]) / 2 - cx, (arc.start[1] + arc.end[1]) / 2 - cy
    share = arc.radius / max((x * x + y * y) ** 0.5, 1e-9)
    return cx + x * share, cy + y * share


def _handles(plate: Plate) -> Iterator[Item]:
    width, height = plate.size
    square = polygon(((-HANDLE_PX, -HANDLE_PX), (HANDLE_PX, -HANDLE_PX), (HANDLE_PX, HANDLE_PX),
                      (-HANDLE_PX, HANDLE_PX)), "outline", "sheet")
    for name, x, y in (("x", width, height / 2), ("y", width / 2, height), ("xy", width, height)):
        yield Group((Group((square,), "px"),), f"handle handle-{name}",
                    transform=(0.0, False, x, y), data={"handle": name})

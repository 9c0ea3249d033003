"""The loaded plate on its way through the opening, with the gaps that are left."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from layout_engine.model.job import Job
from webapp.drawings.body_parts import (
    Box3,
    OpeningPlace,
    module_blocks,
    plate_block,
    rectangle,
    words,
)
from webapp.drawings.primitives import Circle, Dimension, Drawing, Group, Item, Path, Text, polygon

VIEW_PX = 230.0


@dataclass(frozen=True, slots=True)
class Way:
    """The board across its way in: which body axes are seen, and the extent of everything."""

    axes: tuple[str, str]
    across: tuple[float, float]
    up: tuple[float, float]

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the loaded board across its way."""
        return self.across[1] - self.across[0], self.up[1] - self.up[0]


def way_of(job: Job) -> Way:
    """The loaded board seen along its way through the opening, as it will stand."""
    axes = ("x", "y") if job.body.opening.in_ == "top" else ("x", "z")
    blocks = [plate_block(job), *module_blocks(job)]
    spans = [[getattr(block, axis) for block in blocks] for axis in axes]
    across, up = ((min(s[0] for s in of), max(s[1] for s in of)) for of in spans)
    return Way(axes, across, up)


def depth_of(job: Job) -> float:
    """Plate and everything on it, measured through the plate, mm."""
    axis = "y" if job.plate.stands == "upright" else "z"
    spans = [getattr(block, axis) for block in (plate_block(job), *module_blocks(job))]
    return float(max(s[1] for s in spans) - min(s[0] for s in spans))


def passing_view(job: Job) -> Drawing:
    """The opening face on, the loaded board in its middle."""
    way, place = way_of(job), OpeningPlace.of(job.body)
    wide, high = max(place.width, way.size[0]), max(place.height, way.size[1])
    u = max(wide, high) / VIEW_PX
    cx, cy = sum(way.across) / 2, sum(way.up) / 2
    frame: Item = (
        Circle(cx, cy, place.width, "outline") if place.is_round else
        rectangle((cx - place.width / 2, cx + place.width / 2),
                  (cy - place.height / 2, cy + place.height / 2), "outline")
    )
    items = (frame, *_board(job, way), *_gaps(way, place))
    pad = 44 * u
    return Drawing(cx - wide / 2 - pad, cy - high / 2 - 12 * u, wide + 2 * pad,
                   high + 12 * u + pad, items, "The plate in the opening, with what stands on it")


def _board(job: Job, way: Way) -> Iterator[Item]:
    plate, block = job.plate, plate_block(job)
    modules = tuple(_seen(b, way) for b in module_blocks(job))
    face_on = (way.axes == ("x", "z")) == (plate.stands == "upright")
    if not face_on:
        yield Group(modules, "modules")
        yield rectangle(getattr(block, way.axes[0]), getattr(block, way.axes[1]), "edge", "plate")
        return
    x, y = block.x[0], getattr(block, way.axes[1])[0]
    outline = tuple((px + x, py + y) for px, py in plate.outline)
    yield polygon(outline, "edge", "plate", radius=plate.corner_radius)
    yield Group(modules, "modules")


def _seen(block: Box3, way: Way) -> Path:
    return rectangle(getattr(block, way.axes[0]), getattr(block, way.axes[1]), "thin", "part")


def _gaps(way: Way, place: OpeningPlace) -> Iterator[Item]:
    """What is left beside and above a rectangular opening, each side."""
    if place.is_round:
        return
    beside = (place.width - way.size[0]) / 2
    above = (place.height - way.size[1]) / 2
    if beside > 0:
        level = way.up[0] + 0.28 * way.size[1]
        edge = way.across[1] + beside
        yield Dimension(way.across[1], level, edge, level, "")
        yield Text(edge, level, words(beside), "dimension", "start", dx=14)
    if above > 0:
        x = way.across[0] + 0.72 * way.size[0]
        edge = way.up[1] + above
        yield Dimension(x, way.up[1], x, edge, "")
        yield Text(x, edge, words(above), "dimension", "start", dx=6, dy=14)



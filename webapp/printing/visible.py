"""Which items of a drawing show in a window: a sheet of many draws only what it shows."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from webapp.drawings.primitives import Circle, Group, Item, Line, Path
from webapp.printing.placing import Box

WIDEST_LINE_MM = 0.7


def shown(items: Iterable[Item], window: Box) -> Iterator[Item]:
    """The items that reach into the window, in their order; what has no plain box always shows."""
    wide = window.grown(WIDEST_LINE_MM)
    for item in items:
        if isinstance(item, Group) and item.transform is None:
            yield Group(tuple(shown(item.items, window)), item.role, item.key, item.label)
        else:
            box = _box(item)
            if box is None or box.meets(wide):
                yield item


def _box(item: Item) -> Box | None:
    """The item's box; curves lie within their control points."""
    match item:
        case Line():
            numbers = [item.x1, item.y1, item.x2, item.y2]
        case Circle():
            return Box(item.x, item.y, item.x, item.y).grown(item.diameter / 2)
        case Path() if item.commands:
            values = [value for command in item.commands for value in command[1:]]
            numbers = [float(value) for value in values]
        case _:
            return None
    xs, ys = numbers[0::2], numbers[1::2]
    return Box(min(xs), min(ys), max(xs), max(ys)).grown(1e-6)

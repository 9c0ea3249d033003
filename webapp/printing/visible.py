"""Which items of a drawing show in a window: a sheet of many draws only what it shows.

Boxes are worked out once a drawing, not once a window: an outline may have 2000 corners.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from webapp.drawings.primitives import Circle, Group, Item, Line, Path
from webapp.printing.placing import Box

WIDEST_LINE_MM = 0.7


@dataclass(frozen=True, slots=True)
class Boxed:
    """An item with its box, None where it has no plain one; a plain group with its items boxed."""

    item: Item
    box: Box | None
    inner: tuple[Boxed, ...] = ()

    @classmethod
    def of(cls, items: Iterable[Item]) -> tuple[Boxed, ...]:
        """Items in their order."""
        return tuple(cls(item, None, cls.of(item.items)) if isinstance(item, Group)
                     and item.transform is None else cls(item, _box(item)) for item in items)


def shown(drawing: Iterable[Boxed], window: Box) -> Iterator[Item]:
    """The items that reach into the window, in their order; what has no plain box always shows."""
    wide = window.grown(WIDEST_LINE_MM)
    for one in drawing:
        item = one.item
        if isinstance(item, Group) and item.transform is None:
            yield Group(tuple(shown(one.inner, window)), item.role, item.key, item.label)
        elif one.box is None or one.box.meets(wide):
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

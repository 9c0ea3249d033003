"""The drawing of one module: true to scale, and everything that the form holds is in it."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from layout_engine.geometry.outlines import bounds
from layout_engine.model.document import load_record
from layout_engine.model.part_type import PartType
from webapp.drawings.module import module_drawing, module_items, silhouette
from webapp.drawings.primitives import Circle, Dimension, Group, Item, Path, Text
from webapp.resources import folder
from webapp.seed import read_shelf

SHELF = read_shelf(folder("seed_data"))
KINDS: dict[str, PartType] = {
    type_id: load_record(PartType, value, type_id) for type_id, value in SHELF.items()
}
# ISO 273:1979, medium fit, clearance holes
MEDIUM = {"M2.5": 2.9, "M3": 3.4, "M4": 4.5}
EACH = pytest.mark.parametrize("type_id", sorted(KINDS))


def flat(items: tuple[Item, ...]) -> Iterator[Item]:
    for item in items:
        yield item
        if isinstance(item, Group):
            yield from flat(item.items)


@EACH
def test_every_hole_is_drawn_at_its_place_with_its_clearance(type_id: str) -> None:
    kind = KINDS[type_id]
    circles = {(c.x, c.y, c.diameter) for c in flat(module_items(kind)) if isinstance(c, Circle)}
    assert {(f.x, f.y, MEDIUM[f.thread]) for f in kind.fixings} <= circles


@EACH
def test_every_printed_mark_is_written(type_id: str) -> None:
    written = [t.text for t in flat(module_items(KINDS[type_id])) if isinstance(t, Text)]
    assert sorted(written) == sorted(t.mark for t in KINDS[type_id].terminals if t.mark)


@EACH
def test_its_dimensions_say_its_sizes_and_belong_to_the_fields(type_id: str) -> None:
    kind = KINDS[type_id]
    x0, y0, x1, y1 = bounds(kind.outline)
    said = {d.key: float(d.text) for d in module_drawing(kind).items if isinstance(d, Dimension)}
    wanted = {"width": x1 - x0, "depth": y1 - y0, "height": kind.height,
              "standoff": kind.standoff}
    assert said == {key: pytest.approx(v, abs=0.005) for key, v in wanted.items() if v}


@EACH
def test_all_that_is_drawn_lies_in_the_window(type_id: str) -> None:
    drawing = module_drawing(KINDS[type_id])
    right, top = drawing.left + drawing.width, drawing.bottom + drawing.height
    for item in flat(drawing.items):
        points = []
        if isinstance(item, Path) and item.fill != "room":
            points = [command[-2:] for command in item.commands if len(command) > 1]
        if isinstance(item, Circle) and item.pen != "axis":
            points = [(item.x, item.y)]
        for x, y in points:
            assert drawing.left <= float(x) <= right
            assert drawing.bottom <= float(y) <= top


@EACH
def test_the_silhouette_is_the_outline_and_its_holes(type_id: str) -> None:
    kind = KINDS[type_id]
    drawing = silhouette(kind)
    assert drawing.title == kind.name
    circles = [item for item in drawing.items if isinstance(item, Circle)]
    rounds = [cut for cut in kind.through if not isinstance(cut, tuple)]
    assert len(circles) == len(kind.fixings) + len(rounds)


def test_fins_run_the_way_they_are_said_to() -> None:
    driver = KINDS["motor_driver_dual_25a"]
    assert driver.heat is not None
    assert driver.heat.fins == "y"
    fins = next(i for i in module_items(driver) if isinstance(i, Group) and i.role == "fins")
    assert all(line.x1 == line.x2 for line in fins.items)  # type: ignore[union-attr]


def test_bend_room_reaches_beyond_the_outline_by_the_room() -> None:
    strip = KINDS["terminal_strip_4"]
    rooms = next(i for i in module_items(strip) if isinstance(i, Group) and i.role == "rooms")
    ys = [float(c[-1]) for path in rooms.items for c in path.commands  # type: ignore[union-attr]
          if len(c) > 1]
    assert min(ys) == pytest.approx(-12)
    assert max(ys) == pytest.approx(28 + 12)

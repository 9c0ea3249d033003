"""A placed module on the board: its own drawing brought into the view, marks, name, room.

Every group of one module has the module's id as its key and its origin as its transform, so that
the page moves all of them together.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from math import copysign, cos, radians, sin
from typing import NamedTuple

from layout_engine.geometry.outlines import bounds
from layout_engine.model.part import Part
from layout_engine.model.part_type import PartType, Terminal
from layout_engine.tables.radio import metal_warn_distance
from webapp.drawings.module import TERMINAL_MM, layer, module_items
from webapp.drawings.name_room import Box, clear_room, name_rooms
from webapp.drawings.primitives import (
    Circle,
    Group,
    Item,
    Lettering,
    Text,
    figure,
    polygon,
)
from webapp.drawings.seen import Point, Seen, Stand

LETTER_PX, LINE_PX = 5.0, 12.0  # of small lettering: along and across
FLAGS_MM = 8.0  # round a terminal: where the numbers of its wires stand
MARK_OFF_MM = 0.9  # between a terminal's circle and its mark
UNDER_LAYERS = frozenset({"keep_free", "rooms", "behind"})
ARROWS = {0.0: "arrow_right", 90.0: "arrow_up", 180.0: "arrow_left", 270.0: "arrow_down"}


@lru_cache(maxsize=512)
def _turned(kind: PartType, turn: float, mirrored: bool
            ) -> tuple[tuple[Item, ...], tuple[Point, ...]]:
    """What a module consists of and its outline, turned, round its origin: kept, most stay so."""
    stand = Stand(turn, mirrored, 0.0, 0.0)
    return tuple(stand.items(module_items(kind))), stand.offsets(kind.outline)


class _Reason(NamedTuple):
    """Words that tell why ground stays free: their middle, turn and ground, from the module."""

    x: float
    y: float
    words: str
    turn: float
    box: Box


class BoardModule:
    """One placed part in one view."""

    def __init__(self, part: Part, kind: PartType, seen: Seen, words: str = "") -> None:
        if part.placement is None:
            raise ValueError(f"{part.id} is not placed")
        self.part = part
        self.kind = kind
        self.placement = part.placement
        self.words = words
        self.plate = seen.width, seen.height
        self.pixel = seen.pixel
        self.stand: Stand = seen.stand(part.placement)
        self.is_far = part.placement.face != seen.face
        self._own, self._outline = _turned(kind, self.stand.turn, self.stand.mirrored)

    def zones(self) -> Group:
        """Keep-free zones and bend room, below the modules."""
        shown = UNDER_LAYERS - {"behind"}
        layers = [i for i in self._own if isinstance(i, Group) and i.role in shown]
        return self._group((*layers, *layer("rooms", self._reasons())), "zones")

    def _reasons(self) -> Iterator[Item]:
        """Why ground stays free, in the widest strip of it beside the module."""
        for place in self._reason_places():
            yield Text(place.x, place.y, place.words, "small", turn=place.turn, plaque=True)

    def _reason_places(self) -> Iterator[_Reason]:
        """Where these words stand: along the strip, and off the module where it is narrow."""
        x0, y0, x1, y1 = bounds(self._outline)
        for zone in self.kind.keep_outs:
            if not zone.why:
                continue
            a0, b0, a1, b1 = bounds(self.stand.offsets(zone.outline))
            strips = ((a0, b0, min(a1, x0), b1), (max(a0, x1), b0, a1, b1),
                      (a0, b0, a1, min(b1, y0)), (a0, max(b0, y1), a1, b1))
            wide, left, low, right, high = max(
                (min(s[2] - s[0], s[3] - s[1]), *s) for s in strips)
            if wide <= 0:
                left, low, right, high = a0, b0, a1, b1
            x, y, turn = (left + right) / 2, (low + high) / 2, 0.0
            long, off = len(zone.why) * LETTER_PX * self.pixel, LINE_PX * self.pixel / 2
            if wide > 0 and (right <= x0 or left >= x1):  # beside it
                turn = 90.0 if right - left < long else 0.0
                room = (off if turn else long / 2)
                x = min(x, x0 - room) if right <= x0 else max(x, x1 + room)
            elif wide > 0:
                y = min(y, y0 - off) if high <= y0 else max(y, y1 + off)
            dx, dy = (off, long / 2) if turn else (long / 2, off)
            yield _Reason(x, y, zone.why, turn, (x - dx, y - dy, x + dx, y + dy))

    def body(self) -> Group:
        """The module itself."""
        items = (
            *(i for i in self._own if not _is_elsewhere(i)),
            *self._air(), *self._marks(), *self._lock(), self._name(),
        )
        label = f"{self.part.title}, {self.words}" if self.words else self.part.title
        return self._group(items, "module far" if self.is_far else "module", label, self._data())

    def dashed(self, near: Iterable[BoardModule]) -> Group:
        """The module as the other face shows it: hidden outline and holes, and its name.

        near: the modules of this face, which the name keeps clear of.
        """
        outline = self._outline
        holes = tuple(
            i for i in self._own if isinstance(i, Circle) and i.fill == "hole"
        )
        taken = [_shifted(box, -self.stand.x, -self.stand.y)
                 for m in near for box in (m.box, *m.lettered)]
        where = f"on the {self.placement.face}"
        name = () if self.kind.behind else (
            self._lettering((clear_room(outline, taken),), where, "small"),)
        return self._group((
            polygon(outline, "hidden"),
            *(Circle(h.x, h.y, h.diameter, "hidden") for h in holes), *name,
        ), "behind_module")

    @property
    def box(self) -> Box:
        """The outline's box in the view."""
        own = bounds(self._outline)
        return _shifted(own, self.stand.x, self.stand.y)

    @property
    def lettered(self) -> tuple[Box, ...]:
        """About what the words take that tell why ground round it stays free, in the view."""
        return tuple(_shifted(place.box, self.stand.x, self.stand.y)
                     for place in self._reason_places())

    def behind(self) -> Group:
        """What stands out on the other face, as that face shows it."""
        items: list[Item] = []
        for piece in self.kind.behind:
            outline = self.stand.offsets(piece.outline)
            below = f"stands out {figure(piece.height)}"
            items += [polygon(outline, "thin", "part"),
                      self._lettering((clear_room(outline, ()),), below, "small")]
        return self._group(tuple(items), "stands_out")

    def aerial(self) -> Group | None:
        """The distance that the aerial wants from metal, as a circle round it."""
        antenna = self.kind.antenna
        if antenna is None:
            return None
        reach = metal_warn_distance(antenna.band_mhz, antenna.keep_from_metal)
        x, y = self.stand.offset(antenna.x, antenna.y)
        words = f"{figure(round(reach, 1))} free"
        text = Text(*self._at_circle(x, y, reach, words), words, "small", plaque=True)
        return self._group((Circle(x, y, 2 * reach, "axis"), text), "aerial")

    def _at_circle(self, x: float, y: float, reach: float, words: str) -> Point:
        """Where the middle of the words stands, on the aerial's circle or just outside it: all of
        them on the plate first, then off the module, then off the numbers of its wires, then far
        from the plate's edges.
        """
        x0, y0, x1, y1 = bounds(self._outline)
        width, height = self.plate
        long, high = len(words) * LETTER_PX * self.pixel / 2, LINE_PX * self.pixel / 2

        ends = [self.stand.offset(one.x, one.y) for one in self.kind.terminals]

        def worth(p: Point) -> tuple[bool, bool, bool, float]:
            px, py = p[0] + self.stand.x, p[1] + self.stand.y
            off_edge = min(px - long, width - px - long, py - high, height - py - high)
            is_off = not (x0 - long < p[0] < x1 + long and y0 - high < p[1] < y1 + high)
            is_clear = all(abs(p[0] - ex) > long + FLAGS_MM or abs(p[1] - ey) > high + FLAGS_MM
                           for ex, ey in ends)
            return off_edge >= 0, is_off, is_clear, off_edge

        ways = [(cos(radians(a)), sin(radians(a))) for a in range(0, 360, 10)]
        return max(((x + (reach + out * long) * c, y + (reach + out * high) * s)
                    for out in (0, 1) for c, s in ways), key=worth)

    def _group(self, items: tuple[Item, ...], role: str, label: str = "",
               data: Mapping[str, str] | None = None) -> Group:
        return Group(items, role, self.part.id, label, (0.0, False, self.stand.x, self.stand.y),
                     data or {})

    def _data(self) -> dict[str, str]:
        outline = self._outline
        return {
            "x": figure(self.placement.x), "y": figure(self.placement.y),
            "turn": figure(self.placement.turn), "face": self.placement.face,
            "title": self.part.title, "locked": "yes" if self.part.locked else "no",
            "box": " ".join(figure(v) for v in bounds(outline)),
            **self._whys(),
        }

    def _whys(self) -> dict[str, str]:
        """Why ground round the module stays free, with its heights over the plate."""
        rise = self.kind.standoff
        words = (
            f"{zone.why} ({figure(rise + zone.height[0])} to {figure(rise + zone.height[1])} mm)"
            for zone in self.kind.keep_outs if zone.why)
        told = "; ".join(dict.fromkeys(words))
        return {"why": told} if told else {}

    def _name(self) -> Group:
        whole = bounds(self._outline)
        rooms = name_rooms(self.kind, self.stand) or (whole,)
        return self._lettering(rooms, f"{figure(self.kind.height)} high", "name")

    def _lettering(self, rooms: Sequence[Box], below: str, lettering: Lettering) -> Group:
        """The name and a line below it; the page sets them into the first room that holds them."""
        x0, y0, x1, y1 = rooms[0]
        return Group(
            (Text(0, 0, self.part.title, lettering, dy=7, plaque=True),
             Text(0, 0, below, "small", dy=-8, plaque=True)),
            "name", transform=(0.0, False, (x0 + x1) / 2, (y0 + y1) / 2),
            data={"name": self.part.title, "height": below,
                  "rooms": ",".join(" ".join(figure(v) for v in room) for room in rooms)},
        )

    def _marks(self) -> Iterator[Group]:
        for terminal in self.kind.terminals:
            if terminal.mark:
                yield self._mark(terminal)

    def _mark(self, terminal: Terminal) -> Group:
        """The printed mark, upright, on the inner side of its terminal; the page sets it where it
        is clear.
        """
        inward = radians(self.stand.direction(terminal.leaves + 180.0))
        c, s = cos(inward), sin(inward)
        off = TERMINAL_MM / 2 + MARK_OFF_MM
        if abs(c) > abs(s):
            way = "right" if c > 0 else "left"
            text = Text(copysign(off, c), 0.0, terminal.mark, "mark", "start" if c > 0 else "end")
        else:
            way = "up" if s > 0 else "down"
            text = Text(0.0, copysign(off, s), terminal.mark, "mark", dy=copysign(4.5, s))
        place = self.stand.offset(terminal.x, terminal.y)
        return Group((text,), "terminal_mark", transform=(0.0, False, *place), data={"inward": way})

    def _lock(self) -> Iterator[Item]:
        if self.part.locked:
            x0, _, x1, y1 = bounds(self._outline)
            place = (0.0, False, (x0 + x1) / 2, y1)
            yield Group((), "mark", transform=place, data={"sign": "lock"})

    def _air(self) -> Iterator[Item]:
        """An open arrow at the end of the fins where the warm air leaves: the higher one."""
        heat = self.kind.heat
        if heat is None or heat.sink is None or heat.fins is None:
            return
        x0, y0, x1, y1 = bounds(heat.sink)
        middle = (x0 + x1) / 2, (y0 + y1) / 2
        ends = ((middle[0], y0, 270.0), (middle[0], y1, 90.0)) if heat.fins == "y" else (
            (x0, middle[1], 180.0), (x1, middle[1], 0.0))
        x, y, way = max(ends, key=lambda e: (round(self.stand.offset(e[0], e[1])[1], 3), e[2]))
        seen = round(self.stand.direction(way) / 90.0) * 90.0 % 360.0
        yield Group((), "mark", transform=(0.0, False, *self.stand.offset(x, y)),
                    data={"sign": ARROWS[seen]})


def _is_elsewhere(item: Item) -> bool:
    """What of a module's own drawing another layer draws: zones, marks, the aerial's circle."""
    if isinstance(item, Group):
        return item.role in UNDER_LAYERS
    return isinstance(item, Text) or (isinstance(item, Circle) and item.pen == "axis")


def _shifted(box: Box, dx: float, dy: float) -> Box:
    return box[0] + dx, box[1] + dy, box[2] + dx, box[3] + dy


"""Cut-outs that no drill makes: polygons of parts and slots for cable ties."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from math import cos, pi, radians, sin
from typing import Literal

from layout_engine.geometry.frames import Pose
from layout_engine.geometry.outlines import bounds
from layout_engine.model.part import Part
from layout_engine.model.part_type import PartType, RoundCutOut, Slot
from layout_engine.model.plate import Face

ROUND_END_PIECES = 16  # straight pieces of a slot's half-round end: off by under 0.5 % of its width


@dataclass(frozen=True, slots=True)
class CutOut:
    """A cut-out through the plate.

    id: its letter. outline: plate points [mm]. words: its size, and for a slot where its two end
    holes are drilled. ends: centres of those holes, width: their diameter [mm].
    """

    id: str
    outline: tuple[tuple[float, float], ...]
    kind: Literal["polygon", "slot"]
    for_: str
    part: str
    face: Face
    words: str
    ends: tuple[tuple[float, float], ...] = ()
    width: float = 0.0

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y, mm."""
        return bounds(self.outline)


def part_cut_outs(part: Part, kind: PartType) -> Iterator[CutOut]:
    """The cut-outs of one placed part, without letters."""
    if part.placement is None:
        return
    pose, face = Pose.of(part.placement), part.placement.face
    for through in kind.through:
        if not isinstance(through, RoundCutOut):
            yield _polygon(part, face, pose, through)
    if kind.fixing == "tie":
        yield from (_slot(part, face, pose, slot) for slot in kind.slots)


def lettered(cut_outs: Iterable[CutOut]) -> tuple[CutOut, ...]:
    """The cut-outs from bottom to top, then left to right, with the letters A to Z, AA, AB ..."""
    def order(cut: CutOut) -> tuple[float, float, float, float, str]:
        left, bottom, _, _ = cut.box
        return round(bottom, 1), round(left, 1), bottom, left, cut.part

    ordered = sorted(cut_outs, key=order)
    return tuple(replace(cut, id=_letters(place)) for place, cut in enumerate(ordered))


def _letters(place: int) -> str:
    lead, last = divmod(place, 26)
    return (_letters(lead - 1) if lead else "") + chr(ord("A") + last)


def _polygon(part: Part, face: Face, pose: Pose, points: tuple[tuple[float, float], ...]
             ) -> CutOut:
    outline = tuple(pose.point(x, y) for x, y in points)
    left, bottom, right, top = bounds(outline)
    size, corner = f"{_mm(right - left)} x {_mm(top - bottom)}", f"{_mm(left)}, {_mm(bottom)}"
    words = f"{size}, lower left corner of its box at {corner}"
    return CutOut("", outline, "polygon", part.title, part.id, face, words)


def _slot(part: Part, face: Face, pose: Pose, slot: Slot) -> CutOut:
    half = max(0.0, (slot.length - slot.width) / 2)
    c, s = cos(radians(slot.turn)), sin(radians(slot.turn))
    ends = tuple(pose.point(slot.x + way * half * c, slot.y + way * half * s) for way in (-1, 1))
    outline = tuple(pose.point(x, y) for x, y in slot_outline(slot))
    places = " and ".join(f"{_mm(x)}, {_mm(y)}" for x, y in ends)
    size = f"{_mm(slot.width)} x {_mm(slot.length)}"
    words = f"slot {size}: drill {_mm(slot.width)} at {places}, then file between"
    return CutOut("", outline, "slot", part.title, part.id, face, words, ends, slot.width)


def slot_outline(slot: Slot) -> tuple[tuple[float, float], ...]:
    """A slot with half-round ends, in the part frame; `length` lies along its `turn`."""
    radius = min(slot.width, slot.length) / 2
    half = slot.length / 2 - radius
    c, s = cos(radians(slot.turn)), sin(radians(slot.turn))
    points = []
    for side, start in ((1.0, -pi / 2), (-1.0, pi / 2)):
        for step in range(ROUND_END_PIECES + 1):
            angle = start + pi * step / ROUND_END_PIECES
            along = side * half + radius * cos(angle)
            across = slot.width / 2 * sin(angle)
            points.append((slot.x + c * along - s * across, slot.y + s * along + c * across))
    return tuple(points)


def _mm(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")

"""The offer: the largest plate at a place, what limits it, and how that was worked out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from math import floor
from typing import Unpack

from layout_engine.fitting.room import Changes, Room, Stop, Wanted
from layout_engine.fitting.search import exact_limit, largest_rectangle
from layout_engine.fitting.worked import working
from layout_engine.model.body import Body
from layout_engine.model.job import Job
from layout_engine.working import Working

LEAST_USEFUL_MM = 20  # a smaller piece carries no module; common practice, no source


@dataclass(frozen=True, slots=True)
class PlateOffer:
    """The largest plate of whole millimetres at a place.

    Attributes:
        wanted: the place and what is to have room on the plate.
        width, height: of the offered rectangle, mm; 0 where none fits.
        width_stop, height_stop: what keeps it from being wider, and higher.
        width_working, height_working: the exact figures behind the rounded ones.
        reason: why there is no offer, in words; "" where there is one.
        words: what kind of offer this is, e.g. "lying flat".
    """

    wanted: Wanted
    width: int
    height: int
    width_stop: Stop | None = None
    height_stop: Stop | None = None
    width_working: Working | None = None
    height_working: Working | None = None
    reason: str = ""
    words: str = ""

    @property
    def found(self) -> bool:
        """Whether any plate fits."""
        return self.width > 0

    @property
    def area(self) -> int:
        """Area, mm2."""
        return self.width * self.height


def largest_plate(
    job: Job, *, most: tuple[float, float] | None = None, words: str = "",
    **place: Unpack[Changes],
) -> PlateOffer:
    """The largest rectangle that fits the body at a place and goes straight in by the opening.

    Args:
        job: body and plate; thickness, edge margin and corner radius are the plate's.
        most: greatest width and height wanted, mm.
        words: what the offer is called.
        place: `stands`, `offset`, `base`, `shift` (default: as the plate has them), `front` and
            `back` (height of modules over each face, mm), `air_gap`, `passing_gap`, mm.
    """
    return _offer(job.body, Wanted.of(job.plate, **place), most, words)


def other_plates(job: Job, **place: Unpack[Changes]) -> tuple[PlateOffer, ...]:
    """Offers beside the one at the chosen place: in the middle, and standing the other way."""
    here = Wanted.of(job.plate, **place)
    other = "flat" if here.stands == "upright" else "upright"
    middle = replace(here, offset=0.0, shift=0.0)
    lowest = here.thickness / 2 + here.back if other == "flat" else 0.0
    turned = replace(middle, stands=other, base=max(here.base, lowest))
    named = [(middle, "in the middle")] if middle != here else []
    named.append((turned, "lying flat" if other == "flat" else "standing upright"))
    return tuple(_offer(job.body, wanted, None, words) for wanted, words in named)


@lru_cache(maxsize=256)
def _offer(
    body: Body, wanted: Wanted, most: tuple[float, float] | None, words: str
) -> PlateOffer:
    room = Room(body, wanted)
    size = _search(room, most)
    if size is None:
        reason = _reason(room.stop(LEAST_USEFUL_MM, LEAST_USEFUL_MM))
        return PlateOffer(wanted, 0, 0, reason=reason, words=words)
    width, height = size
    limits = _greatest(room, most)
    wider = _stop(room, width + 1, height, limits)
    higher = _stop(room, width, height + 1, limits)
    exact_width = _exact(room, wider, lambda w: (w, height), width)
    exact_height = _exact(room, higher, lambda h: (width, h), height)
    return PlateOffer(
        wanted, width, height, wider, higher,
        working(room, wider, "width", exact_width, height),
        working(room, higher, "height", exact_height, width), words=words,
    )


def _stop(room: Room, width: int, height: int, limits: tuple[int, int]) -> Stop:
    if width > limits[0] or height > limits[1]:
        return Stop("wish")
    return room.stop(width, height) or Stop("wish")


def _exact(
    room: Room, stop: Stop, size: Callable[[float], tuple[float, float]], known: int
) -> float:
    if stop.kind == "wish":
        return float(known)
    return exact_limit(lambda value: room.stop(*size(value)) is None, float(known))


def _greatest(room: Room, most: tuple[float, float] | None) -> tuple[int, int]:
    wide, deep = room.body.plan
    high = room.body.height if room.wanted.stands == "upright" else deep
    greatest = most or (wide, high)
    return floor(min(wide, greatest[0])), floor(min(high, greatest[1]))


def _search(room: Room, most: tuple[float, float] | None) -> tuple[int, int] | None:
    upright = room.wanted.stands == "upright"
    tops = [o.z[1] + room.wanted.air_gap - room.wanted.base for o in room.body.obstructions]
    return largest_rectangle(
        lambda width, height: room.stop(width, height) is None,
        LEAST_USEFUL_MM, _greatest(room, most), tops if upright else (),
    )


REASONS = {
    "wall": "The wall is in the way here.",
    "floor": "It would go through the floor: put it higher.",
    "roof": "It would go through the top: put it lower.",
    "opening": "Nothing this thick passes the opening with its modules on.",
    "body above the place": "It cannot be let down to this place from the top.",
    "wish": "The size asked for is under the least of a plate.",
}


def _reason(stop: Stop | None) -> str:
    if stop is None:
        return REASONS["wish"]
    if stop.kind == "obstruction":
        return f"{stop.label} is in the way here."
    return REASONS[stop.kind]



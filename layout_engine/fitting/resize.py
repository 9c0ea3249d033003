"""A plate given another size: what is fixed in its corners moves with them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from layout_engine.geometry.frames import EPS_MM
from layout_engine.model.plate import Plate

if TYPE_CHECKING:
    from layout_engine.fitting.offer import PlateOffer

Document = dict[str, Any]


def resized(plate: Plate, document: Document, width: float, height: float) -> Document:
    """The plate's document as a rectangle of this size.

    Mounting points keep their distance to the nearer edge; those in the middle stay in the
    middle. Holes and zones stay where they are, measured from the datum corner.
    """
    old_width, old_height = plate.size
    mounts = [
        {**entry, "x": _moved(mount.x, old_width, width), "y": _moved(mount.y, old_height, height)}
        for entry, mount in zip(document.get("mounts", []), plate.mounts, strict=True)
    ]
    outline = [[0, 0], [width, 0], [width, height], [0, height]]
    return {**document, "outline": outline, **({"mounts": mounts} if mounts else {})}


def with_offer(plate: Plate, document: Document, offer: PlateOffer) -> Document:
    """The plate's document with an offered size and place."""
    wanted = offer.wanted
    place = {"stands": wanted.stands, "offset": wanted.offset, "base": wanted.base,
             "shift": wanted.shift}
    return {**resized(plate, document, offer.width, offer.height), **place}


def _moved(at: float, old: float, new: float) -> float:
    if abs(at - old / 2) <= EPS_MM:
        return round(new / 2, 3)
    return at if at < old / 2 else round(new - (old - at), 3)

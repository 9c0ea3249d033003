"""The largest plate that fits the body at a position and can be brought in through the opening."""

from layout_engine.fitting.depths import module_depths
from layout_engine.fitting.offer import PlateOffer, largest_plate, other_plates
from layout_engine.fitting.resize import resized, with_offer

__all__ = [
    "PlateOffer", "largest_plate", "module_depths", "other_plates", "resized", "with_offer",
]

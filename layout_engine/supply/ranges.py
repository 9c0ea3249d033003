"""Which voltages a module stands: of a load, a driver's or a converter's input."""

from __future__ import annotations

from math import inf

from layout_engine.model.part_type import PartType
from layout_engine.supply.elements import Element

DEAD_VOLTS = 0.5  # under it a module is not fed at all: other rules say so


def volts_range(kind: PartType, e: Element) -> tuple[float, float] | None:
    """Least and highest voltage at an element; None where neither is known."""
    if e.kind == "load":
        volts = kind.loads[e.index].volts
        return volts if volts is not None and volts[1] > 0 else None
    if e.kind == "drive":
        drive = kind.drives[e.index]
        if drive.min_volts is None and drive.max_volts is None:
            return None
        return drive.min_volts or 0.0, drive.max_volts or inf
    return None

"""Limits for holes in the plate."""

from __future__ import annotations

from layout_engine.tables.sourced import COMMON_PRACTICE, Sourced

_GUIDE = "polycarbonate sheet drilling guide: edge of hole to edge of sheet 1.5 to 2.0 diameters"
EDGE_STOP = Sourced(2.0, "hole diameters", _GUIDE, "from the centre: 1.5 + 0.5")
EDGE_WARN = Sourced(2.5, "hole diameters", _GUIDE, "from the centre: 2.0 + 0.5")
LEAST_BRIDGE = Sourced(2.0, "mm", COMMON_PRACTICE, "or the larger hole's diameter")
ROOM_UNDER_PART = Sourced(2.0, "mm", COMMON_PRACTICE, "between a head or nut and a part over it")

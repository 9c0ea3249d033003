"""Heat of closed bodies: coefficients, surface factors, what skin bears, the sun.

Temperatures in degC, areas in m2, W/m2K unless a value's unit says otherwise.
"""

from __future__ import annotations

from layout_engine.tables.sourced import COMMON_PRACTICE, Sourced

VDE_500 = "VDE 0660 part 500 / IEC TR 60890 area formulas, taken apart"
_SHEETS = "enclosure-heating calculation sheets (VDE 0660 part 500 method)"
TOP_OPEN = Sourced(1.4, "1", VDE_500, "share of a top with air over it")
TOP_COVERED = Sourced(0.7, "1", VDE_500)
SIDE_OPEN = Sourced(0.9, "1", VDE_500)
SIDE_COVERED = Sourced(0.5, "1", VDE_500)
FLOOR = Sourced(0.0, "1", VDE_500)
PAINTED_STEEL = Sourced(5.5, "W/m2K", _SHEETS, "printed by five sources")
STAINLESS = Sourced(4.5, "W/m2K", _SHEETS, "another prints 3.6")
ALUMINIUM_MOVING = Sourced(12.0, "W/m2K", _SHEETS, "with moving air; else 6.5")
ALUMINIUM_DOUBLE = Sourced(4.5, "W/m2K", _SHEETS)
PLASTIC = Sourced(3.5, "W/m2K", f"{_SHEETS} (from memory)")
# By the body's skin: what its wall lets through.
SKIN_K: dict[str, Sourced] = {
    "metal": PAINTED_STEEL,
    "foil_lined": Sourced(3.0, "W/m2K", COMMON_PRACTICE, "plastic or wood whose foil reflects"),
    "plastic": PLASTIC,
    "wood": Sourced(3.0, "W/m2K", COMMON_PRACTICE, "6 mm plywood: a little under plastic"),
    "fabric": Sourced(3.5, "W/m2K", COMMON_PRACTICE, "as plastic; what passes the weave left out"),
}
K_SPREAD = Sourced(0.3, "1", COMMON_PRACTICE, "real bodies differ from the coefficient by so much")
USUAL_INSIDE = Sourced(50.0, "C", COMMON_PRACTICE, "air inside, where no part's sheet says else")
_TOUCH = "ISO 13732-1:2006 Table 1 (from memory)"
TOUCH_METAL_INSTANT = Sourced(65.0, "C", "ISO 13732-1:2006 sec. 4.2 (quoted)", "up to 0.5 s")
TOUCH_10_S = Sourced(55.0, "C", "ISO 13732-1:2006 fig. 2 (from memory)", "bare metal; plastic 70")
TOUCH_1_MIN = Sourced(51.0, "C", _TOUCH, "any material")
TOUCH_10_MIN = Sourced(48.0, "C", _TOUCH, "any material")
TOUCH_8_H = Sourced(43.0, "C", _TOUCH, "any material")
SECONDS_TO_BURN: dict[float, Sourced] = {
    60.0: Sourced(5.0, "s", "burn-institute table quoted on a product-safety list", "serious burn"),
}
SUN = Sourced(1120.0, "W/m2", "IEC 60068-2-5", "irradiance of the test")
ABSORPTANCE = Sourced(0.6, "1", "typical of paints (from memory)", "white 0.3, black 0.95")
SUN_H = Sourced(20.0, "W/m2K", "outside, light wind (from memory)")

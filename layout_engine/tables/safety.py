"""Limits of what this tool is for."""

from __future__ import annotations

from layout_engine.tables.sourced import Sourced

HIGHEST_VOLTS = Sourced(
    60.0, "V", "extra-low voltage in dry places, IEC 61140: 60 V ripple-free DC (from memory)"
)

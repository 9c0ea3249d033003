"""A number of the trade together with where it comes from."""

from __future__ import annotations

from dataclasses import dataclass

COMMON_PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Sourced:
    """One value that a drawing, a finding or a sheet may rest on.

    value: the number; unit: its unit in words ("mm", "GPa", "1"); source: the document with
    its table, or "common practice, no source"; a figure nobody looked up for this table ends
    in "(from memory)". note: range of validity, spread between documents.
    """

    value: float
    unit: str
    source: str
    note: str = ""

"""Figures and lists in the words of a finding."""

from __future__ import annotations

from collections.abc import Iterable

LEAST_TOLD = 1e-9  # of any unit: less is what a solution was rounded by

def mm(value: float) -> str:
    """A length in mm with one decimal at most, e.g. "28 mm", "2.5 mm"."""
    return f"{number(value)} mm"


def number(value: float) -> str:
    """A figure with one decimal at most; what is under 0.1 but not 0 with more."""
    if 0 < abs(value) < 0.095:
        return f"{value:.2g}"
    text = f"{value:.1f}"
    return text.removesuffix(".0")


def amount(value: float, unit: str) -> str:
    """An electrical figure with three digits that count, e.g. "12.4 V", "0.085 A", "490 A"."""
    value = _told(value)
    text = f"{value:.3g}" if abs(value) < 1000 else f"{value:.0f}"
    return f"{text} {unit}"


def _told(value: float) -> float:
    """The figure, rounding of a solution being nothing."""
    return value if abs(value) > LEAST_TOLD else 0.0


def amounts(value: float, limit: float, unit: str) -> tuple[str, str]:
    """A figure and its limit, with as many digits as it takes to tell them apart, six at most."""
    value, limit = _told(value), _told(limit)
    digits = next((d for d in (3, 4, 5) if f"{value:.{d}g}" != f"{limit:.{d}g}"), 6)
    return f"{value:.{digits}g} {unit}", f"{limit:.{digits}g} {unit}"


PACK_WORDS = {"nominal": "a usual pack", "full": "a full pack", "empty": "an empty pack"}


def listed(names: Iterable[str]) -> str:
    """Names as a list in words: "a", "a and b", "a, b and c"."""
    *before, last = names
    return f"{', '.join(before)} and {last}" if before else last

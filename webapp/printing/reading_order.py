"""Right-to-left writing in one line of lettering: the order in which it is set.

The part of the Unicode bidirectional algorithm (UAX 9) that a name needs: direction of the line
from its first strong character (P2, P3), figures kept as they are (W), neutrals between two
right-to-left letters go with them (N1), runs reversed (L2), brackets mirrored (L4). Explicit
direction marks do not occur in a document. Letters are not joined.
"""

from __future__ import annotations

import unicodedata
from itertools import groupby

_RIGHT = {"R", "AL"}
_FIGURES = {"EN", "AN"}
_INSIDE_FIGURES = {"ES", "ET", "CS"}
_MIRRORED = str.maketrans("()[]{}<>\u00ab\u00bb", ")(][}{><\u00bb\u00ab")


def visual_order(text: str) -> str:
    """The characters from left to right as a reader of the text's script expects them."""
    kinds = [unicodedata.bidirectional(char) for char in text]
    if not _RIGHT.intersection(kinds):
        return text
    strong = next(kind for kind in kinds if kind == "L" or kind in _RIGHT)
    levels = _levels(kinds, 1 if strong in _RIGHT else 0)
    runs = _runs(text, levels)
    return "".join(reversed(runs) if strong in _RIGHT else _embedded(text, levels))


def _levels(kinds: list[str], base: int) -> list[int]:
    """0 set from the left, 1 from the right, 2 figures within right-to-left writing."""
    levels: list[int | None] = [_strong_level(kinds, place) for place in range(len(kinds))]
    for place, level in enumerate(levels):
        if level is None:
            before = next((lv for lv in reversed(levels[:place]) if lv is not None), base)
            after = next((lv for lv in levels[place:] if lv is not None), base)
            same = (before > 0) == (after > 0)
            levels[place] = min(before, 1) if same else base
    return [base if level is None else level for level in levels]


def _strong_level(kinds: list[str], place: int) -> int | None:
    kind = kinds[place]
    if kind in _RIGHT:
        return 1
    if kind == "NSM":
        return _strong_level(kinds, place - 1) if place else 0
    if kind in _FIGURES or (kind in _INSIDE_FIGURES and _between_figures(kinds, place)):
        return 2 if _last_strong(kinds[:place]) in _RIGHT else 0
    return 0 if kind == "L" else None


def _between_figures(kinds: list[str], place: int) -> bool:
    return (0 < place < len(kinds) - 1
            and kinds[place - 1] in _FIGURES and kinds[place + 1] in _FIGURES)


def _last_strong(kinds: list[str]) -> str:
    return next((kind for kind in reversed(kinds) if kind == "L" or kind in _RIGHT), "")


def _runs(text: str, levels: list[int]) -> list[str]:
    """Runs of one level, each in the order it is set."""
    runs = []
    for level, group in groupby(zip(text, levels, strict=True), key=lambda pair: pair[1]):
        chars = "".join(char for char, _ in group)
        runs.append(_reversed(chars) if level == 1 else chars)
    return runs


def _embedded(text: str, levels: list[int]) -> list[str]:
    """Runs of a left-to-right line: neighbouring runs over level 0 change places as one."""
    ordered: list[str] = []
    for right, group in groupby(zip(text, levels, strict=True), key=lambda pair: pair[1] > 0):
        pairs = list(group)
        pending = _runs("".join(c for c, _ in pairs), [level for _, level in pairs])
        ordered.extend(reversed(pending) if right else pending)
    return ordered


def _reversed(chars: str) -> str:
    """Reversed with brackets mirrored; combining marks stay behind their letter."""
    clusters: list[str] = []
    for char in chars:
        if clusters and unicodedata.combining(char):
            clusters[-1] += char
        else:
            clusters.append(char)
    return "".join(reversed(clusters)).translate(_MIRRORED)

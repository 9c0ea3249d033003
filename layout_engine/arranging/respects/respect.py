"""What is told of a layout in one respect: a score to compare by, words, figures with workings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from layout_engine.working import Working

Name = Literal["wire", "heat", "service", "tidiness"]
NAMES: tuple[Name, ...] = ("wire", "heat", "service", "tidiness")


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure in words, and how it was worked out."""

    words: str
    working: Working


@dataclass(frozen=True, slots=True)
class Respect:
    """One respect.

    Attributes:
        name: which one.
        score: the higher the better; only for comparing layouts of the same modules.
        words: one sentence, with its figures.
        figures: what it was made of.
    """

    name: Name
    score: float
    words: str
    figures: tuple[Figure, ...] = ()


@dataclass(frozen=True, slots=True)
class Respects:
    """A layout in all four respects."""

    wire: Respect
    heat: Respect
    service: Respect
    tidiness: Respect

    def of(self, name: Name) -> Respect:
        """The respect of that name."""
        found: Respect = getattr(self, name)
        return found

    def all(self) -> tuple[Respect, ...]:
        """All four, in the order in which they are told."""
        return tuple(self.of(name) for name in NAMES)


def share_words(part: int, whole: int) -> str:
    """Words such as "12 of 15" or "all 15"."""
    return f"all {whole}" if part == whole else f"{part} of {whole}"

"""A figure that carries how it was worked out: formula, values, source."""

from __future__ import annotations

from dataclasses import dataclass

# Relative. A steady state is iterated to, and its sums and quotients are rounded: a figure that
# meets its limit exactly must not become a finding by its last digits.
SAME = 1e-6


@dataclass(frozen=True, slots=True)
class Given:
    """One quantity that went into a figure.

    Attributes:
        symbol: as in the formula.
        what: the quantity in words.
        value: its value in `unit`.
        source: where it comes from: "measured", "guess", a document with edition and table,
            or "common practice, no source".
    """

    symbol: str
    what: str
    value: float
    unit: str
    source: str

    @property
    def is_guess(self) -> bool:
        """Whether the value rests on a guess."""
        return is_guess(self.source)


def exceeds(figure: float, limit: float) -> bool:
    """Whether a figure is over its limit by more than its rounding; both in one unit.

    >>> exceeds(5.000_001, 5.0), exceeds(5.001, 5.0)
    (False, True)
    """
    return figure > limit + SAME * abs(limit)


def is_guess(source: str) -> bool:
    """Whether a source says that its value was guessed.

    >>> is_guess("guess, drive controller")
    True
    """
    return source == "guess" or source.startswith("guess,")


@dataclass(frozen=True, slots=True)
class Working:
    """How a figure was worked out.

    Attributes:
        formula: plain text with the symbols of `given`.
        given: every quantity in it.
        result: the figure, in `unit`.
        source: where the formula comes from.
        limit: what it is compared with, in the same unit; None where nothing limits it.
        limit_source: where the limit comes from.
    """

    formula: str
    given: tuple[Given, ...]
    result: float
    unit: str
    source: str
    limit: float | None = None
    limit_source: str = ""

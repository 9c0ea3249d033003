"""A machine with two drives that goes the wrong way: which wires to exchange.

Two reversible motors on two exchangeable channels make eight states. What the machine does when it
is told to go forward, and when it is told to turn left, tells them apart: in no two of them it does
the same both times.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import Literal

Seen = Literal["F", "B", "L", "R"]  # forward, back, turns left, turns right
Turning = tuple[int, int]  # of the left and the right wheel: 1 forward, -1 back
TOLD: dict[str, Turning] = {"F": (1, 1), "L": (-1, 1)}
MOVES: dict[Turning, Seen] = {(1, 1): "F", (-1, -1): "B", (-1, 1): "L", (1, -1): "R"}
SEEN_WORDS: dict[Seen, str] = {
    "F": "goes forward", "B": "goes back", "L": "turns left", "R": "turns right",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Cure:
    """What to change: first the two channels, then the pairs of wires at motors.

    exchange: the channels of the two motors; left, right: the two wires at that wheel's motor.
    """

    exchange: bool
    left: bool
    right: bool

    @property
    def words(self) -> str:
        """As a person does it."""
        wheels = "both" if self.left and self.right else (
            "left" if self.left else "right" if self.right else "")  # fmt: skip
        steps = ["exchange channels"] * self.exchange + [f"reverse {wheels}"] * bool(wheels)
        return " and ".join(steps) or "none"


def moved(state: Cure, told: Turning) -> Seen:
    """What the machine does in a state when it is told so."""
    left, right = (told[1], told[0]) if state.exchange else told
    return MOVES[-left if state.left else left, -right if state.right else right]


def cure(forward: Seen, left: Seen) -> Cure | None:
    """What to change, by what is seen when forward and when left is told; None: not these wires.

    >>> cure("L", "B").words
    'exchange channels and reverse left'
    """
    return cures().get((forward, left))


def cures() -> dict[tuple[Seen, Seen], Cure]:
    """What to change by what is seen when forward and when left is told; the least work first."""
    every = [Cure(*state) for state in product((False, True), repeat=3)]
    return {(moved(one, TOLD["F"]), moved(one, TOLD["L"])): one for one in every}

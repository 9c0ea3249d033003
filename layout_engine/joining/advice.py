"""What joining has to say: connections it suggests, each with its reason, and what is lacking."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from layout_engine.tables.sourced import COMMON_PRACTICE

Group = Literal[
    "battery", "charging", "supplies", "returns", "motors", "control", "sound",
]
GROUP_WORDS: dict[Group, str] = {
    "battery": "From the battery", "charging": "Charging", "supplies": "Supplies",
    "returns": "0 V returns", "motors": "Motors", "control": "Control", "sound": "Sound",
}
FROM_TYPES = "the values of the two modules' types"


@dataclass(frozen=True, slots=True)
class Suggestion:
    """One connection that the job could have.

    Attributes:
        from_, to: ends "part.terminal"; current flows from the first to the second, or back to
            the first on a return.
        group: what it belongs to.
        reason: why, in words.
        source: where the reason comes from.
        label: a name for the wire.
        cable: name of the ready-made lead that it is part of, "" for a single wire.
        unplug: whether an in-line plug belongs into it.
        weight: what it counts as when wires are kept short, A; None: by the two modules' currents,
            which tell nothing of a wire that feeds many others.
    """

    from_: str
    to: str
    group: Group
    reason: str
    source: str = COMMON_PRACTICE
    label: str = ""
    cable: str = ""
    unplug: bool = False
    weight: float | None = None

    @property
    def key(self) -> str:
        """Names it among the suggestions of one job: its two ends."""
        return f"{self.from_}>{self.to}"

    @property
    def connection(self) -> dict[str, Any]:
        """The connection as plain JSON values, without its id."""
        wire: dict[str, Any] = {"from": self.from_, "to": self.to}
        for key in ("label", "cable", "unplug", "weight"):
            if value := getattr(self, key):
                wire[key] = value
        return wire


@dataclass(frozen=True, slots=True)
class Lacking:
    """Something that keeps terminals from being joined, and the parts that it is about."""

    words: str
    parts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Advice:
    """All suggestions for a job, in the order in which a board is wired, and what is lacking."""

    suggestions: tuple[Suggestion, ...]
    lacking: tuple[Lacking, ...]

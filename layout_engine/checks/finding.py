"""What a check finds: data about one place of the job, worded for the person who builds it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Literal

from layout_engine.tables import sourced
from layout_engine.working import Working

Severity = Literal["stop", "warn", "note"]
GRAVITY: dict[Severity, int] = {"stop": 0, "warn": 1, "note": 2}
COMMON_PRACTICE = sourced.COMMON_PRACTICE


@dataclass(frozen=True, slots=True)
class Move:
    """A remedy that the person can take with one press: put `part` there.

    Plate frame, mm and degrees, as in a placement.
    """

    words: str
    part: str
    x: float
    y: float
    turn: float
    face: str


@dataclass(frozen=True, slots=True)
class Place:
    """Where on the plate a finding is to be seen, mm in the plate frame."""

    x: float
    y: float
    face: str = "front"


@dataclass(frozen=True, slots=True)
class Finding:
    """One finding of the contract.

    Attributes:
        rule: the contract's rule name.
        severity: "stop" do not build it like this, "warn", "note".
        subjects: ids of what it is about.
        of_plate: how many of the last subjects name the plate, or a mount or a keep-out of it,
            which may have the name of a part.
        of_wires: those of the subjects that name connections, which may have the name of a part.
        title: one short sentence in a builder's words.
        message: the numbers, in words.
        value, limit, unit: the measured figure and what it is held against.
        source: where the limit comes from.
        remedy: what to do.
        rests_on_guess: whether a footprint in it is still a guess.
        place: where to look.
        moves: remedies to take at once.
        working: how the value was worked out.
        accepted: the reason with which the person accepted a warning.
    """

    rule: str
    severity: Severity
    subjects: tuple[str, ...]
    title: str
    message: str
    value: float | None
    limit: float | None
    unit: str
    source: str
    remedy: str
    rests_on_guess: bool = False
    place: Place | None = None
    moves: tuple[Move, ...] = ()
    working: Working | None = None
    accepted: str | None = None
    of_plate: int = 0
    of_wires: frozenset[str] = frozenset()

    @property
    def key(self) -> str:
        """Rule and subjects in one word, by which pages name it."""
        return ".".join((self.rule, *self.subjects))

    @property
    def subjects_off_plate(self) -> tuple[str, ...]:
        """The subjects without what is the plate's own: parts, and wires."""
        return self.subjects[:len(self.subjects) - self.of_plate]

    @property
    def parts(self) -> tuple[str, ...]:
        """The subjects that name parts; one that names a wire too is there twice."""
        every = self.subjects_off_plate
        return tuple(s for n, s in enumerate(every) if s not in self.of_wires or s in every[:n])

    @property
    def wires(self) -> tuple[str, ...]:
        """The subjects that name connections."""
        return tuple(dict.fromkeys(s for s in self.subjects if s in self.of_wires))

    def with_acceptance(self, reason: str) -> Finding:
        """The same finding, accepted with a reason; a stop cannot be accepted."""
        return self if self.severity == "stop" else replace(self, accepted=reason)

    def as_json(self) -> dict[str, Any]:
        """The contract's keys, and `parts`, `wires`, `title`, `place`, `moves`, `accepted`."""
        return {
            "rule": self.rule,
            "severity": self.severity,
            "subjects": list(self.subjects),
            "parts": list(self.parts),
            "wires": list(self.wires),
            "message": self.message,
            "value": self.value,
            "limit": self.limit,
            "unit": self.unit,
            "source": self.source,
            "remedy": self.remedy,
            "rests_on_guess": self.rests_on_guess,
            "title": self.title,
            "place": None if self.place is None else {
                "x": self.place.x, "y": self.place.y, "face": self.place.face
            },
            "moves": [
                {"words": m.words, "part": m.part, "x": m.x, "y": m.y, "turn": m.turn,
                 "face": m.face}
                for m in self.moves
            ],
            "accepted": self.accepted,
        }

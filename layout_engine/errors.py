"""What the engine refuses, and how it says so."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


class EngineError(Exception):
    """Root of the engine's own errors."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One wrong thing in a document.

    Attributes:
        path: where, as a JSON path from the root, e.g. `$.parts[3].placement.x`.
        value: what stood there; as text where JSON cannot carry it.
        allowed: what is allowed there, in words.
    """

    path: str
    value: Any
    allowed: str

    def __str__(self) -> str:
        return f"{self.path}: {self.value!r}, allowed: {self.allowed}"


class DocumentError(EngineError):
    """A document that is not a job. `errors` lists every fault found, `malformed` says not JSON."""

    def __init__(self, errors: list[Fault], *, malformed: bool = False) -> None:
        super().__init__("; ".join(str(fault) for fault in errors[:5]))
        self.errors = errors
        self.malformed = malformed

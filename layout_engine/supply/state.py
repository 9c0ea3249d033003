"""What a solved supply is: voltages of nodes, currents and losses of branches, run time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from layout_engine.errors import EngineError
from layout_engine.working import Working

Pack = Literal["nominal", "full", "empty"]
BranchKind = Literal[
    "wire", "path", "load", "battery", "motor", "drive", "drive_out", "converter", "converter_out"
]


class SupplyError(EngineError):
    """A supply that cannot be solved as asked. The message names the parts and what to change."""

    def __init__(self, message: str, parts: tuple[str, ...] = ()) -> None:
        super().__init__(message)
        self.parts = parts


class Declined(SupplyError):
    """A supply this tool does not work on: over 60 V direct current, or alternating current."""


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure with how it was worked out; None where it cannot be said."""

    value: float | None
    unit: str
    working: Working | None = None


@dataclass(frozen=True, slots=True)
class Branch:
    """One way for current.

    Attributes:
        id: the connection's id; "part.from>to" of a path or an element inside a part.
        part: the part it lies in; None of a wire.
        from_, to: its nodes, "part.terminal".
        ohms: its resistance; None where it has none of its own (load, driver, converter).
        amps: current from `from_` to `to` through it.
        volts: voltage of `from_` against `to`; None where a node floats.
        loss: W that become heat in it.
        power: W that go in at `from_` and `to` together; a source's is negative.
        used: W that a load takes or a motor turns into motion.
    """

    id: str
    kind: BranchKind
    part: str | None
    from_: str
    to: str
    ohms: float | None
    amps: float
    volts: float | None
    loss: float
    power: float
    used: float = 0.0


@dataclass(frozen=True)
class SupplyState:
    """One case, solved.

    Attributes:
        case: its id.
        pack: whether the battery stood at its nominal, full or empty voltage.
        nodes: V of every terminal against the first battery's minus; None: it floats, nothing
            ties it to the supply.
        branches: every wire, path and element.
        losses: heat, W, of each part (its paths and what its elements waste).
        battery_power: W that the batteries' chemistry gives: sum of EMF x current.
        wasted: W that become heat in wires, contacts and parts, the batteries' own included.
        used: W that loads take and motors turn into motion.
        residual: largest disagreement of a node's currents, relative to the largest current.
        steps: Newton steps taken.
        run_time: minutes until the pack is empty, at this case all the time.
        remarks: what was assumed or could not be told, in words.
    """

    case: str
    pack: Pack
    nodes: dict[str, float | None]
    branches: tuple[Branch, ...]
    losses: dict[str, float]
    battery_power: float
    wasted: float
    used: float
    residual: float
    steps: int
    run_time: Figure
    remarks: tuple[str, ...] = ()

    def branch(self, branch_id: str) -> Branch:
        """The branch of that id; raises KeyError."""
        for branch in self.branches:
            if branch.id == branch_id:
                return branch
        raise KeyError(branch_id)

    @property
    def run_time_min(self) -> float | None:
        """Minutes until the pack is empty; None where it cannot be said."""
        return self.run_time.value

    def as_json(self) -> dict[str, Any]:
        """The contract's keys, and `kind`, `from`, `to`, `volts`, `case`, `remarks` beside them."""
        return {
            "case": self.case,
            "nodes": self.nodes,
            "branches": [
                {"id": b.id, "amps": b.amps, "loss": b.loss, "kind": b.kind, "from": b.from_,
                 "to": b.to, "volts": b.volts}
                for b in self.branches
            ],
            "run_time_min": self.run_time_min,
            "battery_watts": self.battery_power + 0.0,  # no minus before nought
            "remarks": list(self.remarks),
        }

"""Node voltages by least squares on Kirchhoff's current law, written from the laws alone.

Nothing of the engine's way of solving is used: no ports, no pieces, no derivatives. For boards of
`random_supply`: one pack, loads over their knee, one converter, one bridge.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.optimize import least_squares

from layout_engine.supply.elements import Element
from layout_engine.supply.study import Study

Volts = np.ndarray[Any, np.dtype[np.float64]]


class Board:
    """One case of a board as currents that must sum to nothing."""

    def __init__(self, study: Study, case: str) -> None:
        self.network = study.network
        self.row = study.row[case, "nominal"]
        self.given = study.settings
        self.names = study.network.names
        self.items = study.network.elements.items
        self.zero = self.names.index("pack.minus")
        (pack,) = [n for n, e in enumerate(self.items) if e.kind == "battery"]
        self.emf = float(self.given.emf[self.row, pack])

    def start(self) -> Volts:
        """A first guess: plus ends at the pack's voltage, minus ends at 0 V, logic at 4.9 V."""
        return np.array([self._guess(name) for name in self.names])

    def _guess(self, name: str) -> float:
        part, terminal = name.split(".")
        if terminal in {"minus", "m", "om", "b"} or part == "zero_bar":
            return 0.0
        return 4.9 if terminal == "op" or part.startswith("logic") else self.emf

    def residual(self, v: Volts) -> Volts:
        """Current that is left over at each node."""
        into = np.zeros(len(self.names))
        for c in self.network.conductors:
            self._flows(into, c.a, c.b, (v[c.a] - v[c.b]) / c.ohms)
        for n, e in enumerate(self.items):
            across = float(v[e.plus] - v[e.minus])
            if e.kind in ("drive_out", "converter_out"):
                self._pair(into, v, n, across)
            elif e.kind in ("battery", "load", "motor"):
                self._flows(into, e.plus, e.minus, self._amps(n, e, across))
        into[self.zero] = v[self.zero]
        return into

    @staticmethod
    def _flows(into: Volts, a: int, b: int, amps: float) -> None:
        into[a] -= amps
        into[b] += amps

    def _amps(self, n: int, e: Element, across: float) -> float:
        if e.kind == "battery":
            return (across - self.emf) / e.ohms
        wanted = float(self.given.amps[self.row, n])
        if e.kind == "load":
            return wanted * min(1.0, max(0.0, across / e.knee))
        if np.isnan(self.given.emf[self.row, n]):
            return float(np.clip(across / e.ohms, -wanted, wanted))
        return across / e.ohms

    def _pair(self, into: Volts, v: Volts, n: int, across: float) -> None:
        e = self.items[n]
        inp = self.items[e.partner]
        fed = float(v[inp.plus] - v[inp.minus])
        if e.kind == "drive_out":
            source = min(fed, float(self.given.wanted[self.row, n]))
            amps = (source - across) / e.ohms
            taken = source / fed * amps
            anchor = float(v[inp.minus])
        else:
            amps = max(0.0, (e.volts - across) / e.ohms)
            taken = amps if e.efficiency == 0 else across * amps / (e.efficiency * fed)
            anchor = 0.0
        self._flows(into, e.minus, e.plus, amps)
        self._flows(into, inp.plus, inp.minus, taken)
        if not self._on_main_island(e.minus):
            into[e.minus] += v[e.minus] - anchor

    def _on_main_island(self, node: int) -> bool:
        island, piece = self.network.islands, self.network.component
        return bool(island[piece[node]] == island[piece[self.zero]])


def node_voltages(study: Study, case: str) -> dict[str, float]:
    """Voltage of every terminal against the pack's minus."""
    board = Board(study, case)
    found = least_squares(
        board.residual, board.start(), xtol=1e-15, ftol=1e-15, gtol=1e-15, method="lm"
    )
    assert np.abs(found.fun).max() < 1e-6
    return dict(zip(board.names, found.x, strict=True))

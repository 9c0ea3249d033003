"""Newton's method on the ports of a network, all cases at once.

Unknown are the current of every element and the voltage of every piece of metal. Equations: each
element's law, and the balance of the currents that leave each piece. A solution is accepted only
when both hold to a thousand-millionth of the largest current of its case.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layout_engine.supply.elements import Array, Elements, Settings
from layout_engine.supply.network import Network

TOLERANCE = 1e-10  # of the largest current; and of the law, as a current
SMALLEST_AMPS = 1e-3  # currents are compared with at least this
LARGEST_BATCH = 3_000_000  # entries of the Jacobians solved at once, 24 MB
PLAIN_STEPS = 15
GUARDED_STEPS = 30
FIRST_HOLD, MOST_HOLD, LAST_HOLD = 5.0, 1e5, 1e-6  # S: how firmly the last voltages are held
SOFTER, STIFFER = 0.3, 4.0  # where little moves; where a moment cannot be solved
SETTLING_STEPS, STEPS_A_MOMENT, SETTLED_VOLTS = 120, 3, 0.02


@dataclass(frozen=True)
class Ports:
    """A network seen from its elements.

    Attributes:
        elements: e of them.
        z: (e, e) or (cases, e, e): voltage lost in wires and paths at each element for 1 A in
            another.
        pieces: (e, p): +1 where an element's plus lies in a piece, -1 for its minus.
        fixed: which of the p pieces are held at 0 V, one an island.
    """

    elements: Elements
    z: Array
    pieces: Array
    fixed: NDArray[np.bool_]


@dataclass(frozen=True)
class Solved:
    """Currents (cases, e), voltages of pieces (cases, p), who converged, residuals, steps."""

    amps: Array
    volts: Array
    converged: NDArray[np.bool_]
    residual: Array
    steps: NDArray[np.int_]


def ports_of(network: Network, grounds: list[int]) -> Ports:
    """The ports of a network whose islands are held at 0 V at these pieces."""
    pieces = int(network.component.max()) + 1 if len(network.names) else 0
    membership = np.zeros((len(network.elements), pieces))
    rows = np.arange(len(network.elements))
    np.add.at(membership, (rows, network.component[network.elements.plus]), 1.0)
    np.add.at(membership, (rows, network.component[network.elements.minus]), -1.0)
    touched = np.zeros(pieces, dtype=bool)
    touched[network.component[network.elements.plus]] = True
    touched[network.component[network.elements.minus]] = True
    fixed = ~touched
    fixed[grounds] = True
    z = network.incidence.T @ network.transfer
    return Ports(network.elements, z, membership, fixed)


def solve(ports: Ports, given: Settings, start: Array) -> Solved:
    """Solve every case.

    Args:
        ports: the network.
        given: the cases, (cases, e).
        start: first voltages of the pieces, (cases, p).
    """
    with np.errstate(all="ignore"):  # figures beyond all measure end as a case not converged
        size = len(ports.elements) + ports.pieces.shape[1]
        at_once = max(1, LARGEST_BATCH // max(1, size * size))
        pieces = [np.arange(n, min(n + at_once, len(start)))
                  for n in range(0, len(start), at_once)]  # fmt: skip
        parts = [_solve(_rows(ports, rows), given.rows(rows), start[rows]) for rows in pieces]
    return parts[0] if len(parts) == 1 else Solved(*(
        np.concatenate([getattr(part, name) for part in parts])
        for name in ("amps", "volts", "converged", "residual", "steps")
    ))  # fmt: skip


def _solve(ports: Ports, given: Settings, start: Array) -> Solved:
    work = _Work(ports, given)
    amps, volts = work.begin(start)
    solved = work.run(amps, volts, PLAIN_STEPS, guarded=False)
    for effort in (_guarded, _settling):
        rest = np.flatnonzero(~solved.converged)
        if not len(rest):
            break
        again = effort(_Work(_rows(ports, rest), given.rows(rest)), start[rest])
        better = again.converged | (again.residual < solved.residual[rest])
        chosen = rest[better]
        for name in ("amps", "volts", "converged", "residual"):
            getattr(solved, name)[chosen] = getattr(again, name)[better]
        solved.steps[rest] += again.steps
    return solved


def _rows(ports: Ports, chosen: NDArray[np.int_]) -> Ports:
    z = ports.z if ports.z.ndim == 2 else ports.z[chosen]
    return Ports(ports.elements, z, ports.pieces, ports.fixed)


def _guarded(work: _Work, start: Array) -> Solved:
    return work.run(*work.begin(start), GUARDED_STEPS, guarded=True)


def _settling(work: _Work, start: Array) -> Solved:
    """Let the voltages settle as if capacitors hung at the inputs, then take these away.

    Where a feed cannot give the power that is asked for, this ends at the low voltage to which the
    board would really fall.
    """
    amps, volts = work.begin(start)
    held = np.full((len(start), 1), FIRST_HOLD)
    for _ in range(SETTLING_STEPS):
        before = work.across(amps, volts)
        work.hold = held, before
        moment = work.run(amps, volts, STEPS_A_MOMENT, guarded=False)
        well = moment.converged[:, None]
        amps, volts = np.where(well, moment.amps, amps), np.where(well, moment.volts, volts)
        moved = np.abs(work.across(amps, volts) - before).max(axis=1, initial=0.0)[:, None]
        held = np.where(well, np.where(moved < SETTLED_VOLTS, SOFTER * held, held),
                        np.minimum(STIFFER * held, MOST_HOLD))  # fmt: skip
        if held.max(initial=0.0) < LAST_HOLD:
            break
    work.hold = None
    return work.run(amps, volts, GUARDED_STEPS, guarded=True)


class _Work:
    """One set of cases being solved."""

    def __init__(self, ports: Ports, given: Settings) -> None:
        self.ports = ports
        self.given = given
        self.free = ~ports.fixed
        self.b = ports.pieces[:, self.free]
        self.count = len(ports.elements)
        self.hold: tuple[Array, Array] | None = None
        self.limit = 2.0 + 2.0 * float(np.nanmax(np.abs(given.emf), initial=0.0))

    def begin(self, start: Array) -> tuple[Array, Array]:
        amps = np.zeros((len(start), self.count))
        volts = start.copy()
        for _ in range(2):  # inputs of converters and drivers follow their outputs
            law, _, _ = self.ports.elements.currents(volts @ self.ports.pieces.T, amps, self.given)
            quiet = np.isin(np.arange(self.count), self._sources())
            amps = np.where(quiet, 0.0, law)
        return amps, volts

    def _sources(self) -> NDArray[np.int_]:
        e = self.ports.elements
        kinds = ("battery", "drive_out", "converter_out")
        return np.concatenate([e.of(kind) for kind in kinds])  # type: ignore[arg-type]

    def across(self, amps: Array, volts: Array) -> Array:
        """Voltage at every element."""
        if self.ports.z.ndim == 2:
            lost = amps @ self.ports.z.T
        else:
            lost = np.einsum("kij,kj->ki", self.ports.z, amps)
        found: Array = volts @ self.ports.pieces.T - lost
        return found

    def disagreement(self, amps: Array, volts: Array) -> tuple[Array, Array, tuple[Array, Array]]:
        """What the laws say against the currents; balance of the pieces; derivatives."""
        across = self.across(amps, volts)
        law, by_v, by_i = self.ports.elements.currents(across, amps, self.given)
        if self.hold is not None:
            slope, before = self.hold
            each = np.arange(self.count)
            law = law + slope * (across - before)
            by_v[:, each, each] += slope
        return law - amps, amps @ self.b, (by_v, by_i)

    def run(self, amps: Array, volts: Array, most: int, *, guarded: bool) -> Solved:
        steps = np.zeros(len(amps), dtype=int)
        law, balance, slopes = self.disagreement(amps, volts)
        error = self._error(law, balance, amps, slopes[0])
        for _ in range(most):
            converged = error <= TOLERANCE
            if converged.all():
                break
            steps += ~converged
            step = self._step(law, balance, slopes)
            amps, volts = self._taken(amps, volts, step, converged, guarded=guarded)
            law, balance, slopes = self.disagreement(amps, volts)
            error = self._error(law, balance, amps, slopes[0])
        return Solved(amps, volts, error <= TOLERANCE, error, steps)

    @staticmethod
    def _error(law: Array, balance: Array, amps: Array, by_v: Array) -> Array:
        """Largest disagreement relative to the largest current.

        A stiff source (large slope) multiplies the rounding of its voltage; its law is therefore
        taken as a voltage, as if it had a slope of 1 S.
        """
        largest = np.maximum(np.abs(amps).max(axis=1, initial=0.0), SMALLEST_AMPS)
        slope = np.maximum(np.abs(np.diagonal(by_v, axis1=1, axis2=2)), 1.0)
        of_law = np.abs(law / slope).max(axis=1, initial=0.0)
        of_balance = np.abs(balance).max(axis=1, initial=0.0)
        found: Array = np.maximum(of_law, of_balance) / largest
        return found

    def _step(self, law: Array, balance: Array, slopes: tuple[Array, Array]) -> Array:
        by_v, by_i = slopes
        cases, free = len(law), self.b.shape[1]
        size = self.count + free
        jacobian = np.zeros((cases, size, size))
        jacobian[:, : self.count, : self.count] = by_i - by_v @ self.ports.z - np.eye(self.count)
        jacobian[:, : self.count, self.count:] = by_v @ self.b
        jacobian[:, self.count:, : self.count] = self.b.T
        right = -np.concatenate((law, balance), axis=1)
        # Rows of stiff elements are scaled so that all are of one size.
        scale = np.abs(jacobian).max(axis=2)
        scale[scale == 0] = 1.0
        try:
            found: Array = np.linalg.solve(
                jacobian / scale[:, :, None], (right / scale)[:, :, None]
            )[:, :, 0]
        except np.linalg.LinAlgError:
            pairs = zip(jacobian, right, strict=True)
            found = np.stack([np.linalg.lstsq(j, r, rcond=None)[0] for j, r in pairs])
        return found

    def _taken(
        self, amps: Array, volts: Array, step: Array, done: NDArray[np.bool_], *, guarded: bool
    ) -> tuple[Array, Array]:
        """The point after a step: cut to what a voltage may move, shortened while it is worse."""
        moved = np.abs(step[:, self.count:]).max(axis=1, initial=0.0)
        share = np.minimum(1.0, self.limit / np.maximum(moved, 1e-12))
        share[done] = 0.0
        if not guarded:
            return self._at(amps, volts, step, share)
        before = self._merit(amps, volts)
        for _ in range(8):
            there = self._at(amps, volts, step, share)
            worse = (self._merit(*there) > (1 - 1e-4 * share) * before) & ~done
            if not worse.any():
                break
            share = np.where(worse, share / 2, share)
        return self._at(amps, volts, step, share)

    def _at(self, amps: Array, volts: Array, step: Array, share: Array) -> tuple[Array, Array]:
        moved = volts.copy()
        moved[:, self.free] += share[:, None] * step[:, self.count:]
        return amps + share[:, None] * step[:, : self.count], moved

    def _merit(self, amps: Array, volts: Array) -> Array:
        law, balance, slopes = self.disagreement(amps, volts)
        slope = np.maximum(np.abs(np.diagonal(slopes[0], axis1=1, axis2=2)), 1.0)
        found: Array = ((law / slope) ** 2).sum(axis=1) + (balance**2).sum(axis=1)
        return found

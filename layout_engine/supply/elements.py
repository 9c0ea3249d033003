"""What is not a plain resistance: batteries, loads, converters, drivers, motors.

Each element lies between two nodes; v is the voltage of its first node against its second, i the
current that goes in at the first. How i follows from v stands in `currents`:

    battery        i = (v - E) / R
    load           i = I while v is over its knee, falling straight to 0 at 0 V and below
    motor          i = I in the direction of v, but never more than v / R; or (v - E) / R
    drive          bridge fully on or chopping: its output is a source of min(v in, v wanted)
                   behind R, its input takes (output source) / (v in) times the output current
    converter      output: a source behind R that gives current and takes none; the source falls
                   with the input once that is under its knee; one that only converters feed is
                   dead; input: output power / (efficiency v) or, linear, the output current
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields

import numpy as np
from numpy.typing import NDArray

from layout_engine.supply.state import BranchKind

Array = NDArray[np.float64]
LEAK = 1e-9  # S beside what has no resistance: a node that only dead ones touch has a voltage
ORDER: tuple[BranchKind, ...] = (
    "battery", "load", "motor", "drive", "drive_out", "converter", "converter_out",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Element:
    """One element.

    Attributes:
        id, kind, part: as in a branch.
        plus, minus: numbers of its nodes.
        ohms: R; 0 where it has none.
        knee: V under which a load or a converter gives up.
        index: which battery, load, drive, converter of its type it is.
        partner: of a drive's or converter's input: the element of its output, and the reverse.
        volts: a converter's output voltage.
        efficiency: of a converter; 0 means linear.
        starts: of a converter, whether something else than converters feeds it; else it is dead.
    """

    id: str
    kind: BranchKind
    part: str
    plus: int
    minus: int
    ohms: float = 0.0
    knee: float = 1.0
    index: int = 0
    partner: int = -1
    volts: float = 0.0
    efficiency: float = 0.0
    starts: bool = True


@dataclass
class Settings:
    """What differs between cases, arrays of shape (cases, elements).

    amps: current that loads and motors want, A. emf: of batteries, and of motors that are not
    steered by current, V; NaN: steered by current. wanted: V that a drive's output is to have.
    """

    amps: Array
    emf: Array
    wanted: Array

    def rows(self, chosen: NDArray[np.bool_] | NDArray[np.int_]) -> Settings:
        """The settings of some cases."""
        return Settings(*(getattr(self, f.name)[chosen] for f in fields(self)))


@dataclass
class Elements:
    """All elements of a network as arrays."""

    items: tuple[Element, ...]
    plus: NDArray[np.int_] = field(init=False)
    minus: NDArray[np.int_] = field(init=False)
    ohms: Array = field(init=False)
    knee: Array = field(init=False)

    def __post_init__(self) -> None:
        self.plus = np.array([e.plus for e in self.items], dtype=int)
        self.minus = np.array([e.minus for e in self.items], dtype=int)
        self.ohms = np.array([e.ohms for e in self.items])
        self.knee = np.array([e.knee for e in self.items])
        numbers = {kind: [n for n, e in enumerate(self.items) if e.kind == kind] for kind in ORDER}
        self._of = {kind: np.array(found, dtype=int) for kind, found in numbers.items()}
        self._volts = np.array([e.volts for e in self.items])
        self._efficiency = np.array([e.efficiency for e in self.items])
        self._starts = np.array([e.starts for e in self.items], dtype=bool)
        stiff = [e.kind in ("battery", "drive_out") for e in self.items]
        self._leaks = np.where(stiff, 0.0, LEAK)
        self._partner = np.array([e.partner for e in self.items], dtype=int)

    def __len__(self) -> int:
        return len(self.items)

    def of(self, kind: BranchKind) -> NDArray[np.int_]:
        """Numbers of the elements of a kind."""
        return self._of[kind]

    def currents(self, v: Array, i: Array, given: Settings) -> tuple[Array, Array, Array]:
        """Currents that belong to voltages `v` and, for inputs, to output currents `i`.

        All of shape (cases, elements).

        Returns:
            the currents, and their derivatives by v and by i, each (cases, elements, elements).
        """
        count = v.shape[1]
        diagonal = np.arange(count)
        found = self._leaks * v
        by_v = np.zeros((*v.shape, count))
        by_i = np.zeros_like(by_v)
        by_v[:, diagonal, diagonal] = self._leaks
        self._batteries(v, given, found, by_v)
        self._loads(v, given, found, by_v)
        self._motors(v, given, found, by_v)
        self._drives(v, i, given, (found, by_v, by_i))
        self._converters(v, i, (found, by_v, by_i))
        return found, by_v, by_i

    def _batteries(self, v: Array, given: Settings, found: Array, by_v: Array) -> None:
        n = self._of["battery"]
        found[:, n] += (v[:, n] - given.emf[:, n]) / self.ohms[n]
        by_v[:, n, n] += 1 / self.ohms[n]

    def _loads(self, v: Array, given: Settings, found: Array, by_v: Array) -> None:
        n = self._of["load"]
        share = v[:, n] / self.knee[n]
        found[:, n] += given.amps[:, n] * np.clip(share, 0, 1)
        ramp = (share > 0) & (share < 1)
        by_v[:, n, n] += np.where(ramp, given.amps[:, n] / self.knee[n], 0.0)

    def _motors(self, v: Array, given: Settings, found: Array, by_v: Array) -> None:
        n = self._of["motor"]
        amps, emf, across = given.amps[:, n], given.emf[:, n], v[:, n]
        stalled = across / self.ohms[n]
        steered = np.isnan(emf)
        limited = np.clip(stalled, -amps, amps)
        found[:, n] += np.where(steered, limited, stalled - np.nan_to_num(emf) / self.ohms[n])
        free = ~steered | (np.abs(stalled) < amps)
        by_v[:, n, n] += np.where(free, 1 / self.ohms[n], 0.0)

    def _drives(
        self, v: Array, i: Array, given: Settings, into: tuple[Array, Array, Array]
    ) -> None:
        found, by_v, by_i = into
        out = self._of["drive_out"]
        if not len(out):
            return
        inp = self._partner[out]
        fed, wanted = v[:, inp], given.wanted[:, out]
        full_on = fed <= wanted
        source = np.maximum(np.minimum(fed, wanted), 0.0)
        found[:, out] += (v[:, out] - source) / self.ohms[out]
        by_v[:, out, out] += 1 / self.ohms[out]
        by_v[:, out, inp] -= np.where(full_on & (fed > 0), 1.0, 0.0) / self.ohms[out]
        duty = np.where(full_on, 1.0, wanted / np.where(full_on, 1.0, fed))
        duty = np.where(fed > 0, duty, 0.0)
        found[:, inp] -= duty * i[:, out]
        by_i[:, inp, out] -= duty
        slope = np.where(full_on | (fed <= 0), 0.0, duty / np.where(full_on, 1.0, fed))
        by_v[:, inp, inp] += slope * i[:, out]

    def _converters(self, v: Array, i: Array, into: tuple[Array, Array, Array]) -> None:
        found, by_v, by_i = into
        out = self._of["converter_out"]
        if not len(out):
            return
        inp = self._partner[out]
        fed, gives = v[:, inp], -i[:, out]
        linear = self._efficiency[out] == 0
        knee = np.where(linear, self._volts[out], self.knee[out])
        share = np.where(self._starts[out], np.clip(fed / knee, 0, 1), 0.0)
        source = self._volts[out] * share
        sags = (share > 0) & (share < 1)
        giving = source > v[:, out]
        found[:, out] += np.where(giving, (v[:, out] - source) / self.ohms[out], 0.0)
        by_v[:, out, out] += np.where(giving, 1 / self.ohms[out], 0.0)
        by_v[:, out, inp] -= np.where(
            giving & sags, self._volts[out] / knee / self.ohms[out], 0.0
        )
        held = np.maximum(fed, 0.02 * knee)  # keeps a dead input from taking endless current
        efficiency = np.where(linear, 1.0, self._efficiency[out])
        across = np.maximum(v[:, out], 0.0)
        rate = np.where(linear, 1.0, across / (efficiency * held))
        rate = np.where(fed > 0, rate, 0.0)
        found[:, inp] += rate * gives
        by_i[:, inp, out] -= rate
        live = ~linear & (fed > 0)
        by_v[:, inp, out] += np.where(live & (v[:, out] > 0), gives / (efficiency * held), 0.0)
        over = live & (fed > 0.02 * knee)
        by_v[:, inp, inp] -= np.where(over, across * gives / (efficiency * held**2), 0.0)

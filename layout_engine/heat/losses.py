"""What each part and each wire turns into heat in one row of a solved supply. W.

A wire may have the id of a part: the two are told apart everywhere.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from layout_engine.supply.basis import ohms_source
from layout_engine.supply.shares import why_drawn
from layout_engine.supply.study import Study
from layout_engine.working import Given


def _conductor_watts(study: Study, row: int) -> list[float]:
    ohms = np.array([c.ohms for c in study.network.conductors])
    found: list[float] = (study.conductor_amps[row] ** 2 * ohms).tolist()
    return found


def wire_watts(study: Study, row: int) -> dict[str, float]:
    """Heat [W] of each wire in a row of a study. Wires may have the ids of parts."""
    each = zip(study.network.conductors, _conductor_watts(study, row), strict=True)
    return {c.id: watts for c, watts in each if c.part is None}


def part_watts(study: Study, row: int) -> dict[str, float]:
    """Heat [W] of each part in a row of a study: losses, and what loads take."""
    network = study.network
    found: dict[str, float] = {}
    for c, loss in zip(network.conductors, _conductor_watts(study, row), strict=True):
        if c.part is not None:
            found[c.part] = found.get(c.part, 0.0) + loss
    for e, watts in zip(network.elements.items, _element_watts(study, row), strict=True):
        if watts is not None:
            found[e.part] = found.get(e.part, 0.0) + watts
    return {name: max(0.0, watts) for name, watts in found.items()}


def _element_watts(study: Study, row: int) -> list[float | None]:
    """What each element loses or uses, W: what goes in less what comes out.

    None of an output, which is told with its input.
    """
    across, amps = study.ports_volts[row], study.solved.amps[row]
    found: list[float | None] = []
    for n, e in enumerate(study.network.elements.items):
        power = float(across[n] * amps[n])
        if e.kind in ("battery", "motor"):
            power = min(e.ohms * float(amps[n]) ** 2, abs(power))
        elif e.kind in ("drive", "converter"):
            power += float(across[e.partner] * amps[e.partner])
        found.append(None if e.kind in ("drive_out", "converter_out") else power)
    return found


def lost(study: Study, row: int, number: int) -> Given:
    """What a conductor loses in a row, W."""
    c, amps = study.network.conductors[number], float(study.conductor_amps[row, number])
    return Given("P", f"{c.id}: {abs(amps):.4g} A through {1000 * c.ohms:.4g} mohm",
                 amps * amps * c.ohms, "W", f"I^2 R; {ohms_source(study.network, c)}")  # fmt: skip


def heat_pieces(study: Study, row: int) -> dict[str, tuple[Given, ...]]:
    """What the heat of each part is the sum of, W: each path, each element in it."""
    network, found = study.network, dict[str, list[Given]]()
    for n, c in enumerate(network.conductors):
        if c.part is not None:
            _add(found, c.part, lost(study, row, n))
    for n, (e, watts) in enumerate(zip(network.elements.items, _element_watts(study, row),
                                       strict=True)):  # fmt: skip
        amps, volts = float(study.element_amps[row, n]), float(study.ports_volts[row, n])
        if watts is None:
            continue
        words = f"{e.kind} {e.id}: {amps:.4g} A at {volts:.4g} V"
        if e.kind in ("battery", "motor"):
            words = f"{e.kind} {e.id}: {amps:.4g} A through {1000 * e.ohms:.4g} mohm"
        elif e.kind in ("drive", "converter"):
            out = float(study.ports_volts[row, e.partner] * study.element_amps[row, e.partner])
            words += f", less {-out:.4g} W passed on"
        _add(found, e.part, Given("P", words, watts, "W", why_drawn(study, row, n)))
    return {name: tuple(given) for name, given in found.items()}


def _add(found: dict[str, list[Given]], part: str, piece: Given) -> None:
    """One more piece of the heat of a part, where it is anything at all."""
    own = found.setdefault(part, [])
    if piece.value != 0:
        own.append(replace(piece, symbol=f"P{len(own) + 1}"))

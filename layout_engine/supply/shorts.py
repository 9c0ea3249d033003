"""Dead shorts: which current a full pack drives through each conductor when a module is shorted."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from layout_engine.supply.elements import Array
from layout_engine.supply.network import SHORT_OHMS
from layout_engine.supply.state import Pack
from layout_engine.supply.study import Study


@dataclass(frozen=True)
class Shorts:
    """Shorts at some elements, one after another.

    Attributes:
        elements: numbers of the elements whose terminals are shorted.
        amps: through each short, (elements,).
        conductors: through each wire and path meanwhile, (elements, conductors).
    """

    elements: tuple[int, ...]
    amps: Array
    conductors: Array


def short_circuits(study: Study, elements: list[int], pack: Pack = "full") -> Shorts:
    """Short each element in turn; only the packs feed the fault, all else draws nothing.

    Behind a converter or a bridge nothing flows here: what they give into a short is theirs to say.

    Args:
        study: the supply; `pack` must be one of its states.
        elements: numbers in `study.network.elements`.
        pack: state of the packs.
    """
    row = next(n for (_, state), n in study.row.items() if state == pack)
    flows = np.array([_flows(study, n, row) for n in elements])
    flows = flows.reshape(len(elements), len(study.network.elements))
    drops = flows @ study.network.transfer.T
    a, b = study.network.ends
    amps = flows[np.arange(len(elements)), elements]
    return Shorts(tuple(elements), amps, (drops[:, a] - drops[:, b]) * study.network.conductance)


def _flows(study: Study, shorted: int, row: int) -> Array:
    """Current of each element with one of them shorted: packs and the short as plain resistances.

    Unknown are their currents and the voltages of the pieces: R i + Z i - B U = -E, B^T i = 0.
    """
    network = study.network
    packs = [int(n) for n in network.elements.of("battery") if n != shorted]
    chosen = [*packs, shorted]
    own = np.array([*network.elements.ohms[packs], SHORT_OHMS])
    emf = np.array([*study.settings.emf[row, packs], 0.0])
    pieces = study.ports.pieces[chosen]
    pieces = pieces[:, ~study.ports.fixed]
    corner = np.zeros((pieces.shape[1], pieces.shape[1]))
    z = study.ports.z[np.ix_(chosen, chosen)] + np.diag(own)
    matrix = np.block([[z, -pieces], [pieces.T, corner]])
    right = np.concatenate((-emf, np.zeros(pieces.shape[1])))
    found = np.zeros(len(network.elements))
    found[chosen] = np.linalg.lstsq(matrix, right, rcond=None)[0][: len(chosen)]
    return found

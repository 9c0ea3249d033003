"""What hangs on an amplifier's outputs: which speakers, how many ohms together."""

from __future__ import annotations

from dataclasses import dataclass, replace

from layout_engine.supply.joined import ends_of_pieces, part_of, terminals
from layout_engine.supply.network import Network


@dataclass(frozen=True, slots=True)
class Output:
    """One output of an amplifier.

    Attributes:
        piece: the piece of metal (speakers conduct) that it is.
        ohms: resistance between its two terminals, wires taken as none; None where only one is
            joined.
    """

    amplifier: str
    speakers: tuple[str, ...]
    piece: int
    ohms: float | None


def amplifier_outputs(network: Network) -> list[Output]:
    """Every output with a speaker, in the order of the parts."""
    job = network.job
    ends = terminals(job)
    amplifiers = [p.id for p in job.parts if job.type_of(p).amplifier is not None]
    if not amplifiers:
        return []
    bare = Network(job, {
        name: replace(wire, copper=0.0, contacts=0.0) for name, wire in network.wires.items()
    })
    found = []
    for piece, members in ends_of_pieces(network).items():
        parts = dict.fromkeys(part_of(m) for m in members)
        speakers = tuple(p for p in parts if job.type_of(p).speaker_ohms)
        for amplifier in (a for a in amplifiers if a in parts):
            own = [m for m in members
                   if part_of(m) == amplifier and ends[m].role == "audio"]  # fmt: skip
            if speakers and own:
                found.append(Output(amplifier, speakers, piece, _between(bare, own)))
    return found


def _between(network: Network, own: list[str]) -> float | None:
    if len(own) < 2:
        return None
    pair = (network.number[own[0]], network.number[own[1]])
    return float(network.effective_ohms([pair])[0][0])

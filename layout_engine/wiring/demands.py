"""What each wire asks of its way: ends, thickness, weight, return, whether it is loud or quiet."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from layout_engine.arranging.cost import LEAST_WEIGHT, weight_of
from layout_engine.model.job import Connection, Job
from layout_engine.model.part_type import PartType
from layout_engine.tables.conductors import WireSize, outer_diameter, sizes_of, wire_size
from layout_engine.tables.dressing import first_guess

QUIET_ROLES = frozenset({"audio", "data"})
THIN_ROLES = frozenset({"signal", "data"})


@dataclass(frozen=True, slots=True)
class Demand:
    """One wire before it is routed.

    index: its place in the document; amps: weight of the connection [A]; size: asked for, None:
    nobody chose; outer: outer diameter [mm]; loud: motor or driver wire; quiet: audio or data;
    partner: index of its return, None: not known.
    """

    index: int
    connection: Connection
    amps: float
    size: WireSize | None
    outer: float
    loud: bool
    quiet: bool
    partner: int | None


def demands_of(job: Job, sizes: Mapping[str, str] | None = None) -> list[Demand]:
    """One demand a connection, in the document's order.

    sizes: names of sizes that were chosen, such as "16 AWG", by connection; what the person fixed
    goes before.
    """
    chosen = sizes or {}
    partner = partners(job)
    found = []
    for index, connection in enumerate(job.connections):
        amps = _amps(job, connection)
        asked = (connection.wire.size if connection.wire else None) or chosen.get(connection.id)
        size = wire_size(asked) if asked else _guess(job, connection, amps)
        insulation = (connection.wire.insulation if connection.wire else None
                      ) or job.assumptions.insulation
        outer = outer_diameter(size.area, insulation)
        loud = _is_loud(job, connection)
        found.append(Demand(index, connection, amps, size if asked else None, outer, loud,
                            not loud and _is_quiet(job, connection), partner.get(index)))
    return found


def _amps(job: Job, connection: Connection) -> float:
    """Weight of a connection, no more than its terminals carry; a signal's is the least there is.

    The usual weight follows from the parts, and a part that drives motors has signal wires too.
    """
    ends = [job.type_of(p).terminal(t) for p, t in connection.ends]
    if connection.weight is None and any(end.role in THIN_ROLES for end in ends):
        return LEAST_WEIGHT
    most = [end.max_amps for end in ends if end.max_amps is not None]
    return min([weight_of(job, connection), *most])


def _guess(job: Job, connection: Connection, amps: float) -> WireSize:
    """A first guess at a wire's size: by its current, within what both terminals take."""
    ends = [job.type_of(p).terminal(t) for p, t in connection.ends]
    guess = first_guess(amps, job.assumptions.sizes)
    most = min((end.max_mm2 for end in ends if end.max_mm2 is not None), default=guess.area)
    if guess.area <= most:
        return guess
    fitting = [s for s in sizes_of(job.assumptions.sizes) if s.area <= most + 1e-9]
    return fitting[-1] if fitting else guess


def _is_loud(job: Job, connection: Connection) -> bool:
    """A motor's wire, or the supply of a motor driver."""
    for part_id, terminal_id in connection.ends:
        kind = job.type_of(part_id)
        if kind.terminal(terminal_id).role == "motor":
            return True
        if any(terminal_id in (drive.plus, drive.minus, *drive.outs) for drive in kind.drives):
            return True
    return False


def _is_quiet(job: Job, connection: Connection) -> bool:
    roles = {job.type_of(p).terminal(t).role for p, t in connection.ends}
    return bool(roles & QUIET_ROLES)


def partners(job: Job) -> dict[int, int]:
    """For each feed its return and for each return its feed, by places in the document.

    Two wires belong together that end at the two poles of one load, drive, converter, battery or
    motor; first those whose other ends too are on one part, then those of one cable.
    """
    at: dict[tuple[str, str], list[int]] = {}
    for index, connection in enumerate(job.connections):
        for end in connection.ends:
            at.setdefault(end, []).append(index)
    found: dict[int, int] = {}
    pairs = [(a, b) for part in job.parts for p, q in _poles(job.type_of(part))
             for a in at.get((part.id, p), ()) for b in at.get((part.id, q), ()) if a != b]
    for a, b in sorted(pairs, key=lambda pair: (_apart(job, *pair), pair)):
        if a not in found and b not in found:
            found[a], found[b] = b, a
    return found


def _apart(job: Job, a: int, b: int) -> int:
    """0 for two wires between the same two parts, 1 for two of one cable, else 2."""
    one, other = job.connections[a], job.connections[b]
    if {p for p, _ in one.ends} == {p for p, _ in other.ends}:
        return 0
    return 1 if one.cable and one.cable == other.cable else 2


def _poles(kind: PartType) -> Iterator[tuple[str, str]]:
    for load in kind.loads:
        yield load.plus, load.minus
    for drive in kind.drives:
        yield drive.plus, drive.minus
        yield drive.outs
    for converter in kind.converters:
        yield converter.plus, converter.minus
        yield converter.out_plus, converter.out_minus
    if kind.battery:
        yield kind.battery.plus, kind.battery.minus
    if kind.motor and kind.motor.terminals:
        yield kind.motor.terminals[0], kind.motor.terminals[1]
    audio = [t.id for t in kind.terminals if t.role == "audio"]
    if len(audio) == 2:
        yield audio[0], audio[1]

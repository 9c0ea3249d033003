"""A connection as a conductor: its length, size, resistance when hot, and its two contacts.

Lengths in mm, resistances in ohm, temperatures in degC.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from layout_engine.model.job import Connection, Insulation, Job
from layout_engine.model.part_type import Terminal
from layout_engine.tables.conductors import (
    ALPHA,
    HOT_RISE,
    INSIDE_AIR,
    INSULATION_LIMIT,
    WireSize,
    hot_factor,
    sizes_of,
    wire_size,
)
from layout_engine.tables.contacts import JOINT_OHMS, UNPLUG_OHMS
from layout_engine.working import Given, Working

LengthFrom = Literal["given", "lead", "placed", "assumed"]
LENGTH_WORDS: dict[LengthFrom, str] = {
    "given": "given with the connection",
    "lead": "given with another wire of the same lead",
    "placed": "along the plate between the terminals, with the leads of what is elsewhere",
    "assumed": "guess, for one end has no place yet",
}
# First size, mm2, of a wire that nobody fixed and nothing has sized yet, by the terminals' roles;
# common practice, no source.
FIRST_AREA = {
    "positive": 1.5,
    "negative": 1.5,
    "motor": 1.5,
    "signal": 0.25,
    "audio": 0.25,
    "data": 0.25,
}


@dataclass(frozen=True, slots=True)
class WireFacts:
    """One connection as a conductor.

    Attributes:
        id: the connection's id.
        ends: its two nodes, "part.terminal".
        length: one way, mm; a feed is its outgoing and its return wire, each with its own length.
        length_from: how the length is known.
        size: conductor.
        fixed: whether the person fixed the size.
        chosen: whether the size was given or chosen; else it is a first size.
        insulation: of the wire.
        temperature: of the conductor, for its resistance.
        copper: ohm of the conductor when hot.
        contacts: ohm of both ends' joints together, an in-line plug included.
    """

    id: str
    ends: tuple[str, str]
    length: float
    length_from: LengthFrom
    size: WireSize
    fixed: bool
    chosen: bool
    insulation: Insulation
    temperature: float
    copper: float
    contacts: float

    @property
    def ohms(self) -> float:
        """Conductor and contacts together."""
        return self.copper + self.contacts

    @property
    def words(self) -> str:
        """Where its resistance comes from, with the figures it is made of."""
        guess = "guess, " if self.length_from == "assumed" or not self.chosen else ""
        return (f"{guess}{self.length:.4g} mm x {self.size.ohms_per_km:.4g} ohm/km x "
                f"{hot_factor(self.temperature):.4g} at {self.temperature:.3g} C, and "
                f"{1000 * self.contacts:.3g} mohm of contacts; {self.size.source}; "
                f"{JOINT_OHMS['screw'].source}")  # fmt: skip

    def working(self) -> Working:
        """How the resistance follows."""
        guess = "guess, first size until it is chosen" if not self.chosen else "document"
        return Working(
            "R = r20 L (1 + a (T - 20)) + Rc", (
                Given("r20", f"resistance of {self.size.name} at 20 C", self.size.ohms_per_km,
                      "ohm/km", self.size.source if self.chosen else guess),
                Given("L", "length, one way", self.length, "mm", LENGTH_WORDS[self.length_from]),
                Given("a", "temperature coefficient of copper", ALPHA.value, "1/K", ALPHA.source),
                Given("T", "conductor", self.temperature, "C", HOT_RISE.source),
                Given("Rc", "both contacts", self.contacts, "ohm",
                      JOINT_OHMS["screw"].source),
            ), self.ohms, "ohm", "IEC 60228 or NBS Handbook 100; contacts in series",
        )  # fmt: skip


def inside_air(job: Job) -> float:
    """Air inside the body, C: as assumed, 50 until the heat is solved."""
    stated = job.assumptions.inside_air
    return INSIDE_AIR.value if stated is None else stated


def wire_facts(
    job: Job,
    sizes: Mapping[str, WireSize] | None = None,
    lengths: Mapping[str, float] | None = None,
) -> dict[str, WireFacts]:
    """Every connection as a conductor, by its id.

    Args:
        job: the job.
        sizes: sizes that were chosen, by connection; a size the person fixed comes first.
        lengths: routed lengths, mm, by connection; a length given with the connection comes first.
    """
    known = _lengths(job, lengths or {})
    terminals = {
        f"{part.id}.{terminal.id}": terminal
        for part in job.parts for terminal in job.type_of(part).terminals
    }  # fmt: skip
    air = inside_air(job)
    return {
        wire.id: _facts(job, wire, terminals, known[wire.id], (sizes or {}).get(wire.id), air)
        for wire in job.connections
    }


def _facts(
    job: Job, wire: Connection, terminals: dict[str, Terminal],
    length: tuple[float, LengthFrom], chosen: WireSize | None, air: float,
) -> WireFacts:  # fmt: skip
    ends = terminals[wire.from_], terminals[wire.to]
    stated = wire.wire.size if wire.wire else None
    size = wire_size(stated) if stated else chosen
    insulation = (wire.wire and wire.wire.insulation) or job.assumptions.insulation
    temperature = min(air + HOT_RISE.value, INSULATION_LIMIT[insulation].value)
    used = size or first_size(ends, job.assumptions.sizes)
    joints = sum(JOINT_OHMS[end.joint].value for end in ends)
    return WireFacts(
        id=wire.id,
        ends=(wire.from_, wire.to),
        length=length[0],
        length_from=length[1],
        size=used,
        fixed=bool(stated and wire.wire and wire.wire.fixed),
        chosen=size is not None,
        insulation=insulation,
        temperature=temperature,
        copper=used.ohms_per_km * length[0] / 1e6 * hot_factor(temperature),
        contacts=joints + (UNPLUG_OHMS.value if wire.unplug else 0.0),
    )


def first_size(ends: tuple[Terminal, Terminal], system: str) -> WireSize:
    """A size to begin with: by the roles, as thick as both terminals ask, no thicker than fits."""
    least = max(min(FIRST_AREA[end.role] for end in ends), *(end.min_mm2 or 0.0 for end in ends))
    most = min(end.max_mm2 if end.max_mm2 is not None else float("inf") for end in ends)
    return _smallest_from(min(least, most), system)


@lru_cache(maxsize=256)
def _smallest_from(area: float, system: str) -> WireSize:
    sizes = sizes_of(system)
    return next((size for size in sizes if size.area >= 0.95 * area), sizes[-1])


def _lengths(job: Job, routed: Mapping[str, float]) -> dict[str, tuple[float, LengthFrom]]:
    """Length and how it is known, by connection; wires of one lead have the lead's length."""
    # The arranger's judge asks the rules and these ask the supply: loaded when it is needed.
    from layout_engine.arranging.cost import connection_costs

    on_plate = {entry.connection: entry.length for entry in connection_costs(job)}
    leads = {part.id: part.away.lead for part in job.parts if part.away is not None}
    found: dict[str, tuple[float, LengthFrom]] = {}
    for wire in job.connections:
        lead = sum(leads.get(part_id, 0.0) for part_id, _ in wire.ends)
        if wire.length is not None:
            found[wire.id] = wire.length, "given"
        elif wire.id in routed:
            found[wire.id] = routed[wire.id], "placed"
        elif wire.id in on_plate:
            found[wire.id] = on_plate[wire.id] + lead, "placed"
        else:
            found[wire.id] = sum(job.plate.size) / 2 + lead, "assumed"
    cables: dict[str, list[str]] = defaultdict(list)
    for wire in job.connections:
        if wire.cable:
            cables[wire.cable].append(wire.id)
    for ids in cables.values():
        given = [found[i][0] for i in ids if found[i][1] == "given"]
        placed = [found[i][0] for i in ids if found[i][1] == "placed"]
        longest = max(given or placed or [found[i][0] for i in ids])
        for i in ids:
            if found[i][1] != "given":
                found[i] = longest, "lead" if given else found[i][1]
    return found

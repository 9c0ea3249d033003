"""Terminals that nothing is joined to and that nobody said are left open on purpose."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from layout_engine.joining.terminal_names import end_name
from layout_engine.model.job import Job
from layout_engine.model.part_type import (
    ConductingPath,
    Converter,
    Drive,
    Load,
    PartType,
    Role,
)

ROLE_WORDS: dict[Role, str] = {
    "positive": "positive", "negative": "0 V return", "motor": "motor", "signal": "signal",
    "audio": "audio", "data": "data",
}


ALIKE = ({"signal", "data"},)  # roles that may be joined though they are two


def are_alike(one: Role, other: Role) -> bool:
    """Whether terminals of these roles may be joined: of one role, or signal and data."""
    return one == other or {one, other} in ALIKE


@dataclass(frozen=True, slots=True)
class OpenTerminal:
    """One terminal without a wire.

    Attributes:
        end: "part.terminal" as in a connection.
        name: as a person reads it, e.g. "Drive controller B+".
        role: the terminal's role.
        needed: whether the module does not work without it: an end of a load, a drive, a
            converter, a motor, a battery, or a speaker.
        spare: whether it is the same metal as another terminal of its module that has a wire.
        words: what it is for.
    """

    end: str
    name: str
    role: Role
    needed: bool
    spare: bool
    words: str


def wires_at(job: Job) -> Counter[str]:
    """How many wires are joined to each end "part.terminal"."""
    return Counter(end for wire in job.connections for end in (wire.from_, wire.to))


def open_terminals(job: Job) -> tuple[OpenTerminal, ...]:
    """Every terminal without a wire that is not in its part's `unused`, in the job's order."""
    wired = wires_at(job)
    found: list[OpenTerminal] = []
    for part in job.parts:
        kind = job.type_of(part)
        needs = needed_for(kind)
        with_wire = {t.id for t in kind.terminals if wired[f"{part.id}.{t.id}"]}
        for terminal in kind.terminals:
            if terminal.id in with_wire or terminal.id in part.unused:
                continue
            end = f"{part.id}.{terminal.id}"
            found.append(OpenTerminal(
                end, end_name(job, end), terminal.role, terminal.id in needs,
                bool(same_metal(kind, terminal.id) & with_wire),
                needs.get(terminal.id, ROLE_WORDS[terminal.role]),
            ))
    return tuple(found)


def needed_for(kind: PartType) -> dict[str, str]:
    """Terminal ids that a module of this type does not work without, and what each is for."""
    found: dict[str, str] = {}
    for terminal_id, words in _uses(kind):
        found.setdefault(terminal_id, words)
    return found


def _uses(kind: PartType) -> Iterator[tuple[str, str]]:
    if kind.battery is not None:
        yield kind.battery.plus, "battery +"
        yield kind.battery.minus, "battery \N{MINUS SIGN}"
    for plus, minus in supply_pairs(kind):
        yield plus, "+ of its supply"
        yield minus, "0 V return of its supply"
    for drive in kind.drives:
        for terminal_id in drive.outs:
            yield terminal_id, "output to a motor"
    if kind.motor is not None:
        for terminal_id in kind.motor.terminals:
            yield terminal_id, "motor"
    if kind.speaker_ohms is not None:
        for terminal in kind.terminals:
            if terminal.role == "audio":
                yield terminal.id, "from the amplifier"


def supply_pairs(kind: PartType) -> list[tuple[str, str]]:
    """Plus and minus terminal of everything in a module that is fed: load, driver, converter."""
    feeds: tuple[Load | Drive | Converter, ...] = (*kind.loads, *kind.drives, *kind.converters)
    return [(feed.plus, feed.minus) for feed in feeds]


def is_solid(path: ConductingPath) -> bool:
    """Whether a path inside a module is plain metal: neither fuse nor switch, under 0.1 ohm.

    The limit parts contacts and tracks (milliohms) from windings and coils (ohms): common
    practice, no source.
    """
    return path.fuse is None and not path.switch and path.ohms < SOLID_OHMS


SOLID_OHMS = 0.1


def same_metal(kind: PartType, terminal_id: str) -> set[str]:
    """The terminals joined to this one by plain metal inside the module, itself left out."""
    reached, waiting = {terminal_id}, [terminal_id]
    while waiting:
        here = waiting.pop()
        for path in kind.paths:
            if is_solid(path) and here in (path.from_, path.to):
                there = path.to if here == path.from_ else path.from_
                if there not in reached:
                    reached.add(there)
                    waiting.append(there)
    return reached - {terminal_id}

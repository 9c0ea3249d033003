"""Which terminals go with which when a person joins two, and what speaks against a pair."""

from __future__ import annotations

from collections import Counter

from layout_engine.joining.advice import Advice
from layout_engine.joining.open_terminals import are_alike, wires_at
from layout_engine.joining.suggest import suggest
from layout_engine.joining.terminal_names import end_name, split_end
from layout_engine.model.job import Job
from layout_engine.model.part_type import Role, Terminal

ROLE_NAMES: dict[Role, str] = {
    "positive": "positive", "negative": "0 V", "motor": "motor", "signal": "signal",
    "audio": "audio", "data": "data",
}


def terminal_of(job: Job, end: str) -> Terminal:
    """The terminal of an end "part.terminal"; raises KeyError."""
    part_id, terminal_id = split_end(end)
    return job.type_of(part_id).terminal(terminal_id)


def all_ends(job: Job) -> list[str]:
    """Every end of the job, module by module."""
    return [f"{part.id}.{t.id}" for part in job.parts for t in job.type_of(part).terminals]


def free_places(job: Job) -> dict[str, int]:
    """How many further wires each end takes; none where it is left open on purpose."""
    wires = wires_at(job)
    unused = {f"{part.id}.{t}" for part in job.parts for t in part.unused}
    return {
        end: 0 if end in unused else max(0, int(terminal_of(job, end).max_wires) - wires[end])
        for end in all_ends(job)
    }


def partners(job: Job, end: str, advice: Advice | None = None) -> tuple[str, ...]:
    """Ends that sensibly go with `end`: those that are suggested first, then bare ones, in order.

    advice: that of `suggest(job)`, where it is known already.

    Of another module, of the same role (signal and data go together), with room for one more
    wire, and not joined to it already.
    """
    wires, places = wires_at(job), free_places(job)
    joined = {frozenset((w.from_, w.to)) for w in job.connections}
    found = [
        other for other, room in places.items()
        if room > 0 and split_end(other)[0] != split_end(end)[0]
        and frozenset((end, other)) not in joined and _alike(job, end, other)
    ]
    asked = [s.to if s.from_ == end else s.from_ for s in (advice or suggest(job)).suggestions
             if end in (s.from_, s.to)]
    return tuple(sorted(found, key=lambda other: (other not in asked, wires[other] > 0)))


def _alike(job: Job, a: str, b: str) -> bool:
    return are_alike(terminal_of(job, a).role, terminal_of(job, b).role)


def doubts(job: Job, a: str, b: str, wires: Counter[str] | None = None) -> tuple[str, ...]:
    """What speaks against a wire between two ends, in words; empty where nothing does.

    wires: how many wires each end has, this one among them; None: as the job stands.
    """
    known = wires_at(job) if wires is None else wires
    roles = terminal_of(job, a).role, terminal_of(job, b).role
    found = []
    if set(roles) == {"positive", "negative"}:
        found.append("positive to 0 V: a short circuit")
    elif not _alike(job, a, b):
        found.append(f"{ROLE_NAMES[roles[0]]} to {ROLE_NAMES[roles[1]]}")
    for end in (a, b):
        most = int(terminal_of(job, end).max_wires)
        if known[end] > most:
            found.append(f"{end_name(job, end)} takes {most}, has {known[end]}")
    return tuple(found)

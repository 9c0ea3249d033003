"""Changes of what is joined: connections added, changed, removed, made one lead; ends left open.

Like all edits: job -> job with words for the undo button, validated whole. Connections with the
same `cable` text are one ready-made lead: they share their length and their in-line plug.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from layout_engine.edits import PLACES, Document, Edited, edited
from layout_engine.joining.suggest import suggest
from layout_engine.joining.terminal_names import end_name, split_end, wire_words
from layout_engine.model.job import Connection, Job

OF_THE_LEAD = ("length", "unplug")  # what all wires of one ready-made lead have in common


def connection_of(job: Job, connection_id: str) -> Connection:
    """The connection of that id; raises KeyError."""
    for connection in job.connections:
        if connection.id == connection_id:
            return connection
    raise KeyError(connection_id)


def free_ids(job: Job, how_many: int) -> list[str]:
    """Ids w1, w2, ... that no connection of the job has, after the highest that it has."""
    numbers = [int(c.id[1:]) for c in job.connections if c.id[0] == "w" and c.id[1:].isdecimal()]
    first = max(numbers, default=0) + 1
    return [f"w{number}" for number in range(first, first + how_many)]


def add_connections(job: Job, wires: Sequence[Mapping[str, Any]], words: str = "") -> Edited:
    """Join terminals: each wire is the plain JSON of a connection without its id.

    Ends that were left open on purpose are not any more.

    Raises:
        DocumentError: an end that is not in the job, or a value out of the contract's limits.
    """
    new = [{"id": key, **wire} for key, wire in zip(free_ids(job, len(wires)), wires, strict=True)]

    def change(document: Document) -> None:
        document["connections"] = [*document.get("connections", []), *new]
        for wire in new:
            _share_in_lead(document, wire)
            for end in (wire.get("from"), wire.get("to")):
                _set_unused(document, str(end), unused=False)

    return edited(job, words or _join_words(job, new), change)


def _join_words(job: Job, wires: Sequence[Mapping[str, Any]]) -> str:
    if len(wires) != 1:
        return f"join {len(wires)} wires"
    try:
        ends = [end_name(job, str(wires[0].get(key))) for key in ("from", "to")]
    except KeyError:  # said in full by the validation that follows
        return "join two terminals"
    return f"join {ends[0]} to {ends[1]}"


def take_suggestions(job: Job, keys: Iterable[str] | None = None) -> Edited:
    """Add suggested connections, those named by their keys or (None) all of them.

    Raises:
        KeyError: a key that is no suggestion for this job (any more).
    """
    offered = {s.key: s for s in suggest(job).suggestions}
    wanted = list(offered) if keys is None else list(dict.fromkeys(keys))
    return add_connections(job, [offered[key].connection for key in wanted])


def remove_connections(job: Job, ids: Iterable[str]) -> Edited:
    """Take connections away. Raises KeyError for an id that is not in the job."""
    gone = [connection_of(job, key) for key in dict.fromkeys(ids)]
    names = {connection.id for connection in gone}
    words = (f"remove {wire_words(job, gone[0])}" if len(gone) == 1
             else f"remove {len(gone)} wires")

    def change(document: Document) -> None:
        document["connections"] = [w for w in document["connections"] if w["id"] not in names]

    return edited(job, words, change)


def set_connection(job: Job, connection_id: str, words: str = "", **values: Any) -> Edited:
    """Set keys of a connection (`wire`, `length`, `label`, `cable`, ...); None drops a key.

    A length or plug set on a wire of a ready-made lead is set on the whole lead; a wire that joins
    a lead without a length of its own takes that of the lead. The ends are set by their keys
    `from` and `to`, as in `set_connection(job, "w3", **{"to": "drive.en"})`.

    Raises:
        DocumentError: a value out of the contract's limits.
        KeyError: no such connection.
    """
    before = connection_of(job, connection_id)

    def change(document: Document) -> None:
        wire = next(w for w in document["connections"] if w["id"] == connection_id)
        wire.update(values)
        for key in [key for key, value in values.items() if value is None]:
            wire.pop(key, None)
        _share_in_lead(document, wire, told=values)
        for key in ("from", "to"):
            if key in values:
                _set_unused(document, str(values[key]), unused=False)

    return edited(job, words or f"change {wire_words(job, before)}", change)


def lead_over(job: Job, connection_id: str, via: Sequence[Sequence[Any]], *,
              pinned: bool = False) -> Edited:
    """Lead a wire over points `[x, y, face]` of the plate, mm as seen from the front, in order.

    pinned: it runs straight from point to point and stays there; a wire without points cannot be
    pinned, and is free. Without points the wire finds its own way again.

    Raises:
        DocumentError: a point out of the contract's limits.
        KeyError: no such connection.
    """
    before = connection_of(job, connection_id)
    pinned = pinned and len(via) > 0
    points = [[round(float(x), PLACES), round(float(y), PLACES), face] for x, y, face in via]
    return set_connection(
        job, connection_id, _lead_words(job, before, points, pinned=pinned),
        via=points or None, pinned=pinned or None,
    )


def _lead_words(job: Job, before: Connection, points: Sequence[Sequence[Any]], *,
                pinned: bool) -> str:
    """What is done to a wire's way: one of pinning, freeing, adding, taking away and moving."""
    wire = f"wire {job.connections.index(before) + 1}"
    was_pinned = before.pinned and len(before.via) > 0
    if pinned != was_pinned:
        return f"pin {wire}" if pinned else f"unpin {wire}"
    if not points:
        return f"let {wire} find its way"
    more = len(points) - len(before.via)
    if more == 0:
        return f"move a point of {wire}"
    if len(points) == 1 or abs(more) > 1:
        return f"lead {wire} over {len(points)} point{'' if len(points) == 1 else 's'}"
    return f"one point more for {wire}" if more > 0 else f"one point less for {wire}"


def _share_in_lead(document: Document, wire: Document,
                   told: Mapping[str, Any] | None = None) -> None:
    """Bring a wire and the others of its lead to one length and one plug."""
    lead = wire.get("cable")
    others = [w for w in document["connections"]
              if lead and w is not wire and w.get("cable") == lead]
    for key in OF_THE_LEAD:
        if told is not None and key in told and "cable" not in told:
            for other in others:  # said for a wire of the lead: it holds for all
                _put(other, key, wire.get(key))
        elif key in wire:
            for other in others:
                _put(other, key, wire[key])
        elif others:
            _put(wire, key, others[0].get(key))


def _put(wire: Document, key: str, value: Any) -> None:
    if value is None:
        wire.pop(key, None)
    else:
        wire[key] = value


def make_lead(job: Job, ids: Iterable[str], cable: str, length: float | None = None) -> Edited:
    """Make connections one ready-made lead of a name and a fixed length, mm; "" takes it apart.

    Raises:
        DocumentError: a name or length out of the contract's limits.
        KeyError: an id that is not in the job.
    """
    names = {connection_of(job, key).id for key in ids}
    words = f"one lead: {cable}" if cable else "take the lead apart"

    def change(document: Document) -> None:
        for wire in document["connections"]:
            if wire["id"] in names:
                _put(wire, "cable", cable or None)
                _put(wire, "length", length)

    return edited(job, words, change)


def leave_open(job: Job, ends: Sequence[str], *, on_purpose: bool = True) -> Edited:
    """Say that ends "part.terminal" are left open on purpose, or that they are not.

    Raises:
        DocumentError: a terminal that the part's type does not have.
        KeyError: a part that is not in the job.
    """
    def change(document: Document) -> None:
        for end in ends:
            _set_unused(document, end, unused=on_purpose)

    if len(ends) == 1:
        name = end_name(job, ends[0])
        words = f"leave {name} open" if on_purpose else f"{name} is not left open"
    else:
        words = f"leave {len(ends)} terminals open" if on_purpose else "do not leave them open"
    for end in ends:
        job.part(split_end(end)[0])
    return edited(job, words, change)


def _set_unused(document: Document, end: str, *, unused: bool) -> None:
    part_id, terminal_id = split_end(end)
    part = next((p for p in document["parts"] if p["id"] == part_id), None)
    if part is None:
        return
    before = part.get("unused", [])
    others = [t for t in before if t != terminal_id]
    if unused:
        part["unused"] = [*others, terminal_id]
    elif others:
        part["unused"] = others
    else:
        part.pop("unused", None)

"""Numbers, colours and end markers of wires."""

from __future__ import annotations

from layout_engine.joining.terminal_names import end_name
from layout_engine.model.job import Connection, Job
from layout_engine.model.part_type import Role

# IEC 60757 codes. Red positive, black negative: common practice, no source; so are the others.
USUAL_COLOURS: dict[Role, str] = {
    "positive": "RD", "negative": "BK", "motor": "BU", "signal": "YE", "audio": "WH", "data": "GN",
}
SECOND_OF_PAIR: dict[Role, str] = {"motor": "BN", "audio": "GY"}
COLOUR_WORDS = {
    "BK": "black", "BN": "brown", "RD": "red", "OG": "orange", "YE": "yellow", "GN": "green",
    "BU": "blue", "VT": "violet", "GY": "grey", "WH": "white", "PK": "pink", "GD": "gold",
    "TQ": "turquoise", "SR": "silver",
}
_FIRST: tuple[Role, ...] = ("motor", "audio", "data", "signal", "negative", "positive")


def role_of(job: Job, connection: Connection) -> Role:
    """What a wire carries: the most telling role of its two terminals."""
    roles = {job.type_of(p).terminal(t).role for p, t in connection.ends}
    return next(role for role in _FIRST if role in roles)


def colour_of(job: Job, connection: Connection, *, second: bool) -> str:
    """IEC 60757 code: the connection's own, else the person's list by role, else the usual one.

    second: the second wire of a motor or audio pair, told apart by its colour where the person's
    list does not say.
    """
    if connection.wire and connection.wire.colour:
        return connection.wire.colour
    role = role_of(job, connection)
    chosen = job.assumptions.colours.get(role)
    if chosen:
        return chosen
    return SECOND_OF_PAIR.get(role, USUAL_COLOURS[role]) if second else USUAL_COLOURS[role]


def usual_colours(role: Role) -> tuple[str, ...]:
    """IEC 60757 codes that a role has where nobody says otherwise; two for pairs.

    >>> usual_colours("motor")
    ('BU', 'BN')
    """
    second = SECOND_OF_PAIR.get(role)
    return (USUAL_COLOURS[role], second) if second else (USUAL_COLOURS[role],)


def markers_of(job: Job, connection: Connection, number: int) -> tuple[str, str]:
    """Text of the marker at either end: the number, this end, where the other one is.

    The end at hand first, so that it reads from the terminal outwards.
    """
    one, other = end_name(job, connection.from_), end_name(job, connection.to)
    return f"{number}: {one} / {other}", f"{number}: {other} / {one}"

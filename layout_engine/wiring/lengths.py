"""How long a wire is cut: its way, both rises, bends, ends made twice, loops; rounded up.

All wires of one ready-made lead are as long as its longest, or as the length that was given with
one of them: a lead is bought or made as one piece.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import ceil, pi

from layout_engine.model.job import Connection, Job
from layout_engine.tables.dressing import (
    CUT_OFF,
    RE_TERMINATIONS,
    ROUND_UP,
    SERVICE_LOOP,
    STRIP,
    TWIST_LAYS,
)
from layout_engine.tables.sourced import COMMON_PRACTICE
from layout_engine.wiring.site import End
from layout_engine.wiring.wire import PathPoint, Wire, path_length
from layout_engine.working import Given, Working

FORMULA = (
    "L = (p + t n + l1 + l2) (1 + k) + h1 + h2 + b pi D / 4 + e1 + e2 + s, "
    "rounded up to the next 5 mm"
)


REACHES = "L = (p + t n + l1 + l2) (1 + k) + h1 + h2 + b pi D / 4"


@dataclass(frozen=True, slots=True)
class Laid:
    """What a length is worked out from: path, ends, bundle diameter [mm] at its bends."""

    path: tuple[PathPoint, ...]
    ends: tuple[End, End]
    bundle: float
    outer: float
    twisted: bool


def bends(path: Sequence[PathPoint]) -> int:
    """How often a path changes its direction on a face or goes through the plate."""
    count = 0
    for a, b, c in zip(path, path[1:], path[2:], strict=False):
        cross = (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])
        count += abs(cross) > 1e-6 or a[2] != b[2] or b[2] != c[2]
    return count


def wire_length(job: Job, connection: Connection, laid: Laid | None) -> tuple[float | None,
                                                                              Working | None]:
    """The length to cut [mm] and its working; (None, None) where nothing is known.

    A length in the document overrides what is worked out.
    """
    if connection.length is not None:
        given = Given("L", "length in the document", connection.length, "mm", "measured")
        return connection.length, Working("L as given", (given,), connection.length, "mm",
                                          "the job")
    if laid is None:
        return None, None
    way = reaches(job, laid)
    ends = [_end_allowance(job, *end) for end in connection.ends]
    loops = sum(SERVICE_LOOP.value for end in laid.ends if end.lift_out)
    whole = way.result + sum(ends) + loops
    result = ceil(round(whole / ROUND_UP.value, 6)) * ROUND_UP.value
    given_values = (
        *way.given,
        Given("e1", "end made twice, first", ends[0], "mm", f"{RE_TERMINATIONS.source}; "
              f"strip length and cut-off {COMMON_PRACTICE}"),
        Given("e2", "end made twice, second", ends[1], "mm", RE_TERMINATIONS.source),
        Given("s", "loops to lift a part out", loops, "mm", SERVICE_LOOP.source),
    )
    return result, Working(FORMULA, given_values, result, "mm",
                           "sum; the outside of a bundle's quarter turn is pi D / 4 longer")


def reaches(job: Job, laid: Laid) -> Working:
    """The length [mm] with which a wire just reaches: no end made twice, no loop, not rounded."""
    one, other = laid.ends
    faces = sum(a[2] != b[2] for a, b in pairwise(laid.path))
    rises = [0.0 if end.away else max(0.0, end.height - laid.outer / 2) for end in laid.ends]
    twist = TWIST_LAYS.value if laid.twisted else 0.0
    corner = bends(laid.path)
    on_board = path_length(laid.path)
    whole = (on_board + faces * job.plate.thickness + one.lead + other.lead) * (1 + twist)
    whole += sum(rises) + corner * pi * laid.bundle / 4
    guess = "part type"
    return Working(REACHES, (
        Given("p", "way on the board", on_board, "mm", "route"),
        Given("t", "plate's thickness", job.plate.thickness, "mm", "the job"),
        Given("n", "changes of face", float(faces), "1", "route"),
        Given("l1", "lead beyond the board, first end", one.lead, "mm", "the job"),
        Given("l2", "lead beyond the board, second end", other.lead, "mm", "the job"),
        Given("k", "taken up by twisting", twist, "1", TWIST_LAYS.source),
        Given("h1", "rise to the first terminal", rises[0], "mm", guess),
        Given("h2", "rise to the second terminal", rises[1], "mm", guess),
        Given("b", "bends", float(corner), "1", "route"),
        Given("D", "thickest bundle on the way", laid.bundle, "mm", "route"),
    ), whole, "mm", "sum; the outside of a bundle's quarter turn is pi D / 4 longer")  # fmt: skip


def as_leads(job: Job, wires: Sequence[Wire]) -> tuple[Wire, ...]:
    """The same wires, those of one lead with one length."""
    cables: dict[str, list[Wire]] = {}
    for wire in wires:
        if wire.cable and wire.length is not None:
            cables.setdefault(wire.cable, []).append(wire)
    stated = {c.id for c in job.connections if c.length is not None}
    longest = {cable: max([w for w in mates if w.id in stated] or mates, key=_length)
               for cable, mates in cables.items()}  # fmt: skip
    return tuple(_as_long(w, longest[w.cable], stated) if w.cable in longest else w for w in wires)


def _length(wire: Wire) -> float:
    return wire.length or 0.0


def _as_long(wire: Wire, longest: Wire, stated: set[str]) -> Wire:
    if wire.id in stated or wire.length is None or wire.length == longest.length:
        return wire
    source = "the job" if longest.id in stated else "route"
    given = Given("L", f"wire {longest.number}, of the same lead", _length(longest), "mm", source)
    return replace(wire, length=longest.length, working=Working(
        "L as the length that was given with the lead" if longest.id in stated
        else "L as the longest wire of the lead", (given,), _length(longest), "mm", source,
    ))  # fmt: skip


def _end_allowance(job: Job, part_id: str, terminal_id: str) -> float:
    """Wire for making one end twice [mm]: what each new end takes."""
    joint = job.type_of(part_id).terminal(terminal_id).joint
    return RE_TERMINATIONS.value * (STRIP[joint].value + CUT_OFF.value)

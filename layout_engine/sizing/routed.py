"""Sizes and routes that belong together: longer wires lose more, thicker wires fill their runs.

The wires are first sized for the lengths that they have at a guess, and routes planned with these
sizes; then the wires are sized for their lengths and for those tied beside them, then both again
with what came out, until no size changes. Where few grew thicker, these are laid anew beside the
others; where that leads them a long way round, or many grew, all are laid from scratch. It ends:
from the second round on a wire keeps the thicker of its old and its new size for its room on the
board, so each round but the last makes at least one of finitely many wires thicker, in finitely
many steps; and it is cut off after MOST_ROUNDS. The last sizes hold for the lengths they are given
with; where a wire comes out thinner than its room, it is cut thinner.

After a change the routes of before can be handed over: wires that it does not touch keep their
way. That is quick, and the way to judge a drop; what is printed is worked out from scratch, so
that it depends on the document alone.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace

from layout_engine.model.job import Job
from layout_engine.sizing.board import Sizing
from layout_engine.supply.study import Study, too_large
from layout_engine.tables.conductors import wire_size
from layout_engine.wiring import Routing, plan_routes

MOST_ROUNDS = 4
FEW_GROWN = 3  # wires that are laid anew beside the others, instead of all from scratch
MOST_ROUND = 1.1  # times as long as before: wires that grew and are longer are not laid beside
NO_BATTERY = "No battery with a voltage is joined: currents, sizes and fuses follow from one."
# What moves no wire and sizes none.
SILENT = ("format", "name", "notes", "client", "accepted", "groups", "record")
SILENT_OF_PART = ("locked", "wishes", "settings", "state")


@dataclass(frozen=True)
class SizedRoutes:
    """Routes with the sizes that hold for them.

    Attributes:
        routing: with the sizes that were chosen.
        sizing: for its lengths; None where nothing can be solved.
        why: why there is no sizing, in a sentence; "" where there is.
        rounds: how often the wires were sized.
        room: names of the sizes that the wires have room for on the board, by connection.
    """

    routing: Routing
    sizing: Sizing | None
    why: str = ""
    rounds: int = 1
    room: Mapping[str, str] = field(default_factory=dict)

    def of(self, job: Job) -> SizedRoutes:
        """The same as those of a job with an equal `routing_key`, which may say other things."""
        if job is self.routing.job:
            return self
        return replace(self, routing=self.routing.of(job))


def sized_routes(job: Job, previous: SizedRoutes | None = None) -> SizedRoutes:
    """Routes and sizes of a job. Same job, same answer, unless something of before is kept.

    Args:
        job: the job.
        previous: of the job before a change; wires that the change does not touch keep their way.
    """
    why = _not_solved(job)
    roomed = _still_there(job, previous.room) if previous else _guessed(job, why)
    routing = plan_routes(job, previous=previous.routing if previous else None, sizes=roomed)
    if why or not job.connections:
        return SizedRoutes(routing, None, why)
    for n in range(1, MOST_ROUNDS + 1):
        sizing = Sizing(job, lengths=routing.lengths, ties=[run.wires for run in routing.runs])
        chosen = {name: wire.size.name for name, wire in sizing.wires.items()}
        wanted = {name: _thicker(roomed.get(name), size) for name, size in chosen.items()}
        if wanted == roomed or n == MOST_ROUNDS:
            return SizedRoutes(_cut_as(routing, sizing), sizing, "", n, roomed)
        grown = [name for name, size in wanted.items() if size != roomed.get(name)]
        known, roomed = routing, wanted
        if previous or len(grown) <= FEW_GROWN:
            routing = plan_routes(job, previous=known, sizes=roomed)
        if not previous and (len(grown) > FEW_GROWN or _lost(routing) > _lost(known)
                             or _led_round(routing, known, grown)):
            routing = plan_routes(job, sizes=roomed)
    raise AssertionError("unreachable: the last round returns")


def guessed_sizes(job: Job) -> dict[str, str]:
    """Names of the sizes for the lengths that wires have at a guess, by connection; nothing where
    there is none to solve.
    """
    return _guessed(job, _not_solved(job))


def routing_key(job: Job) -> tuple[object, ...]:
    """What routes and sizes follow from: jobs with equal keys have the same ones."""
    parts = tuple(part.model_copy(update=dict.fromkeys(SILENT_OF_PART)) for part in job.parts)
    return tuple(
        parts if name == "parts" else getattr(job, name)
        for name in type(job).model_fields if name not in SILENT
    )  # fmt: skip


def _lost(routing: Routing) -> int:
    """How many wires have no corridor, and how many runs are too full."""
    return sum(one.kind in ("no_corridor", "too_full") for one in routing.conflicts)


def _led_round(routing: Routing, known: Routing, wires: Collection[str]) -> bool:
    """Whether wires are much longer on the board than they were."""
    lengths, before = (sum(one.wire(name).on_board for name in wires) for one in (routing, known))
    return lengths > MOST_ROUND * before


def _guessed(job: Job, why: str) -> dict[str, str]:
    """Sizes for the lengths that wires have at a guess."""
    if why or not job.connections:
        return {}
    return {name: wire.size.name for name, wire in Sizing(job).wires.items()}


def _still_there(job: Job, sizes: Mapping[str, str]) -> dict[str, str]:
    known = {c.id for c in job.connections}
    return {name: size for name, size in sizes.items() if name in known}


def _cut_as(routing: Routing, sizing: Sizing) -> Routing:
    """The routes with the sizes that are cut."""
    return replace(routing, wires=tuple(
        replace(wire, mm2=size.area, awg=size.gauge if size.is_awg else None)
        for wire in routing.wires for size in (sizing.wires[wire.id].size,)
    ))  # fmt: skip


def _not_solved(job: Job) -> str:
    if not job.connections:
        return ""
    if too_large(job):
        return too_large(job)
    study = Study(job, cases=("idle",), packs=("full",))
    if study.declined:
        return study.declined
    return "" if study.has_battery else NO_BATTERY


def _thicker(old: str | None, new: str) -> str:
    if old is None or wire_size(old).area < wire_size(new).area:
        return new
    return old

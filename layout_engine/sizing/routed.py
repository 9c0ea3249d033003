"""Sizes and routes that belong together: longer wires lose more, thicker wires fill their runs.

Routes are first planned with guessed sizes; the wires are sized for those lengths and those tied
beside them; then both again with what came out, until no size changes. It ends: from the second
round on a wire keeps the thicker of its old and its new size for its room on the board, so each
round but the last makes at least one of finitely many wires thicker, in finitely many steps; and
it is cut off after MOST_ROUNDS. The last sizes hold for the lengths they are given with; where a
wire comes out thinner than its room, it is cut thinner.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from layout_engine.model.job import Job
from layout_engine.sizing.board import Sizing
from layout_engine.supply.study import Study, too_large
from layout_engine.tables.conductors import wire_size
from layout_engine.wiring import Routing, plan_routes

MOST_ROUNDS = 4
NO_BATTERY = "No battery with a voltage is joined: currents, sizes and fuses follow from one."


@dataclass(frozen=True)
class SizedRoutes:
    """Routes with the sizes that hold for them.

    Attributes:
        routing: with the sizes that were chosen.
        sizing: for its lengths; None where nothing can be solved.
        why: why there is no sizing, in a sentence; "" where there is.
        rounds: how often the wires were sized.
    """

    routing: Routing
    sizing: Sizing | None
    why: str = ""
    rounds: int = 1


def sized_routes(job: Job) -> SizedRoutes:
    """Routes and sizes of a job. Same job, same answer."""
    why = _not_solved(job)
    routing = plan_routes(job)
    if why or not job.connections:
        return SizedRoutes(routing, None, why)
    roomed: dict[str, str] = {}
    for n in range(1, MOST_ROUNDS + 1):
        sizing = Sizing(job, lengths=routing.lengths, circuits=routing.loaded_beside)
        chosen = {name: wire.size.name for name, wire in sizing.wires.items()}
        wanted = {name: _thicker(roomed.get(name), size) for name, size in chosen.items()}
        if wanted == roomed or n == MOST_ROUNDS:
            return SizedRoutes(_cut_as(routing, sizing), sizing, "", n)
        roomed = wanted
        routing = plan_routes(job, previous=routing, sizes=roomed)
    raise AssertionError("unreachable: the last round returns")


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

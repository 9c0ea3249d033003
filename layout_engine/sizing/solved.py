"""One case of the supply with the sizes that every sheet shows."""

from __future__ import annotations

from layout_engine.model.job import Job
from layout_engine.sizing.routed import SizedRoutes, sized_routes
from layout_engine.supply import study as plain
from layout_engine.supply.cases import check_case
from layout_engine.supply.state import Pack, SupplyState
from layout_engine.supply.study import Study

# Routes and sizes of the job that was asked for last: its other cases need no new ones.
_LAST: list[tuple[Job, SizedRoutes]] = []


def _routes_of(job: Job) -> SizedRoutes:
    """Routes and sizes of a job, once while the same object is asked for again and again."""
    kept = next(iter(_LAST), None)
    if kept is None or kept[0] is not job:
        kept = job, sized_routes(job)
        _LAST[:] = [kept]
    return kept[1]


def solve_supply(job: Job, case: str, pack: Pack = "nominal",
                 routes: SizedRoutes | None = None) -> SupplyState:
    """Solve one case: voltage at every terminal, current in every way, loss in every part.

    Wires have the lengths that were given or that their routes have, and the sizes that the person
    gave, else those that are chosen for them.

    Args:
        job: the job.
        case: idle, typical, peak, stall.PART, stall_all, or one of the job's own.
        pack: the battery's open-circuit voltage: nominal, full or empty.
        routes: routes and sizes of the job, where the caller has them.

    Raises:
        SupplyError: there is no such case, or no steady state; names the parts.
        Declined: over 60 V.
    """
    check_case(job, case)
    if all(w.length is not None and w.wire and w.wire.size for w in job.connections):
        return plain.solve_supply(job, case, pack)
    routes = routes or _routes_of(job)
    if routes.sizing is None:
        return plain.solve_supply(job, case, pack)
    study = routes.sizing.study
    if (case, pack) in study.row:
        return study.state(case, pack)
    sizes = {wire_id: facts.size for wire_id, facts in study.wires.items()}
    return Study(job, sizes=sizes, lengths=routes.routing.lengths, cases=(case,), packs=(pack,)
                 ).state(case, pack)

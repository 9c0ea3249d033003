"""One case of the supply with the sizes that every sheet shows."""

from __future__ import annotations

from layout_engine.model.job import Job
from layout_engine.sizing.board import Sizing
from layout_engine.supply import study as plain
from layout_engine.supply.cases import check_case
from layout_engine.supply.state import Pack, SupplyState
from layout_engine.supply.study import Study, too_large


def solve_supply(job: Job, case: str, pack: Pack = "nominal") -> SupplyState:
    """Solve one case: voltage at every terminal, current in every way, loss in every part.

    Wires have the sizes that the person gave, else those that are chosen for them.

    Args:
        job: the job.
        case: idle, typical, peak, stall.PART, stall_all, or one of the job's own.
        pack: the battery's open-circuit voltage: nominal, full or empty.

    Raises:
        SupplyError: there is no such case, or no steady state; names the parts.
        Declined: over 60 V.
    """
    check_case(job, case)
    open_sizes = any(wire.wire is None or wire.wire.size is None for wire in job.connections)
    if not open_sizes or too_large(job) or not _is_fed(job):
        return plain.solve_supply(job, case, pack)
    study = Sizing(job).study
    if (case, pack) in study.row:
        return study.state(case, pack)
    sizes = {wire_id: facts.size for wire_id, facts in study.wires.items()}
    return Study(job, sizes=sizes, cases=(case,), packs=(pack,)).state(case, pack)


def _is_fed(job: Job) -> bool:
    study = Study(job, cases=("idle",), packs=("full",))
    return study.has_battery and not study.declined

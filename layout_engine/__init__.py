"""The layout engine: a job document in; findings, an arrangement, sheets' data out.

Pure: no web, no database, no files, no clock, no global randomness. Use it from a notebook:

    job = load_document(text)
    for finding in check(job): ...
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from layout_engine.arranging import Arrangement, arrange
from layout_engine.checks import Finding, check
from layout_engine.errors import DocumentError, Fault
from layout_engine.model.document import document_bytes, dump_document, load_document
from layout_engine.model.job import Job

if TYPE_CHECKING:
    from layout_engine.supply.state import Pack, SupplyState
    from layout_engine.wiring import Wire

__all__ = [
    "Arrangement",
    "DocumentError",
    "Fault",
    "Finding",
    "Job",
    "arrange",
    "check",
    "document_bytes",
    "dump_document",
    "load_document",
    "route",
    "solve_supply",
]


def solve_supply(job: Job, case: str, pack: Pack = "nominal") -> SupplyState:
    """Solve one case of the supply: `idle`, `typical`, `peak`, `stall.PART`, ... or a job's own.

    See layout_engine.sizing.solved.solve_supply; loaded only when it is asked for.

    Raises:
        SupplyError: there is no such case, or no steady state; names the parts.
    """
    from layout_engine.sizing.solved import solve_supply as solve

    return solve(job, case, pack)


def route(job: Job) -> list[Wire]:
    """The wires of a job, one a connection, in the document's order. Same job, same answer.

    With the sizes that are chosen for their lengths, where a battery feeds the job.
    `layout_engine.sizing.routed` gives runs, tie points, conflicts and sizes beside them; loaded
    only when it is asked for.
    """
    from layout_engine.sizing.routed import sized_routes

    return list(sized_routes(job).routing.wires)

"""The solved supply for programs: voltages, currents, losses, run time of one case."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query
from starlette.responses import Response

from layout_engine import Fault
from layout_engine.sizing.solved import solve_supply
from layout_engine.supply.cases import check_case
from layout_engine.supply.state import Pack, SupplyError
from webapp.api.answers import ProjectId, etag, json_answer
from webapp.api.description import SUPPLY, problems
from webapp.errors import Refused
from webapp.stores.routes import sized_routes_of
from webapp.views import StoreDep

router = APIRouter(prefix="/api/projects/{project_id}", tags=["supply"])
CaseQuery = Annotated[str, Query(
    max_length=60,
    description="idle, typical, peak, stall_all, stall.PART, or the id of one of the job's cases",
)]
PackQuery = Annotated[Pack, Query(description="The battery's open-circuit voltage.")]


@router.get("/supply", name="project_supply", responses=SUPPLY | problems(404, 422))
def project_supply(
    project_id: ProjectId, store: StoreDep, case: CaseQuery = "typical",
    pack: PackQuery = "nominal",
) -> Response:
    """One case of the newest revision's supply, solved."""
    opened = store.open(project_id)
    try:
        check_case(opened.job, case)
        state = solve_supply(opened.job, case, pack, sized_routes_of(opened))
    except SupplyError as error:
        fault = Fault("query.case", case, str(error))
        raise Refused(422, str(error), (fault,)) from None
    return json_answer(state.as_json(), ETag=etag(opened.revision))

"""Routes and sizes of the newest revisions, remembered, so that one revision is routed once."""

from __future__ import annotations

from collections import OrderedDict
from threading import Lock

from layout_engine.model.job import Job
from layout_engine.sizing.routed import SizedRoutes, sized_routes
from layout_engine.wiring import Routing
from webapp.stores.projects import Opened

REVISIONS_KEPT = 8  # routes and sizes of so many are remembered
_known: OrderedDict[tuple[str, int], SizedRoutes] = OrderedDict()
_lock = Lock()


def routes_of(opened: Opened) -> Routing:
    """The routes of a revision."""
    return sized_routes_of(opened).routing


def sized_routes_of(opened: Opened) -> SizedRoutes:
    """Routes and sizes of a revision: those of before, else worked out from scratch.

    From scratch, so that the answer depends on the document alone. Ticks in the record of the work
    move no wire: what was known of the job without them is known of it.
    """
    key, job = (opened.id, opened.revision), _without_record(opened.job)
    with _lock:
        for other in reversed(_known):
            if other[0] == opened.id and _known[other].routing.job == job:
                found = _known.pop(other)
                _known[key] = found
                return found
    found = sized_routes(job)
    if found.sizing is not None:
        _ = found.sizing.wires, found.sizing.fuses, found.sizing.drops, found.sizing.stalls
    with _lock:
        _known[key] = found
        while len(_known) > REVISIONS_KEPT:
            _known.popitem(last=False)
    return found


def _without_record(job: Job) -> Job:
    return job.model_copy(update={"record": ()})

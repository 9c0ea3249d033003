"""Routes of the newest revisions, remembered, so that one revision is routed once."""

from __future__ import annotations

from collections import OrderedDict
from threading import Lock

from layout_engine.wiring import Routing, plan_routes
from webapp.stores.projects import Opened

PROJECTS_KEPT = 8  # routes of so many jobs are remembered
_known: OrderedDict[tuple[str, int], Routing] = OrderedDict()
_lock = Lock()


def routes_of(opened: Opened) -> Routing:
    """The routes of a revision: those it was asked for before, else planned from scratch.

    Planned from scratch, so that the answer depends on the document alone.
    """
    key = opened.id, opened.revision
    with _lock:
        known = _known.get(key)
        if known is not None and known.job == opened.job:
            _known.move_to_end(key)
            return known
    routing = plan_routes(opened.job)
    with _lock:
        _known[key] = routing
        while len(_known) > PROJECTS_KEPT:
            _known.popitem(last=False)
    return routing

"""The pieces of the Layout page as HTML, made once for a revision and a view.

The page itself is put together from them, so that coming back to it makes no drawing again; an
open page is sent those that differ from what it shows.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Mapping

from fastapi import Request

from webapp.live.state import LayoutState
from webapp.views import environment

KEPT = 8  # a board of forty modules takes 0.3 MB
STEADY = {  # what follows from the revision and the view alone
    "board": "fragments/layout_board.html", "tray": "fragments/layout_tray.html",
    "table": "fragments/layout_table.html",
}
JUDGED = {"findings": "fragments/layout_findings.html"}  # and from how far they are known
TELL_TIMES = {"facts": "fragments/layout_facts.html", "bar": "fragments/bar.html"}
SAME_IN_ALL_VIEWS = frozenset({"findings", "tray"})
Made = dict[str, str]


class Pieces:
    """The steady pieces of a few revisions, the least used going first; safe between threads."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._kept: OrderedDict[tuple[str, int, str], Made] = OrderedDict()
        self._judged: OrderedDict[tuple[str, int, str], Made] = OrderedDict()

    def of(self, request: Request, state: LayoutState) -> Made:
        """Every piece; what was typed into the table and not saved is shown, but not kept."""
        if state.typed:
            steady = _made(request, state, STEADY)
        else:
            steady = self._ready(self._kept, state.view, request, state, STEADY)
        return steady | self.judged(request, state)

    def judged(self, request: Request, state: LayoutState) -> Made:
        """The pieces that change when more of the findings is known."""
        found = self._ready(self._judged, state.known, request, state, JUDGED)
        return found | _made(request, state, TELL_TIMES)

    def _ready(self, kept: OrderedDict[tuple[str, int, str], Made], kind: str, request: Request,
               state: LayoutState, templates: Mapping[str, str]) -> Made:
        key = (state.project_id, state.revision, kind)
        with self._lock:
            if key in kept:
                kept.move_to_end(key)
                return kept[key]
        made = _made(request, state, templates)
        with self._lock:
            kept[key] = made
            while len(kept) > KEPT:
                kept.popitem(last=False)
        return made

    def changed(self, request: Request, state: LayoutState, shown: int) -> Made:
        """The pieces that differ from those of the revision that a page shows, in whatever view.

        Findings count as shown only where all of that revision's were known.
        """
        fresh = self.of(request, state)
        with self._lock:
            old = next((made for (project, revision, _), made in self._kept.items()
                        if (project, revision) == (state.project_id, shown)), {})
            old = old | self._judged.get((state.project_id, shown, "settled"), {})
        return {
            name: html for name, html in fresh.items()
            if name not in SAME_IN_ALL_VIEWS or old.get(name) != html
        }


def _made(request: Request, state: LayoutState, templates: Mapping[str, str]) -> Made:
    values = {"request": request, "state": state, "job_bar": state.job_bar, "page": "layout"}
    return {
        # __html__ of the filled template, not its text: the page does not escape it once more
        name: environment().get_template(template).make_module(values).__html__()
        for name, template in templates.items()
    }


def pieces_of(request: Request) -> Pieces:
    """The app's own."""
    pieces: Pieces = request.app.state.pieces
    return pieces

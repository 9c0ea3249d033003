"""Routes and sizes, remembered: each content is routed once, whoever asks and however often.

What is printed, and what programs are told, is worked out from scratch, so that it depends on the
document alone. On a page that is open the wires first only give way to a change, which is quick.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from threading import Condition, Lock
from typing import TYPE_CHECKING

from layout_engine.model.job import Job
from layout_engine.sizing.routed import SizedRoutes, routing_key, sized_routes
from layout_engine.wiring import Routing

if TYPE_CHECKING:
    from webapp.stores.projects import Opened

KEPT = 8  # routes and sizes of so many contents are remembered
AT_ONCE = 2  # so many are worked out at a time; a page that is open has the processor too
Key = tuple[object, ...]


class Remembered:
    """A few routes with what they follow from; each worked out once. Safe between threads."""

    def __init__(self) -> None:
        self._known: list[tuple[Key, SizedRoutes]] = []
        self._in_work: list[Key] = []
        self._changed = Condition()

    def known(self, key: Key) -> SizedRoutes | None:
        """The routes of a content, where they are known."""
        with self._changed:
            return self._find(key)

    def _find(self, key: Key) -> SizedRoutes | None:
        for n in range(len(self._known) - 1, -1, -1):
            if self._known[n][0] == key:
                self._known.append(self._known.pop(n))
                return self._known[-1][1]
        return None

    def of(self, key: Key, work: Callable[[], SizedRoutes]) -> SizedRoutes:
        """The routes of a content: known, or as `work` gives them; others wait for the same."""
        with self._changed:
            while True:
                found = self._find(key)
                if found is not None:
                    return found
                if key not in self._in_work and len(self._in_work) < AT_ONCE:
                    self._in_work.append(key)
                    break
                self._changed.wait()
        made = None
        try:
            made = work()
        finally:
            with self._changed:
                self._in_work.remove(key)
                if made is not None:
                    self._known.append((key, made))
                    del self._known[:-KEPT]
                self._changed.notify_all()
        return made


@dataclass(frozen=True, slots=True)
class Laid:
    """Routes as they can be shown; not `settled`: those worked out from scratch may differ."""

    routes: SizedRoutes
    settled: bool

    @property
    def routing(self) -> Routing:
        """Where the wires run."""
        return self.routes.routing


_settled, _giving_way = Remembered(), Remembered()
_last: OrderedDict[str, tuple[int, SizedRoutes]] = OrderedDict()  # by project, of which revision
_lock = Lock()


def sized_routes_of_job(job: Job) -> SizedRoutes:
    """Routes and sizes of a job, worked out from scratch where they are not known.

    What moves no wire, such as a tick in the record of the work, is no other content.
    """
    return _from_scratch(job, routing_key(job)).of(job)


def sized_routes_of(opened: Opened) -> SizedRoutes:
    """Routes and sizes of a revision, from scratch."""
    found = opened.once(_from_scratch(opened.job, opened.once(routing_key)).of)
    _note(opened, found)
    return found


def routes_of(opened: Opened) -> Routing:
    """The routes of a revision, from scratch."""
    return sized_routes_of(opened).routing


def known_routes_of(opened: Opened) -> SizedRoutes | None:
    """Routes and sizes of a revision, from scratch, where they are known already."""
    found = _settled.known(opened.once(routing_key))
    return None if found is None else opened.once(found.of)


def laid_routes_of(opened: Opened, *, quick: bool = False) -> Laid:
    """The routes of a revision; `quick`: where they are not known yet, how wires give way.

    Wires that what changed since the last known revision of the job does not touch stay as they
    lay then. Where none is known, the routes are worked out from scratch.
    """
    known = known_routes_of(opened)
    with _lock:
        _, last = _last.get(opened.id, (0, None))
    if known is not None or last is None or not quick:
        return Laid(known or sized_routes_of(opened), settled=True)
    job = opened.job
    given = _giving_way.of(opened.once(routing_key), lambda: _ready(sized_routes(job, last)))
    found = opened.once(given.of)
    _note(opened, found)
    return Laid(found, settled=False)


def _from_scratch(job: Job, key: Key) -> SizedRoutes:
    return _settled.of(key, lambda: _ready(sized_routes(job)))


def _ready(found: SizedRoutes) -> SizedRoutes:
    """With what every page asks of it worked out, here and not in each of their threads."""
    if found.sizing is not None:
        _ = found.sizing.wires, found.sizing.fuses, found.sizing.drops, found.sizing.stalls
    return found


def _note(opened: Opened, found: SizedRoutes) -> None:
    """Note the routes of a revision, unless those of a newer one are known."""
    with _lock:
        if _last.get(opened.id, (0,))[0] > opened.revision:
            return
        _last[opened.id] = opened.revision, found
        _last.move_to_end(opened.id)
        while len(_last) > KEPT:
            _last.popitem(last=False)

"""What speaks against a revision, as far as it is known: placement first, wiring after routes.

Findings about wires, fuses and supply rest on where the wires run, and that takes a moment after a
change. A page shows what is known and says what is still being worked out; what is printed, and
what programs are told (`Opened.findings`), waits for it.
"""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass
from threading import Lock
from typing import Literal, TypeVar

from layout_engine import Finding
from layout_engine.checks import check, in_order
from layout_engine.checks.rules import WIRING
from webapp.stores.projects import Opened
from webapp.stores.routes import known_routes_of, laid_routes_of

REMEMBERED = 64  # jobs of which the last findings about wires are remembered
Known = Literal["settled", "quick", "before", "places"]
Kept = TypeVar("Kept")


@dataclass(frozen=True, slots=True)
class Judged:
    """Findings of a revision, in their order.

    Attributes:
        findings: all that are known.
        known: how far: "settled" all of them; "quick" those about wires as these give way to the
            change; "before" those about wires are of before the change; "places" none of them yet.
    """

    findings: tuple[Finding, ...]
    known: Known

    @property
    def stop_count(self) -> int:
        """How many forbid building it."""
        return sum(finding.severity == "stop" for finding in self.findings)

    @property
    def is_settled(self) -> bool:
        """Whether all of them are known."""
        return self.known == "settled"


@dataclass(frozen=True, slots=True)
class Stops:
    """How many findings forbid building a job; not `is_settled`: as it was known last."""

    count: int
    is_settled: bool


Noted = OrderedDict[str, tuple[int, Kept]]  # by job, of which revision
_last: Noted[tuple[Finding, ...]] = OrderedDict()  # about wires, as they were known last
_straight: Noted[tuple[Finding, ...]] = OrderedDict()  # the same with straight wires
_stops: Noted[int] = OrderedDict()  # as many as were known last
_lock = Lock()


def stops_at_once(opened: Opened) -> Stops:
    """What every page tells of a revision: right after a change nothing is worked out for it."""
    with _lock:
        before = _stops.get(opened.id)
    if before is not None and not opened.is_placement_known:
        return Stops(before[1], is_settled=False)
    judged = judged_now(opened)
    return Stops(judged.stop_count, judged.is_settled)


def judged_now(opened: Opened) -> Judged:
    """What is known of a revision; nothing is routed for it."""
    if opened.has_findings or not opened.job.connections or known_routes_of(opened) is not None:
        return _settled(opened)
    with _lock:
        last = _last.get(opened.id)
    if last is None:
        return Judged(tuple(opened.placement_findings), "places")
    revision, wiring = last
    return _with(opened, wiring, "quick" if revision == opened.revision else "before")


def estimated_now(opened: Opened) -> Judged:
    """What is known of a revision; until its wires are routed, what straight ones would do."""
    judged = judged_now(opened)
    if judged.known in ("settled", "quick"):
        return judged
    with _lock:
        revision, straight = _straight.get(opened.id, (0, ()))
    if revision != opened.revision:
        straight = tuple(check(opened.job, rules=WIRING, straight=True))
        _remember(_straight, opened, straight)
    return _with(opened, straight, "places")


def judged_soon(opened: Opened, *, quick: bool) -> Judged:
    """Every finding of a revision; `quick`: with the wires as they give way, if that is sooner."""
    laid = None if not quick or opened.has_findings else laid_routes_of(opened, quick=True)
    if laid is None or laid.settled:
        return _settled(opened)
    wiring = tuple(check(opened.job, routes=laid.routes, rules=WIRING))
    _remember(_last, opened, wiring)
    return _with(opened, wiring, "quick")


def _settled(opened: Opened) -> Judged:
    found = tuple(opened.findings)
    _remember(_last, opened, tuple(f for f in found if f.rule in WIRING))
    return _told(opened, Judged(found, "settled"))


def _with(opened: Opened, wiring: tuple[Finding, ...], known: Known) -> Judged:
    found = tuple(in_order([*opened.placement_findings, *wiring]))
    return _told(opened, Judged(found, known))


def _told(opened: Opened, judged: Judged) -> Judged:
    _remember(_stops, opened, judged.stop_count)
    return judged


def _remember(kept: Noted[Kept], opened: Opened, known: Kept) -> None:
    """Note what is known of a revision, unless something is known of a newer one."""
    with _lock:
        if kept.get(opened.id, (0,))[0] > opened.revision:
            return
        kept[opened.id] = opened.revision, known
        kept.move_to_end(opened.id)
        while len(kept) > REMEMBERED:
            kept.popitem(last=False)


